"""Standing against windrowed: pairs to field-years to years, and the two questions asked of them.

Pure functions on arrays: no records, no database. Every difference is standing minus windrowed. Pairs of one place in
one crop year are averaged to the field-year, field-years to the year; only field-years and years are replicates, and
strips when there is nothing but one field in one year.
"""

from collections.abc import Sequence
from math import ceil, log10

import numpy as np
import scipy
from numpy.typing import ArrayLike

from analytics.errors import BadInput
from analytics.statistics import exact_tests
from analytics.statistics.answers import (
    Ground,
    Terms,
    these_fields_answer,
    years_to_come_answer,
)
from analytics.statistics.array_cautions import cautions
from analytics.statistics.basis import Grounds, marked
from analytics.statistics.carries import carries
from analytics.statistics.firm import firm, leave_one_out
from analytics.statistics.given_pairs import (
    ALLOCATIONS,
    KINDS,
    LARGEST_VALUE,
    Floats,
    Pairs,
    Texts,
    Years,
    YesNo,
    complete_pairs,
)
from analytics.statistics.many_measures import looks
from analytics.statistics.new_fields import crossed_of, fields_not_tried, shrunken_means
from analytics.statistics.places import FieldYears, place_names
from analytics.statistics.replicates import FieldYear, PairDifference, YearResult
from analytics.statistics.results import (
    MOST_LISTED,
    Basis,
    CarriedBy,
    Comparison,
    Counts,
    ExactTests,
    Question,
    YearsAgree,
)
from analytics.statistics.trial_size import planning

HIGHEST_LEVEL = 0.9999  # beyond it the methods have no numbers to stand on


def compare(
    standing: ArrayLike,
    windrowed: ArrayLike,
    *,
    crop_year: Years | None = None,
    farm: Texts | None = None,
    field: Texts | None = None,
    standing_field: Texts | None = None,
    windrowed_field: Texts | None = None,
    pair: Texts | None = None,
    layout: Texts | None = None,
    allocation: Texts | None = None,
    early_cut: YesNo | None = None,
    barred: Texts | None = None,
    measure: str,
    unit: str,
    direction: str = "higher",
    level: float = 0.95,
    margin: float | None = None,
    basis: Basis | None = None,
    gaps: Sequence[float] | None = None,
    list_all: bool = False,
) -> Comparison:
    """Both questions answered, with all that they rest on; see compare_pairs. Columns as for complete_pairs."""
    pairs = complete_pairs(
        standing,
        windrowed,
        crop_year=crop_year,
        farm=farm,
        field=field,
        standing_field=standing_field,
        windrowed_field=windrowed_field,
        pair=pair,
        layout=layout,
        allocation=allocation,
        early_cut=early_cut,
        barred=barred,
    )
    return compare_pairs(
        pairs,
        measure=measure,
        unit=unit,
        direction=direction,
        level=level,
        margin=margin,
        basis=basis,
        gaps=gaps,
        list_all=list_all,
    )


