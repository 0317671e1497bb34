"""Standing against windrowed: pairs to field-years to years, and the two questions asked of them.

Pure functions on arrays: no records, no database. Every difference is standing minus windrowed. Strips (pairs) of one
field in one crop year are averaged to the field-year, field-years to the year; field-years and years are the
replicates, strips only when there is nothing but one field-year. On the narrow and the broad question: K. J. Moore and
P. M. Dixon (2015) Analysis of combined experiments revisited, Agronomy Journal 107:763-771 (pages from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import sqrt

import numpy as np
import scipy
from numpy.typing import ArrayLike

from analytics.errors import BadInput
from analytics.statistics import exact_tests
from analytics.statistics.power import detectable_difference, replicates_needed
from analytics.statistics.random_effects import mean_of_years
from analytics.statistics.replicates import LARGEST_VALUE, Floats, Ladder, Pairs, averages, complete_pairs, ladder_of
from analytics.statistics.results import (
    Answer,
    Caution,
    Comparison,
    ExactTests,
    Finding,
    LeftOut,
    PairDifference,
    Planning,
    YearResult,
)

FEWEST_REPLICATES = 3  # two close pairs give p = 0.016 by t where the exact test says 0.5 (Student 1908 warns of it)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Terms:
    """What was fixed before the data were looked at, and the size below which a number is rounding."""

    direction: str
    level: float
    margin: float | None
    rounding: float


def compare(
    standing: ArrayLike,
    windrowed: ArrayLike,
    *,
    crop_year: Sequence[int | None] | None = None,
    field: Sequence[str | None] | None = None,
    pair: Sequence[str | None] | None = None,
    measure: str,
    unit: str,
    direction: str = "higher",
    level: float = 0.95,
    margin: float | None = None,
) -> Comparison:
    """Both questions answered, with exact companions, planning, each year alone and the cautions the numbers call for.

    standing, windrowed : one value per pair, in `unit`, shape (pairs,); None or NaN where a side is missing
    crop_year : whole years, shape (pairs,); without it all pairs are of one year
    field : pairs with the same field and crop_year are strips of one field-year; without it each pair is one
    pair : a label carried along
    direction : "higher" or "lower", whichever is better
    level : of the intervals, between 0.5 and 1; equivalence is judged at 1 - level, one-sided, twice
    margin : the difference that matters, in `unit`, above 0; None leaves equivalence unknown
    Raises BadInput, naming the row, for infinities and text, for unequal lengths and for options out of range.

    These fields (narrow): mean of the N field-years. With Y years and N >= 2Y years are blocks: standard error
    s_w / sqrt(N), df N - Y, s_w pooled within years; otherwise the paired t, df N - 1 (Student 1908 Biometrika 6:1-25).
    Years to come (broad): random effects over year means, see random_effects.mean_of_years; with as many field-years
    each year it is the t test on the year means. Prediction for a new field in a new year after J. P. T. Higgins,
    S. G. Thompson and D. J. Spiegelhalter (2009) J. R. Stat. Soc. A 172:137-159, with df Y - 1.
    Equivalence: D. J. Schuirmann (1987) J. Pharmacokinetics and Biopharmaceutics 15:657-680.
    """
    _check_options(direction, level, margin)
    pairs = complete_pairs(standing, windrowed, crop_year=crop_year, field=field, pair=pair)
    terms = _Terms(direction=direction, level=level, margin=margin, rounding=pairs.rounding)
    ladder = ladder_of(pairs)
    these_fields, years_to_come = _these_fields(ladder, terms), _years_to_come(ladder, terms)
    replicates = ladder.strips if ladder.strips.size else ladder.differences
    count = ladder.differences.size
    return Comparison(
        measure=measure,
        unit=unit,
        direction=direction,
        level=level,
        margin=margin,
        pairs=pairs.standing.size,
        field_years=count,
        years=len(ladder.crop_years),
        left_out=pairs.left_out,
        mean_standing=float(averages(pairs.standing, pairs.field_year).mean()) if count else None,
        mean_windrowed=float(averages(pairs.windrowed, pairs.field_year).mean()) if count else None,
        these_fields=these_fields,
        years_to_come=years_to_come,
        exact=_exact(replicates, level),
        planning=_planning(ladder, terms, these_fields, years_to_come),
        by_year=_by_year(ladder, terms),
        pair_differences=_pair_differences(pairs),
        cautions=_cautions(count, len(ladder.crop_years)),
    )


def influence(
    standing: ArrayLike,
    windrowed: ArrayLike,
    *,
    crop_year: Sequence[int | None] | None = None,
    field: Sequence[str | None] | None = None,
    pair: Sequence[str | None] | None = None,
    direction: str = "higher",
    level: float = 0.95,
    margin: float | None = None,
) -> tuple[LeftOut, ...]:
    """Both answers with each field-year left out in turn, then with each year left out; arguments as for `compare`.

    A field-year without a field's name goes by its pair, else by its place among the complete rows, counted from 1.
    Nothing is left out when nothing would remain. The work grows with the square of the number of field-years: meant
    for a farm, not for a region.
    """
    _check_options(direction, level, margin)
    pairs = complete_pairs(standing, windrowed, crop_year=crop_year, field=field, pair=pair)
    terms = _Terms(direction=direction, level=level, margin=margin, rounding=pairs.rounding)
    ladder = ladder_of(pairs)
    result = []
    if ladder.differences.size > 1:
        for number, name in enumerate(ladder.names):
            rest = ladder.without(np.arange(ladder.differences.size) == number)
            result.append(_left_out(rest, terms, ladder.crop_years[ladder.year[number]], name))
    if len(ladder.crop_years) > 1:
        for number, one_year in enumerate(ladder.crop_years):
            result.append(_left_out(ladder.without(ladder.year == number), terms, one_year, None))
    return tuple(result)


def _check_options(direction: str, level: float, margin: float | None) -> None:
    if direction not in ("higher", "lower"):
        raise BadInput(f'direction: "{direction}" given; allowed "higher" or "lower", whichever is better.')
    if not 0.5 < level < 1:
        raise BadInput(f"level: {level} given; allowed above 0.5 and below 1, such as 0.95.")
    if margin is not None and not 0 < margin < LARGEST_VALUE:
        raise BadInput(f"margin: {margin} given; allowed a number above 0, in the measure's unit, or none.")


def _left_out(rest: Ladder, terms: _Terms, crop_year: int | None, name: str | None) -> LeftOut:
    return LeftOut(
        crop_year=crop_year,
        field=name,
        these_fields=_these_fields(rest, terms),
        years_to_come=_years_to_come(rest, terms),
    )


# --- the two questions


def _these_fields(ladder: Ladder, terms: _Terms) -> Answer:
    count, years = ladder.differences.size, len(ladder.crop_years)
    if count == 0:
        return _nothing(terms)
    if count == 1:
        strips = ladder.strips if ladder.strips.size else ladder.differences
        sd, df, method, scope = _sd(strips), strips.size - 1, "paired t over strips", "this field, this year"
        count, estimate = strips.size, float(strips.mean())
        few = f"There {_are(count, 'strip')} in one field and one year; at least {FEWEST_REPLICATES} are needed."
        if count == 1:
            few = f"There is only one pair; at least {FEWEST_REPLICATES} are needed."
    else:
        sd, df, estimate = _sd(ladder.differences), count - 1, float(ladder.differences.mean())
        method = "paired t over field-years"
        if _years_are_blocks(count, years):
            sd, df, method = _within_year_sd(ladder), count - years, "t over field-years with years as blocks"
        scope = f"{_count(count, 'field-year')} {'in one year' if years == 1 else f'over {years} years'}"
        few = f"There {_are(count, 'field-year')}; at least {FEWEST_REPLICATES} are needed."
    return _judged(
        terms,
        method=method,
        scope=scope,
        replicates=count,
        reason=few if count < FEWEST_REPLICATES else None,
        estimate=estimate,
        std_error=sd / sqrt(count),
        df=df,
    )


def _years_to_come(ladder: Ladder, terms: _Terms) -> Answer:
    count, years = ladder.differences.size, len(ladder.crop_years)
    if count == 0:
        return _nothing(terms)
    if years == 1:
        return _judged(
            terms,
            method="none",
            scope=f"one year with {_count(count, 'field-year')}",
            replicates=1,
            reason=f"There is only one year; at least {FEWEST_REPLICATES} years are needed to speak of years to come.",
            estimate=float(ladder.differences.mean()),
        )
    year_sd: float | None = None
    field_sd: float | None = None
    if count == years:
        sd = _sd(ladder.differences)
        estimate, std_error, one_more = float(ladder.differences.mean()), sd / sqrt(years), sd * sqrt(1 + 1 / years)
        method = "paired t over years"
    else:
        within = _within_year_sd(ladder)
        if within <= terms.rounding:
            within = 0.0
        model = mean_of_years(averages(ladder.differences, ladder.year), within**2, np.bincount(ladder.year))
        estimate, std_error, tau2 = float(model.estimate), float(model.std_error), float(model.tau2)
        one_more = sqrt(std_error**2 + tau2 + within**2)
        method = "random effects over year means (REML, Hartung-Knapp)" if model.weighted else "t over year means"
        year_sd, field_sd = sqrt(tau2), within
    reach = float(scipy.special.stdtrit(years - 1, (1 + terms.level) / 2)) * one_more
    answer = _judged(
        terms,
        method=method,
        scope=f"{years} years with {_count(count, 'field-year')}",
        replicates=years,
        reason=None if years >= FEWEST_REPLICATES else f"There are 2 years; at least {FEWEST_REPLICATES} are needed.",
        estimate=estimate,
        std_error=std_error,
        df=years - 1,
    )
    if answer.low is None:
        return replace(answer, year_sd=year_sd, field_sd=field_sd)
    return replace(
        answer, year_sd=year_sd, field_sd=field_sd, prediction_low=estimate - reach, prediction_high=estimate + reach
    )


def _nothing(terms: _Terms) -> Answer:
    return _judged(terms, method="none", scope="no pairs", replicates=0, reason="There is no complete pair.")


def _judged(
    terms: _Terms,
    *,
    method: str,
    scope: str,
    replicates: int,
    reason: str | None,
    estimate: float | None = None,
    std_error: float | None = None,
    df: int | None = None,
) -> Answer:
    """The numbers of a t interval and what may be said of them; a reason given means that there are too few."""
    answer = Answer(
        finding=Finding.TOO_FEW,
        reason=reason,
        method=method,
        scope=scope,
        replicates=replicates,
        estimate=estimate,
        df=df or None,
    )
    if estimate is None or std_error is None or not df:
        return answer
    if std_error <= terms.rounding:
        same = "All differences are the same, so there is no spread to judge by."
        return replace(answer, std_error=0.0, reason=reason or same)
    reach = float(scipy.special.stdtrit(df, (1 + terms.level) / 2)) * std_error
    low, high = estimate - reach, estimate + reach
    equivalence_p = None
    if terms.margin is not None:
        equivalence_p = float(scipy.special.stdtr(df, (abs(estimate) - terms.margin) / std_error))
    answer = replace(
        answer,
        std_error=std_error,
        low=low,
        high=high,
        p_value=float(2 * scipy.special.stdtr(df, -abs(estimate) / std_error)),
        equivalence_p=equivalence_p,
    )
    if reason is not None:
        return answer
    within_margin = equivalence_p is not None and equivalence_p < 1 - terms.level
    if low > 0 or high < 0:
        finding = Finding.STANDING_HIGHER if low > 0 else Finding.STANDING_LOWER
        better = "standing" if (low > 0) == (terms.direction == "higher") else "windrowed"
        return replace(answer, finding=finding, small=within_margin, better=better)
    return replace(answer, finding=Finding.NO_DIFFERENCE_THAT_MATTERS if within_margin else Finding.NOT_SETTLED)


def _years_are_blocks(field_years: int, years: int) -> bool:
    return years > 1 and field_years >= 2 * years


def _sd(values: Floats) -> float:
    return float(values.std(ddof=1)) if values.size > 1 else 0.0


def _within_year_sd(ladder: Ladder) -> float:
    """Pooled over years, with field-years less years degrees of freedom."""
    apart = ladder.differences - averages(ladder.differences, ladder.year)[ladder.year]
    return sqrt(float(np.square(apart).sum()) / (ladder.differences.size - len(ladder.crop_years)))


def _count(number: int, noun: str) -> str:
    return f"{number:,} {noun}{'' if number == 1 else 's'}"


def _are(number: int, noun: str) -> str:
    return f"{'is' if number == 1 else 'are'} {_count(number, noun)}"


# --- what stands beside them


def _exact(replicates: Floats, level: float) -> ExactTests:
    middle = exact_tests.hodges_lehmann(replicates, level=level)
    return ExactTests(
        sign_flip_p=exact_tests.sign_flip_p(replicates),
        wilcoxon_p=exact_tests.wilcoxon_p(replicates),
        sign_test_p=exact_tests.sign_test_p(replicates),
        hodges_lehmann=middle.estimate,
        hodges_lehmann_low=middle.low,
        hodges_lehmann_high=middle.high,
    )


def _planning(ladder: Ladder, terms: _Terms, these_fields: Answer, years_to_come: Answer) -> Planning:
    """By the spread of these fields; unknown where there is none, or no margin, or only one field-year."""
    detectable = field_years = years = None
    count, seasons = ladder.differences.size, len(ladder.crop_years)
    if these_fields.std_error and these_fields.df:
        error, df = these_fields.std_error, these_fields.df
        detectable = detectable_difference(std_error=error, df=df, level=terms.level)
        if terms.margin is not None and count > 1:
            blocks = seasons if _years_are_blocks(count, seasons) else 1
            sd = error * sqrt(count)
            field_years = _needed(terms, terms.margin, sd, blocks=blocks)
    if terms.margin is not None and years_to_come.std_error:
        sd = years_to_come.std_error * sqrt(seasons)
        if years_to_come.year_sd is not None and years_to_come.field_sd is not None:
            sd = sqrt(years_to_come.year_sd**2 + years_to_come.field_sd**2 * seasons / count)
        years = _needed(terms, terms.margin, sd, blocks=1)
    return Planning(detectable_difference=detectable, field_years_needed=field_years, years_needed=years)


def _needed(terms: _Terms, margin: float, sd: float, *, blocks: int) -> int | None:
    fewest = max(FEWEST_REPLICATES, 2 * blocks if blocks > 1 else 0)
    return replicates_needed(difference=margin, sd=sd, level=terms.level, blocks=blocks, fewest=fewest)


def _by_year(ladder: Ladder, terms: _Terms) -> tuple[YearResult, ...]:
    result = []
    for number, crop_year in enumerate(ladder.crop_years):
        differences = ladder.differences[ladder.year == number]
        estimate, error = float(differences.mean()), _sd(differences) / sqrt(differences.size)
        known = error > terms.rounding
        reach = float(scipy.special.stdtrit(differences.size - 1, (1 + terms.level) / 2)) * error if known else 0.0
        result.append(
            YearResult(
                crop_year=crop_year,
                field_years=differences.size,
                estimate=estimate,
                low=estimate - reach if known else None,
                high=estimate + reach if known else None,
            )
        )
    return tuple(result)


def _pair_differences(pairs: Pairs) -> tuple[PairDifference, ...]:
    rows = zip(
        pairs.labels,
        pairs.standing.tolist(),
        pairs.windrowed.tolist(),
        (pairs.standing - pairs.windrowed).tolist(),
        strict=True,
    )
    return tuple(
        PairDifference(
            crop_year=crop_year, field=field, pair=pair, standing=standing, windrowed=windrowed, difference=difference
        )
        for (crop_year, field, pair), standing, windrowed, difference in rows
    )


def _cautions(field_years: int, years: int) -> tuple[Caution, ...]:
    """Those that follow from the counts alone; what the records say is added where the records are read."""
    found = []
    if years == 1:
        text = "All pairs are from one year; another year may look different."
        found.append(Caution(code="one_year_only", text=text))
    if 0 < field_years < 5:
        text = f"It rests on {_count(field_years, 'field-year')}; fewer than five say little about the spread."
        found.append(Caution(code="fewer_than_five_field_years", text=text))
    if years > 1 and not _years_are_blocks(field_years, years):
        text = "With fewer than two field-years a year, differences between years and between fields mix."
        found.append(Caution(code="years_not_separated", text=text))
    return tuple(found)
