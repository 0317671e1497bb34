"""Timing: who was first, the label's interval at the edge, the calendar, and weather in between."""

from collections.abc import Callable
from datetime import date

import duckdb
import polars as pl
import pytest

from analytics.pairs import timing
from analytics.storage.database import read_table

FIELD = {"field": "Home", "acres": 100.0}


def two_plots(**standing: object) -> dict[str, list[dict[str, object]]]:
    key = {"crop_year": 2024, "field": "Home", "acres": 50.0}
    return {
        "fields": [FIELD],
        "plantings": [{"crop_year": 2024, "field": "Home", "crop": "canola", "seeded_on": date(2024, 5, 10)}],
        "plots": [
            {**key, "plot": "east", "method": "standing", "harvested_on": date(2024, 9, 10), **standing},
            {
                **key,
                "plot": "west",
                "method": "windrowed",
                "windrowed_on": date(2024, 8, 20),
                "harvested_on": date(2024, 9, 1),
            },
        ],
        "pairs": [
            {
                "crop_year": 2024,
                "pair": "A",
                "standing_field": "Home",
                "standing_plot": "east",
                "windrowed_field": "Home",
                "windrowed_plot": "west",
                "layout": "split field",
            }
        ],
    }


def test_the_days_of_a_pair(tiny: Callable[..., duckdb.DuckDBPyConnection]) -> None:
    (row,) = read_table(tiny(two_plots()), "pair_timing").iter_rows(named=True)
    assert row["cut_stage_on"] == date(2024, 8, 20)
    assert row["days_between"] == 21


def test_a_standing_plot_without_a_noted_day_takes_its_partners_and_says_so(
    tiny: Callable[..., duckdb.DuckDBPyConnection],
) -> None:
    bars = {row["method"]: row for row in timing.calendar_bars(tiny(two_plots()), 2024).iter_rows(named=True)}
    assert (bars["standing"]["starts_on"], bars["standing"]["starts_from"]) == (date(2024, 8, 20), "partner")
    assert (bars["windrowed"]["starts_on"], bars["windrowed"]["starts_from"]) == (date(2024, 8, 20), "windrowed")


def test_a_product_day_opens_the_bar_of_a_standing_plot(tiny: Callable[..., duckdb.DuckDBPyConnection]) -> None:
    bars = timing.calendar_bars(tiny(two_plots(preharvest_on=date(2024, 8, 25))), 2024)
    standing = bars.row(by_predicate=pl.col("method") == "standing", named=True)
    assert (standing["starts_on"], standing["starts_from"]) == (date(2024, 8, 25), "product")


def test_weather_counts_from_the_cutting_stage_to_the_last_combining(
    tiny: Callable[..., duckdb.DuckDBPyConnection],
) -> None:
    def wind(day: date, reading: float, unit: str, field: str | None = None) -> dict[str, object]:
        return {"happened_on": day, "field": field, "event": "wind", "reading": reading, "unit": unit}

    records = two_plots()
    records["fields"].append({"field": "Away", "acres": 80.0})
    records["weather"] = [
        wind(date(2024, 8, 19), 99.0, "km/h"),  # the day before the cutting stage
        wind(date(2024, 8, 20), 40.0, "km/h"),
        wind(date(2024, 9, 5), 40.0, "mph"),  # the windrows were in, the standing crop was not
        wind(date(2024, 9, 6), 97.0, "km/h", "Away"),
        wind(date(2024, 9, 7), 95.0, "as felt"),  # no unit that is known: an event, no reading
        wind(date(2024, 9, 10), 30.0, "km/h", "Home"),
        wind(date(2024, 9, 11), 98.0, "km/h"),  # the day after the last combining
    ]
    connection = tiny(records)
    between = timing.weather_between(connection, crop_year=2024, pair="A")
    assert [day.day for day in between["happened_on"]] == [20, 5, 7, 10]
    assert between["hit_standing"].to_list() == [True, True, True, True]
    assert between["hit_windrowed"].to_list() == [True, False, False, False]
    (row,) = timing.exploration(connection).iter_rows(named=True)
    assert row["worst_wind_kmh"] == pytest.approx(64.37376)  # 40 mph, 1.609344 km a mile by definition
    assert (row["events"], row["days_between"]) == (4, 21)
    assert row["loss_difference"] is None


def test_the_windy_year_of_the_demo_shows_in_the_exploration(demo: duckdb.DuckDBPyConnection) -> None:
    """sample_records/README: 96 km/h on 27 August 2021, after the windrows were combined."""
    rows = timing.exploration(demo)
    windy = rows.filter(pl.col("crop_year") == 2021)
    assert windy["worst_wind_kmh"].unique().to_list() == [96.0]
    assert (windy["loss_difference"].drop_nulls() > 2).all()
    assert timing.exploration_counts(rows) == (
        "22 pairs of 26 had wind on record between cutting stage and combining, in 5 crop years; 12 of them have "
        "losses on both sides. Pairs of one year share its wind, so years are what counts here."
    )


def test_the_short_interval_of_the_demo(demo: duckdb.DuckDBPyConnection) -> None:
    """sample_records/README: 2025, Willow quarter, east half: 12 of 14 days."""
    row = demo.execute(
        "select days_after_product, preharvest_interval_days, is_interval_short from plot_timing"
        " where crop_year = 2025 and field = 'Willow quarter' and plot = 'east'"
    ).fetchall()
    assert row == [(12, 14.0, True)]


def test_the_calendar_of_a_crop_year_holds_its_plots_and_its_weather(demo: duckdb.DuckDBPyConnection) -> None:
    bars, weather = timing.calendar_bars(demo, 2025), timing.calendar_weather(demo, 2025)
    assert bars.height == 8
    assert (bars["starts_on"] <= bars["harvested_on"]).all()
    assert weather.select("event", "reading").rows() == [("rain", 9.0), ("wind", 71.0)]


def test_the_calendar_shows_weather_from_the_first_cut_to_the_last_combining(
    tiny: Callable[..., duckdb.DuckDBPyConnection],
) -> None:
    """The windrowed half was cut on 20 August, the standing half combined on 10 September."""
    days = [date(2024, 8, 19), date(2024, 8, 20), date(2024, 9, 10), date(2024, 9, 11)]
    connection = tiny(two_plots() | {"weather": [{"happened_on": day, "event": "wind"} for day in days]})
    assert timing.calendar_weather(connection, 2024)["happened_on"].to_list() == days[1:3]
