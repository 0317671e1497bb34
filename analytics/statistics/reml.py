"""Restricted maximum likelihood of random intercepts, and what may be said of a mean: Kenward-Roger, Satterthwaite.

Variances at zero stay in the model: they are estimates, not knowledge.
"""

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import ArrayLike

from analytics.statistics.variance_components import FieldYearSums, Floats, Sums

MOST_FIELD_YEARS = 3_000  # up to here Kenward-Roger, beyond it Satterthwaite (our choice, no source)
LEAST_REST = 1e-6  # of the whole variance, so that nothing is divided by 0
LEAST_REST_UNSEEN = (
    1e-4  # the same where the other effects could fit every field-year: no smaller one can be told apart
)
RATIOS = {1: (0.01, 0.1, 1.0, 10.0), 2: (0.1, 1.0, 10.0)}  # effects to the rest, where the climb may begin
RATIOS_OF_MANY = (0.1, 2.0)
FARMS_AT_FIRST = 100  # where there are twice as many or more
STEPS = 200
HALVINGS = 40
NEAR = 1e-8  # expected gain of log likelihood at which one last step is taken
LEVEL = 1e-9  # gain of log likelihood that is rounding, and ends the climb


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """A model at given variances, m of them, with p fixed effects: mean, covariates. In units of the field-years' sums.

    beta, phi : fixed effects, shape (p,), and their covariance if the variances were known, shape (p, p)
    log_likelihood : restricted, up to a constant
    score : its slope in the variances, shape (m,)
    expected, observed : information about the variances, shape (m, m)
    once, twice : X' V^-1 G V^-1 X, shape (m, p, p), and X' V^-1 G V^-1 G V^-1 X, shape (m, m, p, p)
    """

    rows: FieldYearSums
    variances: Floats
    beta: Floats
    phi: Floats
    log_likelihood: float
    score: Floats
    expected: Floats
    observed: Floats
    once: Floats
    twice: Floats

    def sds(self) -> dict[str, float]:
        """Standard deviation of each effect, in the unit of the differences."""
        roots = np.sqrt(self.variances) * self.rows.unit
        return dict(zip(self.rows.effects, roots.tolist(), strict=True))

    def year_effects(self) -> Floats:
        """Best linear unbiased predictions of the years' effects, in the unit of the differences, shape (years,)."""
        return self.in_years()[: self.rows.years] * self.rows.unit

    def in_years(self) -> Floats:
        """The same in the sums' unit, as weights of all columns, shape (w,); 0 where years have no effect."""
        effects = np.zeros(self.rows.products.shape[-1])
        if "year" in self.rows.effects:
            inverse = self.rows.sums(self.variances, derive=False).inverse[0]
            told = inverse @ self.rows.columns() @ np.append(-self.beta, 1.0)
            effects[: self.rows.years] = self.variances[-1] * told[: self.rows.years]
        return effects


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A sum of fixed effects, in the unit of the differences; method: "Kenward-Roger" or "Satterthwaite"."""

    estimate: float
    std_error: float
    df: float
    method: str


def reml(rows: FieldYearSums) -> Fit:
    """The model at the variances of largest restricted likelihood.

    Where the climb begins: at the top that a part of very many farms has, else at the best of a grid of ratios.
    """
    few = rows.few_farms(FARMS_AT_FIRST)
    return _climbed(rows, reml(few).variances if few.rows < rows.rows else _best_of_grid(rows))


def _best_of_grid(rows: FieldYearSums) -> Floats:
    others = len(rows.effects) - 1
    tried = [_at_ratio(rows, ratio) for ratio in product(RATIOS.get(others, RATIOS_OF_MANY), repeat=others)]
    return max(tried, key=lambda start: start[0])[1]


def _climbed(rows: FieldYearSums, start: Floats) -> Fit:
    """By Newton's method, or by scoring where the likelihood is not yet curved like a hill, along the bounds at zero.

    No step is taken that does not rise, so it cannot diverge.
    Source of the steps along bounds: D. P. Bertsekas (1982) SIAM J. Control and Optimization 20:221-246 (from memory).
    """
    here = fit_at(rows, start)
    floor = np.zeros_like(start)
    floor[0] = LEAST_REST if rows.rest_df() > 0 else LEAST_REST_UNSEEN
    for _ in range(STEPS):
        free = (here.variances > floor) | (here.score > 0)
        step = np.zeros_like(floor)
        step[free] = _curvature(here, free) @ here.score[free]
        gain = float(here.score @ step)
        if gain < NEAR:
            return fit_at(rows, np.maximum(here.variances + step, floor))
        plain = np.where(free, here.score / np.diag(here.expected), 0.0)
        higher = _higher(here, step, floor, HALVINGS // 8) or _higher(here, plain, floor, HALVINGS)
        if higher is None or higher.log_likelihood < here.log_likelihood + LEVEL:
            return higher or here
        here = higher
    return here


def fit_at(rows: FieldYearSums, variances: Floats) -> Fit:
    """The model at these variances, shape (m,), rest above 0."""
    sums = rows.sums(variances)
    beta, phi, residual, log_likelihood = _profile(rows, sums)
    columns = rows.columns()
    once = columns.T @ sums.once[:, 0] @ columns
    twice = columns.T @ sums.twice[:, :, 0] @ columns
    fixed = slice(0, beta.size)
    one, two = once[:, fixed, fixed], twice[:, :, fixed, fixed]
    spent = phi @ one
    score = np.einsum("i,eij,j->e", residual, once, residual) - sums.traces + np.trace(spent, axis1=1, axis2=2)
    expected = sums.squares - 2 * np.trace(phi @ two, axis1=2, axis2=3) + np.einsum("eij,fji->ef", spent, spent)
    slopes = once[:, fixed] @ residual
    curved = np.einsum("i,efij,j->ef", residual, twice, residual) - slopes @ phi @ slopes.T
    return Fit(
        rows=rows,
        variances=variances,
        beta=beta,
        phi=phi,
        log_likelihood=log_likelihood,
        score=score / 2,
        expected=_symmetric(expected) / 2,
        observed=_symmetric(curved - expected / 2),
        once=one,
        twice=two,
    )


def of_fixed_effects(fit: Fit, weights: ArrayLike, *, known: ArrayLike | None = None) -> Estimate:
    """A sum of fixed effects, weights @ beta, weights of shape (p,), with standard error and degrees of freedom.

    known : shape (m,), how much of each variance is no error, because the question is about the levels on record; below
        zero what comes on top, because it is about one level not seen yet
    Kenward and Roger as R's pbkrtest gives it, every variance counted, those at zero too; for one sum of fixed effects
    their degrees of freedom are 2 / A, A = A1 = A2 of their paper. Above MOST_FIELD_YEARS Satterthwaite with the
    observed information, as R's lmerTest, or the expected one where a variance is at zero.
    """
    along, rows = np.asarray(weights, dtype=np.float64), fit.rows
    settled = np.zeros(fit.variances.size) if known is None else np.asarray(known, dtype=np.float64)
    small = rows.rows <= MOST_FIELD_YEARS
    inside = bool((fit.variances > 0).all()) and _is_hill(fit.observed)
    spread = _scaled_inverse(fit.observed if inside and not small else fit.expected)
    carried = fit.phi @ along
    variance = float(along @ carried - settled @ fit.variances)
    told = (np.einsum("i,eij,j->e", carried, fit.once, carried) - settled) / variance
    if small:
        excess = fit.twice - fit.once[:, None] @ fit.phi @ fit.once[None]
        variance += 2 * float(np.einsum("i,ef,efij,j->", carried, spread, excess, carried))
    return Estimate(
        estimate=float(along @ fit.beta) * rows.unit + float(along[0]) * rows.centre,
        std_error=float(np.sqrt(variance)) * rows.unit,
        df=2 / float(told @ spread @ told),
        method="Kenward-Roger" if small else "Satterthwaite",
    )


def _profile(rows: FieldYearSums, sums: Sums) -> tuple[Floats, Floats, Floats, float]:
    """Fixed effects, their covariance, the residual as a sum of the columns, and the log likelihood."""
    columns = rows.columns()
    products = columns.T @ sums.inverse[0] @ columns
    phi = np.linalg.inv(products[:-1, :-1])
    beta = phi @ products[:-1, -1]
    residual = np.append(-beta, 1.0)
    squares = float(residual @ products @ residual)
    spent = float(np.linalg.slogdet(products[:-1, :-1])[1])
    return beta, _symmetric(phi), residual, -(sums.log_det + spent + squares) / 2


def _at_ratio(rows: FieldYearSums, ratio: tuple[float, ...]) -> tuple[float, Floats]:
    """The log likelihood and the variances at these ratios to the rest, the rest being the best for them."""
    variances = np.array([1.0, *ratio])
    sums = rows.sums(variances, derive=False)
    columns = rows.columns()
    beta, _, residual, log_likelihood = _profile(rows, sums)
    free = rows.rows - beta.size
    squares = float(residual @ columns.T @ sums.inverse[0] @ columns @ residual)
    return log_likelihood + (squares - free * np.log(squares / free) - free) / 2, variances * squares / free


def _curvature(fit: Fit, free: np.ndarray) -> Floats:
    """Inverse information of the free variances: observed where it is a hill, else expected."""
    observed = fit.observed[np.ix_(free, free)]
    return _scaled_inverse(observed if _is_hill(observed) else fit.expected[np.ix_(free, free)])


def _is_hill(information: Floats) -> bool:
    size = np.sqrt(np.abs(np.diag(information)))
    return bool((size > 0).all() and (np.linalg.eigvalsh(information / np.outer(size, size)) > 1e-6).all())


def _higher(here: Fit, step: Floats, floor: Floats, halvings: int) -> Fit | None:
    """The first point along the step, halved again and again and cut off at the floor, that is higher."""
    noise = 1e-13 * (here.rows.rows + abs(here.log_likelihood))
    for halving in range(halvings):
        there = np.maximum(here.variances + step / 2**halving, floor)
        gain = float(here.score @ (there - here.variances))
        if gain <= 0:
            continue
        new = fit_at(here.rows, there)
        if new.log_likelihood >= here.log_likelihood + 1e-4 * gain - noise:
            return new
    return None


def _scaled_inverse(matrix: Floats) -> Floats:
    """Inverse, or pseudo-inverse if it has none, judged after both are free of units."""
    size = np.sqrt(np.diag(matrix))
    inverse: Floats = np.linalg.pinv(matrix / np.outer(size, size), rcond=1e-10, hermitian=True) / np.outer(size, size)
    return inverse


def _symmetric(matrix: Floats) -> Floats:
    return (matrix + matrix.T) / 2
