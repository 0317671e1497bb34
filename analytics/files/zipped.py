"""Files packed in a ZIP, and taken out of one in memory with care: a small file may unpack to more than it holds."""

import io
import lzma
import zipfile
import zlib
from collections.abc import Iterable, Mapping
from pathlib import PurePosixPath

from analytics.errors import BadInput
from analytics.files.workbook import LARGEST_RATIO, SMALL

NO_DATE = (2000, 1, 1, 0, 0, 0)  # a ZIP holds when each file was made, which would make each one different
NOT_A_ZIP = (
    zipfile.BadZipFile,
    zlib.error,
    lzma.LZMAError,
    EOFError,
    LookupError,
    OSError,
    RuntimeError,
    ValueError,
)  # whatever zipfile raises


def as_zip(files: Mapping[str, bytes]) -> bytes:
    """The files, content by name, in one ZIP; the same files give the same ZIP, byte for byte."""
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w") as pack:
        for name, content in files.items():
            pack.writestr(zipfile.ZipInfo(name, NO_DATE), content, zipfile.ZIP_DEFLATED)
    return whole.getvalue()


def unpacked(files: Iterable[tuple[str, bytes]], *, largest_bytes: int) -> list[tuple[str, bytes]]:
    """The files, and those in a ZIP in its place, as (file name, content); folders in a ZIP are not looked at.

    Raises BadInput when a ZIP is damaged, locked, or would unpack to too much.
    """
    found: list[tuple[str, bytes]] = []
    for name, content in files:
        found += _parts(name, content, largest_bytes) if name.lower().endswith(".zip") else [(name, content)]
    return found


def _parts(name: str, content: bytes, largest_bytes: int) -> list[tuple[str, bytes]]:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as pack:
            parts = [part for part in pack.infolist() if not part.is_dir()]
            size = sum(part.file_size for part in parts)
            if size > min(largest_bytes, LARGEST_RATIO * max(len(content), SMALL)):
                raise BadInput(
                    f"{name} would unpack to {size / 1e6:,.0f} MB; allowed {largest_bytes / 1e6:,.0f} MB and at most "
                    f"{LARGEST_RATIO} times its own size. Unpack it and bring in the files."
                )
            # No more than was announced is unpacked, and a part that is larger counts as damaged.
            return [(PurePosixPath(part.filename).name, pack.read(part)) for part in parts]
    except NOT_A_ZIP as problem:
        raise BadInput(
            f"{name} is damaged, locked with a password, or is no ZIP. Unpack it and bring in the files."
        ) from problem
