"""Starting from what is published: a Bayesian companion for years to come, by quadrature. Beside, never instead.

Year means are normal about mu with the variance between years, tau^2, and that of their field-years, s_w^2 / n. Prior:
mu ~ normal(0, mean_sd), tau ~ half-normal(year_sd), s_w with density 1 / s_w. Given tau and s_w, mu is normal, so only
those two are summed over, and every answer is one of a mixture of normals.
Source of the model: C. Roever (2020) J. Statistical Software 93(6):1-51; T. Friede et al. (2017) Research Synthesis
Methods 8:79-91. That s_w is summed over too, and from 20 degrees of freedom on taken as it is: our choice, no source.
"""

from dataclasses import dataclass

import numpy as np
from numpy.polynomial.legendre import leggauss
from numpy.typing import ArrayLike, NDArray
from scipy import special

Floats = NDArray[np.float64]

KNOWN_FROM_DF = 20  # degrees of freedom of s_w from which it is taken as it is
DOUBTFUL, LOOSE = 0.5, 2.5  # times the stated prior's sd of mu (our choice, no source)
COARSE, FINE = 33, 40  # points each way: to find where the weight lies, and to sum over it
LOST = 19.0  # natural logarithms under the highest point at which weight is left out, 6e-9 of it
FEWEST = 1e-9  # share of the weight that a component needs to be kept


@dataclass(frozen=True, slots=True, kw_only=True)
class Companion:
    """What prior and records together say; everything in the unit of the differences.

    mean_sd, year_sd : the prior it started from
    low, high : of the mean over years to come, at the level; new_low, new_high : of one new field in a new year
    above_zero, above_margin, within_margin, below_margin : chances of the mean, the last three None without a margin
    """

    mean_sd: float
    year_sd: float
    mean: float
    low: float
    high: float
    new_low: float
    new_high: float
    above_zero: float
    above_margin: float | None
    within_margin: float | None
    below_margin: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Companions:
    """The same records from three priors for mu: as stated, half as wide, two and a half times as wide."""

    stated: Companion
    doubtful: Companion
    loose: Companion


def companions(
    differences: ArrayLike,
    year: ArrayLike,
    *,
    mean_sd: float,
    year_sd: float,
    margin: float | None = None,
    level: float = 0.95,
) -> Companions:
    """Years to come from a prior and the records of two years or more.

    differences, year : shape (N,), field-year differences and their years
    mean_sd, year_sd : of the priors of mu and tau, above 0, in the unit of the differences
    With one field-year a year, years and fields cannot be told apart, and tau holds both. Raises ValueError for fewer
    than two years, and where nothing tells a spread: all field-years, or all of each year, alike.
    Four digits: against R's integrate() in the tests.
    """
    values, names = np.asarray(differences, dtype=np.float64), np.asarray(year)
    years, code = np.unique(names, return_inverse=True)
    counts = np.bincount(code).astype(np.float64)
    means = np.bincount(code, weights=values) / counts
    squares, df = float(np.square(values - means[code]).sum()), values.size - years.size
    spread = squares if df else float(np.square(means - means.mean()).sum())
    if years.size < 2 or not spread > 1e-24 * values.size * float(np.square(values).max()):
        raise ValueError(f"{values.size} field-years over {years.size} years: it takes 2 years and numbers that differ")
    if not (mean_sd > 0 and year_sd > 0):
        raise ValueError(f"mean_sd is {mean_sd} and year_sd is {year_sd}; both must be above 0")
    records = _Records(means=means, counts=counts, squares=squares, df=df)
    sds = (mean_sd, mean_sd * DOUBTFUL, mean_sd * LOOSE)
    nodes = _nodes(records, year_sd, sds)
    stated, doubtful, loose = (_companion(records, nodes, sd, year_sd, margin, level) for sd in sds)
    return Companions(stated=stated, doubtful=doubtful, loose=loose)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Records:
    """Year means and field-years, shape (years,); the squares within years and their degrees of freedom."""

    means: Floats
    counts: Floats
    squares: Floats | float
    df: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Nodes:
    """Points of tau and of s_w squared, shape (points,), with the logarithm of prior x quadrature weight."""

    tau: Floats
    within: Floats
    log_weight: Floats


def _nodes(records: _Records, year_sd: float, mean_sds: tuple[float, ...]) -> _Nodes:
    """Points where any of the priors leaves weight.

    tau goes as scale x sinh(t): evenly near 0, by factors further out. s_w goes by its logarithm, and is a single point
    where it is known or where tau holds it.
    """
    if records.df:
        known = records.squares / records.df
        scale = float(np.sqrt(known / records.counts.max()))
        log_s = (
            np.array([np.log(known) / 2]) if records.df >= KNOWN_FROM_DF else np.log(known) / 2 + np.array([-3.0, 9.0])
        )
    else:
        scale, log_s = float(records.means.std()) / 10, np.array([-np.inf])
    most = float(np.arcsinh(7 * year_sd / scale))
    t, s = (
        np.linspace(most / COARSE, most, COARSE),
        np.linspace(log_s[0], log_s[-1], COARSE) if log_s.size > 1 else log_s,
    )
    coarse = _at(records, t, s, scale, year_sd)
    density = np.max([_given(records, coarse, sd)[0] + coarse.log_weight for sd in mean_sds], axis=0)
    high = (density > density.max() - LOST).reshape(t.size, s.size)
    t, t_weight = _between(np.append(0.0, t), np.append(high[:1].any(1), high.any(1)))
    s, s_weight = _between(s, high.any(0)) if s.size > 1 else (s, np.ones(1))
    fine = _at(records, t, s, scale, year_sd)
    weight = np.log(np.outer(t_weight, s_weight)).ravel()
    return _Nodes(tau=fine.tau, within=fine.within, log_weight=fine.log_weight + weight)


