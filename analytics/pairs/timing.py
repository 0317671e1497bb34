"""Days: who was harvested first, how long after a pre-harvest product, what weather came in between.

Every difference is standing minus windrowed, so a positive number of days means that standing came later.
"""

from datetime import date

import duckdb
import polars as pl

from analytics.storage.database import read
from analytics.trade.numbers_as_text import amount, count
from analytics.trade.units import per_bu_ac

EXPLORATION_HEADING = "exploration: look, do not conclude"


def first_words(standing_on: date | None, windrowed_on: date | None) -> str:
    """Which side of a pair was combined first, and by how much, as a sentence.

    >>> first_words(date(2025, 9, 9), date(2025, 9, 2))
    'The windrowed side was combined first, 7 days before the standing side.'
    """
    if standing_on is None or windrowed_on is None:
        return "Which side was combined first is unknown: a day of combining is missing."
    days = (standing_on - windrowed_on).days
    if days == 0:
        return "Both sides were combined on the same day."
    first, other = ("windrowed", "standing") if days > 0 else ("standing", "windrowed")
    return f"The {first} side was combined first, {amount(abs(days), 'days', 0)} before the {other} side."


def pair_timing(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """A row a pair: the days of both sides, and days_later (standing minus windrowed). Columns of pair_timing."""
    return read(connection, "select * from pair_timing order by crop_year, pair")


def calendar_bars(connection: duckdb.DuckDBPyConnection, crop_year: int) -> pl.DataFrame:
    """For the picture of one crop year, a row a plot with a day of combining: field, plot, pair, method, starts_on
    (colour change as noted, or the partner's), starts_from ("windrowed", "product", "partner"; both
    null when no such day is known), harvested_on, seed_colour_change_pct.
    """
    return read(
        connection,
        "select * exclude (crop_year) from plot_ripening where crop_year = $crop_year and harvested_on is not null"
        " order by pair nulls last, method, field, plot",
        crop_year=crop_year,
    )


def calendar_weather(connection: duckdb.DuckDBPyConnection, crop_year: int) -> pl.DataFrame:
    """Weather on record from the first colour change to the last combining of a crop year: happened_on, field (null:
    whole farm), event, reading, unit, notes.
    """
    return read(
        connection,
        "with season as (select min(starts_on) as first_on, max(harvested_on) as last_on from plot_ripening"
        " where crop_year = $crop_year)"
        " select weather.* from weather, season where happened_on between first_on and last_on"
        " order by happened_on, event",
        crop_year=crop_year,
    )


def weather_between(connection: duckdb.DuckDBPyConnection, *, crop_year: int, pair: str) -> pl.DataFrame:
    """What happened on the fields of one pair from the cutting stage to the last combining: happened_on, field, event,
    reading, unit, notes, hit_standing, hit_windrowed (that side was still out; null when its combining is unknown).
    """
    return read(
        connection,
        "select happened_on, field, event, reading, unit, notes, hit_standing, hit_windrowed from pair_weather"
        " where crop_year = $crop_year and pair = $pair order by happened_on, event",
        crop_year=crop_year,
        pair=pair,
    )


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
