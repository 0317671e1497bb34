"""The numbers behind both questions, for one farm or for thousands at once: everything works on the last axis.

A farm's field-years enter through each year's count, mean and sum of squares; one farm has shape (years,), a farm with
each field-year left out in turn, or ten thousand simulated farms, shape (farms, years).
"""

from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import NDArray

from analytics.statistics.given_pairs import Floats, Marked
from analytics.statistics.places import FieldYears
from analytics.statistics.random_effects import RandomEffects, hartung_knapp, unweighted


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class YearSums:
    """Field-years by year.

    counts : field-years in each year, 1 or more, shape (..., years)
    means : their mean difference, same shape
    squares : sum of squares of the differences about their year's mean, over all years, shape (...)
    """

    counts: NDArray[np.float64]
    means: Floats
    squares: Floats

    @property
    def count(self) -> Floats:
        """Field-years in all, shape (...)."""
        total: Floats = self.counts.sum(-1)
        return total

    @property
    def years(self) -> int:
        """How many years."""
        return int(self.counts.shape[-1])

    @property
    def mean(self) -> Floats:
        """Plain mean over field-years, shape (...)."""
        result: Floats = (self.counts * self.means).sum(-1) / self.count
        return result

    @property
    def within_df(self) -> Floats:
        """Degrees of freedom of the spread within years: field-years less years, shape (...)."""
        return self.count - self.years

    @property
    def within_variance(self) -> Floats:
        """Pooled variance of field-years within their year, shape (...); 0 without a year of two or more."""
        return self.squares / np.maximum(self.within_df, 1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Estimated:
    """A mean with its standard error and degrees of freedom, each of shape (...)."""

    estimate: Floats
    std_error: Floats
    df: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ranges:
    """What follows at one level, each of shape (...): the interval, the p, and both for equivalence.

    low, high : at the level
    equivalence_low, equivalence_high : at 2 x level - 1, which two one-sided tests at 1 - level belong to
    equivalence_p : of the larger of the two one-sided tests against the margin; NaN without a margin
    """

    low: Floats
    high: Floats
    p_value: Floats
    equivalence_low: Floats
    equivalence_high: Floats
    equivalence_p: Floats


def year_sums(found: FieldYears, rounding: float) -> YearSums:
    """One farm's field-years by year; a spread within years below rounding is 0."""
    counts = np.bincount(found.year).astype(np.float64)
    means = np.bincount(found.year, weights=found.difference) / counts
    squares = np.square(found.difference - means[found.year]).sum()
    if squares <= rounding**2 * max(found.count - found.years, 1):
        squares = np.zeros(())
    return YearSums(counts=counts, means=np.where(np.abs(means) <= rounding, 0.0, means), squares=np.asarray(squares))


def years_are_blocks(sums: YearSums) -> Marked:
    """Whether there are two field-years a year on average, so that years can be told from fields; shape (...)."""
    return (sums.count >= 2 * sums.years) & (sums.years > 1)


def these_fields(sums: YearSums, *, blocks: bool) -> Estimated:
    """The narrow question: plain mean of the field-years.

    blocks : years are blocks, standard error s_w / sqrt(N), df N - Y, s_w pooled within years; else the paired t,
        df N - 1 (Student 1908 Biometrika 6:1-25)
    """
    mean = sums.mean
    squares, df = sums.squares, sums.within_df
    if not blocks:
        squares = squares + (sums.counts * np.square(sums.means - mean[..., None])).sum(-1)
        df = sums.count - 1
    return Estimated(estimate=mean, std_error=np.sqrt(squares / np.maximum(df, 1) / sums.count), df=df)


def years_to_come(sums: YearSums, *, weighted: bool) -> RandomEffects:
    """The broad question: mean over years, those to come included; two years or more.

    weighted : by Hartung and Knapp; else years count alike. With no spread within years, or with one field-year a year,
        the two are the same
    """
    variances = sums.within_variance[..., None] / sums.counts
    return hartung_knapp(sums.means, variances) if weighted else unweighted(sums.means, variances)


def ranges(
    estimate: Floats, *spreads: Estimated | RandomEffects, level: float, margin: float | None, rounding: float
) -> Ranges:
    """Interval and p at `level`; of several spreads the wider range and the larger p, so that all have to agree.

    A standard error below rounding is no spread and is passed over; NaN where none is left.
    Equivalence: D. J. Schuirmann (1987) J. Pharmacokinetics and Biopharmaceutics 15:657-680.
    """
    size = np.abs(estimate)
    errors = [(one.df, np.where(one.std_error > rounding, one.std_error, np.nan)) for one in spreads]

    def widest(tail: float) -> Floats:
        reach: Floats = np.fmax.reduce([scipy.special.stdtrit(df, tail) * error for df, error in errors])
        return reach

    reach, inner = widest((1 + level) / 2), widest(level)
    p_value = np.fmax.reduce([2 * scipy.special.stdtr(df, -size / error) for df, error in errors])
    equivalence_p = np.full_like(p_value, np.nan)
    if margin is not None:
        equivalence_p = np.fmax.reduce([scipy.special.stdtr(df, (size - margin) / error) for df, error in errors])
    return Ranges(
        low=estimate - reach,
        high=estimate + reach,
        p_value=p_value,
        equivalence_low=estimate - inner,
        equivalence_high=estimate + inner,
        equivalence_p=equivalence_p,
    )
