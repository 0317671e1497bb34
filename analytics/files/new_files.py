"""Files written whole or not at all: each gets its name only when all of it is on the disk.

A program killed while it writes leaves a folder that begins with a point; a writing there an hour later clears
it away.
"""

import os
import shutil
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from tempfile import TemporaryDirectory

from analytics.errors import BadInput, Refused

UNFINISHED = ".standrow-unfinished-"
LEFT_AFTER_SECONDS = 3600  # then whoever began it was killed; before that it may be another program at work


def write_new(folder: Path, files: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Write the files, content by name, into the folder, which is made if need be; where they are.

    None of the user's own is replaced, and either all of them are there afterwards or none.
    Raises BadInput when one of them is there already (nothing is written then), Refused when the computer does not
    let us write.
    """
    paths = [folder / name for name in files]
    there = [path.name for path in paths if path.exists()]
    if there:
        raise BadInput(
            f"{folder} holds {', '.join(there)} already; allowed a folder without them. Nothing was written."
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with _unfinished(folder) as work:
            for name, content in files.items():
                _write(work / name, content)
            named: list[Path] = []
            try:
                for path in paths:
                    (work / path.name).rename(path)
                    named.append(path)
            except BaseException:
                for path in named:
                    path.unlink(missing_ok=True)
                raise
    except OSError as problem:
        raise Refused(
            f"{folder} cannot be written to: {problem}. Nothing was written. Give a folder of your own, with room."
        ) from problem
    return tuple(paths)


def write_whole(path: Path, content: bytes) -> None:
    """Write one file in the place of what may be there, which stays as it is until the new one is whole.

    Raises Refused when the computer does not let us write.
    """
    try:
        path = path.resolve()  # through a link, not over it
        if path.exists() and not path.is_file():  # a printer, or a pipe, has no other name to be written under
            path.write_bytes(content)
            return
        with _unfinished(path.parent) as work:
            new = work / path.name
            _write(new, content)
            if path.exists():
                shutil.copymode(path, new)
            new.replace(path)
    except OSError as problem:
        raise Refused(
            f"{path}: it cannot be written ({problem.strerror}). What was there is as it was. Name another file."
        ) from problem


def clear_left(folder: Path, prefix: str) -> None:
    """Remove the folders in `folder` that begin with `prefix` and were left by a killed program."""
    for left in folder.glob(f"{prefix}*"):
        with suppress(OSError):
            if time.time() - left.stat().st_mtime > LEFT_AFTER_SECONDS:
                shutil.rmtree(left, ignore_errors=True)


@contextmanager
def _unfinished(folder: Path) -> Iterator[Path]:
    clear_left(folder, UNFINISHED)
    with TemporaryDirectory(prefix=UNFINISHED, dir=folder) as work:
        yield Path(work)


def _write(path: Path, content: bytes) -> None:
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        with suppress(OSError):  # some drives know no sync
            os.fsync(file.fileno())
