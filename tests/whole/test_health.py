"""Whether the records are safe is said in the first line, with what to do; work left is listed and is no fault."""

import re
import shutil
from datetime import date, datetime
from pathlib import Path

import polars as pl
import pytest
from typer.testing import CliRunner

from analytics.cli import app
from analytics.health import Health, examine_records
from analytics.pairs.losses import LossQuestion
from analytics.records.bin_tables import BIN_CHECKS, BINS
from analytics.records.grown_tables import FIELDS, PLANTINGS
from analytics.storage.backups import backups_folder, list_backups
from analytics.storage.database import open_records
from analytics.storage.history import TableSave, save
from analytics.trade import cautions
from tests.prepared import begun, copied

TODAY = r"\d\d:\d\d"


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Records of one field with their backup of the day."""
    path = tmp_path_factory.mktemp("made") / "records.duckdb"
    with begun(path) as connection:
        keep(connection, FIELDS, {"field": "North"})
    with open_records(path):
        return path


@pytest.fixture
def farm(made, tmp_path):
    """A copy of them."""
    return copied(made, tmp_path / "records.duckdb")


def keep(connection, table, *rows) -> int:
    frame = pl.DataFrame(list(rows), schema=table.polars_schema())
    return save(
        connection, [TableSave(table=table, saved=frame, removed=frame.clear())], done_by="test", source="screen"
    )


def with_a_fault(path: Path) -> None:
    with open_records(path) as connection:
        keep(connection, PLANTINGS, {"crop_year": 2024, "field": "Nowhere"}, {"crop_year": 2025, "field": "Else"})


def of_the_file(path: Path) -> Health:
    """Without a look at what the pairs lack."""
    with open_records(path) as connection:
        return examine_records(connection, gaps=())


def test_empty_records_are_safe_without_a_backup(tmp_path):
    with begun(tmp_path / "records.duckdb") as connection:
        health = examine_records(connection)
    assert health.is_safe
    assert "there is nothing to back up yet" in health.first_line


def test_a_backup_that_could_not_be_made_is_named(farm):
    shutil.rmtree(backups_folder(farm))
    backups_folder(farm).write_text("in the way")
    health = of_the_file(farm)
    assert "there is no backup, and none could be made. Make room on the disk" in health.first_line


def test_a_last_backup_of_an_earlier_day_is_named(farm):
    with open_records(farm) as connection:
        (backup,) = list_backups(farm)
        backup.path.rename(backup.path.with_name("2025-01-02_03-04-05_daily.duckdb"))
        health = examine_records(connection, gaps=())
    assert "the last backup is of 2025-01-02, and none could be made today." in health.first_line


def test_a_newest_backup_that_cannot_be_read_is_named(farm):
    (backup,) = list_backups(farm)
    backup.path.write_bytes(backup.path.read_bytes()[:20_000])
    assert f"the newest backup, {backup.name}, cannot be read. Make a new one" in of_the_file(farm).first_line


def test_what_is_missing_and_odd_is_listed_and_no_fault(farm, monkeypatch):
    asked = LossQuestion(crop_year=2025, field="North", plot="a", code="low", text="Is 0 seeds right?")
    monkeypatch.setattr("analytics.health.questions", lambda _: [asked])
    health = of_the_file(farm)
    assert health.is_safe
    assert health.loss_questions == ("Is 0 seeds right?",)
    assert health.pairs_line == "There is no pair on record."


def test_a_warm_bin_stands_beside_records_that_are_safe(farm, monkeypatch):
    with open_records(farm) as connection:
        keep(connection, BINS, {"crop_year": 2025, "bin": "Bin 4", "conditioned_on": date(2025, 9, 20)})
        check = {"crop_year": 2025, "bin": "Bin 4", "checked_on": date(2025, 10, 1), "place": "core"}
        keep(connection, BIN_CHECKS, check | {"temperature_c": 21.0})
        health = examine_records(connection, gaps=())
    assert health.is_safe
    assert health.first_line.startswith("Your records are safe: ")
    assert health.first_line.endswith(" Look now at what is named below: 1 bin.")
    (alarm,) = health.bin_alarms
    assert alarm.startswith("Bin 4, 2025: 21.0 C after conditioning, over 15 C; ")
    monkeypatch.setattr("analytics.health.examine_records", lambda _: health)
    said = checked(farm)[1]
    assert alarm in said
    assert cautions.BINS in said


def checked(path: Path) -> tuple[int, str]:
    done = CliRunner().invoke(app, ["check", "--records", str(path)])
    return done.exit_code, done.stdout


def test_sound_records_are_safe_and_the_command_ends_in_0(farm):
    code, said = checked(farm)
    assert code == 0
    said = " ".join(said.split())
    assert re.match(rf"Your records are safe: the last backup was made today {TODAY}, and all 4 checks pass\.", said)
    assert " Rows: fields 1, plantings 0," in said


def test_a_check_that_fails_is_named_with_what_to_do_and_the_command_ends_in_1(farm):
    with_a_fault(farm)
    code, said = checked(farm)
    assert code == 1
    said = " ".join(said.split())
    assert said.startswith("Something is wrong: plantings: ")
    assert "And 1 more such record. Undo the act that did it (standrow undo)" in said
    assert "plantings: Else is not among the fields." in said


def test_the_command_fits_one_screen(farm, monkeypatch):
    many = Health(
        path=farm,
        read_at=datetime.now(),
        mended=(),
        version=6,
        size_bytes=1,
        last_backup=None,
        rows={},
        checks=5,
        failed=(),
        backup_problem="",
        pairs_line="",
        interval_doubts=(),
        bin_alarms=(),
        missing=tuple(f"Missing {number}" for number in range(100)),
        loss_questions=tuple(f"Question {number}" for number in range(9)),
        work_questions=("A question",),
    )
    monkeypatch.setattr("analytics.health.examine_records", lambda _: many)
    said = checked(farm)[1].splitlines()
    assert len(said) < 30
    assert "  - ... and 92 more; all of them: standrow check --all" in said
    assert "  - ... and 1 more; all of them: standrow check --all" in said
    assert said[-2:] == ["Field work that may be charged twice:", "  - A question"]
