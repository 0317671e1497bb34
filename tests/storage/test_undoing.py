"""Any one act can be undone; what it touches is shown, what changed since is named, what would break is refused."""

import re

import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from analytics.cli import app
from analytics.errors import BadInput, Refused
from analytics.records.grown_tables import FIELDS, PLANTINGS, WEATHER
from analytics.records.harvest_tables import SAMPLES
from analytics.records.own_tables import SAVED_TABLES, SETTINGS_TABLE
from analytics.storage.backups import contents
from analytics.storage.database import failed_checks, open_records, read_table
from analytics.storage.history import TableSave, row_texts, save
from analytics.storage.undoing import plan_undo, rows_of, undo, undo_lines
from tests.prepared import begun, copied


def keep(connection, table, saved=(), removed=(), done_by="A grower") -> int:
    schema = table.polars_schema()
    change = TableSave(
        table=table, saved=pl.DataFrame(list(saved), schema=schema), removed=pl.DataFrame(list(removed), schema=schema)
    )
    return save(connection, [change], done_by=done_by, source="screen")


def records_of(connection) -> dict[str, object]:
    return {name: content for name, content in contents(connection).items() if name in SAVED_TABLES}


def test_an_import_undone_and_that_undone_bring_every_row_back_to_the_last_digit(demo_records, tmp_path):
    """The demo farm came with act 1."""
    with open_records(copied(demo_records, tmp_path / "records.duckdb"), leaves_log=True) as connection:
        keep(connection, FIELDS, [{"field": "Mine", "acres": 80.0}])
        brought_in = records_of(connection)
        act = undo(connection, plan_undo(connection, 1), done_by="test")
        left = {name: rows for name, (rows, _) in records_of(connection).items() if rows}
        assert left == {"fields": 1}
        assert read_table(connection, "fields")["field"].to_list() == ["Mine"]
        undo(connection, plan_undo(connection, act), done_by="test")
        assert records_of(connection) == brought_in


def test_what_it_would_touch_is_shown_first_and_nothing_written(connection):
    keep(connection, FIELDS, [{"field": "North", "acres": 160.0}, {"field": "Old"}])
    act = keep(connection, FIELDS, [{"field": "North", "acres": 158.5}, {"field": "South"}], removed=[{"field": "Old"}])
    assert undo_lines(plan_undo(connection, act)) == [
        "fields, North: acres 158.5 -> 160",
        "fields, Old: comes back",
        "fields, South: goes",
    ]
    assert read_table(connection, "fields").height == 2


def test_a_row_changed_since_is_named_with_who_and_refused(connection):
    keep(connection, FIELDS, [{"field": "North", "acres": 160.0}])
    act = keep(connection, FIELDS, [{"field": "North", "acres": 158.5}])
    keep(connection, FIELDS, [{"field": "North", "acres": 157.0}], done_by="A daughter")
    planned = plan_undo(connection, act)
    with pytest.raises(Refused, match=r"North: acres 157 -> 160 \(changed by act 3 by A daughter\)"):
        undo(connection, planned, done_by="test")
    assert read_table(connection, "fields")["acres"].to_list() == [157.0]
    undo(connection, planned, done_by="test", force=True)
    assert read_table(connection, "fields")["acres"].to_list() == [160.0]


def test_a_row_that_is_again_as_the_act_left_it_is_no_conflict(connection):
    act = keep(connection, FIELDS, [{"field": "North", "acres": 160.0}])
    later = keep(connection, FIELDS, [{"field": "North", "acres": 157.0}], done_by="A daughter")
    assert [row.changed_by for row in plan_undo(connection, act).conflicts] == ["act 2 by A daughter"]
    undo(connection, plan_undo(connection, later), done_by="test")
    assert plan_undo(connection, act).conflicts == ()
    undo(connection, plan_undo(connection, act), done_by="test")
    assert read_table(connection, "fields").is_empty()


def test_the_reason_is_kept_with_the_undo(connection):
    act = keep(connection, FIELDS, [{"field": "North"}])
    planned = plan_undo(connection, act)
    assert planned.words == "What undoing act 1 would touch (fields 1)"
    undo(connection, planned, done_by="A grower", why=" typed twice ")
    done = read_table(connection, "acts").filter(source="undo").row(0, named=True)
    assert (done["done_by"], done["why"]) == ("A grower", "act 1 undone: typed twice")


def test_a_later_act_on_another_row_is_no_conflict(connection):
    act = keep(connection, FIELDS, [{"field": "North"}])
    keep(connection, FIELDS, [{"field": "South"}])
    undo(connection, plan_undo(connection, act), done_by="test")
    assert read_table(connection, "fields")["field"].to_list() == ["South"]


@pytest.mark.parametrize("force", [False, True])
def test_an_undo_that_would_leave_records_pointing_to_nothing_is_refused(connection, force):
    act = keep(connection, FIELDS, [{"field": "North"}])
    keep(connection, PLANTINGS, [{"crop_year": 2025, "field": "North"}])
    with pytest.raises(Refused, match="plantings: North is not among the fields"):
        undo(connection, plan_undo(connection, act), done_by="test", force=force)
    assert read_table(connection, "fields").height == 1
    assert read_table(connection, "acts").height == 2
    assert failed_checks(connection) == []


