"""What the counts of a sample allow, beside the grade on its ticket. The ticket's grade always wins.

The program never says what grade a sample is. It says within which limits the counts lie, once rounded as the Canada
Grain Regulations round (Schedule 3, section 1: to the decimals in which the limit is written, halves up) and once read
strictly. The limits are the view grade_limits, with edition and source.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

import duckdb

from analytics.statistics.proportions import beta_binomial_at_most, clopper_pearson
from analytics.storage.database import read_query, read_table
from analytics.trade.grade_limits import (
    FACTOR_WORDS,
    GRADES,
    RECOUNT_SEEDS,
    Limit,
    most_green_allowed,
    read_against,
    round_as_written,
    sample_percents,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class GreenCount:
    """Green seed of one or several crush counts, percent, with the exact (Clopper-Pearson) interval."""

    green_seeds: int
    seeds_crushed: int
    percent: float
    low: float
    high: float
    level: float


def limits_in_force(connection: duckdb.DuckDBPyConnection, jurisdiction: str, *, crop_year: int) -> tuple[Limit, ...]:
    """The limits that a sample of a crop year is held against. jurisdiction : "CA" or "US"."""
    rows = read_query(connection, "grade_limits_in_force", jurisdiction=jurisdiction, crop_year=crop_year)
    limits = (
        Limit(
            factor=row["factor"],
            maxima=(row["max_no1"], row["max_no2"], row["max_no3"]),
            decimals=row["decimals_as_written"],
            source=row["source"],
            halves=row["halves"],
            caveat=row["caveat"],
        )
        for row in rows.iter_rows(named=True)
    )
    return tuple(sorted(limits, key=lambda limit: list(FACTOR_WORDS).index(limit.counted_as)))


def green_count(green_seeds: int, seeds_crushed: int, *, level: float = 0.95) -> GreenCount:
    """Green seed in percent with its exact binomial interval (Clopper-Pearson).

    Raises ValueError for more green seeds than were crushed.
    >>> count = green_count(10, 500)
    >>> round(count.low, 2), round(count.high, 2)
    (0.96, 3.65)
    """
    share = clopper_pearson(green_seeds, seeds_crushed, level=level)
    return GreenCount(
        green_seeds=green_seeds,
        seeds_crushed=seeds_crushed,
        percent=100 * share.estimate,
        low=100 * share.low,
        high=100 * share.high,
        level=level,
    )


def recount_chance(count: GreenCount, limit: Limit, *, strictly: bool) -> float:
    """The chance that another 500 seeds of the same lot would keep the limit for No. 1 green seed.

    The share of the lot is not known, only counted: a beta distribution from the count and Jeffreys' prior, half a seed
    of each kind, so that the recount is beta-binomial. It takes no account of the grader's eye.
    Source: H. Jeffreys (1946) Proc. Royal Society A 186:453-461 (from memory) for the prior.
    """
    allowed = most_green_allowed(limit, strictly=strictly)
    green, sound = count.green_seeds + 0.5, count.seeds_crushed - count.green_seeds + 0.5
    return beta_binomial_at_most(allowed, of=RECOUNT_SEEDS, a=green, b=sound)


def may_heat(
    connection: duckdb.DuckDBPyConnection, rows: Iterable[Mapping[str, object]], *, jurisdiction: str, crop_year: int
) -> bool:
    """Whether any of these loads is too moist to be called dry, or any of these samples past a limit for No. 1.

    rows : of loads or of samples of the crop year; the limits are read strictly, for this is about the bin and not
        about the grade
    jurisdiction : "CA" or "US"
    """
    moistures: list[float] = []
    samples = []
    for row in rows:
        moisture = row.get("moisture_pct")
        if isinstance(moisture, int | float):
            moistures.append(moisture)
        if "green_seeds" in row:
            samples.append(sample_percents(row))
    if moistures and moisture_class(connection, max(moistures)) != "dry":
        return True
    limits = limits_in_force(connection, jurisdiction, crop_year=crop_year) if samples else ()
    return any(read_against(sample, limits).strict_grade not in (None, GRADES[0]) for sample in samples)


def moisture_class(connection: duckdb.DuckDBPyConnection, moisture_pct: float) -> str:
    """`dry`, `tough` or `damp` for canola, the moisture read to tenths as the limits are written."""
    limits = read_table(connection, "constants").row(0, named=True)
    rounded = round_as_written(Decimal(str(moisture_pct)), 1)
    if rounded <= limits["max_dry_pct"]:
        return "dry"
    return "tough" if rounded <= limits["max_tough_pct"] else "damp"
