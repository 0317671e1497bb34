"""Counts and shares: green seeds among seeds crushed, pairs in the top grade, and many p-values side by side."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

import numpy as np
import scipy
from numpy.typing import ArrayLike


@dataclass(frozen=True, slots=True, kw_only=True)
class IntervalEstimate:
    """A value with its interval."""

    estimate: float
    low: float
    high: float


def clopper_pearson(count: int, total: int, *, level: float = 0.95) -> IntervalEstimate:
    """A share with its exact binomial interval, 0 to 1.

    Raises ValueError unless 0 <= count <= total and total is above 0.
    Source: C. J. Clopper and E. S. Pearson (1934) Biometrika 26:404-413.
    >>> round(clopper_pearson(0, 20).high, 9)  # 1 - 0.025 ** (1 / 20)
    0.168433471
    """
    _check_share(count, total)
    tail = (1 - level) / 2
    return IntervalEstimate(
        estimate=count / total,
        low=float(scipy.special.betaincinv(count, total - count + 1, tail)) if count > 0 else 0.0,
        high=float(scipy.special.betaincinv(count + 1, total - count, 1 - tail)) if count < total else 1.0,
    )


def mantel_haenszel_odds_ratio(
    first_yes: ArrayLike, first_no: ArrayLike, second_yes: ArrayLike, second_no: ArrayLike, *, level: float = 0.95
) -> IntervalEstimate | None:
    """Odds of a yes in the first over the odds in the second, common to all strata, with its interval.

    Each argument: counts, shape (strata,). For green seed a stratum is a pair; seeds of one plot are alike, so this
    counts seeds as if they were independent and its interval is too narrow: show it beside the plot percentages, never
    instead. None when no stratum tells, or when only one side ever has a yes (or a no).
    Raises ValueError for counts below 0 or unequal shapes.
    Source: N. Mantel and W. Haenszel (1959) J. Natl. Cancer Inst. 22:719-748; variance of J. Robins, N. Breslow and
    S. Greenland (1986) Biometrics 42:311-323.
    """
    a, b, c, d = (
        np.atleast_1d(np.asarray(counts, np.float64)) for counts in (first_yes, first_no, second_yes, second_no)
    )
    if len({a.shape, b.shape, c.shape, d.shape}) > 1 or a.ndim != 1 or not all((x >= 0).all() for x in (a, b, c, d)):
        raise ValueError("four rows of counts, 0 or more, one per stratum, are allowed")
    total = np.where(a + b + c + d > 0, a + b + c + d, 1.0)
    favour, against = a * d / total, b * c / total
    if not (favour.sum() > 0 and against.sum() > 0):
        return None
    agree, differ = (a + d) / total, (b + c) / total
    up, down = float(favour.sum()), float(against.sum())
    variance = (
        float((agree * favour).sum()) / (2 * up * up)
        + float((agree * against + differ * favour).sum()) / (2 * up * down)
        + float((differ * against).sum()) / (2 * down * down)
    )
    reach = float(scipy.special.ndtri((1 + level) / 2)) * sqrt(variance)
    middle = log(up / down)
    return IntervalEstimate(estimate=up / down, low=exp(middle - reach), high=exp(middle + reach))


def holm_adjusted(p_values: Sequence[float | None]) -> list[float | None]:
    """p-values adjusted for being looked at together, in the order given; None stays None and is not counted.

    Source: S. Holm (1979) Scandinavian J. Statistics 6:65-70.
    >>> holm_adjusted([0.01, None, 0.04, 0.03])
    [0.03, None, 0.06, 0.06]
    """
    known = sorted((p, place) for place, p in enumerate(p_values) if p is not None)
    adjusted: list[float | None] = [None] * len(p_values)
    largest = 0.0
    for done, (p, place) in enumerate(known):
        largest = max(largest, min(1.0, p * (len(known) - done)))
        adjusted[place] = largest
    return adjusted


def _check_share(count: int, total: int) -> None:
    if not 0 <= count <= total or total <= 0:
        raise ValueError(f"{count} of {total} given; allowed 0 to {total}, of 1 or more")


def beta_binomial_at_most(count: int, *, of: int, a: float, b: float) -> float:
    """The chance of `count` successes or fewer `of` so many, when their share has the beta distribution of a and b.

    >>> round(beta_binomial_at_most(1, of=2, a=1, b=1), 12)  # every count alike
    0.666666666667
    """
    counts = np.arange(min(count, of) + 1)
    choose = scipy.special.gammaln(of + 1) - scipy.special.gammaln(counts + 1) - scipy.special.gammaln(of - counts + 1)
    return float(np.exp(choose + scipy.special.betaln(counts + a, of - counts + b) - scipy.special.betaln(a, b)).sum())


def binomial_at_least(count: int, *, of: int, share: float) -> float:
    """The chance of `count` successes or more `of` so many.

    >>> round(binomial_at_least(1, of=2, share=0.5), 12)
    0.75
    """
    if not 0 < count <= of:
        return 1.0 if count <= 0 else 0.0
    return float(scipy.special.bdtrc(count - 1, of, share))


def binomial_quantile(chance: float, *, of: int, share: float) -> int:
    """The smallest count that is not passed with at least that chance.

    >>> binomial_quantile(0.5, of=10, share=0.5)
    5
    """
    at_most = scipy.special.bdtr(np.arange(of + 1), of, share)
    return int(np.searchsorted(at_most, chance - 1e-12))  # sums of rounded terms
