"""Does the difference depend on yes or no: on one field or two, drawn or chosen, cut early or not? Exploration only."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from analytics.statistics.reml import of_fixed_effects, reml
from analytics.statistics.variance_components import Codes, Floats, sums_of_field_years

LEAST_A_GROUP = 3  # field-years with it, and without it
LEAST_DF = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Contrast:
    """Mean d without x and with x, and with less without, in the unit of d; low, high at the level asked for.

    without, with_ : as the model has them; with years fixed, averaged over the years as the field-years lie in them
    """

    without: float
    with_: float
    difference: float
    std_error: float
    df: float
    low: float
    high: float
    p: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Moderator:
    """fixed: years as blocks, d ~ year + x, df N - Y - 1; random: years drawn, d ~ x + (1|year), Kenward-Roger."""

    field_years_without: int
    field_years_with: int
    fixed: Contrast
    random: Contrast


@dataclass(frozen=True, slots=True, kw_only=True)
class NotAsked:
    """Why the records cannot say; a phrase for people."""

    reason: str


def moderator(differences: ArrayLike, year: ArrayLike, x: ArrayLike, *, level: float = 0.95) -> Moderator | NotAsked:
    """Whether d differs between field-years with x and without, seen within years.

    differences, year, x : shape (N,), x true or false; a field-year whose pairs differ in x is left out before
    Needs 3 field-years of each kind, both kinds in one year at least once, and N - Y - 1 of 2 or more. Fields with x
    differ from others in more than x, so this explains nothing by itself.
    Source: the analysis of covariance in any textbook; with years random as analytics.statistics.reml.
    """
    values, group = np.asarray(differences, dtype=np.float64), np.asarray(x, dtype=bool)
    years, code = np.unique(np.asarray(year), return_inverse=True)
    count, df = int(group.sum()), values.size - years.size - 1
    if min(count, values.size - count) < LEAST_A_GROUP:
        return NotAsked(
            reason=f"{count} field-year{'s' * (count != 1)} with it and {values.size - count} without: it takes "
            f"{LEAST_A_GROUP} of each"
        )
    within = group - _means(group.astype(np.float64), code)
    if not within.any():
        return NotAsked(reason="no year has field-years both with it and without it")
    if df < LEAST_DF:
        return NotAsked(
            reason=f"{values.size} field-years over {years.size} years leave {max(df, 0)} to judge the spread by: "
            f"it takes {LEAST_DF}"
        )
    fixed = _years_fixed(values, code, group, within, df, level)
    if fixed is None:
        return NotAsked(reason="the field-years have no spread to judge by")
    return Moderator(
        field_years_without=values.size - count,
        field_years_with=count,
        fixed=fixed,
        random=_years_random(values, code, group, level),
    )


def _years_fixed(
    values: Floats, year: Codes, group: NDArray[np.bool_], within: Floats, df: int, level: float
) -> Contrast | None:
    centred = values - values.mean()
    inside = centred - _means(centred, year)
    slope = float(within @ inside / (within @ within))
    squares = float(np.square(inside - slope * within).sum())
    if squares <= 1e-24 * values.size * float(np.square(values).max()):
        return None
    without = float(values.mean() - slope * group.mean())
    return _contrast(without, slope, float(np.sqrt(squares / df / (within @ within))), df, level)


def _years_random(values: Floats, year: Codes, group: NDArray[np.bool_], level: float) -> Contrast:
    covariates = group[:, None].astype(np.float64)
    effects = ("rest", "year") if year.any() else ("rest",)  # of one year nothing tells how years differ
    fit = reml(sums_of_field_years(values, effects=effects, year=year, covariates=covariates))
    without, slope = of_fixed_effects(fit, [1.0, 0.0]), of_fixed_effects(fit, [0.0, 1.0])
    return _contrast(without.estimate, slope.estimate, slope.std_error, slope.df, level)


def _contrast(without: float, difference: float, std_error: float, df: float, level: float) -> Contrast:
    half = float(special.stdtrit(df, (1 + level) / 2)) * std_error
    return Contrast(
        without=without,
        with_=without + difference,
        difference=difference,
        std_error=std_error,
        df=df,
        low=difference - half,
        high=difference + half,
        p=2 * float(special.stdtr(df, -abs(difference) / std_error)),
    )


def _means(values: Floats, year: Codes) -> Floats:
    """Each row's year mean."""
    counts = np.bincount(year)
    means: Floats = (np.bincount(year, weights=values) / counts)[year]
    return means
