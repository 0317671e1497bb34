"""Checkpoints that a crash cannot spoil.

At a checkpoint DuckDB moves what its log file holds into the file of the records, and on the way writes over blocks
that the last checkpoint still needs (seen with 2.0.1: the first block, at every checkpoint). A program killed in the
middle of that leaves a file that cannot be opened. So the engine makes none by itself: when the last connection of the
process is closed, file and log are copied first, and the copy goes when the checkpoint is done. Where such a copy is
still there, a checkpoint was broken off, and the copy takes the place of the file.
"""

import os
import shutil
from contextlib import closing, suppress
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb

from analytics.backups import UNFINISHED, backups_folder, copy_whole, sync

HELD = "Could not set lock"  # the engine's words when another process has the file open

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


def kept_copy(path: Path) -> Path:
    """The folder of file and log as they were before a checkpoint that is going on or was broken off."""
    return backups_folder(path) / "before-checkpoint"


def checkpoint(path: Path) -> None:
    """Move what the log holds into the file. Nothing in this process may have it open.

    Left undone when another program has it open or the disk is full: the log holds what was saved, and the next
    closing tries again.
    """
    log, kept = log_of(path), kept_copy(path)
    if not log.exists():
        return
    with suppress(OSError, duckdb.Error):
        kept.parent.mkdir(mode=0o700, exist_ok=True)
        with TemporaryDirectory(prefix=UNFINISHED, dir=kept.parent) as unfinished:
            seen = _seen(path)
            copy = Path(unfinished) / kept.name
            copy.mkdir()
            for file in (path, log):
                shutil.copyfile(file, copy / file.name)
                sync(copy / file.name)
            _whole(copy).touch()
            # Closing the files that were copied gave up the lock; it is taken again and nothing may have come between.
            with closing(connect(path)) as connection:
                if _seen(path) == seen:
                    shutil.rmtree(kept, ignore_errors=True)  # of a removal that was broken off
                    copy.rename(kept)
                    _sync_folder(kept.parent)
                    connection.execute("checkpoint")
                    _whole(kept).unlink()
        shutil.rmtree(kept, ignore_errors=True)


def put_back(path: Path) -> None:
    """Where a checkpoint was broken off, put the copy made before it in the place of the file.

    Nothing in this process may have the file open.
    Raises duckdb.Error when another program is at it (HELD), or the copy cannot be read.
    """
    kept = kept_copy(path)
    if not _whole(kept).exists():
        return
    try:
        connect(path).close()
    except duckdb.Error as problem:
        if HELD in str(problem):  # by a program that is at its checkpoint
            raise
    try:
        connection = connect(kept / path.name)  # its lock keeps others from doing the same
    except duckdb.Error:
        if _whole(kept).exists():
            raise
        return
    with closing(connection):
        if not _whole(kept).exists():  # another program was quicker
            return
        with TemporaryDirectory(prefix=UNFINISHED, dir=kept.parent) as unfinished:
            new = Path(unfinished) / path.name
            copy_whole(connection, new)
            log_of(path).unlink(missing_ok=True)
            new.replace(path)
            _sync_folder(path.parent)
        _whole(kept).unlink()
    shutil.rmtree(kept, ignore_errors=True)


def _whole(copy: Path) -> Path:
    """Made last and removed first: what is without it is not to be used."""
    return copy / "whole"


def _seen(path: Path) -> tuple[int, ...]:
    """Size and time of file and log, which change with every save."""
    found = [file.stat() for file in (path, log_of(path))]
    return tuple(number for one in found for number in (one.st_size, one.st_mtime_ns))


def _sync_folder(folder: Path) -> None:
    """See that a new name has reached the disk, where the system lets a folder be opened."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
