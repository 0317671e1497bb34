"""Farms whose truth is known: how often each interval covers it, and how often a finding is false.

Everything is in units of the spread between field-years of one year (standard deviation 1, strips apart). The
difference of a strip in field f of year y is truth + year_y + field_yf + strip; each strip is weighed as three loads a
side, which add their own noise. A field-year's difference is the mean of its strips.

What is computed here, for all farms of a cell at once, are the formulas of analytics.comparison; test_calibration.py
holds the two together farm by farm. Intervals move with the truth, so one set of farms serves every true difference:
coverage is counted once, a false "real" with the truth at 0, a false "no difference that matters" at the margin.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from analytics.statistics.random_effects import hartung_knapp, mean_of_years

Floats = NDArray[np.float64]

STRIP_SD = 0.7  # of one strip's difference around its field-year's
LOAD_SD = 0.5  # of one load's difference around its strip's
LOADS = 3  # a strip
MARGIN = 1.0  # the difference that matters: as large as the spread between fields


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One kind of farm: field-years in each year, strips in each (0: drawn, 1 to 5), spread between years."""

    field_years: tuple[int, ...]
    strips: int
    year_sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Farms:
    """Field-year differences of all farms of a cell, shape (farms, field_years), their truth 0.

    strips : how many each has, same shape
    strip_squares, load_squares : sums of squares of strips within field-years, loads within strips, shape (farms,)
    years : year effects, shape (farms, years)
    """

    differences: Floats
    strips: NDArray[np.int64]
    strip_squares: Floats
    load_squares: Floats
    years: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """What a method says of each farm, shape (farms,); df alike for all or one for each."""

    estimate: Floats
    std_error: Floats
    df: int | Floats

    def covers(self, truth: Floats | float, level: float) -> float:
        """Share of farms whose interval at `level` holds the truth."""
        reach = special.stdtrit(self.df, (1 + level) / 2) * self.std_error
        return float(np.mean(np.abs(self.estimate - truth) <= reach))

    def called_equivalent(self, truth: Floats | float) -> float:
        """Share called within the margin at 95 % when the truth is the margin itself."""
        size = np.abs(self.estimate - truth + MARGIN)
        return float(np.mean(special.stdtr(self.df, (size - MARGIN) / self.std_error) < 0.05))


def simulate(cell: Cell, farms: int, random: np.random.Generator) -> Farms:
    """Strips and loads enter through their means and their sums of squares, which are independent for normal noise."""
    counts = np.array(cell.field_years)
    shape = (farms, int(counts.sum()))
    strips = np.full(shape, cell.strips) if cell.strips else random.integers(1, 6, shape)
    strip_variance = STRIP_SD**2 + LOAD_SD**2 / LOADS
    years = random.normal(0.0, 1.0, (farms, counts.size)) * cell.year_sd
    noise = random.normal(0.0, 1.0, shape) * np.sqrt(1 + strip_variance / strips)
    all_strips = strips.sum(axis=1)
    return Farms(
        differences=np.repeat(years, counts, axis=1) + noise,
        strips=strips,
        strip_squares=strip_variance * _chi_square(all_strips - shape[1], random),
        load_squares=LOAD_SD**2 * _chi_square(all_strips * (LOADS - 1), random),
        years=years,
    )


def _chi_square(df: NDArray[np.int64], random: np.random.Generator) -> Floats:
    return np.where(df > 0, random.chisquare(np.maximum(df, 1)), 0.0)


def within_years(field_years: tuple[int, ...], farms: Farms) -> tuple[Floats, Floats, int]:
    """Year means, shape (farms, years); the sum of squares within years, shape (farms,); its degrees of freedom."""
    counts = np.array(field_years)
    starts = np.concatenate(([0], np.cumsum(counts)[:-1]))
    means = np.add.reduceat(farms.differences, starts, axis=1) / counts
    squares = np.square(farms.differences - np.repeat(means, counts, axis=1)).sum(axis=1)
    return means, squares, int(counts.sum()) - counts.size


def these_fields(cell: Cell, farms: Farms) -> Interval | None:
    """The narrow answer of analytics.comparison; None with fewer than three field-years."""
    count, years = farms.differences.shape[1], len(cell.field_years)
    if count < 3:
        return None
    if years > 1 and count >= 2 * years:
        _, squares, df = within_years(cell.field_years, farms)
        return Interval(estimate=farms.differences.mean(1), std_error=np.sqrt(squares / df / count), df=df)
    return plain_over_pairs(farms)


def years_to_come(cell: Cell, farms: Farms) -> Interval:
    """The broad answer of analytics.comparison; with two years it gives numbers but no finding."""
    means, squares, df = within_years(cell.field_years, farms)
    if df == 0:
        return plain_over_pairs(farms)
    model = mean_of_years(means, squares / df, cell.field_years)
    return Interval(estimate=model.estimate, std_error=model.std_error, df=model.df)


def weighted_throughout(cell: Cell, farms: Farms) -> Interval:
    """Hartung-Knapp however uneven the years are: what mean_of_years does not do, and why."""
    means, squares, df = within_years(cell.field_years, farms)
    if df == 0:
        return plain_over_pairs(farms)
    model = hartung_knapp(means, (squares / df)[:, None] / np.array(cell.field_years))
    return Interval(estimate=model.estimate, std_error=model.std_error, df=model.df)


def plain_over_pairs(farms: Farms) -> Interval:
    """A paired t over all field-years as if they were independent."""
    count = farms.differences.shape[1]
    return Interval(
        estimate=farms.differences.mean(1),
        std_error=farms.differences.std(1, ddof=1) / np.sqrt(count),
        df=count - 1,
    )


def plain_over_strips(farms: Farms) -> Interval:
    """A paired t over all strips as if they were independent."""
    return _plain(farms, farms.strips.sum(1), farms.strip_squares, per_strip=1)


def plain_over_loads(farms: Farms) -> Interval:
    """A paired t over all loads, matched side by side, as if they were independent."""
    squares = LOADS * farms.strip_squares + farms.load_squares
    return _plain(farms, farms.strips.sum(1) * LOADS, squares, per_strip=LOADS)


def _plain(farms: Farms, count: NDArray[np.int64], inner_squares: Floats, *, per_strip: int) -> Interval:
    estimate = (farms.differences * farms.strips).sum(1) / farms.strips.sum(1)
    outer = (farms.strips * np.square(farms.differences - estimate[:, None])).sum(1) * per_strip
    return Interval(
        estimate=estimate,
        std_error=np.sqrt((outer + inner_squares) / (count - 1) / count),
        df=np.maximum(count - 1, 1).astype(np.float64),
    )


def narrow_truth(cell: Cell, farms: Farms) -> Floats:
    """What these fields' answer is about, shape (farms,): the mean in the years on record, weighted as the estimate."""
    return farms.years @ (np.array(cell.field_years) / sum(cell.field_years))