def compare_pairs(
    pairs: Pairs,
    *,
    measure: str,
    unit: str,
    direction: str = "higher",
    level: float = 0.95,
    margin: float | None = None,
    basis: Basis | None = None,
    gaps: Sequence[float] | None = None,
    list_all: bool = False,
    grounds: Grounds | None = None,
) -> Comparison:
    """Both questions answered: what carries each, whether years agree, how firm it is, planning, cautions.

    direction : "higher" or "lower", whichever is better
    level : of the intervals, between 0.5 and 1; equivalence is judged at 1 - level, one-sided, twice
    margin : the difference that matters, in `unit`, above 0; None leaves equivalence unknown
    basis : fixed before looking; None takes fields cut both ways where there are enough of them
    gaps : differences to plan for, in `unit`; None takes multiples of the margin
    list_all : carry pairs and field-years one by one also beyond MOST_LISTED
    grounds : those of the pairs, for whoever goes on working with them
    Raises BadInput for options out of range.
    """
    _check_options(direction, level, margin, gaps)
    terms = Terms(direction=direction, level=level, margin=margin, rounding=pairs.rounding)
    grounds = grounds or Grounds(pairs)
    of_these, here = grounds.basis(Question.THESE_FIELDS, basis)
    of_to_come, ahead = grounds.basis(Question.YEARS_TO_COME, basis)
    these = these_fields_answer(here, terms, of_these)
    to_come = years_to_come_answer(ahead, terms, of_to_come, also=here.agreement)
    crossed = crossed_of(ahead, terms)
    exact = exact_companions(here.found.strips if here.found.strips.size else here.found.difference, terms)
    left_out = (
        *leave_one_out(pairs, here, terms, Question.THESE_FIELDS, these),
        *leave_one_out(pairs, ahead, terms, Question.YEARS_TO_COME, to_come),
    )
    is_listed = list_all or pairs.standing.size <= MOST_LISTED
    found = here.found
    return Comparison(
        measure=measure,
        unit=unit,
        direction=direction,
        level=level,
        margin=margin,
        is_basis_fixed=basis is not None,
        pairs=found.of_pair.size,
        field_years=found.count,
        years=found.years,
        left_out=pairs.left_out,
        all_pairs=_all_pairs(pairs, grounds),
        mean_standing=float(found.standing.mean()) if found.count else None,
        mean_windrowed=float(found.windrowed.mean()) if found.count else None,
        these_fields=these,
        years_to_come=to_come,
        fields_not_tried=fields_not_tried(ahead, to_come, crossed, terms),
        shrunken=shrunken_means(pairs, ahead, to_come, crossed),
        carries=carries(grounds, terms),
        years_agree=_years_agree(here),
        firm=firm(pairs, here, left_out, terms, these, exact),
        looks=looks(ahead.found.years),
        exact=exact,
        planning=planning(grounds, here, terms, these, to_come, gaps),
        by_year=_by_year(here, terms),
        places=_places(pairs, found) if is_listed else (),
        places_to_come=_places(pairs, ahead.found) if is_listed else (),
        pair_differences=_pair_differences(pairs, found, ahead.found) if is_listed else (),
        cautions=cautions(pairs, here, ahead),
    )


def _check_options(direction: str, level: float, margin: float | None, gaps: Sequence[float] | None) -> None:
    if direction not in ("higher", "lower"):
        raise BadInput(f'direction: "{direction}" given; allowed "higher" or "lower", whichever is better.')
    if not 0.5 < level <= HIGHEST_LEVEL:
        raise BadInput(f"level: {level} given; allowed above 0.5 and up to {HIGHEST_LEVEL}, such as 0.95.")
    for name, size in (("margin", margin), *(("gaps", gap) for gap in gaps or ())):
        if size is not None and not 0 < size < LARGEST_VALUE:
            raise BadInput(f"{name}: {size} given; allowed a number above 0, in the measure's unit, or none.")


def exact_companions(replicates: Floats, terms: Terms) -> ExactTests:
    """The tests that need no normal distribution; what the computer's rounding tells apart is one number to them."""
    if terms.rounding * 10 < float(np.abs(replicates).max(initial=0.0)):
        replicates = np.round(replicates, -ceil(log10(terms.rounding)))
    middle = exact_tests.hodges_lehmann(replicates, level=terms.level)
    return ExactTests(
        sign_flip_p=exact_tests.sign_flip_p(replicates),
        wilcoxon_p=exact_tests.wilcoxon_p(replicates),
        sign_test_p=exact_tests.sign_test_p(replicates),
        hodges_lehmann=middle.estimate,
        hodges_lehmann_low=middle.low,
        hodges_lehmann_high=middle.high,
        is_wilcoxon_exact=int((replicates != 0).sum()) <= exact_tests.LARGEST_EXACT_RANKS,
    )


def _all_pairs(pairs: Pairs, grounds: Grounds) -> Counts:
    everything = grounds.of(marked(pairs, CarriedBy.ALL)).found
    barred: dict[str, int] = {}
    for reason in pairs.barred or ():
        if reason is not None:
            barred[reason] = barred.get(reason, 0) + 1
    return Counts(
        pairs=everything.of_pair.size,
        field_years=everything.count,
        years=everything.years,
        left_out=pairs.left_out,
        barred=tuple(sorted(barred.items())),
    )


