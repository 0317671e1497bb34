"""Exploration of what goes with loss and with green seed: conditions at the loss check, seeds left behind, frost.

To look at, and not to conclude from.
"""

import duckdb
import polars as pl

from analytics.records.columns import METHODS
from analytics.storage.database import read
from analytics.trade.numbers_as_text import amount, capital, count, number
from analytics.trade.units import per_bu_ac

CONDITIONS = {
    "hour_of_day": "hour of the day",
    "ground_speed_kmh": "ground speed, km/h",
    "air_c": "air, C",
    "humidity_pct": "relative humidity, %",
}
FROSTS = ("none", "before cutting", "after cutting")

ON_50_COMBINES = (
    "On 50 combines, temperature, humidity, weather, method, shatter resistance and ground speed went with loss; "
    "brand, model and age did not (Prairie Agricultural Machinery Institute, 2019)."
)
LOST_SEEDS = (
    "For comparison: 107 kg/ha lost were about 3,000 viable seeds/m2, 9 to 56 times the seeding rate (Gulden, "
    "Shirtliffe and Thomas, 2003); 135.5 kg/ha were 4,400, of which 379 came up within three weeks, 6 to 2,224 (Haile "
    "and Shirtliffe, 2010)."
)
FROST_WORDS = (
    "Above −2 C hold off and look; at −2 C and below look in the afternoon; beyond −5 C is usually lethal at 40 % seed "
    "moisture and more, and seed under 20 % is safe (Canola Council of Canada). "
    "−3 C kills seed at 50 to 60 % moisture, and 0 to −1 C can fix the green (North Dakota State "
    "University). The stage of the crop decides, not this table."
)


def loss_conditions(connection: duckdb.DuckDBPyConnection, *, unit: str = "bu/ac") -> pl.DataFrame:
    """Loss behind header or pick-up and in the pan, with the conditions of the check; a row a plot, day and place.

    Columns: crop_year, field, plot, method, checked_on, place, loss (in `unit`), the keys of CONDITIONS (null where not
    noted), machine_settings.
    """
    rows = read(connection, "select * from loss_conditions order by checked_on, field, plot, place")
    return rows.with_columns(pl.col("loss_bu_ac") * per_bu_ac(unit)).rename({"loss_bu_ac": "loss"})


def condition_counts(rows: pl.DataFrame) -> str:
    """What the picture rests on. rows : as from loss_conditions"""
    by_method = ", ".join(
        f"{rows.filter(method=method).select('crop_year', 'field', 'plot').n_unique()} {method}" for method in METHODS
    )
    plots, years = rows.select("crop_year", "field", "plot").n_unique(), rows["crop_year"].n_unique()
    return f"{count(plots, 'plot')} ({by_method}) in {count(years, 'crop year')} have checks with conditions noted."


def lost_seeds(connection: duckdb.DuckDBPyConnection) -> tuple[str, ...]:
    """Seeds that each method left on a square metre, the mean of its plots with a known loss; a sentence a method."""
    rows = read(connection, "select method, lost_seeds_m2 from plot_lost_seeds where lost_seeds_m2 is not null")
    lines = []
    for method in METHODS:
        seeds = rows.filter(method=method)["lost_seeds_m2"]
        if len(seeds):
            spread = f"{number(_least(seeds), 0)} to {number(_most(seeds), 0)} on {count(len(seeds), 'plot')}"
            mean = number(round(float(seeds.sum()) / len(seeds), -1), 0)
            lines.append(f"{capital(method)} left about {mean} seeds/m2 ({spread}).")
    return tuple(lines)


def _least(values: pl.Series) -> float:
    return float(values.sort()[0])


def _most(values: pl.Series) -> float:
    return float(values.sort()[-1])


def green_by_frost(connection: duckdb.DuckDBPyConnection) -> tuple[str, ...]:
    """Green seed by method and frost; a sentence for each that has a plot, with its fields, the lowest reading and the
    most hours below zero.
    """
    rows = read(connection, "select * from plot_frost")
    lines = []
    for frost in FROSTS:
        for method in METHODS:
            of = rows.filter(frost=frost, method=method)
            if of.is_empty():
                continue
            mean = amount(float(of["green_seed_pct"].sum()) / of.height, "%", 2)
            fields = count(of.select("crop_year", "field").n_unique(), "field-year")
            where = "without frost on record" if frost == "none" else f"with frost {frost}{_how_hard(of)}"
            lines.append(f"{capital(method)}, {where}: {mean} green on average, {fields}.")
    return tuple(lines)


def _how_hard(rows: pl.DataFrame) -> str:
    lowest, hours = rows["lowest_c"].drop_nulls(), rows["hours_below_zero"].drop_nulls()
    parts = [f"down to {amount(_least(lowest), 'C', 1)}"] if len(lowest) else []
    parts += [f"up to {number(_most(hours), 0)} hours below zero"] if len(hours) else []
    return f" ({', '.join(parts)})" if parts else ""