def test_what_was_wrong_before_keeps_no_undo_back(connection):
    keep(connection, PLANTINGS, [{"crop_year": 2025, "field": "Nowhere"}])
    act = keep(connection, FIELDS, [{"field": "North"}])
    undo(connection, plan_undo(connection, act), done_by="test")
    assert read_table(connection, "fields").is_empty()
    assert failed_checks(connection) == ["plantings: Nowhere is not among the fields."]


def test_undoing_twice_says_that_nothing_is_left(connection):
    act = keep(connection, FIELDS, [{"field": "North"}])
    undo(connection, plan_undo(connection, act), done_by="test")
    with pytest.raises(Refused, match=f"nothing of act {act} left to undo"):
        undo(connection, plan_undo(connection, act), done_by="test")


def test_a_plan_that_was_overtaken_is_refused(connection):
    act = keep(connection, FIELDS, [{"field": "North"}])
    planned = plan_undo(connection, act)
    keep(connection, FIELDS, [{"field": "North", "acres": 80.0}])
    with pytest.raises(Refused, match="changed since act 1 was looked at"):
        undo(connection, planned, done_by="test", force=True)
    assert read_table(connection, "fields")["acres"].to_list() == [80.0]


def test_weather_of_the_whole_farm_has_a_blank_in_its_key(connection):
    keep(connection, WEATHER, [{"happened_on": pl.Series(["2024-08-30"]).str.to_date()[0], "event": "wind"}])
    undo(connection, plan_undo(connection, 1), done_by="test")
    assert read_table(connection, "weather").is_empty()


def test_a_setting_is_undone_like_a_record(connection):
    keep(connection, SETTINGS_TABLE, [{"name": "level", "value": "0.95"}])
    act = keep(connection, SETTINGS_TABLE, [{"name": "level", "value": "0.9"}])
    undo(connection, plan_undo(connection, act), done_by="test")
    assert read_table(connection, "settings")["value"].to_list() == ["0.95"]


def test_an_unknown_act_is_named(connection):
    with pytest.raises(BadInput, match="act 7 given"):
        plan_undo(connection, 7)


@pytest.fixture(scope="module")
def two_acts(tmp_path_factory):
    """A farm of two acts: North came with 160 acres, then had 158.5."""
    path = tmp_path_factory.mktemp("two acts") / "farm.duckdb"
    with begun(path) as connection:
        keep(connection, FIELDS, [{"field": "North", "acres": 160.0}])
        keep(connection, FIELDS, [{"field": "North", "acres": 158.5}], done_by="A daughter")
    with open_records(path):  # with the backup of the day
        return path


@pytest.fixture
def standrow(two_acts, tmp_path):
    """The command on a copy of it."""
    path = copied(two_acts, tmp_path / "farm.duckdb")

    def run(*arguments: str, answer: str = "") -> tuple[int, str]:
        done = CliRunner().invoke(app, ["undo", *arguments, "--records", str(path)], input=answer)
        return done.exit_code, done.stdout

    return run


@pytest.fixture
def acres(tmp_path):
    """Call for the acres of each field on record there."""

    def read() -> list[float]:
        with open_records(tmp_path / "farm.duckdb", leaves_log=True) as connection:
            return read_table(connection, "fields")["acres"].to_list()

    return read


def test_the_command_lists_the_last_acts(standrow):
    code, said = standrow()
    first, second, hint = said.splitlines()
    assert (code, hint) == (0, "See what undoing one would touch with: standrow undo ACT")
    assert re.match(r"Act 2, .*, A daughter: typed on a screen \(fields 1\)", first)
    assert first > second


def test_the_command_shows_asks_and_undoes(standrow, acres):
    code, said = standrow("2", answer="n\n")
    assert (code, acres()) == (0, [158.5])
    assert "fields, North: acres 158.5 -> 160" in said
    assert "Nothing was written." in said
    code, said = standrow("2", "--why", "typed twice", answer="y\n")
    assert (code, acres()) == (0, [160.0])
    assert "Undone, as act 3. To take that back: standrow undo 3" in said
    assert "act 2 undone: typed twice" in standrow()[1]
    assert standrow("2", "--yes") == (0, "There is nothing of act 2 left to undo.\n")


def test_the_command_undoes_what_changed_since_only_when_told(standrow, acres):
    code, said = standrow("1", "--yes")
    assert (code, acres()) == (1, [158.5])
    assert "fields, North: goes (changed by act 2 by A daughter)" in said
    standrow("1", "--yes", "--over-later")
    assert acres() == []


ROW = st.fixed_dictionaries(
    {
        "crop_year": st.integers(-(2**63), 2**63 - 1),
        "field": st.text(max_size=20),
        "taken_on": st.dates(),
        "test_weight_kg_hl": st.floats(allow_nan=False, allow_infinity=False),
    }
)


@settings(max_examples=20, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(ROW, min_size=1, max_size=20))
def test_history_keeps_every_value_to_the_last_digit(rows):
    frame = pl.DataFrame([{"plot": "a", "sample": "1"} | row for row in rows], schema=SAMPLES.polars_schema())
    assert rows_of(SAMPLES, row_texts(frame, SAMPLES)["row"]).equals(frame)
