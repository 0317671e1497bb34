"""Backups: dated, verified, the newest 20 kept, the owner's alone, right while others write."""

import os
import stat
import threading
from datetime import datetime, timedelta
from pathlib import Path

import duckdb
import polars as pl
import pytest

from analytics.errors import BadInput, Refused
from analytics.files.importing import bring_in
from analytics.records.grown_tables import FIELDS
from analytics.storage import backups, database, restoring
from analytics.storage.backups import backups_folder, contents, find_backup, list_backups, make_backup
from analytics.storage.database import open_records, read_table
from analytics.storage.history import TableSave, save
from tests.prepared import begun, copied, small_season
from tests.storage.more_backups import followed_by


@pytest.fixture
def path(tmp_path):
    return tmp_path / 'a "quoted" farm.duckdb'


@pytest.fixture(scope="module")
def two_backups(tmp_path_factory) -> tuple[Path, backups.Backup, backups.Backup]:
    """Records without a row, for those who only look, and two backups of them made within a second."""
    path = tmp_path_factory.mktemp("two") / "records.duckdb"
    with begun(path) as connection:
        return path, make_backup(connection, "asked for"), make_backup(connection, "asked for")


@pytest.fixture
def coming(tmp_path) -> Path:
    """Files to be brought in."""
    return small_season(tmp_path / "coming")


def keep_field(connection, name: str, acres: float = 160.0) -> int:
    rows = pl.DataFrame([{"field": name, "acres": acres}], schema=FIELDS.polars_schema())
    return save(
        connection, [TableSave(table=FIELDS, saved=rows, removed=rows.clear())], done_by="A grower", source="screen"
    )


def fields_of(backup) -> set[str]:
    with duckdb.connect(backup.path, read_only=True) as connection:
        return {name for (name,) in connection.execute("select field from fields").fetchall()}


def test_a_backup_holds_the_same_rows_in_every_table(demo_records, path):
    with open_records(copied(demo_records, path)) as connection:
        backup = make_backup(connection, "asked for")
        expected = contents(connection)
    with duckdb.connect(backup.path, read_only=True) as connection:
        assert contents(connection) == expected
    assert expected["loads"][0] > 0


def test_a_backup_can_be_opened_as_records_and_written_on(path):
    with begun(path, thrown_away=True) as connection:
        keep_field(connection, "North")
        backup = make_backup(connection, "asked for")
    with open_records(backup.path) as connection:
        assert keep_field(connection, "South") == 2
        assert read_table(connection, "fields").height == 2


def test_records_and_backups_are_the_owners_alone(path, monkeypatch):
    records = path.parent / "new folder" / path.name
    monkeypatch.setattr(database, "OUR_FOLDER", records.parent)
    with open_records(records, create=True) as connection:
        backup = make_backup(connection, "asked for")
    files = {file: stat.S_IMODE(file.stat().st_mode) for file in (records, backup.path)}
    folders = {folder: stat.S_IMODE(folder.stat().st_mode) for folder in (records.parent, backup.path.parent)}
    assert set(files.values()) == {0o600}
    assert set(folders.values()) == {0o700}


def test_the_newest_20_are_kept(path):
    with begun(path) as connection:
        oldest = make_backup(connection, "asked for")
        others = followed_by(oldest, 19)
        assert len(list_backups(path)) == 20
        newest = make_backup(connection, "asked for")
    assert list_backups(path) == (newest, *reversed(others))
    assert not oldest.path.exists()


def test_two_backups_within_a_second_have_two_names(two_backups):
    path, first, second = two_backups
    assert second.made_at > first.made_at
    assert len(list_backups(path)) == 2


def test_nothing_unfinished_is_left_and_what_a_killed_program_left_goes(path):
    left = backups_folder(path) / f"{backups.UNFINISHED}123"
    left.mkdir(parents=True)
    (left / "copy.duckdb").write_bytes(b"half")
    backups_folder(path).rename(path.parent / "aside")
    with begun(path) as connection:
        (path.parent / "aside").rename(backups_folder(path))
        backup = make_backup(connection, "asked for")
    assert list(backups_folder(path).iterdir()) == [backup.path]


