"""How each pair was grown and cut, side by side: what an agronomist asks for before he believes a difference."""

from collections.abc import Mapping
from datetime import date

import duckdb
import polars as pl

from analytics.sheet.printed_tables import BLANK, MOST_PAIRS, PrintedTable
from analytics.storage.database import read_table
from analytics.trade.numbers_as_text import count, exact, number

PAIR, PLOT = ("crop_year", "pair"), ("crop_year", "field", "plot")
SIDES = ("standing", "windrowed")
Row = Mapping[str, object]


def grown(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """A row a pair and side, newest year first, standing first: pair_field, variety, shatter_tolerant, seeded_on,
    windrowed_on, seed_colour_change_pct, days_in_windrow, harvested_on, preharvest_product, days_after_product,
    preharvest_interval_days, moisture_pct, and weather between cutting stage and combining ("not known" for a year
    without any weather on record).
    """
    plots = read_table(connection, "plots").select(*PLOT, "preharvest_product")
    timing = read_table(connection, "plot_timing").drop("method", "preharvest_on", "days_to_harvest")
    plantings = read_table(connection, "plantings").select("crop_year", "field", "variety", "shatter_tolerant")
    moisture = read_table(connection, "plot_yield").select(*PLOT, "moisture_pct")
    sides = read_table(connection, "pair_plots").join(read_table(connection, "planned_pairs"), on=PAIR, how="anti")
    found = (
        sides.join(plots, on=PLOT, how="left")
        .join(timing, on=PLOT, how="left")
        .join(plantings, on=["crop_year", "field"], how="left")
        .join(moisture, on=PLOT, how="left")
        .join(_weather(connection), on=PAIR, how="left")
        .join(
            read_table(connection, "year_weather").select("crop_year", "is_weather_known"), on="crop_year", how="left"
        )
        .with_columns(
            weather=pl.when(pl.col("weather").is_not_null())
            .then(pl.col("weather"))
            .when(pl.col("is_weather_known"))
            .then(pl.lit("none noted"))
            .otherwise(pl.lit("not known"))
        )
    )
    names = (*PAIR, "side", "pair_field", "variety", "shatter_tolerant", "seeded_on", "windrowed_on")
    more = ("seed_colour_change_pct", "days_in_windrow", "harvested_on", "preharvest_product", "days_after_product")
    last = ("preharvest_interval_days", "moisture_pct", "weather")
    return found.select(*names, *more, *last).sort("crop_year", "pair", "side", descending=[True, False, False])


def _weather(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """A row a pair with any event while its crop was out: the events in a few words, wind with its strongest km/h."""
    events = read_table(connection, "pair_weather")
    wind = pl.col("wind_kmh").max().round(0).cast(pl.Int64)
    kinds = events.group_by(*PAIR, "event").agg(pl.len().alias("times"), wind.alias("kmh")).sort(*PAIR, "event")
    speed = pl.format(" {}", "kmh").fill_null("")
    times = pl.when(pl.col("times") > 1).then(pl.format(" x{}", "times")).otherwise(pl.lit(""))
    said = kinds.select(*PAIR, words=pl.format("{}{}{}", "event", speed, times))
    return said.group_by(PAIR).agg(pl.col("words").str.join(", ").alias("weather"))


def grown_table(connection: duckdb.DuckDBPyConnection) -> tuple[PrintedTable, str]:
    """The newest pairs, standing / windrowed where the two differ, and what the table leaves out."""
    rows = grown(connection)
    by_pair = {pair: dict(zip(part["side"], part.iter_rows(named=True), strict=True)) for pair, part in _by_pair(rows)}
    shown = list(by_pair.items())[:MOST_PAIRS]
    cells = tuple(_cells(year, pair, sides["standing"], sides["windrowed"]) for (year, pair), sides in shown)
    columns = (
        "year", "pair", "field", "variety", "shatter tol.", "seeded", "windrowed at", "combined", "days down",
        "product, days (label)", "moisture", "weather while out",
    )  # fmt: skip
    more = f" The newest {MOST_PAIRS} of {count(len(by_pair), 'pair')}." if len(by_pair) > MOST_PAIRS else ""
    note = (
        "Standing / windrowed where they differ. Windrowed at: day and seed colour change; days down: in the windrow; "
        "product, days: pre-harvest product and days to the first cut, with the days the label asks. Wind in "
        f"km/h. {BLANK}: unknown.{more}"
    )
    return PrintedTable(columns=columns, rows=cells, text_columns=len(columns)), note


def _by_pair(rows: pl.DataFrame) -> list[tuple[tuple[int, str], pl.DataFrame]]:
    parts = rows.group_by(PAIR, maintain_order=True)
    return [((int(str(year)), str(pair)), part) for (year, pair), part in parts]


def _cells(year: int, pair: str, standing: Row, windrowed: Row) -> tuple[str, ...]:
    def both(name: str) -> str:
        return _either(_text(standing[name]), _text(windrowed[name]))

    def percent(side: Row) -> str:
        value = side["moisture_pct"]
        return number(value, 1) if isinstance(value, float) else BLANK

    colour = windrowed["seed_colour_change_pct"]
    at = f" {number(colour, 0)}%" if isinstance(colour, float | int) else ""
    return (
        str(year),
        pair,
        _text(standing["pair_field"]),
        both("variety"),
        both("shatter_tolerant"),
        both("seeded_on"),
        f"{_text(windrowed['windrowed_on'])}{at}",
        both("harvested_on"),
        _text(windrowed["days_in_windrow"]),
        _either(_product(standing), _product(windrowed)),
        _either(percent(standing), percent(windrowed)),
        _text(standing["weather"]),
    )


def _either(one: str, other: str) -> str:
    return one if one == other else f"{one} / {other}"


def _product(side: Row) -> str:
    name, days, label = side["preharvest_product"], side["days_after_product"], side["preharvest_interval_days"]
    if name is None and days is None:
        return "none"
    return f"{_text(name)}, {_text(days)} ({_text(label)})"


def _text(value: object) -> str:
    if value is None:
        return BLANK
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, date):
        return f"{value.day} {value:%b}"
    return exact(value) if isinstance(value, float) else str(value)