def _years_agree(on: Ground) -> YearsAgree:
    if on.sums is None or on.agreement is None or on.found.years < 2:
        return YearsAgree(f_p=None, gail_simon_p=None, disagree=False, highest=None, lowest=None)
    f_p, sides = float(on.agreement.f_p), float(on.agreement.gail_simon_p)
    return YearsAgree(
        f_p=None if np.isnan(f_p) else f_p,
        gail_simon_p=None if np.isnan(sides) else sides,
        disagree=bool(on.agreement.disagree),
        highest=on.found.crop_years[int(on.sums.means.argmax())],
        lowest=on.found.crop_years[int(on.sums.means.argmin())],
    )


def _by_year(on: Ground, terms: Terms) -> tuple[YearResult, ...]:
    """Each year's mean; where years are blocks all share the spread within years, else each has only its own."""
    found, sums = on.found, on.sums
    if sums is None:
        return ()
    counts = sums.counts
    own = np.bincount(found.year, weights=np.square(found.difference - sums.means[found.year]))
    variance, df = own / np.maximum(counts - 1, 1), counts - 1
    if on.blocks:
        variance, df = np.full(counts.shape, float(sums.within_variance)), np.full(counts.shape, float(sums.within_df))
    error = np.sqrt(variance / counts)
    known = (error > terms.rounding) & (df > 0)
    reach = scipy.special.stdtrit(np.maximum(df, 1), (1 + terms.level) / 2) * error
    return tuple(
        YearResult(
            crop_year=crop_year,
            field_years=int(counts[number]),
            estimate=float(sums.means[number]),
            low=float(sums.means[number] - reach[number]) if known[number] else None,
            high=float(sums.means[number] + reach[number]) if known[number] else None,
        )
        for number, crop_year in enumerate(found.crop_years)
    )


def _places(pairs: Pairs, found: FieldYears) -> tuple[FieldYear, ...]:
    columns = zip(
        place_names(pairs, found),
        found.year.tolist(),
        found.kind.tolist(),
        found.pairs.tolist(),
        found.standing.tolist(),
        found.windrowed.tolist(),
        found.difference.tolist(),
        strict=True,
    )
    return tuple(
        FieldYear(
            crop_year=found.crop_years[year],
            place=name,
            kind=KINDS[kind],
            pairs=count,
            standing=standing,
            windrowed=windrowed,
            difference=difference,
        )
        for name, year, kind, count, standing, windrowed, difference in columns
    )


def _pair_differences(pairs: Pairs, here: FieldYears, ahead: FieldYears) -> tuple[PairDifference, ...]:
    """Every complete pair, with the place it belongs to and the answers that rest on it."""
    fields = [pairs.field_words(row) for row in range(pairs.standing.size)]
    places = list(fields)
    shares = np.zeros(pairs.standing.size)
    if here.count:
        shares[here.selected] = 1 / here.pairs[here.of_pair] / here.count
    for found in (ahead, here):
        names = place_names(pairs, found)
        for row, number in zip(np.flatnonzero(found.selected).tolist(), found.of_pair.tolist(), strict=True):
            places[row] = names[number]
    return tuple(
        PairDifference(
            crop_year=pairs.crop_years[pairs.year[row]],
            field=fields[row],
            pair=pairs.labels[row],
            standing=float(pairs.standing[row]),
            windrowed=float(pairs.windrowed[row]),
            difference=float(pairs.standing[row] - pairs.windrowed[row]),
            place=place,
            kind=KINDS[pairs.kind[row]],
            allocation=ALLOCATIONS[pairs.allocation[row]],
            in_these=bool(here.selected[row]),
            in_to_come=bool(ahead.selected[row]),
            share=float(shares[row]),
            barred=None if pairs.barred is None else pairs.barred[row],
        )
        for row, place in enumerate(places)
    )
