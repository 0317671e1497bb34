"""The plan of a crop year: which year, which fields at first, pairs and strips, and what is refused."""

from datetime import date, datetime

import polars as pl
import pytest

from analytics.errors import BadInput
from analytics.planning.drawing_lots import keep_plan
from analytics.planning.season_plan import fields_at_first, plan_season, read_start, read_strips, said_of, year_to_plan
from analytics.records.grown_tables import PLANTINGS, PLOTS
from analytics.records.harvest_tables import LOADS
from analytics.records.tables import TABLES
from tests.conftest import write
from tests.prepared import begun

TODAY = date(2026, 11, 1)


THREE_FIELDS = {
    "fields": [{"field": "A", "acres": 160.0}, {"field": "B", "acres": 60.0}, {"field": "C", "acres": 60.0}],
    "plantings": [{"crop_year": 2025, "field": "A", "crop": "Canola"}],
}


@pytest.fixture
def farm(tiny):
    """Three fields: one to split, two to pair; canola on A in 2025."""
    return tiny(THREE_FIELDS)


@pytest.fixture(scope="module")
def looked_at(tmp_path_factory):
    """The same farm, for those who change nothing."""
    with begun(tmp_path_factory.mktemp("plan") / "records.duckdb", thrown_away=True) as connection:
        write(
            connection, {name: pl.DataFrame(rows, TABLES[name].polars_schema()) for name, rows in THREE_FIELDS.items()}
        )
        yield connection


@pytest.fixture(scope="module")
def start(looked_at):
    """What a plan for 2026 starts from on it."""
    return read_start(looked_at, 2026)


def test_the_year_to_plan_follows_the_newest_load_and_is_todays_without_one(farm, add):
    assert year_to_plan(farm, TODAY) == 2026
    add(farm, PLOTS, {"crop_year": 2027, "field": "A", "plot": "whole", "method": "standing"})
    assert year_to_plan(farm, TODAY) == 2026
    add(farm, LOADS, {"crop_year": 2027, "field": "A", "plot": "whole", "ticket": "1", "weight_kg": 9000.0})
    assert year_to_plan(farm, TODAY) == 2028


def test_at_first_come_fields_sown_to_canola_then_those_that_rested_from_it(farm, start, add):
    assert fields_at_first(start) == ["B", "C"]
    add(farm, PLANTINGS, {"crop_year": 2026, "field": "B", "crop": "canola"})
    assert fields_at_first(read_start(farm, 2026)) == ["B"]


def test_where_every_field_grew_canola_all_come_at_first(farm, add):
    add(farm, PLANTINGS, *({"crop_year": 2025, "field": name, "crop": "canola"} for name in "BC"))
    assert fields_at_first(read_start(farm, 2026)) == ["A", "B", "C"]


def test_once_a_lot_fell_no_field_comes_by_itself(farm, start):
    found = plan_season(start, ["A"])
    keep_plan(farm, found.pairs, crop_year=2026, seed=1, drawn_at=datetime(2026, 4, 1), done_by="test", source="screen")
    after = read_start(farm, 2026)
    assert (fields_at_first(after), after.free) == ([], ["B", "C"])


def test_a_large_field_can_be_laid_out_in_strips_that_make_one_field_year(start):
    found = plan_season(start, ["A", "B", "C"], {"A": 4})
    assert [pair.pair for pair in found.pairs] == ["A 1", "A 2", "A 3", "A 4", "N1"]
    assert found.power.field_years == 2
    assert list(said_of(start, found)) == ["A", "B", "C"]


def test_without_a_pair_there_is_nothing_to_see(start):
    found = plan_season(start, ["B"])
    assert (found.pairs, found.alone, found.power) == ([], ["B"], None)


@pytest.mark.parametrize(
    ("names", "strips", "words"),
    [
        (["Z"], {}, "'Z' given; allowed a field on record without plots in 2026: A, B, C"),
        (["A", "B"], {"B": 2}, "strips: B given; allowed fields of the plan that are large enough to split: A"),
        (["A"], {"A": 1}, "allowed 2 to 10"),
    ],
)
def test_fields_and_strips_that_cannot_be_are_refused(start, names, strips, words):
    with pytest.raises(BadInput, match=words):
        plan_season(start, names, strips)


@pytest.mark.parametrize(("year", "is_allowed"), [(1979, False), (1980, True), (2100, True), (2101, False)])
def test_a_crop_year_to_plan_lies_from_1980_to_2100(looked_at, year, is_allowed):
    if is_allowed:
        assert read_start(looked_at, year).crop_year == year
    else:
        with pytest.raises(BadInput, match="allowed 1980 to 2100"):
            read_start(looked_at, year)


def test_strips_are_typed_as_field_and_number():
    assert read_strips(["North half=4", " A = 2 "]) == {"North half": 4, "A": 2}
    for text in ("North half", "=4", "A=", "A=two", "A=-2"):
        with pytest.raises(BadInput, match='such as "North half=4"'):
            read_strips([text])
