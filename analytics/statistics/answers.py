"""From field-years to the two answers: what is estimated, how wide, and what may be said of it.

On the narrow and the broad question: K. J. Moore and P. M. Dixon (2015) Analysis of combined experiments revisited,
Agronomy Journal 107:763-771 (pages from memory).
"""

from dataclasses import dataclass, replace
from math import sqrt

import numpy as np
import scipy

from analytics.statistics.estimates import Ranges, YearSums, ranges, these_fields, year_sums, years_are_blocks
from analytics.statistics.estimates import years_to_come as over_years
from analytics.statistics.given_pairs import ALLOCATIONS, Allocation, Floats, Marked, Pairs
from analytics.statistics.places import FieldYears, field_years
from analytics.statistics.random_effects import is_even
from analytics.statistics.results import Answer, Basis, Finding
from analytics.statistics.years_agree import Agreement, agreement

FEWEST_REPLICATES = 3  # two close pairs give p = 0.016 by t where the exact test says 0.5 (Student 1908 warns of it)
NO_SPREAD = "All differences are the same, so there is no spread to judge by."
NO_SPREAD_IN_A_YEAR = "Within each year all differences are the same, so there is no spread of fields to judge by."
NO_PAIR = {
    Basis.ALL: "There is no complete pair.",
    Basis.ONE_FIELD: "There is no complete pair in which one field was cut both ways.",
    Basis.DRAWN_BY_LOT: "There is no complete pair whose method was drawn by lot.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """What was fixed before the data were looked at, and the size below which a number is rounding."""

    direction: str
    level: float
    margin: float | None
    rounding: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """What an answer rests on: field-years of the selected pairs, by year, and the formulas that their counts call for.

    sums : None without a field-year
    blocks : years are blocks (these fields); weighted : years are weighted (years to come)
    allocations : how its pairs were given their methods, each way once, in the order of ALLOCATIONS
    """

    found: FieldYears
    allocations: tuple[Allocation, ...]
    sums: YearSums | None
    agreement: Agreement | None
    blocks: bool
    weighted: bool


def ground(pairs: Pairs, selected: Marked) -> Ground:
    """The selected pairs, marked in shape (pairs,), as ground for an answer."""
    found = field_years(pairs, selected)
    if not found.count:
        return Ground(found=found, allocations=(), sums=None, agreement=None, blocks=False, weighted=False)
    sums = year_sums(found, pairs.rounding)
    return Ground(
        found=found,
        allocations=tuple(ALLOCATIONS[number] for number in np.unique(pairs.allocation[selected]).tolist()),
        sums=sums,
        agreement=agreement(sums),
        blocks=bool(years_are_blocks(sums)),
        weighted=is_even(sums.counts) and bool(sums.squares > 0),
    )


def these_fields_answer(on: Ground, terms: Terms, basis: Basis) -> Answer:
    """What happened on the fields and years on record."""
    found = on.found
    if on.sums is None:
        return _nothing(on, basis)
    if found.count == 1:
        return _one_place(on, terms, basis)
    narrow = these_fields(on.sums, blocks=on.blocks)
    answer = _answer(
        on,
        basis,
        method="t over field-years with years as blocks" if on.blocks else "paired t over field-years",
        scope=_scope(found),
        replicates=found.count,
        estimate=float(narrow.estimate),
        std_error=float(narrow.std_error),
        df=float(narrow.df),
    )
    few = None
    if found.count < FEWEST_REPLICATES:
        few = f"There {_are(found.count, 'field-year')}; at least {FEWEST_REPLICATES} are needed."
    spread = ranges(narrow.estimate, narrow, level=terms.level, margin=terms.margin, rounding=terms.rounding)
    is_equal = float(np.ptp(found.difference)) <= terms.rounding
    return judged(answer, spread, terms, few=few, agreement=on.agreement, is_narrow=True, is_equal=is_equal)


def years_to_come_answer(on: Ground, terms: Terms, basis: Basis, *, also: Agreement | None) -> Answer:
    """What to expect of these fields in other years.

    also : whether the years agree on the basis of these fields; if they do not there, equivalence is not said here
    Random effects over year means (see random_effects); with one field-year a year the paired t over years. The range
    is never narrower than the one that the narrow method gives on the same field-years, and both tests have to reject.
    """
    found = on.found
    if on.sums is None:
        return _nothing(on, basis)
    count, years = found.count, found.years
    if years == 1:
        return _answer(
            on,
            basis,
            method="none",
            scope=f"one year with {_count(count, 'field-year')}",
            replicates=1,
            reason=f"There is only one year; at least {FEWEST_REPLICATES} years are needed to speak of years to come.",
            estimate=float(on.sums.mean),
        )
    broad, narrow = over_years(on.sums, weighted=on.weighted), these_fields(on.sums, blocks=on.blocks)
    method = "random effects over year means (REML, Hartung-Knapp)" if on.weighted else "t over year means"
    answer = _answer(
        on,
        basis,
        method="paired t over years" if count == years else method,
        scope=f"{years} years with {_count(count, 'field-year')}",
        replicates=years,
        estimate=float(broad.estimate),
        std_error=float(broad.std_error),
        df=float(broad.df),
    )
    if count > years:
        answer = replace(answer, year_sd=sqrt(float(broad.tau2)), field_sd=sqrt(float(on.sums.within_variance)))
    few = None
    if years < FEWEST_REPLICATES:
        few = f"There {_are(years, 'year')}; at least {FEWEST_REPLICATES} are needed."
    spread = ranges(broad.estimate, broad, narrow, level=terms.level, margin=terms.margin, rounding=terms.rounding)
    answer = judged(answer, spread, terms, few=few, agreement=on.agreement, is_narrow=False)
    if also is not None and bool(also.disagree):
        is_the_same_said = answer.finding is Finding.NO_DIFFERENCE_THAT_MATTERS
        answer = replace(answer, small=False, finding=Finding.NOT_SETTLED if is_the_same_said else answer.finding)
    if answer.low is None or found.do_places_come_back:
        return answer
    reach = prediction_reach(on, answer, terms)
    return replace(answer, prediction_low=float(broad.estimate) - reach, prediction_high=float(broad.estimate) + reach)


def prediction_reach(on: Ground, answer: Answer, terms: Terms) -> float:
    """Half the range for a new field in a new year where no place comes back: t(Y - 1) x sqrt(SE^2 + all variances).

    After J. P. T. Higgins, S. G. Thompson and D. J. Spiegelhalter (2009) J. R. Stat. Soc. A 172:137-159, with df Y - 1.
    """
    variance = _squared(answer.year_sd) + _squared(answer.field_sd)
    if on.found.count == on.found.years:
        variance = float(on.found.difference.var(ddof=1))
    critical = float(scipy.special.stdtrit(on.found.years - 1, (1 + terms.level) / 2))
    return critical * sqrt(_squared(answer.std_error) + variance)


def judged(
    answer: Answer,
    spread: Ranges,
    terms: Terms,
    *,
    few: str | None,
    agreement: Agreement | None,
    is_narrow: bool,
    is_equal: bool = True,
) -> Answer:
    """The answer with its ranges, and what may be said; `few` is a reason to say nothing.

    is_equal : where there is no spread, all differences are the same, and not only those of one year
    """
    if np.isnan(spread.low):
        std_error = 0.0 if answer.df else None
        reason = few or (NO_SPREAD if is_equal else NO_SPREAD_IN_A_YEAR)
        return replace(answer, std_error=std_error, df=answer.df or None, reason=reason)
    answer = replace(
        answer,
        low=float(spread.low),
        high=float(spread.high),
        p_value=float(spread.p_value),
        equivalence_low=float(spread.equivalence_low),
        equivalence_high=float(spread.equivalence_high),
        equivalence_p=None if terms.margin is None else float(spread.equivalence_p),
    )
    if few is not None:
        return replace(answer, reason=few)
    disagree = agreement is not None and bool(agreement.disagree)
    change_sides = is_narrow and agreement is not None and bool(agreement.change_sides)
    found = finding(
        float(spread.low),
        float(spread.high),
        float(spread.equivalence_p),
        terms,
        disagree=disagree,
        change_sides=change_sides,
    )
    side, margin = better(found, terms), terms.margin or 0.0
    is_inside = -margin < float(spread.low) and float(spread.high) < margin
    return replace(answer, finding=found, small=side is not None and is_inside and not disagree, better=side)


def better(found: Finding, terms: Terms) -> str | None:
    """Which way did better by a finding: "standing", "windrowed", or None."""
    if found not in (Finding.STANDING_HIGHER, Finding.STANDING_LOWER):
        return None
    return "standing" if (found is Finding.STANDING_HIGHER) == (terms.direction == "higher") else "windrowed"


def finding(
    low: float, high: float, equivalence_p: float, terms: Terms, *, disagree: bool, change_sides: bool
) -> Finding:
    """What may be said of a range; equivalence_p may be NaN, and is not heard where years disagree."""
    if change_sides:
        return Finding.DEPENDS_ON_YEAR
    if low > 0:
        return Finding.STANDING_HIGHER
    if high < 0:
        return Finding.STANDING_LOWER
    if equivalence_p < 1 - terms.level and not disagree:
        return Finding.NO_DIFFERENCE_THAT_MATTERS
    return Finding.NOT_SETTLED


def _one_place(on: Ground, terms: Terms, basis: Basis) -> Answer:
    """One place in one year: its strips stand for themselves; pairs that share fields do not."""
    strips = on.found.strips if on.found.strips.size else on.found.difference
    pairs = int(on.found.pairs[0])
    few = None
    if strips.size == 1 < pairs:
        few = f"The {pairs} pairs share fields, so they are one place in one year; at least 3 are needed."
    elif strips.size == 1:
        few = f"There is only one pair; at least {FEWEST_REPLICATES} are needed."
    elif strips.size < FEWEST_REPLICATES:
        few = f"There {_are(strips.size, 'strip')} in one field and one year; at least {FEWEST_REPLICATES} are needed."
    return _over_strips(on, strips, terms, basis, few)


def _over_strips(on: Ground, strips: Floats, terms: Terms, basis: Basis, few: str | None) -> Answer:
    sums = YearSums(
        counts=np.array([float(strips.size)]),
        means=strips.mean(keepdims=True),
        squares=np.square(strips - strips.mean()).sum(),
    )
    narrow = these_fields(sums, blocks=False)
    answer = _answer(
        on,
        basis,
        method="paired t over strips",
        scope="this field, this year",
        replicates=strips.size,
        estimate=float(narrow.estimate),
        std_error=float(narrow.std_error),
        df=float(narrow.df),
    )
    spread = ranges(narrow.estimate, narrow, level=terms.level, margin=terms.margin, rounding=terms.rounding)
    return judged(answer, spread, terms, few=few, agreement=None, is_narrow=True)


def _nothing(on: Ground, basis: Basis) -> Answer:
    return _answer(on, basis, method="none", scope="no pairs", replicates=0, reason=NO_PAIR[basis])


def _answer(
    on: Ground,
    basis: Basis,
    *,
    method: str,
    scope: str,
    replicates: int,
    reason: str | None = None,
    estimate: float | None = None,
    std_error: float | None = None,
    df: float | None = None,
) -> Answer:
    """An answer whose finding is still to be judged."""
    return Answer(
        finding=Finding.TOO_FEW,
        basis=basis,
        allocations=on.allocations,
        pairs=on.found.of_pair.size,
        field_years=on.found.count,
        years=on.found.years,
        method=method,
        scope=scope,
        replicates=replicates,
        reason=reason,
        estimate=estimate,
        std_error=std_error,
        df=df,
    )


def _scope(found: FieldYears) -> str:
    over = "in one year" if found.years == 1 else f"over {found.years} years"
    return f"{_count(found.count, 'field-year')} {over}"


def _squared(value: float | None) -> float:
    return 0.0 if value is None else value * value


def _count(number: int, noun: str) -> str:
    return f"{number:,} {noun}{'' if number == 1 else 's'}"


def _are(number: int, noun: str) -> str:
    return f"{'is' if number == 1 else 'are'} {_count(number, noun)}"
