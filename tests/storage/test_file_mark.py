"""The mark of the file of the records: the same until something is saved, and none where the disk cannot tell."""

import os
import time
from datetime import date
from pathlib import Path

import pytest

from analytics.records.tables import TABLES
from analytics.settings import change_settings
from analytics.storage import file_mark as marks
from analytics.storage.checkpoints import log_of
from analytics.storage.database import open_records, read_table
from analytics.storage.file_mark import file_mark
from tests.prepared import begun


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Records that were last written to a minute ago."""
    records = tmp_path / "records.duckdb"
    with begun(records):
        pass
    return left_alone(records)


def left_alone(records: Path, seconds: float = 60) -> Path:
    os.utime(records, (time.time() - seconds,) * 2)
    return records


def test_reading_leaves_the_mark_as_it_is(path: Path) -> None:
    before = file_mark(path)
    with open_records(path) as connection:
        for name in TABLES:
            read_table(connection, name)
    assert before is not None
    assert file_mark(path) == before


def test_a_save_changes_it_while_the_records_are_open_and_after(path: Path) -> None:
    before = file_mark(path)
    with open_records(path) as connection:
        change_settings(connection, {"farm_name": "Other"}, done_by="test", why=None)
        assert log_of(path).exists()
        assert file_mark(path) is None  # written just now
        left_alone(log_of(path))
        with_log = file_mark(path)
    left_alone(path)
    assert with_log is not None
    assert len({before, with_log, file_mark(path)}) == 3


def test_what_was_written_in_the_last_seconds_or_by_a_clock_ahead_has_none(path: Path) -> None:
    assert file_mark(left_alone(path, marks.LONGEST_STEP_SECONDS - 1)) is None
    assert file_mark(left_alone(path, -3600)) is None
    assert file_mark(left_alone(path, marks.LONGEST_STEP_SECONDS + 1)) is not None


def test_another_file_of_the_same_size_and_time_has_another(path: Path, tmp_path: Path) -> None:
    before, times = file_mark(path), path.stat()
    other = tmp_path / "other.duckdb"
    other.write_bytes(path.read_bytes())
    other.replace(path)
    os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))
    assert file_mark(path) != before


def test_it_is_of_one_day(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = file_mark(path)

    class Tomorrow(date):
        @classmethod
        def today(cls) -> date:
            return date(2999, 1, 1)

    monkeypatch.setattr(marks, "date", Tomorrow)
    assert file_mark(path) != before


def test_a_file_that_is_not_there_has_none(tmp_path: Path) -> None:
    assert file_mark(tmp_path / "records.duckdb") is None
    assert file_mark(tmp_path / "no folder" / "records.duckdb") is None