def test_a_copy_that_a_killed_restore_looked_at_lies_with_the_backups_and_goes_a_day_later(path, monkeypatch):
    """Before, a whole copy of the records stayed in the folder of temporary files for good."""
    made: list[Path] = []
    real = restoring._copied

    def copied(one: backups.Backup, to: Path) -> Path:
        made.append(to)
        return real(one, to)

    with begun(path) as connection:
        backup = make_backup(connection, "asked for")
        monkeypatch.setattr(restoring, "_copied", copied)
        restoring.plan_restore(path, backup)
        assert [to.parent.parent for to in made] == [backups_folder(path)]
        left, new = (backups_folder(path) / f"{backups.LOOKED_AT}{name}" for name in ("left", "new"))
        for folder in (left, new):
            folder.mkdir()
            (folder / "backup.duckdb").write_bytes(b"a copy")
        two_days_ago = datetime.now().timestamp() - 2 * 86_400
        os.utime(left, (two_days_ago, two_days_ago))
        make_backup(connection, "asked for")
        assert (left.exists(), new.exists()) == (False, True)


def test_a_backup_is_one_moment_while_another_thread_writes(path):
    """Each act saves two fields, so every backup holds an even number of them, as many as two an act."""
    may_end = threading.Event()
    rows = pl.DataFrame(schema=FIELDS.polars_schema())

    def write() -> None:
        with open_records(path) as connection:
            number = 0
            while not may_end.is_set():
                number += 1
                pair = pl.DataFrame(
                    [{"field": f"{number} {side}"} for side in ("a", "b")], schema=FIELDS.polars_schema()
                )
                change = TableSave(table=FIELDS, saved=pair, removed=rows)
                save(connection, [change], done_by="writer", source="screen")

    with begun(path) as connection:
        writer = threading.Thread(target=write)
        writer.start()
        try:
            made = [make_backup(connection, "asked for") for _ in range(3)]
        finally:
            may_end.set()
            writer.join()
    counts = []
    for backup in made:
        with duckdb.connect(backup.path, read_only=True) as copy:
            counts += copy.execute("select (select count(*) from fields), (select count(*) from acts)").fetchall()
    assert all(fields == 2 * acts for fields, acts in counts)
    assert counts[-1][0] > counts[0][0]


def test_a_copy_that_differs_is_thrown_away(path, monkeypatch):
    with begun(path) as connection:
        real = backups.contents
        monkeypatch.setattr(backups, "contents", lambda of: real(of) if of is connection else {})
        with pytest.raises(Refused, match="not like the records"):
            make_backup(connection, "asked for")
    assert list_backups(path) == ()
    assert list(backups_folder(path).iterdir()) == []


def test_the_first_opening_of_a_day_makes_a_backup_and_the_next_does_not(path, monkeypatch):
    with begun(path, thrown_away=True) as connection:
        keep_field(connection, "North")
    for _ in range(2):
        with open_records(path, leaves_log=True):
            pass
    (backup,) = list_backups(path)
    assert backup.reason == "daily"
    yesterday = backup.made_at - timedelta(days=1)
    backup.path.rename(backup.path.with_name(f"{yesterday:{backups.NAME_FORM}}_daily.duckdb"))
    with open_records(path, leaves_log=True):
        pass
    assert [backup.made_at.date() for backup in list_backups(path)] == [datetime.now().date(), yesterday.date()]


def test_empty_records_need_no_backup(path, coming):
    for _ in range(2):
        with begun(path):
            pass
    with open_records(path) as connection:
        assert bring_in(connection, coming, done_by="test").act_id == 1
    assert list_backups(path) == ()


def test_records_can_be_read_though_the_daily_backup_cannot_be_made(path):
    with begun(path, thrown_away=True) as connection:
        keep_field(connection, "North")
    backups_folder(path).write_text("a file where the folder should be")
    with open_records(path, leaves_log=True) as connection:
        assert read_table(connection, "fields")["field"].to_list() == ["North"]


