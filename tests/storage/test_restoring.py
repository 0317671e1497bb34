"""A restore is shown first, undoable, and never costs what it replaces, sound or damaged."""

from dataclasses import replace
from pathlib import Path

import polars as pl
import pytest

from analytics.errors import Refused
from analytics.records.faults import LISTED
from analytics.records.grown_tables import FIELDS
from analytics.records.own_tables import SAVED_TABLES
from analytics.storage import restoring
from analytics.storage.backups import contents, list_backups, make_backup
from analytics.storage.database import failed_checks, open_records, read_table
from analytics.storage.history import TableSave, save
from analytics.storage.restoring import Restored, TableDifference, bring_backup_back, is_sound, plan_restore, restore
from analytics.storage.undoing import plan_undo, undo
from tests.prepared import begun, copied
from tests.storage.more_backups import followed_by


@pytest.fixture
def path(tmp_path):
    return tmp_path / "records.duckdb"


def keep(connection, saved=(), removed=()) -> int:
    schema = FIELDS.polars_schema()
    change = TableSave(
        table=FIELDS, saved=pl.DataFrame(list(saved), schema=schema), removed=pl.DataFrame(list(removed), schema=schema)
    )
    return save(connection, [change], done_by="A grower", source="screen")


def records_of(connection) -> dict[str, object]:
    return {name: content for name, content in contents(connection).items() if name in SAVED_TABLES}


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Records with a backup of two fields; since then one was changed, one removed, one came."""
    path = tmp_path_factory.mktemp("made") / "records.duckdb"
    with begun(path) as connection:
        keep(connection, [{"field": "North", "acres": 160.0}, {"field": "Old"}])
        make_backup(connection, "asked for")
        keep(connection, [{"field": "North", "acres": 99.0}, {"field": "South"}], removed=[{"field": "Old"}])
    return path


@pytest.fixture
def backup(made, path):
    """The backup of a copy of them."""
    (backup,) = list_backups(copied(made, path))
    return backup


@pytest.fixture
def opened(path, backup):
    """A connection to that copy, beside which others need no engine of their own."""
    with open_records(path, leaves_log=True) as connection:
        yield connection


def test_what_would_change_is_counted_and_nothing_written(path, backup):
    before = path.read_bytes()
    planned = plan_restore(path, backup)
    assert planned.differences == (TableDifference(table="fields", added=1, changed=1, removed=1),)
    assert planned.lines == (
        "fields, North: acres 99 -> 160",
        "fields, Old: new",
        "fields, South: removed",
    )
    assert planned.damage is None
    assert path.read_bytes() == before


@pytest.mark.usefixtures("opened")
def test_only_tables_that_differ_are_compared_row_by_row(path, backup, monkeypatch):
    read = []
    monkeypatch.setattr(restoring, "read_table", lambda side, name: read.append(name) or read_table(side, name))
    assert plan_restore(path, backup).differences
    assert read == ["fields", "fields"]


def test_of_many_records_the_first_are_named_and_the_others_counted(path, backup, opened):
    keep(opened, [{"field": f"Field {number:03}"} for number in range(300)])
    planned = plan_restore(path, backup)
    assert len(planned.lines) == LISTED + 1
    assert planned.lines[-1] == f"... and {303 - LISTED} records more."


def test_a_backup_is_sound_when_every_row_of_it_can_be_read(path, backup):
    before = backup.path.read_bytes()
    assert is_sound(backup)
    assert backup.path.read_bytes() == before
    for damage in (b"", b"no records", before[:20_000], before[:-300_000]):
        backup.path.write_bytes(damage)
        assert not is_sound(backup)
    backup.path.unlink()
    assert not is_sound(backup)


def test_sound_records_that_are_open_are_brought_back_without_closing_them(path, backup, opened):
    planned = plan_restore(path, backup)
    act = bring_backup_back(opened, planned, done_by="test")
    assert sorted(read_table(opened, "fields")["field"]) == ["North", "Old"]
    assert bring_backup_back(opened, replace(planned, differences=(), lines=()), done_by="test") is None
    assert act == 3


@pytest.fixture(scope="module")
def restored(made, tmp_path_factory) -> tuple[Path, Restored]:
    """The same after a restore of their backup, for those who only look."""
    path = copied(made, tmp_path_factory.mktemp("restored") / "records.duckdb")
    (backup,) = list_backups(path)
    return path, restore(path, plan_restore(path, backup), done_by="A grower")


def test_a_restore_brings_the_state_of_the_backup_and_keeps_the_history(restored):
    path, done = restored
    with open_records(path) as connection:
        assert sorted(read_table(connection, "fields")["field"]) == ["North", "Old"]
        acts = read_table(connection, "acts").sort("act_id")
        assert acts["source"].to_list() == ["screen", "screen", "restore"]
        assert done.act_id == 3


def test_a_restore_makes_a_backup_before_and_never_writes_to_the_one_restored(made, restored):
    before, was_restored = list_backups(restored[0])
    assert before.reason == "before restore"
    assert was_restored.path.read_bytes() == list_backups(made)[0].path.read_bytes()


def test_a_restore_is_taken_back_by_the_backup_before_it_and_that_one_undone_as_an_act(made, restored, path):
    copied(restored[0], path)
    with open_records(made) as connection:
        before = records_of(connection)
    done = restore(path, plan_restore(path, list_backups(path)[0]), done_by="test")
    with open_records(path, leaves_log=True) as connection:
        assert records_of(connection) == before
        undo(connection, plan_undo(connection, done.act_id), done_by="test")
        after = records_of(connection)
    with open_records(restored[0]) as connection:
        assert after == records_of(connection) != before


@pytest.mark.usefixtures("backup")
def test_restoring_what_is_already_so_writes_nothing(path):
    with open_records(path) as connection:
        newest = make_backup(connection, "asked for")
    before = path.read_bytes()
    done = restore(path, plan_restore(path, newest), done_by="test")
    assert done.act_id is None
    assert list_backups(path)[0] == newest
    assert path.read_bytes() == before


def test_a_restore_overtaken_by_a_save_is_refused(path, backup, opened):
    planned = plan_restore(path, backup)
    keep(opened, [{"field": "West"}])
    with pytest.raises(Refused, match="changed since the comparison was shown"):
        restore(path, planned, done_by="test")
    assert "West" in read_table(opened, "fields")["field"]


@pytest.mark.parametrize("length", [0, pytest.param(100, marks=pytest.mark.slow), 20_000])
def test_a_damaged_file_is_replaced_and_kept_aside_as_it_was_with_its_log(path, backup, length):
    damaged, log = path.read_bytes()[:length], path.with_name(f"{path.name}.wal")
    path.write_bytes(damaged)
    log.write_bytes(b"left by another")
    planned = plan_restore(path, backup)
    assert str(path) in planned.damage
    done = restore(path, planned, done_by="test")
    assert done.kept_aside.read_bytes() == damaged
    assert done.kept_aside.with_name(f"{done.kept_aside.name}.wal").read_bytes() == b"left by another"
    with open_records(path) as connection:
        assert sorted(read_table(connection, "fields")["field"]) == ["North", "Old"]
        assert failed_checks(connection) == []


def test_a_file_that_is_gone_can_be_restored(path, backup):
    path.unlink()
    with pytest.raises(Refused, match=r"is gone.*standrow restore"), open_records(path, create=True):
        pass
    done = restore(path, plan_restore(path, backup), done_by="test")
    assert done.kept_aside is None
    with open_records(path) as connection:
        assert read_table(connection, "fields").height == 2


def test_a_damaged_backup_is_named_and_the_records_stay(path, backup):
    backup.path.write_bytes(backup.path.read_bytes()[:30_000])
    before = path.read_bytes()
    with pytest.raises(Refused, match="this backup is damaged itself"):
        plan_restore(path, backup)
    assert path.read_bytes() == before


def test_the_oldest_of_20_backups_can_be_restored(path, backup, opened):
    followed_by(make_backup(opened, "asked for"), 18)  # which hold other fields
    assert len(list_backups(path)) == 20
    assert list_backups(path)[-1] == backup
    restore(path, plan_restore(path, backup), done_by="test")
    assert sorted(read_table(opened, "fields")["field"]) == ["North", "Old"]
