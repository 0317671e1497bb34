"""Exact companions of the t interval: they need no normal distribution, only that signs could have fallen either way.

Why not scipy. `scipy.stats.wilcoxon(method="exact")` uses the null distribution without ties, which is wrong as soon as
two differences have the same size; here mid-ranks are kept and their own distribution is counted. And
`scipy.stats.permutation_test` silently draws a random sample once 2**N exceeds its `n_resamples` (N = 14 by default)
and takes seconds at N = 20 when told not to; here every sign pattern is counted, by dynamic programming or by meeting
in the middle, never by sampling. Where counting is out of reach each docstring says what is returned instead.

Differences are standing minus windrowed, shape (replicates,), finite. Differences that agree to ten significant digits
are the same number: 45.3 - 43.3 and 44.1 - 42.1 tie, though the computer stores them differently.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import ceil, floor, inf, log10, sqrt

import numpy as np
import polars as pl
import scipy
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

GRID = 600_000  # steps per unit: four decimals, also after averaging 2 to 6 strips (60 is divisible by each)
LARGEST_IN_HALVES = 40  # off any grid: 2**20 half sums on each side
LARGEST_COUNTED = 1000  # counts up to 2**1000 still fit a float
LARGEST_WORK = 3e8  # additions; about a third of a second
LARGEST_EXACT_RANKS = 500
LARGEST_FOR_AVERAGES = 20_000  # 200 million pairwise averages, searched without being written out


@dataclass(frozen=True, slots=True, kw_only=True)
class HodgesLehmann:
    """Median of all pairwise averages, and the interval that belongs to it; None where there is none."""

    estimate: float | None
    low: float | None
    high: float | None


def sign_flip_p(differences: ArrayLike) -> float | None:
    """Two-sided randomisation p: the share of the 2**N sign patterns whose sum is at least as far from 0.

    Exact for up to 40 differences of any kind, and for up to 1000 that sit on a grid of four decimals (or on the
    averages of two to six such strips) while N x the sum of the sizes, in grid steps, stays under 3e8: 200 differences
    of some units at two decimals are far inside. Beyond that None: the t interval is then as good. None without
    differences, too.
    Source: R. A. Fisher (1935) The Design of Experiments, section 21; counting by dynamic programming after M. Pagano
    and D. Tritchler (1983) J. Am. Stat. Assoc. 78:435-440; meeting in the middle after E. Horowitz and S. Sahni (1974)
    J. ACM 21:277-292 (sources from memory).
    >>> sign_flip_p([7, 2, 4, 4, 5, 5])
    0.03125
    """
    values = np.asarray(differences, dtype=np.float64)
    if not values.size:
        return None
    values = values[_whole(values)[0] != 0]  # a zero adds nothing whichever sign it gets
    steps = _grid_steps(values)
    work_on_grid = inf if steps is None else values.size * float(np.abs(steps).sum())
    if values.size <= LARGEST_IN_HALVES and 2.0 ** ceil(values.size / 2) <= work_on_grid:
        return _p_by_halves(values)
    if steps is not None and values.size <= LARGEST_COUNTED and work_on_grid <= LARGEST_WORK:
        return _p_by_counting(steps)
    return None


def wilcoxon_p(differences: ArrayLike) -> float | None:
    """Two-sided signed-rank p: zeros dropped, ties by mid-ranks, exact for those very ranks.

    It is the sign-flip test on the doubled ranks, which are whole numbers. Beyond 500 differences: the normal
    approximation with the variance of the ranks in hand and continuity correction, as R's wilcox.test(exact=FALSE).
    None when nothing is left to rank.
    Source: F. Wilcoxon (1945) Biometrics Bulletin 1:80-83; exact with ties as in R package exactRankTests.
    >>> wilcoxon_p([7, 2, 4, 4, 5, 5])
    0.03125
    """
    whole, _ = _whole(differences)
    values = whole[whole != 0]
    if not values.size:
        return None
    doubled = np.rint(2 * pl.Series(np.abs(values)).rank("average").to_numpy()).astype(np.int64)
    signed = np.where(values > 0, doubled, -doubled)
    if values.size <= LARGEST_EXACT_RANKS:
        return _p_by_counting(signed)
    distance = max(abs(float(signed.sum())) / 4 - 0.5, 0.0)  # of the positive ranks' sum from its middle
    spread = sqrt(float(np.square(doubled / 2).sum()) / 4)
    return float(min(1.0, 2 * scipy.special.ndtr(-distance / spread)))


def sign_test_p(differences: ArrayLike) -> float | None:
    """Two-sided exact binomial p for as many positive as negative differences; zeros dropped; None if none is left.

    >>> sign_test_p([7, 2, 4, 4, 5, 5])
    0.03125
    """
    whole, _ = _whole(differences)
    positive, negative = int((whole > 0).sum()), int((whole < 0).sum())
    if not positive + negative:
        return None
    return float(min(1.0, 2 * scipy.special.bdtr(min(positive, negative), positive + negative, 0.5)))


def hodges_lehmann(differences: ArrayLike, *, level: float) -> HodgesLehmann:
    """Median of the N(N+1)/2 averages of two differences (each with itself too), with its interval.

    Zeros are kept. The interval runs between the averages that the signed-rank quantile for N picks, as R's wilcox.test
    does without ties; with ties it covers at least as often. No interval when even the extremes fall short of `level`
    (95 % needs 6 differences). Beyond 500 the quantile comes from the normal approximation; beyond 20,000 all is None.
    Source: J. L. Hodges and E. L. Lehmann (1963) Ann. Math. Stat. 34:598-611; interval after J. W. Tukey, as in
    M. Hollander and D. A. Wolfe, Nonparametric Statistical Methods, section 3.3 (section from memory).
    >>> hodges_lehmann([7, 2, 4, 4, 5, 5], level=0.90)
    HodgesLehmann(estimate=4.5, low=3.0, high=6.0)
    """
    whole, decimals = _whole(differences)
    count = whole.size
    if not 0 < count <= LARGEST_FOR_AVERAGES:
        return HodgesLehmann(estimate=None, low=None, high=None)
    whole.sort()
    averages, per_unit = count * (count + 1) // 2, 2 * 10.0**decimals
    middle = _pair_sum_of_rank(whole, (averages + 1) // 2) + _pair_sum_of_rank(whole, averages // 2 + 1)
    rank = _signed_rank_quantile(count, (1 - level) / 2)
    return HodgesLehmann(
        estimate=middle / 2 / per_unit,
        low=None if rank == 0 else _pair_sum_of_rank(whole, rank) / per_unit,
        high=None if rank == 0 else _pair_sum_of_rank(whole, averages + 1 - rank) / per_unit,
    )


def _whole(differences: ArrayLike) -> tuple[Whole, int]:
    """The differences as whole multiples of 10 ** -decimals, ten digits for the largest, and those decimals."""
    values = np.asarray(differences, dtype=np.float64)
    largest = float(np.abs(values).max(initial=0.0))
    decimals = min(300, 10 - ceil(log10(largest))) if largest > 0 else 0
    return np.rint(values * 10.0**decimals).astype(np.int64), decimals


def _grid_steps(values: Floats) -> Whole | None:
    """The differences as whole multiples of their largest common step, or None when they sit on no grid."""
    scaled = values * GRID
    if np.abs(scaled).max(initial=0.0) > 1e14:
        return None
    whole = np.rint(scaled)
    if np.abs(scaled - whole).max(initial=0.0) > 1e-3:
        return None
    steps = whole.astype(np.int64)
    return steps // max(1, int(np.gcd.reduce(steps))) if steps.size else steps


def _patterns_up_to(sizes: Whole, most: int) -> Floats:
    """How many subsets of `sizes` have each sum 0, 1, ... `most`; exact to 2**53, then to 16 digits."""
    counts = np.zeros(most + 1)
    counts[0] = 1.0
    reach = 0
    for size in np.sort(sizes).tolist():
        reach = min(reach + size, most)
        if size <= reach:
            counts[size : reach + 1] += counts[: reach + 1 - size]
    return counts


def _p_by_counting(steps: Whole) -> float:
    """Share of sign patterns at least as far from 0, by counting the subsets that could carry the minus sign."""
    total, observed = int(np.abs(steps).sum()), abs(int(steps.sum()))
    if observed == 0:
        return 1.0
    counts = _patterns_up_to(np.abs(steps), (total - observed) // 2)
    return float(2 * counts.sum() / 2.0**steps.size)


def _p_by_halves(values: Floats) -> float:
    """The same off any grid: all sums of each half, sorted; for each, how many of the other half reach far enough."""
    sizes = np.abs(values)
    total, observed = float(sizes.sum()), abs(float(values.sum()))
    rounding = 1e-10 * total
    if observed <= rounding:
        return 1.0
    left, right = (np.sort(_subset_sums(half)) for half in (sizes[::2], sizes[1::2]))
    reached = np.searchsorted(right, (total - observed) / 2 + rounding - left, side="right")
    return float(2 * reached.sum() / 2.0**sizes.size)


def _subset_sums(sizes: Floats) -> Floats:
    sums = np.zeros(1)
    for size in sizes.tolist():
        sums = np.concatenate((sums, sums + size))
    return sums


@lru_cache(maxsize=100)  # the measures of a farm mostly have as many differences as each other
def _signed_rank_quantile(count: int, tail: float) -> int:
    """Smallest rank sum whose cumulative probability is at least `tail`; 0 when no interval reaches the level."""
    if count > LARGEST_EXACT_RANKS:
        middle, variance = count * (count + 1) / 4, count * (count + 1) * (2 * count + 1) / 24
        return max(0, floor(middle + float(scipy.special.ndtri(tail)) * sqrt(variance)))
    counts = _patterns_up_to(np.arange(1, count + 1), count * (count + 1) // 4)
    return int(np.searchsorted(np.cumsum(counts) / 2.0**count, tail))


def _pair_sum_of_rank(ordered: Whole, rank: int) -> int:
    """The sum of two (or of one with itself) that has the given rank, 1 the smallest, without writing all of them out.

    Halves the range of possible sums, counting by binary search the pairs that do not exceed the middle.
    """
    places = np.arange(ordered.size)
    low, high = 2 * int(ordered[0]), 2 * int(ordered[-1])
    while low < high:
        middle = (low + high) // 2
        not_above = np.maximum(np.searchsorted(ordered, middle - ordered, side="right") - places, 0).sum()
        low, high = (low, middle) if not_above >= rank else (middle + 1, high)
    return low
