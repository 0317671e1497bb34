"""A damaged log never makes sound records unreadable: what stands before the damage is kept, and said."""

import random
import shutil
from contextlib import closing
from pathlib import Path

import polars as pl
import pytest

from analytics.errors import Damaged
from analytics.records.grown_tables import FIELDS
from analytics.storage import database, log_recovery
from analytics.storage.checkpoints import connect, log_of
from analytics.storage.database import failed_checks, open_records, read_table
from analytics.storage.history import TableSave, save
from analytics.storage.log_recovery import LOG_BEGINS, recoveries
from analytics.storage.what_happened import take_mended
from tests.prepared import begun

PAGE = 4096
NAMES = [f"Field {number:02}" for number in range(12)]


def keep_field(connection, name: str) -> None:
    rows = pl.DataFrame([{"field": name, "notes": name * 100}], schema=FIELDS.polars_schema())
    save(connection, [TableSave(table=FIELDS, saved=rows, removed=rows.clear())], done_by="Anna", source="screen")


@pytest.fixture(scope="module")
def made(tmp_path_factory) -> tuple[Path, list[int]]:
    """Records with one field in the file and eleven in the log; the size of the log after each save."""
    path = tmp_path_factory.mktemp("made") / "records.duckdb"
    with begun(path) as connection:
        keep_field(connection, NAMES[0])
    with open_records(path):  # with the backup of the day
        pass
    ends = []
    with closing(connect(path)) as connection:
        for name in NAMES[1:]:
            keep_field(connection, name)
            ends.append(log_of(path).stat().st_size)
    return path, ends


def damaged(made: Path, folder: Path, log: bytes) -> Path:
    """The records with another log."""
    shutil.copytree(made.parent, folder, dirs_exist_ok=True)
    path = folder / made.name
    log_of(path).write_bytes(log)
    return path


def fields_of(path: Path, *, checked: bool = False) -> list[str]:
    """The fields that are there; `checked` : every check passes too."""
    with open_records(path) as connection:
        assert not checked or failed_checks(connection) == []
        return sorted(read_table(connection, "fields")["field"])


def saved_before(ends: list[int], place: int) -> list[str]:
    """The fields whose saves lie wholly before a place in the log."""
    return NAMES[: 1 + sum(end <= place for end in ends)]


def test_a_log_of_the_engine_begins_as_expected(made):
    assert log_of(made[0]).read_bytes().startswith(LOG_BEGINS)


@pytest.mark.parametrize(
    ("filled", "last"),
    [
        ("zeros", PAGE),
        *(
            pytest.param(*other, marks=pytest.mark.slow)
            for other in (("random", 100), ("zeros", 100), ("random", PAGE), ("zeros", 2 * PAGE), ("random", 2 * PAGE))
        ),
    ],
)
def test_what_stands_before_the_damage_is_in_the_records(made, tmp_path, filled, last):
    """For other bytes than zeros see the byte that is another, below."""
    path, ends = made
    log = log_of(path).read_bytes()
    cut = len(log) - last
    end = bytes(last) if filled == "zeros" else random.Random(last).randbytes(last)
    take_mended()
    now = damaged(path, tmp_path, log[:cut] + end)
    assert fields_of(now, checked=True) == saved_before(ends, cut)
    if filled == "zeros":
        (words,) = take_mended()
        assert recoveries(now) == (words,)
        assert "could be read, and what they hold is in the records. The newest change in them is act" in words
        (aside,) = now.parent.glob("*.cut-log-*.wal")
        assert aside.read_bytes() == log[:cut] + end
    with open_records(now) as connection:
        keep_field(connection, "Later")
    assert fields_of(now) == sorted([*saved_before(ends, cut), "Later"])


@pytest.mark.parametrize("begin", [bytes(PAGE), random.Random(1).randbytes(PAGE)])
def test_a_log_that_does_not_begin_like_one_is_put_aside_and_not_passed_over_in_silence(made, tmp_path, begin):
    path, _ = made
    log = begin + log_of(path).read_bytes()[PAGE:]
    take_mended()
    now = damaged(path, tmp_path, log)
    assert fields_of(now) == NAMES[:1]
    (words,) = take_mended()
    assert f"0 of its {len(log):,} bytes could be read" in words
    (aside,) = now.parent.glob("*.cut-log-*.wal")
    assert aside.read_bytes() == log


def test_a_byte_that_is_another_in_the_middle_keeps_what_stands_before_it(made, tmp_path):
    path, ends = made
    log = bytearray(log_of(path).read_bytes())
    log[PAGE + 30] ^= 0xFF
    assert fields_of(damaged(path, tmp_path, bytes(log))) == saved_before(ends, PAGE)


def test_a_log_cut_short_anywhere_needs_no_mending(made, tmp_path):
    path, ends = made
    log = log_of(path).read_bytes()
    take_mended()
    for place in random.Random(5).sample(range(len(log)), 4):
        now = damaged(path, tmp_path / str(place), log[:place])
        assert fields_of(now) == saved_before(ends, place)
    assert take_mended() == []


def test_where_the_file_itself_is_damaged_the_log_stays_as_it_is(made, tmp_path):
    path, _ = made
    log = log_of(path).read_bytes()[:-PAGE] + bytes(PAGE)
    now = damaged(path, tmp_path, log)
    content = bytearray(now.read_bytes())
    content[PAGE : 3 * PAGE] = bytes(2 * PAGE)
    now.write_bytes(content)
    with pytest.raises(Damaged, match="standrow restore"):
        fields_of(now)
    assert log_of(now).read_bytes() == log
    assert recoveries(now) == ()


def test_a_log_that_another_program_changed_meanwhile_is_left_to_it(made, tmp_path, monkeypatch):
    path, _ = made
    whole = log_of(path).read_bytes()
    now = damaged(path, tmp_path, whole[:-PAGE] + bytes(PAGE))

    def overtaken(*_: object) -> int:
        return 0 * log_of(now).write_bytes(whole)

    monkeypatch.setattr(log_recovery, "_longest_that_opens", overtaken)
    assert log_recovery.recover_log(now) is None
    assert log_of(now).read_bytes() == whole
    assert recoveries(now) == ()


def test_without_room_for_a_copy_the_damage_is_told_and_nothing_touched(made, tmp_path, monkeypatch):
    def refuse(path: Path) -> str:
        raise OSError(28, "No space left on device")

    path, _ = made
    log = log_of(path).read_bytes()[:-PAGE] + bytes(PAGE)
    now = damaged(path, tmp_path, log)
    monkeypatch.setattr(database, "recover_log", refuse)
    with pytest.raises(Damaged, match="cannot be read back"):
        fields_of(now)
    assert log_of(now).read_bytes() == log