def test_an_import_without_its_backup_is_refused(path, coming):
    with begun(path, thrown_away=True) as connection:
        keep_field(connection, "North")
        backups_folder(path).write_text("a file where the folder should be")
        with pytest.raises(Refused, match="no backup can be made there"):
            bring_in(connection, coming, done_by="test")
        assert read_table(connection, "fields").height == 1


def test_an_import_that_changes_something_makes_a_backup_before(path, coming):
    with begun(path, thrown_away=True) as connection:
        keep_field(connection, "North")
        bring_in(connection, coming, done_by="test")
        bring_in(connection, coming, done_by="test")
    (backup,) = list_backups(path)
    assert backup.reason == "before import"
    assert fields_of(backup) == {"North"}


def test_a_backup_is_found_by_number_or_name(two_backups):
    path, first, second = two_backups
    assert find_backup(path, "1") == second
    assert find_backup(path, first.name) == first
    for wrong in ("0", "3", "../records", ""):
        with pytest.raises(BadInput, match="allowed 1 to 2"):
            find_backup(path, wrong)


def backup_of(moment: str, number: int = 0) -> backups.Backup:
    return backups.Backup(path=Path(moment), made_at=datetime.fromisoformat(moment), reason="daily", number=number)


def test_a_backup_made_while_the_clock_is_behind_is_kept_and_is_the_newest(path, monkeypatch):
    """Announced and deleted at once before."""

    class LastYear(datetime):
        @classmethod
        def now(cls, tz=None):
            return datetime.now(tz) - timedelta(days=365)

    with begun(path, thrown_away=True) as connection:
        keep_field(connection, "North")
        followed_by(make_backup(connection, "asked for"), 19)
        monkeypatch.setattr(backups, "datetime", LastYear)
        made = make_backup(connection, "asked for")
    assert made.path.exists()
    assert list_backups(path)[0] == made
    assert len(list_backups(path)) == 20
    assert fields_of(made) == {"North"}


def test_twenty_imports_in_an_afternoon_leave_one_of_each_day_and_season():
    days = [backup_of(f"2026-10-{day:02}T08:00:00", day) for day in range(1, 31)]
    seasons = [backup_of(f"{year}-11-02T08:00:00") for year in range(2020, 2026)]
    today = [backup_of(f"2026-11-03T14:{minute:02}:00", 100 + minute) for minute in range(25)]
    newest_first = sorted([*days, *seasons, *today], key=lambda one: (one.number, one.made_at), reverse=True)
    gone = backups.superfluous(newest_first)
    assert set(gone) == {days[0], *today[:5]}


def test_the_last_backup_of_a_day_and_of_a_season_is_the_one_kept():
    early, late = backup_of("2024-09-20T08:00:00", 1), backup_of("2024-09-20T20:00:00", 2)
    review, spring = backup_of("2025-03-31T20:00:00", 3), backup_of("2025-04-01T08:00:00", 4)
    others = [
        backup_of(f"2026-{month:02}-{day:02}T08:00:00", 5 + month * 31 + day)
        for month in (5, 6)
        for day in range(1, 31)
    ]
    kept = [*reversed(others), spring, review, late, early]
    gone = set(backups.superfluous(kept))
    assert {early, late} <= gone
    assert review not in gone
    assert spring not in gone  # the last of the season from April 2025 on


def test_backups_of_before_they_were_numbered_are_older_than_numbered_ones(two_backups, path):
    of_before = two_backups[1].path.name
    copied(two_backups[0], path)
    old = backups_folder(path) / "2099-01-01_08-00-00_before-import.duckdb"
    (backups_folder(path) / of_before).rename(old)
    assert [(one.path.name, one.reason) for one in list_backups(path)] == [
        (two_backups[2].path.name, "asked for"),
        (old.name, "before import"),
    ]
