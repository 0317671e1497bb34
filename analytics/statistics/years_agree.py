"""Do the years agree, or does the difference depend on the year?

Two tests on the year means against the spread within years: whether they differ at all (F), and whether some years are
above zero while others are below it (Gail and Simon). Functions work on the last axis, as in estimates.py.
"""

from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import ArrayLike

from analytics.statistics.estimates import YearSums
from analytics.statistics.given_pairs import Floats, Marked

DISAGREE_BELOW = 0.05  # fixed, whatever the level of the ranges; our choice, no source


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Agreement:
    """The p of both tests, shape (...); NaN where there is no spread within years to judge by, or one year only."""

    f_p: Floats
    gail_simon_p: Floats

    @property
    def disagree(self) -> Marked:
        """Either test says that the years differ."""
        return (self.f_p < DISAGREE_BELOW) | self.change_sides

    @property
    def change_sides(self) -> Marked:
        """Some years lie above zero and some below by more than chance explains."""
        return self.gail_simon_p < DISAGREE_BELOW


def agreement(sums: YearSums) -> Agreement:
    """Both tests, from field-years by year.

    F: year means about their mean against s_w, df Y - 1 and N - Y.
    Gail-Simon: see gail_simon_p.
    """
    years, df = sums.years, sums.within_df
    known = (df > 0) & (sums.squares > 0) & (years > 1)
    variance = np.where(known, sums.within_variance, 1.0)
    between = (sums.counts * np.square(sums.means - sums.mean[..., None])).sum(-1) / max(years - 1, 1)
    f_p = scipy.special.fdtrc(max(years - 1, 1), np.maximum(df, 1), between / variance)
    sides = gail_simon_p(sums.means, variance[..., None] / sums.counts, df=np.maximum(df, 1))
    return Agreement(f_p=np.where(known, f_p, np.nan), gail_simon_p=np.where(known, sides, np.nan))


def gail_simon_p(means: ArrayLike, variances: ArrayLike, *, df: ArrayLike | None = None) -> Floats:
    """Likelihood ratio test that the true means do not lie on both sides of zero, shape (...).

    means, variances : estimates and the variances of their error, shape (..., groups)
    df : of the variances' common estimate, shape (...); None takes them as known, as the source does
    Q+ and Q- are the sums of mean^2 / variance over groups above and below zero; p is the sum over h = 1 .. groups - 1
    of Binomial(h; groups - 1, 1/2) x P(chi-square_h > min(Q+, Q-)), with h F(h, df) in place of chi-square_h where the
    variance is estimated; 1 when all lie on one side.
    Source: M. Gail and R. Simon (1985) Biometrics 41:361-372; the F form is our own step, as their chi-square takes
    the variance as known.
    """
    values, errors = np.asarray(means, dtype=np.float64), np.asarray(variances, dtype=np.float64)
    sizes = np.square(values) / errors
    least = np.minimum(np.where(values > 0, sizes, 0.0).sum(-1), np.where(values < 0, sizes, 0.0).sum(-1))
    steps = np.arange(1, values.shape[-1])
    if not steps.size:
        return np.ones_like(least)
    chances = _binomial_halves(values.shape[-1] - 1)
    if df is None:
        tails = scipy.special.chdtrc(steps, least[..., None])
    else:
        tails = scipy.special.fdtrc(steps, np.asarray(df, dtype=np.float64)[..., None], least[..., None] / steps)
    p: Floats = (chances * tails).sum(-1)
    return np.where(least > 0, p, 1.0)


def _binomial_halves(count: int) -> Floats:
    """Chance of 1, 2, ... count heads in `count` throws of a coin."""
    heads = np.arange(1, count + 1)
    logs = (
        scipy.special.gammaln(count + 1) - scipy.special.gammaln(heads + 1) - scipy.special.gammaln(count - heads + 1)
    )
    result: Floats = np.exp(logs - count * np.log(2.0))
    return result
