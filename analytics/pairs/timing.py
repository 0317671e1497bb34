"""Days: who was harvested first, how long after a pre-harvest product, what weather came in between.

Every difference is standing minus windrowed, so a positive number of days means that standing came later.
"""

import duckdb
import polars as pl

from analytics.storage.database import read, read_query
from analytics.trade.numbers_as_text import count
from analytics.trade.units import per_bu_ac


def calendar_bars(connection: duckdb.DuckDBPyConnection, crop_year: int) -> pl.DataFrame:
    """For the picture of one crop year, a row a plot with a day of combining: field, plot, pair, method, starts_on
    (colour change as noted, or the partner's), starts_from ("windrowed", "product", "partner"; both
    null when no such day is known), harvested_on, seed_colour_change_pct.
    """
    return read_query(connection, "calendar_bars", crop_year=crop_year)


def calendar_weather(connection: duckdb.DuckDBPyConnection, crop_year: int) -> pl.DataFrame:
    """Weather on record from the first colour change to the last combining of a crop year: happened_on, field (null:
    whole farm), event, reading, unit, notes.
    """
    return read_query(connection, "calendar_weather", crop_year=crop_year)


def weather_between(connection: duckdb.DuckDBPyConnection, *, crop_year: int, pair: str) -> pl.DataFrame:
    """What happened on the fields of one pair from the cutting stage to the last combining: happened_on, field, event,
    reading, unit, notes, hit_standing, hit_windrowed (that side was still out; null when its combining is unknown).
    """
    return read_query(connection, "weather_of_pair", crop_year=crop_year, pair=pair)


def exploration(connection: duckdb.DuckDBPyConnection, *, unit: str = "bu/ac") -> pl.DataFrame:
    """Weather against losses and yield, a row a pair, to look at and not to conclude from.

    unit : the yield unit in which the two differences are wanted

    Columns: crop_year, pair, field, cut_stage_on, days_between (cutting stage to the combining of the standing side),
    events, worst_wind_kmh (null: no wind on record), loss_difference and yield_difference (standing minus
    windrowed, null where unknown). Pairs without a day of cutting or of combining are left out.
    """
    rows = read(connection, "select * from pair_exploration order by crop_year, pair")
    return rows.with_columns(pl.col("loss_difference", "yield_difference") * per_bu_ac(unit))


def exploration_counts(rows: pl.DataFrame) -> str:
    """What an exploration rests on, as a sentence. rows : as from exploration."""
    with_wind = rows.filter(pl.col("worst_wind_kmh").is_not_null())
    years = with_wind["crop_year"].n_unique()
    return (
        f"{count(with_wind.height, 'pair')} of {rows.height} had wind on record between cutting stage and combining, "
        f"in {count(years, 'crop year')}; {with_wind['loss_difference'].count()} of them have losses on both sides. "
        "Pairs of one year share its wind, so years are what counts here."
    )
