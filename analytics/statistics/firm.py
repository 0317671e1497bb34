"""How firm a finding is: what one field-year or one year carries, and whether the exact companion decides alike.

When something is left out, the basis and the formula stay: years that were blocks remain blocks, years that were
weighted remain weighted, and fields cut both ways are not given up for all pairs.
"""

from dataclasses import dataclass

import numpy as np

from analytics.statistics.answers import FEWEST_REPLICATES, Ground, Terms, better, finding
from analytics.statistics.estimates import YearSums, ranges, these_fields, years_to_come
from analytics.statistics.given_pairs import ALLOCATIONS, Allocation, Floats, Pairs
from analytics.statistics.places import place_names
from analytics.statistics.results import Answer, ExactTests, Finding, Firm, LeftOut, Question
from analytics.statistics.years_agree import agreement

MOST_FIELD_YEARS = 1_000  # past that no single field-year carries anything, and its row would only fill the page
MOST_YEARS = 200


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Numbers:
    """Each thing left out in turn, shape (times,)."""

    finding: list[Finding]
    estimate: Floats
    low: Floats
    high: Floats


def leave_one_out(pairs: Pairs, on: Ground, terms: Terms, question: Question, answer: Answer) -> tuple[LeftOut, ...]:
    """The answer without each field-year, then without each year; empty where there is no finding to change.

    Up to 1,000 field-years and 200 years; past that the field-years, or both, are passed over.
    """
    found, sums = on.found, on.sums
    if answer.finding is Finding.TOO_FEW or sums is None or found.count < 2 or found.years > MOST_YEARS:
        return ()
    without_years = None
    if found.years > 1:
        without_years = _judged(_without_years(on, sums), on, terms, question)
    rows: list[LeftOut] = []
    if found.count <= MOST_FIELD_YEARS:
        names, numbers = place_names(pairs, found), _judged(_without_field_years(on, sums, terms), on, terms, question)
        alone = sums.counts[found.year] == 1  # leaving it out leaves out its year
        place_in_rest = np.cumsum(~alone) - 1
        for number, name in enumerate(names):
            year = int(found.year[number])
            rest, place = (without_years, year) if alone[number] else (numbers, int(place_in_rest[number]))
            if rest is not None:
                rows.append(_row(rest, place, question, terms, answer, found.crop_years[year], name))
    if without_years is not None:
        rows.extend(
            _row(without_years, year, question, terms, answer, crop_year, None)
            for year, crop_year in enumerate(found.crop_years)
        )
    return tuple(rows)


def firm(
    pairs: Pairs, on: Ground, left_out: tuple[LeftOut, ...], terms: Terms, answer: Answer, exact: ExactTests
) -> Firm:
    """What is told of these fields' answer, with the rows of leave_one_out for both questions."""
    drawn = pairs.allocation[on.found.selected] == ALLOCATIONS.index(Allocation.DRAWN)
    return Firm(
        leave_one_out=left_out,
        exact_agrees=_exact_agrees(answer, exact, terms),
        drawn_by_lot=bool(drawn.all()) if drawn.size else None,
    )


def _exact_agrees(answer: Answer, exact: ExactTests, terms: Terms) -> bool | None:
    p, flipped = answer.p_value, exact.sign_flip_p
    if p is None or flipped is None or 2.0 ** (1 - answer.replicates) > 1 - terms.level:
        return None
    return (p < 1 - terms.level) == (flipped <= 1 - terms.level)


