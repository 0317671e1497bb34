"""What a farm gives to its group: pairs under codes drawn by lot, the same next year, nothing of the farm itself."""

import re
from datetime import UTC, datetime, timedelta, timezone

import polars as pl
import pytest

from analytics.answer.review import review
from analytics.errors import BadInput, Refused
from analytics.pool.share import farm_code, keep_codes, prepare_share, share_bytes, what_could_be_shared, write_share
from analytics.pool.share_form import CODE_LETTERS, COLUMNS, FARM_CODE
from analytics.records.tables import TABLES
from analytics.settings import change_settings
from analytics.storage.database import open_records, read_table
from analytics.storage.undoing import plan_undo, undo
from tests.prepared import copied

NOON = datetime(2026, 11, 27, 12, tzinfo=UTC)
NOT_OF_THE_FARM = {"canola", "yes", "no", "combining"}  # the last is in the name of a measure


@pytest.fixture
def farm(demo_records, tmp_path):
    """A connection to a demo farm of one's own."""
    with open_records(copied(demo_records, tmp_path / "records.duckdb"), leaves_log=True) as connection:
        yield connection


@pytest.fixture(scope="module")
def looked_at(demo_records):
    """A connection to the demo farm, for a test that only looks."""
    with open_records(demo_records) as connection:
        yield connection


@pytest.fixture(scope="module")
def shared(looked_at):
    """What the demo farm would share."""
    return prepare_share(looked_at, shared_at=NOON)


def words_of(connection) -> set[str]:
    """Every text, ticket and date of the farm; not a sample or a spot that is called by one figure, as a count is."""
    found = set()
    for name, table in TABLES.items():
        rows = read_table(connection, name)
        for column in table.columns:
            if column.kind in ("text", "note", "date"):
                found |= {str(value) for value in rows[column.name].drop_nulls()}
    return {word for word in found - NOT_OF_THE_FARM if not (word.isdigit() and len(word) == 1)}


def test_no_name_note_ticket_or_date_of_the_farm_is_in_either_file(farm, tmp_path):
    change_settings(farm, {"farm_name": "Home place of a family"}, done_by="A grower by name", why=None)
    prepared = prepare_share(farm, measures=what_could_be_shared(farm)[0], shared_at=NOON)
    keep_codes(farm, prepared, done_by="A grower by name", source="terminal")
    words = words_of(farm) | {"Home place of a family", "A grower by name"}
    assert {"Creek quarter", "2021-08-27", "N1"} <= words
    assert len(words) > 200
    csv, parquet = tmp_path / "share.csv", tmp_path / "share.parquet"
    for file in (csv, parquet):
        write_share(prepared, file)
        rows = pl.read_csv(file, infer_schema=False) if file == csv else pl.read_parquet(file)
        cells = {str(cell) for column in rows.drop("standing", "windrowed") for cell in column.drop_nulls()}
        assert cells & words == set()
        content = file.read_bytes()
        assert [word for word in words if len(word) > 4 and not word.isdigit() and word.encode() in content] == []


def test_it_holds_these_columns_and_nothing_else(shared):
    rows = shared.rows
    head = "share_version program shared_at farm crop_year place pair kind allocation"
    facts = "early_cut shatter_tolerant preharvest_product same_variety"
    assert rows.columns == [*head.split(), *facts.split(), "measure", "standing", "windrowed"] == list(COLUMNS)
    assert rows["shared_at"].unique().to_list() == ["2026-11-27T12:00:00Z"]
    assert set(rows["kind"]) == {"one_field", "two_fields", "matched"}
    assert set(rows["allocation"]) == {"drawn", "chosen"}


def test_codes_are_drawn_once_and_kept_on_the_farm(farm, looked_at):
    first = prepare_share(looked_at, measures=["yield"], crop_years=[2024])
    assert farm_code(farm) is None
    keep_codes(farm, first, done_by="test", source="terminal")
    again = prepare_share(farm, measures=["yield", "loss"])
    assert farm_code(farm) == first.farm == again.farm
    assert again.new_codes.is_empty()
    assert again.rows.filter(crop_year=2024, measure="yield").drop("shared_at").equals(first.rows.drop("shared_at"))
    assert FARM_CODE.fullmatch(first.farm)
    assert all(re.fullmatch(f"[{CODE_LETTERS}]{{4}}", place) for place in again.rows["place"])


