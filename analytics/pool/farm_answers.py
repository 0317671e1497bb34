"""What pairs of several farms say of these farms in years to come, and of another farm; each farm beside the group.

Farms are crossed with years (model.py). The basis is that of any comparison, and needs three farms as well.
"""

from dataclasses import dataclass, replace

import numpy as np
import scipy

from analytics.pool.hidden_cells import FEWEST_FARMS
from analytics.pool.model import PooledMean, pooled_mean
from analytics.statistics.answers import FEWEST_REPLICATES, NO_SPREAD, Ground, Terms, judged
from analytics.statistics.basis import ROW_OF_BASIS, Grounds, is_enough
from analytics.statistics.crossed import Shrunken
from analytics.statistics.estimates import Estimated, ranges, these_fields
from analytics.statistics.given_pairs import Pairs, Whole
from analytics.statistics.levels import levels
from analytics.statistics.results import Answer, Basis, CarriedBy, Comparison, Finding, Question

AHEAD = Question.YEARS_TO_COME


@dataclass(frozen=True, slots=True, kw_only=True)
class FarmAnswers:
    """The two broad questions of a group.

    these_farms : the mean over these farms in years to come
    another_farm : another farm's own mean over years, std_error and df those of that; its prediction_low and
        prediction_high hold one field-year there
    mean_low, mean_high : of the mean over all farms of the kind
    model : None where there are too few farms or years, or no spread
    farms : each farm's raw and shrunken mean, by name; raw alone where there is no model
    """

    these_farms: Answer
    another_farm: Answer
    mean_low: float | None
    mean_high: float | None
    model: PooledMean | None
    farms: tuple[Shrunken, ...]


def farms_of(pairs: Pairs, on: Ground) -> Whole:
    """The farm of each field-year, shape (field_years,)."""
    return pairs.farm[on.found.first_pair]


def group_basis(grounds: Grounds, fixed: Basis | None = None) -> tuple[Basis, Ground]:
    """The basis of a group's answers: fields cut both ways where three farms and three years have them, else all."""
    if fixed is not None:
        return fixed, grounds.of_row(ROW_OF_BASIS[fixed], AHEAD)
    one_field = grounds.of_row(CarriedBy.ONE_FIELD, AHEAD)
    if is_enough(one_field.found, AHEAD) and levels(farms_of(grounds.pairs, one_field))[0].size >= FEWEST_FARMS:
        return Basis.ONE_FIELD, one_field
    return Basis.ALL, grounds.of_row(CarriedBy.ALL, AHEAD)


def farm_answers(pairs: Pairs, on: Ground, terms: Terms, basis: Basis) -> FarmAnswers:
    """Both broad questions on this ground; on : a ground of `pairs`, whose farms are named.

    A range is never narrower than the one of the question before it: these records, these farms, another farm.
    """
    found, farm = on.found, farms_of(pairs, on)
    farms, years = levels(farm)[0].size, found.years
    empty = Answer(
        finding=Finding.TOO_FEW,
        method="none",
        scope=f"{farms} farms, {years} years with {found.count} field-years",
        basis=basis,
        pairs=found.of_pair.size,
        field_years=found.count,
        years=years,
        replicates=farms,
    )
    reason = _too_few(farms, years)
    if reason is None and float(np.ptp(found.difference)) <= terms.rounding:
        reason = NO_SPREAD
    if reason is not None:
        none = replace(empty, reason=reason)
        return FarmAnswers(
            these_farms=none,
            another_farm=none,
            mean_low=None,
            mean_high=None,
            model=None,
            farms=_raw(found.difference, farm, pairs.farms),
        )
    names = sorted(pairs.farms)
    by_name = np.argsort(np.argsort(np.array(pairs.farms)))
    model = pooled_mean(found.difference, by_name[farm], found.year, found.place, names=names)
    these = _of(model.estimate, model.these_farms_std_error, model.these_farms_df)
    other = _of(model.estimate, model.another_farm_sd, model.another_farm_df)
    spreads = [these] if on.sums is None else [these, these_fields(on.sums, blocks=on.blocks)]
    method = f"farms crossed with years (REML, {model.method})"
    reach = _critical(model.df, terms)
    return FarmAnswers(
        these_farms=_judged(replace(empty, method=method, replicates=years), these, spreads, on, terms),
        another_farm=replace(
            _judged(replace(empty, method=method), other, [other, *spreads], on, terms),
            prediction_low=model.estimate - reach * model.prediction_sd,
            prediction_high=model.estimate + reach * model.prediction_sd,
        ),
        mean_low=model.estimate - reach * model.std_error,
        mean_high=model.estimate + reach * model.std_error,
        model=model,
        farms=model.farms,
    )


def compared_farms(grounds: Grounds, comparison: Comparison) -> FarmAnswers:
    """The broad questions of pairs that name their farms, at what the comparison was made with."""
    pairs = grounds.pairs
    terms = Terms(
        direction=comparison.direction, level=comparison.level, margin=comparison.margin, rounding=pairs.rounding
    )
    basis, on = group_basis(grounds)
    return farm_answers(pairs, on, terms, basis)


def _too_few(farms: int, years: int) -> str | None:
    if farms < FEWEST_FARMS:
        return f"There {_are(farms, 'farm')}; at least {FEWEST_FARMS} are needed to speak of another."
    if years < FEWEST_REPLICATES:
        return f"There {_are(years, 'year')}; at least {FEWEST_REPLICATES} are needed to speak of years to come."
    return None


def _are(count: int, noun: str) -> str:
    return f"is {count} {noun}" if count == 1 else f"are {count} {noun}s"


def _of(estimate: float, std_error: float, df: float) -> Estimated:
    return Estimated(estimate=np.asarray(estimate), std_error=np.asarray(std_error), df=np.asarray(df))


def _critical(df: float, terms: Terms) -> float:
    return float(scipy.special.stdtrit(df, (1 + terms.level) / 2))


def _judged(answer: Answer, main: Estimated, spreads: list[Estimated], on: Ground, terms: Terms) -> Answer:
    spread = ranges(main.estimate, *spreads, level=terms.level, margin=terms.margin, rounding=terms.rounding)
    known = replace(answer, estimate=float(main.estimate), std_error=float(main.std_error), df=float(main.df))
    return judged(known, spread, terms, few=None, agreement=on.agreement, is_narrow=False)


def _raw(differences: np.ndarray, farm: Whole, names: list[str]) -> tuple[Shrunken, ...]:
    """Each farm's own mean, drawn nowhere."""
    rows = []
    for number in np.unique(farm).tolist():
        own = differences[farm == number]
        rows.append(
            Shrunken(name=names[number], field_years=own.size, raw=float(own.mean()), shrunken=float(own.mean()))
        )
    return tuple(sorted(rows, key=lambda row: str(row.name)))