def _without_field_years(on: Ground, sums: YearSums, terms: Terms) -> YearSums:
    """Each field-year of a year that has others left out in turn, in order, shape (field_years, years)."""
    within = _squares_by_year(on, sums)
    counts, means, squares = [], [], []
    for number in range(on.found.years):
        own = on.found.difference[on.found.year == number]
        if own.size == 1:
            continue
        rest = np.broadcast_to(own, (own.size, own.size))[~np.eye(own.size, dtype=bool)].reshape(own.size, -1)
        middle = rest.mean(1)
        spread = np.square(rest - middle[:, None]).sum(1)
        spread[spread <= terms.rounding**2 * own.size] = 0.0
        counts.append(np.tile(sums.counts, (own.size, 1)))
        means.append(np.tile(sums.means, (own.size, 1)))
        counts[-1][:, number] -= 1
        means[-1][:, number] = middle
        squares.append(np.delete(within, number).sum() + spread)
    if not counts:
        return YearSums(counts=np.empty((0, on.found.years)), means=np.empty((0, on.found.years)), squares=np.empty(0))
    return YearSums(counts=np.concatenate(counts), means=np.concatenate(means), squares=np.concatenate(squares))


def _without_years(on: Ground, sums: YearSums) -> YearSums:
    """Each year left out in turn, shape (years, years - 1)."""
    others = ~np.eye(sums.years, dtype=bool)

    def rest(values: Floats) -> Floats:
        return np.broadcast_to(values, others.shape)[others].reshape(sums.years, -1)

    return YearSums(counts=rest(sums.counts), means=rest(sums.means), squares=rest(_squares_by_year(on, sums)).sum(-1))


def _squares_by_year(on: Ground, sums: YearSums) -> Floats:
    if not sums.squares > 0:
        return np.zeros(sums.years)
    apart = on.found.difference - sums.means[on.found.year]
    squares: Floats = np.bincount(on.found.year, weights=np.square(apart)).astype(np.float64)
    return squares


def _judged(rest: YearSums, on: Ground, terms: Terms, question: Question) -> _Numbers:
    if not rest.counts.shape[0]:
        return _Numbers(finding=[], estimate=np.empty(0), low=np.empty(0), high=np.empty(0))
    narrow, agree = these_fields(rest, blocks=on.blocks), agreement(rest)
    if question is Question.THESE_FIELDS:
        estimate, replicates = narrow.estimate, rest.count
        spread = ranges(estimate, narrow, level=terms.level, margin=terms.margin, rounding=terms.rounding)
        change_sides = agree.change_sides
    elif rest.years < 2:
        estimate = rest.mean
        few = [Finding.TOO_FEW] * estimate.size
        return _Numbers(
            finding=few, estimate=estimate, low=np.full(estimate.size, np.nan), high=np.full(estimate.size, np.nan)
        )
    else:
        broad = years_to_come(rest, weighted=on.weighted)
        estimate, replicates = broad.estimate, np.full(rest.count.shape, float(rest.years))
        spread = ranges(estimate, broad, narrow, level=terms.level, margin=terms.margin, rounding=terms.rounding)
        change_sides = np.zeros(estimate.shape, dtype=bool)
    known = ~np.isnan(spread.low) & (replicates >= FEWEST_REPLICATES)
    findings = [
        finding(low, high, same, terms, disagree=apart, change_sides=sides) if is_known else Finding.TOO_FEW
        for low, high, same, apart, sides, is_known in zip(
            spread.low.tolist(),
            spread.high.tolist(),
            spread.equivalence_p.tolist(),
            agree.disagree.tolist(),
            change_sides.tolist(),
            known.tolist(),
            strict=True,
        )
    ]
    return _Numbers(
        finding=findings,
        estimate=estimate,
        low=np.where(known, spread.low, np.nan),
        high=np.where(known, spread.high, np.nan),
    )


def _row(
    numbers: _Numbers,
    place: int,
    question: Question,
    terms: Terms,
    answer: Answer,
    crop_year: int | None,
    name: str | None,
) -> LeftOut:
    found, low, high = numbers.finding[place], float(numbers.low[place]), float(numbers.high[place])
    return LeftOut(
        question=question,
        crop_year=crop_year,
        place=name,
        finding=found,
        better=better(found, terms),
        is_changed=found not in (answer.finding, Finding.TOO_FEW),
        estimate=float(numbers.estimate[place]),
        low=None if np.isnan(low) else low,
        high=None if np.isnan(high) else high,
    )