def test_another_farm_draws_other_codes_by_an_act_that_can_be_undone(shared, farm, looked_at):
    other = prepare_share(looked_at, measures=["yield"])
    assert shared.farm != other.farm
    assert set(shared.rows["place"]) != set(other.rows["place"])
    keep_codes(farm, other, done_by="test", source="terminal")
    act = read_table(farm, "acts")["act_id"].max()
    undo(farm, plan_undo(farm, act), done_by="test", why="")
    assert farm_code(farm) is None


def test_a_place_has_one_code_in_all_years_and_its_pairs_are_one_field_year(looked_at, shared):
    """The demo farm's Creek quarter was cut in five strips in 2024; they are one place."""
    rows = shared.rows.filter(measure="yield", crop_year=2024, kind="one_field")
    assert rows.height == 5
    assert rows["place"].n_unique() == 1
    assert rows["pair"].n_unique() == 5
    recorded = review(looked_at, "yield")
    yields = shared.rows.filter(measure="yield")
    assert yields.height == recorded.all_pairs.pairs
    assert yields.select("crop_year", "place").unique().height == recorded.all_pairs.field_years


def test_money_leaves_only_where_it_is_named_and_the_moment_is_told_in_one_zone(looked_at, shared):
    assert "net_return" in what_could_be_shared(looked_at)[0]
    assert "net_return" not in set(shared.rows["measure"])
    moment = datetime(2026, 11, 27, 6, tzinfo=timezone(timedelta(hours=-6)))
    rows = prepare_share(looked_at, measures=["net_return"], shared_at=moment).rows
    assert set(rows["measure"]) == {"net_return"}
    assert rows["shared_at"][0] == "2026-11-27T12:00:00Z"


def test_measures_and_years_are_chosen(looked_at):
    rows = prepare_share(looked_at, measures=["yield", "loss"], crop_years=[2021, 2024]).rows
    assert set(rows["measure"]) == {"yield", "loss"}
    assert set(rows["crop_year"]) == {2021, 2024}
    with pytest.raises(BadInput, match="year: 1999 given, of which no pair is complete; allowed 2020, 2021"):
        prepare_share(looked_at, crop_years=[1999])
    with pytest.raises(BadInput, match="measure: 'oil' given; allowed yield"):
        prepare_share(looked_at, measures=["oil"])


def test_yields_leave_at_the_moisture_that_all_farms_compare_at(farm, shared):
    before = shared.rows.filter(measure="yield")
    change_settings(farm, {"one_moisture_pct": "8"}, done_by="test", why="as the buyer pays")
    after = prepare_share(farm, measures=["yield"]).rows
    both = ["crop_year", "pair"]
    one, other = before.sort(both)["standing"], after.sort(both)["standing"]
    assert (one - other).abs().max() < 0.011


def test_no_value_is_finer_than_one_decimal_more_than_is_shown(shared):
    yields = shared.rows.filter(measure="yield")["standing"]
    assert yields.equals(yields.round(2))


def test_csv_and_parquet_say_the_same(shared):
    text = pl.read_csv(share_bytes(shared, ".csv"), schema=shared.rows.schema)
    assert text.equals(pl.read_parquet(share_bytes(shared, ".parquet")))


def test_a_farm_without_a_complete_pair_has_nothing_to_share(connection):
    with pytest.raises(Refused, match="There is nothing to share yet"):
        prepare_share(connection)


def test_a_file_that_cannot_be_written_leaves_what_was_there(shared, tmp_path):
    file = tmp_path / "no such folder" / "share.csv"
    with pytest.raises(Refused, match="it cannot be written"):
        write_share(shared, file)
    with pytest.raises(BadInput, match=r"allowed a name that ends in [.]csv or [.]parquet"):
        write_share(shared, tmp_path / "share.xlsx")
    assert list(tmp_path.glob("share*")) == []
