"""No bad year on record: a caution with the yearly chance that so many quiet years cannot exclude."""

from datetime import date

import polars as pl
import pytest

from analytics.answer.review import review
from analytics.pairs.compared_pairs import pair_cautions, pair_facts
from analytics.settings import change_settings
from analytics.trade.measures import MEASURES
from tests.conftest import small_records


def farm(years, weather):
    """One field cut both ways a year, windrowed on 25 August, all combined on 10 September."""
    rows = {"fields": [{"field": "North", "acres": 80.0}], "plots": [], "pairs": [], "loads": [], "weather": weather}
    for year in years:
        for plot, method in (("e", "standing"), ("w", "windrowed")):
            at = {"crop_year": year, "field": "North", "plot": plot}
            cut = date(year, 8, 25) if method == "windrowed" else None
            rows["plots"].append(
                at | {"method": method, "acres": 40.0, "windrowed_on": cut, "harvested_on": date(year, 9, 10)}
            )
            weight = {"ticket": f"{year} {plot}", "weight_kg": 40_000.0 + year % 7, "moisture_pct": 9.0}
            rows["loads"].append(at | weight | {"dockage_pct": 2.0})
        sides = {"standing_field": "North", "standing_plot": "e", "windrowed_field": "North", "windrowed_plot": "w"}
        rows["pairs"].append({"crop_year": year, "pair": "A", **sides, "layout": "split field"})
    return rows


def rain(year):
    return {"happened_on": date(year, 7, 1), "event": "rain", "reading": 20.0, "unit": "mm"}


def wind(year, kmh, unit="km/h"):
    return {"happened_on": date(year, 9, 1), "event": "wind", "reading": kmh, "unit": unit}


QUIET = range(2018, 2024)  # with rain on record each
OTHER_WEATHER = {
    2001: wind(2001, 59.9),
    2002: wind(2002, 60.0),
    2003: wind(2003, 37.3, "mph"),
    2004: wind(2004, 70.0),
    2005: {"happened_on": date(2005, 9, 2), "event": "frost", "reading": -3.0, "unit": "C"},
    2006: {"happened_on": date(2006, 5, 20), "event": "frost", "reading": -3.0, "unit": "C"},
}
NOTHING_NOTED = (2011, 2012, 2013)


@pytest.fixture(scope="module")
def records(tmp_path_factory):
    """One farm of all these years."""
    weather = [*(rain(year) for year in QUIET), *OTHER_WEATHER.values()]
    tables = farm([*QUIET, *OTHER_WEATHER, *NOTHING_NOTED], weather)
    with small_records(tmp_path_factory.mktemp("years") / "records.duckdb", tables) as connection:
        yield connection


@pytest.fixture(scope="module")
def facts(records):
    return pair_facts(records)


def caution(facts, years):
    """Of the farm's pairs in these years, which are all complete; their yields need not be worked out for it."""
    facts = facts.filter(pl.col("crop_year").is_in(list(years)))
    rows = facts.select("crop_year", "pair", difference=pl.lit(1.0), not_known=pl.lit(None, pl.String))
    return {one.code: one.text for one in pair_cautions(facts, MEASURES["yield"], rows)}.get("no_bad_year")


@pytest.mark.parametrize(("years", "percent"), [([2023], 95), ([2020, 2021, 2022], 63), (QUIET, 39)])
def test_quiet_years_cannot_exclude_a_bad_one(facts, years, percent):
    """1 - 0.05^(1/Y): 0.95 for one year, 0.632 for three, 0.393 for six (exact binomial; the review's one in 39 %)."""
    assert f"could come {percent} times in 100" in caution(facts, years)


def test_it_is_among_the_cautions_of_a_review(tiny):
    connection = tiny(farm([2023], [rain(2023)]))
    assert caution(pair_facts(connection), [2023]) in [one.text for one in review(connection, "yield").cautions]


def test_a_year_without_weather_on_record_is_not_known_and_not_quiet(facts):
    told = caution(facts, [2018, *NOTHING_NOTED])
    assert "among the one year whose weather is on record" in told
    assert "could come 95 times" in told


def test_without_any_weather_nothing_is_said_of_quiet_years(facts):
    assert caution(facts, NOTHING_NOTED) is None


@pytest.mark.parametrize(("year", "is_quiet"), [(2001, True), (2002, False), (2003, False)])
def test_wind_at_the_settings_speed_between_cutting_and_combining_makes_a_bad_year(facts, year, is_quiet):
    """60 km/h, which are 37.3 miles an hour."""
    assert (caution(facts, [2018, year]) is not None) == is_quiet


@pytest.mark.parametrize(("year", "is_quiet"), [(2005, False), (2006, True)])
def test_frost_counts_between_cutting_and_combining_and_not_in_spring(facts, year, is_quiet):
    assert (caution(facts, [year]) is not None) == is_quiet


def test_the_speed_is_a_setting(records, facts):
    assert caution(facts, [2004]) is None
    change_settings(records, {"wind_kmh": "80"}, done_by="A grower", why="our pods hold")
    assert caution(pair_facts(records), [2004]) is not None
