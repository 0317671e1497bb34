"""No bad year on record: a caution with the yearly chance that so many quiet years cannot exclude."""

from datetime import date

import polars as pl
import pytest

from analytics.answer.review import review
from analytics.pairs.compared_pairs import pair_cautions, pair_facts
from analytics.settings import change_settings
from analytics.trade.measures import MEASURES


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


def caution(connection):
    """Of the farm's pairs, which are all complete; their yields need not be worked out for it."""
    facts = pair_facts(connection)
    rows = facts.select("crop_year", "pair", difference=pl.lit(1.0), not_known=pl.lit(None, pl.String))
    return {one.code: one.text for one in pair_cautions(facts, MEASURES["yield"], rows)}.get("no_bad_year")


@pytest.mark.parametrize(("years", "percent"), [([2023], 95), ([2020, 2021, 2022], 63), (range(2018, 2024), 39)])
def test_quiet_years_cannot_exclude_a_bad_one(tiny, years, percent):
    """1 - 0.05^(1/Y): 0.95 for one year, 0.632 for three, 0.393 for six (exact binomial; the review's one in 39 %)."""
    connection = tiny(farm(years, [rain(year) for year in years]))
    told = caution(connection)
    if len(years) == 1:
        assert told in [one.text for one in review(connection, "yield").cautions]
    assert f"could come {percent} times in 100" in told


def test_a_year_without_weather_on_record_is_not_known_and_not_quiet(tiny):
    told = caution(tiny(farm([2021, 2022, 2023], [rain(2021)])))
    assert "among the one year whose weather is on record" in told
    assert "could come 95 times" in told


def test_without_any_weather_nothing_is_said_of_quiet_years(tiny):
    assert caution(tiny(farm([2021, 2022, 2023], []))) is None


@pytest.mark.parametrize(
    ("reading", "unit", "is_quiet"), [(59.9, "km/h", True), (60.0, "km/h", False), (37.3, "mph", False)]
)
def test_wind_at_the_settings_speed_between_cutting_and_combining_makes_a_bad_year(tiny, reading, unit, is_quiet):
    told = caution(tiny(farm([2022, 2023], [rain(2022), wind(2023, reading, unit)])))
    assert (told is not None) == is_quiet


def test_the_speed_is_a_setting(tiny):
    connection = tiny(farm([2023], [wind(2023, 70.0)]))
    assert caution(connection) is None
    change_settings(connection, {"wind_kmh": "80"}, done_by="A grower", why="our pods hold")
    assert caution(connection) is not None


@pytest.mark.parametrize(("day", "is_quiet"), [(date(2023, 9, 2), False), (date(2023, 5, 20), True)])
def test_frost_counts_between_cutting_and_combining_and_not_in_spring(tiny, day, is_quiet):
    frost = {"happened_on": day, "event": "frost", "reading": -3.0, "unit": "C"}
    assert (caution(tiny(farm([2023], [frost]))) is not None) == is_quiet
