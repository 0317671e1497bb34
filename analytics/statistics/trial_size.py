"""What could have been seen, and what it would take: field-years and years for a gap, by kind of pair.

Power 0.8 throughout. The spread itself is known only roughly; the least and the largest that the data do not rule out
(chi-square at the level) give the least and the largest trial.
"""

from collections.abc import Sequence
from math import sqrt

import numpy as np
import scipy

from analytics.statistics.answers import FEWEST_REPLICATES, Ground, Terms
from analytics.statistics.basis import Grounds
from analytics.statistics.power import detectable_difference, replicates_needed
from analytics.statistics.results import Answer, CarriedBy, KindSpread, Needed, Planning, PlanRow, Question

PLANNED_KINDS = (CarriedBy.ONE_FIELD, CarriedBy.TWO_FIELDS, CarriedBy.ALL)
MULTIPLES = (1, 2, 3, 5)  # of the margin, where no gaps are given


def planning(
    grounds: Grounds, on: Ground, terms: Terms, these: Answer, to_come: Answer, gaps: Sequence[float] | None
) -> Planning:
    """By the spread of these fields, and by kind; unknown where there is none, or no margin, or only one field-year.

    on, these : of these fields; to_come : the answer for years to come
    gaps : differences to plan for, in the unit, each above 0; None takes multiples of the margin
    """
    detectable = field_years = years = None
    if these.std_error and these.df:
        detectable = detectable_difference(std_error=these.std_error, df=these.df, level=terms.level)
        if terms.margin is not None and on.found.count > 1:
            sd = these.std_error * sqrt(on.found.count)
            field_years = _needed(terms, terms.margin, sd, blocks=on.found.years if on.blocks else 1)
    if terms.margin is not None and to_come.std_error:
        sd = to_come.std_error * sqrt(to_come.years)
        if to_come.year_sd is not None and to_come.field_sd is not None:
            sd = sqrt(to_come.year_sd**2 + to_come.field_sd**2 * to_come.years / to_come.field_years)
        years = _needed(terms, terms.margin, sd, blocks=1)
    if gaps is None:
        gaps = () if terms.margin is None else [multiple * terms.margin for multiple in MULTIPLES]
    kinds = [(kind, grounds.of_row(kind, Question.THESE_FIELDS)) for kind in PLANNED_KINDS]
    kinds = [(kind, ground) for kind, ground in kinds if ground.found.count >= FEWEST_REPLICATES]
    spreads = [_spread(kind, ground, terms) for kind, ground in kinds]
    return Planning(
        detectable_difference=detectable,
        field_years_needed=field_years,
        years_needed=years,
        spreads=tuple(spreads),
        rows=tuple(
            _row(spread, gap, terms, blocks=ground.found.years if ground.blocks else 1)
            for spread, (_, ground) in zip(spreads, kinds, strict=True)
            for gap in gaps
        ),
    )


def _spread(kind: CarriedBy, on: Ground, terms: Terms) -> KindSpread:
    found, sums = on.found, on.sums
    if sums is None:
        raise ValueError(f"{kind}: no field-year to take a spread from")
    field_sd, field_df = float(np.sqrt(sums.within_variance)), found.count - found.years
    if field_df == 0:  # one a year: years and fields cannot be told apart
        field_sd, field_df = float(found.difference.std(ddof=1)), found.count - 1
    year_sd = float(sums.means.std(ddof=1)) if found.years > 1 else 0.0
    return KindSpread(
        kind=kind,
        field_years=found.count,
        years=found.years,
        field_sd=field_sd if field_sd > terms.rounding else None,
        field_df=field_df,
        year_sd=year_sd if year_sd > terms.rounding else None,
        year_df=found.years - 1,
        field_years_a_year=float(np.median(sums.counts)),
    )


def _row(spread: KindSpread, gap: float, terms: Terms, *, blocks: int) -> PlanRow:
    return PlanRow(
        kind=spread.kind,
        gap=gap,
        field_years=_range(terms, gap, spread.field_sd, spread.field_df, blocks=blocks),
        years=_range(terms, gap, spread.year_sd, spread.year_df, blocks=1),
        field_years_a_year=spread.field_years_a_year,
    )


def _range(terms: Terms, gap: float, sd: float | None, df: int, *, blocks: int) -> Needed | None:
    """For the spread found, and for the least and the largest that chi-square at the level does not rule out."""
    if sd is None or df < 1:
        return None
    tails = (1 - terms.level) / 2, (1 + terms.level) / 2
    largest, least = (sd * sqrt(df / float(scipy.special.chdtri(df, 1 - tail))) for tail in tails)
    value, low, high = (_needed(terms, gap, one, blocks=blocks) for one in (sd, least, largest))
    return Needed(value=value, low=low, high=high)


def _needed(terms: Terms, gap: float, sd: float, *, blocks: int) -> int | None:
    fewest = max(FEWEST_REPLICATES, 2 * blocks if blocks > 1 else 0)
    return replicates_needed(difference=gap, sd=sd, level=terms.level, blocks=blocks, fewest=fewest)


def gap_found_after(answer: Answer, *, seasons: int, level: float) -> float | None:
    """The true gap that so many more seasons like these would find in 8 of 10 such trials, on these fields.

    answer : of these fields, with its spread and its formula; None where it has no spread
    """
    if not answer.std_error or not answer.df:
        return None
    count = answer.field_years + round(seasons * answer.field_years / answer.years)
    years_are_taken_out = answer.df < answer.field_years - 1
    df = count - (answer.years + seasons if years_are_taken_out else 1)
    std_error = answer.std_error * sqrt(answer.field_years / count)
    return detectable_difference(std_error=std_error, df=df, level=level)
