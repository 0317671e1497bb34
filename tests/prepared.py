"""Records that are made once in a process and copied: making the tables and views takes longer than most tests."""

import atexit
import shutil
from collections.abc import Iterator
from contextlib import closing, contextmanager, nullcontext
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb

from analytics.storage.backups import backups_folder
from analytics.storage.checkpoints import connect, log_of
from analytics.storage.database import open_records


@cache
def _without_a_row() -> Path:
    folder = TemporaryDirectory(prefix="prepared-")
    atexit.register(folder.cleanup)
    path = Path(folder.name) / "records.duckdb"
    with open_records(path, create=True):
        return path


@contextmanager
def begun(path: Path, *, thrown_away: bool = False) -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection to the records at `path`; where there are none, to new ones without a row.

    thrown_away : afterwards, so that moving the log into the file would be for nothing
    """
    if not path.exists():
        shutil.copy(_without_a_row(), path)
    with open_records(path, leaves_log=thrown_away) as connection:
        yield connection


def copied(records: Path, path: Path) -> Path:
    """A copy of the records at `path`, with their backups, so that the day's need not be made again."""
    if backups_folder(records).exists():
        shutil.copytree(backups_folder(records), backups_folder(path))
    return Path(shutil.copy(records, path))


@contextmanager
def only_read(records: Path) -> Iterator[Path]:
    """The records themselves, for a test that only looks: what screens keep of them serves the next test too.

    The engine has them open meanwhile, so that it is not started at each opening. Fails where they were changed after
    all; who changes them takes a copy.
    """
    before = records.read_bytes()
    with closing(connect(records)):
        yield records
    assert records.read_bytes() == before, "the test changed records that others share"
    assert not log_of(records).exists(), "the test left something in the log of records that others share"


@contextmanager
def lent(records: Path, *, is_kept_open: bool = True) -> Iterator[Path]:
    """The records themselves, to be changed by acts; afterwards they and their folder are as they were.

    A dashboard keeps what it worked out under the file's name and the last act, so it serves the next test too. Who
    changes rows by SQL, without an act, takes a copy.

    is_kept_open : the engine has them open meanwhile, so that it is not started at each opening; not for a test that
        damages the file or puts another in its place
    """
    folder = records.parent
    with TemporaryDirectory(prefix="as-it-was-") as kept:
        shutil.copytree(folder, kept, dirs_exist_ok=True)
        try:
            with closing(connect(records)) if is_kept_open else nullcontext():
                yield records
        finally:
            for part in folder.iterdir():
                if part.is_dir():
                    shutil.rmtree(part)
                elif not Path(kept, part.name).exists():
                    part.unlink()
            shutil.copytree(kept, folder, dirs_exist_ok=True)


def small_season(folder: Path) -> Path:
    """A new folder to be brought in, with which records may begin: a field, a plot of it and a ticket."""
    folder.mkdir()
    (folder / "fields.csv").write_text("field\nBeyond the creek\n", encoding="utf-8")
    (folder / "plots.csv").write_text(
        "crop_year,field,plot,method\n2025,Beyond the creek,a,standing\n", encoding="utf-8"
    )
    (folder / "loads.csv").write_text("crop_year,field,plot,ticket\n2025,Beyond the creek,a,1\n", encoding="utf-8")
    return folder