def _at(records: _Records, t: Floats, log_s: Floats, scale: float, year_sd: float) -> _Nodes:
    """The grid of t and log s_w, with the logarithm of the prior's density there and of what s_w alone tells."""
    tau, half = scale * np.sinh(t), np.exp(2 * log_s)
    log_tau = np.log(np.cosh(t)) - np.square(tau / year_sd) / 2
    log_within = -records.df * log_s - records.squares / half / 2 if log_s.size > 1 else np.zeros(1)
    return _Nodes(
        tau=np.repeat(tau, half.size),
        within=np.tile(half, tau.size),
        log_weight=(log_tau[:, None] + log_within).ravel(),
    )


def _between(grid: Floats, high: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Gauss-Legendre points and weights over the stretch that is high, and one step of the grid beyond it."""
    first, last = np.flatnonzero(high)[[0, -1]]
    low, top = grid[max(first - 1, 0)], grid[min(last + 1, grid.size - 1)]
    points, weights = leggauss(FINE)
    return (low + top) / 2 + (top - low) / 2 * points, (top - low) / 2 * weights


def _given(records: _Records, nodes: _Nodes, mean_sd: float) -> tuple[Floats, Floats, Floats]:
    """Log density of the year means at each point, and mean and variance of mu given the point, shape (points,)."""
    variances = np.square(nodes.tau)[:, None] + nodes.within[:, None] / records.counts
    precision = (1 / variances).sum(1)
    average = (records.means / variances).sum(1) / precision
    squares = (np.square(records.means - average[:, None]) / variances).sum(1)
    spread = 1 / precision + mean_sd**2
    log_density = -(np.log(variances).sum(1) + squares + np.log(precision * spread) + np.square(average) / spread) / 2
    whole = precision + mean_sd**-2
    return log_density, precision * average / whole, 1 / whole


def _companion(
    records: _Records, nodes: _Nodes, mean_sd: float, year_sd: float, margin: float | None, level: float
) -> Companion:
    log_density, mean, variance = _given(records, nodes, mean_sd)
    log_weight = log_density + nodes.log_weight
    weight = np.exp(log_weight - log_weight.max())
    kept = weight > FEWEST * weight.sum()
    weight, mean, variance = weight[kept] / weight[kept].sum(), mean[kept], variance[kept]
    tails = np.array([(1 - level) / 2, (1 + level) / 2])
    low, high = _quantiles(tails, weight, mean, variance)
    new_low, new_high = _quantiles(tails, weight, mean, variance + (np.square(nodes.tau) + nodes.within)[kept])
    sd = np.sqrt(variance)

    def above(limit: float) -> float:
        return float(weight @ special.ndtr((mean - limit) / sd))

    over, under = (None, None) if margin is None else (above(margin), 1 - above(-margin))
    return Companion(
        mean_sd=mean_sd,
        year_sd=year_sd,
        mean=float(weight @ mean),
        low=low,
        high=high,
        new_low=new_low,
        new_high=new_high,
        above_zero=above(0.0),
        above_margin=over,
        within_margin=None if over is None or under is None else 1 - over - under,
        below_margin=under,
    )


def _quantiles(shares: Floats, weight: Floats, mean: Floats, variance: Floats) -> tuple[float, ...]:
    """Of a mixture of normals: Newton's steps, and halvings where one would leave the stretch known to hold it."""
    sd = np.sqrt(variance)
    centre = weight @ mean
    whole = np.sqrt(weight @ (variance + np.square(mean - centre)))
    at = centre + special.ndtri(shares) * whole
    low, high = np.full(shares.size, (mean - 40 * sd).min()), np.full(shares.size, (mean + 40 * sd).max())
    for _ in range(60):
        z = (at[:, None] - mean) / sd
        excess = special.ndtr(z) @ weight - shares
        low, high = np.where(excess < 0, at, low), np.where(excess > 0, at, high)
        slope = np.exp(-np.square(z) / 2) @ (weight / sd) / np.sqrt(2 * np.pi)
        new = at - excess / np.maximum(slope, 1e-300)
        new = np.where((new > low) & (new < high), new, (low + high) / 2)
        done = bool((np.abs(new - at) < 1e-8 * whole).all())
        at = new
        if done:
            break
    return tuple(at.tolist())
