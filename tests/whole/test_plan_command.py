"""The command plans the next season, draws by lot, and refuses what cannot be."""

import re

import polars as pl
import pytest

from analytics.records.grown_tables import FIELD_DISTANCES, FIELDS
from analytics.storage.acts import Search, list_acts
from analytics.storage.database import open_records, read_table
from analytics.storage.history import TableSave, save
from analytics.trade import cautions
from tests.prepared import begun, copied


@pytest.fixture(scope="module")
def three_fields(tmp_path_factory):
    """Records of three fields without any harvest, two of them neighbours."""
    path = tmp_path_factory.mktemp("three fields") / "records.duckdb"
    with begun(path) as connection:
        keep(connection, FIELDS, {"field": "A", "acres": 160.0}, *({"field": one, "acres": 60.0} for one in "BC"))
        keep(connection, FIELD_DISTANCES, {"field": "B", "other_field": "C", "distance_km": 2.4})
    with open_records(path):  # with the backup of the day
        return path


def keep(connection, table, *rows) -> None:
    frame = pl.DataFrame(list(rows), schema=table.polars_schema())
    save(connection, [TableSave(table=table, saved=frame, removed=frame.clear())], done_by="test", source="screen")


@pytest.fixture
def planned(standrow, three_fields, tmp_path):
    """Call with options of plan, on these three fields, for (exit code, stdout, stderr)."""
    copied(three_fields, tmp_path / "records.duckdb")
    return lambda *options: standrow("plan", "--year", 2026, *options)


def test_a_plan_says_pairs_distance_for_and_against_what_it_could_see_and_what_standing_risks(planned):
    code, out, _ = planned()
    assert code == 0
    assert out.startswith("For 2026: split 1 field and pair 2 fields by likeness")
    assert "N1: B and C; 2.4 km apart" in out
    assert "Good for a fair comparison: C, the nearest partner in this plan, lies 2.4 km away." in out
    assert "Distance to a partner: our choice, no source.\n" in out
    assert "A: first half | second half" in out
    assert "with draw number" not in out
    for caution in (cautions.LEFT_STANDING, cautions.LABEL, cautions.NOT_ADVICE):
        assert caution in out


def test_a_draw_is_shown_with_its_number_and_kept_only_when_asked(planned, tmp_path):
    code, shown, _ = planned("--draw", "--strips", "A=2")
    assert code == 0
    drawn, _, how = shown.partition("Nothing was kept. To keep just this draw, give the same options with ")
    number = re.match(r"--draw --draw-number (\d+) --keep\.\n", how)[1]
    assert re.search(r"A: strip 1 (standing|windrowed) \| strip 2 (standing|windrowed) \| strip 3 ", drawn)
    with open_records(tmp_path / "records.duckdb") as connection:
        assert read_table(connection, "pairs").is_empty()
    code, kept, _ = planned("--draw", "--draw-number", number, "--strips", "A=2", "--keep")
    assert code == 0
    assert kept == f"{drawn}Kept as plots and pairs of 2026. A lot is drawn once.\n"
    with open_records(tmp_path / "records.duckdb") as connection:
        (act,) = list_acts(connection, Search(), skipped=0, shown=1)
    assert "kept in the terminal (draws 3, pairs 3, plots 6)" in act.words
    code, after, _ = planned()
    assert "For 2026 the draw is done for 3 pairs" in after
    assert f"with draw number {number}; drawing again gives the same." in after


@pytest.mark.parametrize(
    ("options", "code", "words"),
    [
        (["--keep"], 2, "--keep given without --draw"),
        (["--draw-number", 3], 2, "--draw-number given without --draw"),
        (["--field", "B", "--draw"], 1, "There is no pair to draw for in 2026"),
    ],
)
def test_a_plan_that_cannot_be_is_refused_in_words(planned, options, code, words):
    got, _, err = planned(*options)
    assert got == code
    assert words in err


@pytest.mark.usefixtures("empty_farm")
def test_a_plan_without_fields_is_refused(standrow):
    code, _, err = standrow("plan")
    assert (code, err) == (
        1,
        "There is no field on record yet. Bring fields in: standrow import FOLDER, or type them: standrow serve\n",
    )
