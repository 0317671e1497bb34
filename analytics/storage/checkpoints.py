"""Checkpoints that a crash cannot spoil.

At a checkpoint DuckDB moves what its log file holds into the file of the records, and on the way writes over blocks
that the last checkpoint still needs (seen with 2.0.1: the first block, at every checkpoint). A program killed in the
middle of that leaves a file that cannot be opened. So the engine makes none by itself: when the last connection of the
process is closed, file and log are copied first, and the copy goes when the checkpoint is done. Where such a copy is
still there, a checkpoint was broken off, and the copy takes the place of the file if that cannot be read.

What is saved is as safe in the log: the engine does it again at the next opening. That takes the longer, the longer the
log is, so drafts stay in it only up to a length.
"""

import shutil
from contextlib import closing, suppress
from pathlib import Path
from tempfile import mkdtemp

import duckdb

from analytics.storage.backups import UNFINISHED, backups_folder, contents, sync, sync_folder

# A draft of a plot's tickets takes 4 kB, and to open the file 0.15 ms more for each; a checkpoint takes 50 to 100 ms.
SHORT_LOG = 150_000  # bytes

KEPT = "before-checkpoint-"  # begins the name of a copy while its checkpoint is going on
# The engine's words for a file, or a file and a log, that it cannot make sense of.
DAMAGE = (
    "Corrupt",
    "checksum",
    "Could not read enough bytes",
    "Serialization Error",
    "metadata pointer",
    "not a valid DuckDB",
    "does not match",
)

CONNECTION_SETTINGS: dict[str, str | bool | int | float | list[str]] = {
    # Nothing at run time may reach for the internet; DuckDB would try to download an extension for a foreign file.
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
    "checkpoint_threshold": "1TB",  # of log; none is made because the log is long
}


def connect(path: Path) -> duckdb.DuckDBPyConnection:
    """A connection that leaves what it saves in the log file, also when it is closed."""
    connection = duckdb.connect(path, config=CONNECTION_SETTINGS)
    connection.execute("pragma disable_checkpoint_on_shutdown")
    return connection


def log_of(path: Path) -> Path:
    """Where DuckDB keeps what was saved since the last checkpoint."""
    return path.with_name(f"{path.name}.wal")


def log_is_short(path: Path) -> bool:
    """Whether what the log holds may wait there."""
    return not log_of(path).exists() or log_of(path).stat().st_size < SHORT_LOG


def kept_copies(path: Path) -> list[Path]:
    """The copies of file and log whose checkpoint is going on or was broken off; one at most.

    A folder without the file has nothing to put back: the file was the last to leave it.
    """
    return [kept for kept in begun_checkpoints(path) if (kept / path.name).exists()]


def begun_checkpoints(path: Path) -> list[Path]:
    """The folders of checkpoints that are going on or were broken off, whatever is still in them."""
    return list(backups_folder(path).glob(f"{KEPT}*"))


def _is_damage(problem: duckdb.Error) -> bool:
    """Whether the file cannot be understood, rather than not be reached, or not be read for want of memory."""
    return not isinstance(problem, duckdb.OperationalError) or any(words in str(problem) for words in DAMAGE)


def is_log_unreadable(problem: duckdb.Error) -> bool:
    """Whether the log was read and holds what the engine cannot do again, rather than not be reached or for want of
    memory.
    """
    return "replaying WAL" in str(problem) and not isinstance(problem, duckdb.OperationalError)


def checkpoint(path: Path) -> None:
    """Move what the log holds into the file. Nothing in this process may have it open.

    Left undone when another program has it open or the disk is full: the log holds what was saved, and the next
    closing tries again. Raises duckdb.Error when the log cannot be read, for then no later closing can do it.
    """
    log, folder = log_of(path), backups_folder(path)
    if not log.exists():
        return
    try:
        _checkpoint_under_a_copy(path, log, folder)
    except OSError:
        pass
    except duckdb.Error as problem:
        if is_log_unreadable(problem):
            raise


def _checkpoint_under_a_copy(path: Path, log: Path, folder: Path) -> None:
    folder.mkdir(mode=0o700, exist_ok=True)
    kept = Path(mkdtemp(prefix=UNFINISHED, dir=folder))
    try:
        before = seen(path)
        for file in (path, log):
            shutil.copy(file, kept)
            sync(kept / file.name)
        sync_folder(kept)
        # Closing the files that were copied gave up the lock; it is taken again and nothing may have come between.
        with closing(connect(path)) as connection:
            if seen(path) == before:
                kept = kept.rename(folder / kept.name.replace(UNFINISHED, KEPT))
                sync_folder(folder)
                connection.execute("checkpoint")
                kept = kept.rename(folder / kept.name.replace(KEPT, UNFINISHED))
    finally:
        if kept.name.startswith(UNFINISHED):
            shutil.rmtree(kept, ignore_errors=True)


def put_back(path: Path) -> None:
    """Where a broken-off checkpoint left a file that cannot be read, put the copy made before it in its place.

    A file that can be read whole stays, whoever put it there, and the copy goes. Nothing in this process may have the
    file open. Each step can be repeated, and two programs can do it at once.
    Raises duckdb.Error when the file cannot be reached, as when another program is at its checkpoint; OSError when the
    folder cannot be written in.
    """
    for kept in kept_copies(path):
        if not (path.exists() and _given_up(kept, path)):
            for file in (log_of(path), path):
                with suppress(FileNotFoundError):  # another program was quicker
                    (kept / file.name).replace(file)
            sync_folder(path.parent)
            shutil.rmtree(kept, ignore_errors=True)
    for left in begun_checkpoints(path):
        with suppress(OSError):  # one that still holds something stays
            left.rmdir()


def _given_up(kept: Path, path: Path) -> bool:
    """Whether the file can be read whole; then the copy has lost its name before the lock is given up."""
    unnamed = kept.with_name(kept.name.replace(KEPT, UNFINISHED))
    try:
        with closing(connect(path)) as connection:
            contents(connection)  # damage shows only where it is read
            with suppress(FileNotFoundError):  # another program was quicker
                kept.rename(unnamed)
    except duckdb.Error as problem:
        if _is_damage(problem):
            return False
        raise
    shutil.rmtree(unnamed, ignore_errors=True)
    return True


def seen(path: Path) -> tuple[int, ...]:
    """Size and time of file and log, which change with every save."""
    found = [file.stat() for file in (path, log_of(path))]
    return tuple(number for one in found for number in (one.st_size, one.st_mtime_ns))
