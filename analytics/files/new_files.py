"""Files written into a folder that the user named: all of them, and none of his own replaced."""

from collections.abc import Mapping
from pathlib import Path

from analytics.errors import BadInput, Refused


def write_new(folder: Path, files: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Write the files, content by name, into the folder, which is made if need be; where they are.

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
        for path, content in zip(paths, files.values(), strict=True):
            path.write_bytes(content)
    except OSError as problem:
        raise Refused(f"{folder} cannot be written to: {problem}. Give a folder of your own.") from problem
    return tuple(paths)
