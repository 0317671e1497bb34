"""Tables for a statistician: every number behind both answers, what carries them, and what a trial would take."""

from collections.abc import Mapping
from dataclasses import dataclass

from analytics.answer import marks
from analytics.answer.difference_words import base_decimals, margin_words
from analytics.answer.wording import p_words, with_range
from analytics.statistics.results import (
    Answer,
    CarriedBy,
    CarriesRow,
    Comparison,
    Finding,
    HolmMark,
    Needed,
    Question,
)
from analytics.trade.numbers_as_text import UNKNOWN, amount, count, number, percent_words

ALONE = "alone only"
NOT_ASKED = "–"  # a cell that this question has no value for
ROW_WORDS = {
    CarriedBy.ONE_FIELD: "one field cut both ways",
    CarriedBy.TWO_FIELDS: "two separate fields",
    CarriedBy.MATCHED: "matched after harvest",
    CarriedBy.DRAWN: "drawn by lot",
    CarriedBy.CHOSEN: "chosen",
    CarriedBy.NOT_KNOWN: "lot or choice not known",
    CarriedBy.WITHOUT_EARLY_CUT: "no windrow before 60 % colour",
    CarriedBy.ALL: "all pairs",
}


@dataclass(frozen=True, slots=True)
class StatisticsRow:
    """One line of a table with a cell for each of the two questions, as text."""

    name: str
    these_fields: str
    years_to_come: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CarriedRow:
    """One line of "What carries it", as text; counts and ranges for each question.

    name : of the row, with a star where the answer rests on it, with two where years to come alone do
    """

    name: str
    field_years: str
    these_fields: str
    years: str
    years_to_come: str


def carried_rows(comparison: Comparison) -> list[CarriedRow]:
    """The same rows for every measure, whether any pair is of that kind or not."""
    rows = {(row.row, row.question): row for row in comparison.carries}
    bases = _bases(comparison)
    found = []
    for kind in CarriedBy:
        here, ahead = rows[kind, Question.THESE_FIELDS], rows[kind, Question.YEARS_TO_COME]
        stars = ("", " *", " **")[1 + bases.index(kind.value) if kind.value in bases else 0]
        unknown = f" ({here.not_known} with an unknown stage stay in)" if here.not_known else ""
        found.append(
            CarriedRow(
                name=ROW_WORDS[kind] + unknown + stars,
                field_years=number(here.field_years, 0),
                these_fields=carried_words(comparison, here),
                years=number(ahead.years, 0),
                years_to_come=carried_words(comparison, ahead),
            )
        )
    return found


def carried_notes(comparison: Comparison) -> str:
    """What the stars mean, and which pairs stay out of the rows."""
    also = "; ** for years to come it rests on these" if len(_bases(comparison)) > 1 else ""
    without = [
        row.question
        for row in comparison.carries
        if row.row is CarriedBy.ALL and row.pairs < comparison.all_pairs.pairs
    ]
    stay_out = ""
    if without:
        rows = "All pairs" if len(without) > 1 else f"For {marks.QUESTION_WORDS[without[0]]} all pairs"
        stay_out = f" {rows} are without those matched after harvest."
    return f"* The answer rests on these{also}. Rows overlap, so they do not add up.{stay_out}"


def _bases(comparison: Comparison) -> list[str]:
    """The rows that the answer rests on: of these fields, then of years to come where that says something on others."""
    here, ahead = comparison.these_fields, comparison.years_to_come
    is_other = ahead.finding is not Finding.TOO_FEW and ahead.basis is not here.basis
    return [_row_of(here), *([_row_of(ahead)] if is_other else [])]


def carried_in_words(comparison: Comparison) -> list[str]:
    """The picture of what carries an answer, for those who cannot see it."""
    return [
        f"{row.name[0].upper()}{row.name[1:]}: {row.field_years} field-years, {row.these_fields}; years to come "
        f"{row.years_to_come}."
        for row in carried_rows(comparison)
    ]


def carried_words(comparison: Comparison, row: CarriesRow) -> str:
    """An estimate with its range, signed: "0.3 (−1.8 to 2.4)"; "no pair" or "too few" where there is none."""
    if row.estimate is None:
        return "no pair"
    if row.low is None or row.high is None:
        return f"{number(row.estimate, base_decimals(comparison))}, too few"
    return with_range(row.estimate, row.low, row.high, base_decimals(comparison))


def _row_of(answer: Answer) -> str:
    return "drawn" if answer.basis == "drawn_by_lot" else answer.basis.value


def together_words(comparison: Comparison, question: Question, *, main: str) -> str:
    """How a measure fares when all but the main one are looked at together; "" where there is nothing to say."""
    if comparison.measure == main:
        return "Main measure: judged by itself."
    if (mark := _mark(comparison, question)) is None:
        return ""
    if mark.also_together:
        return f"Also when all {mark.of} other measures are looked at together."
    return f"Clear by itself only: not when all {mark.of} other measures are looked at together."


def is_alone_only(comparison: Comparison, question: Question) -> bool:
    """Whether a finding holds for the measure by itself, and not when all others are looked at with it."""
    mark = _mark(comparison, question)
    return mark is not None and not mark.also_together


def _mark(comparison: Comparison, question: Question) -> HolmMark | None:
    answer = comparison.these_fields if question is Question.THESE_FIELDS else comparison.years_to_come
    if answer.finding not in (Finding.STANDING_HIGHER, Finding.STANDING_LOWER):
        return None
    return comparison.holm[0 if question is Question.THESE_FIELDS else 1]


def together_rows(comparisons: Mapping[str, Comparison]) -> list[StatisticsRow]:
    """All measures at once: the p of each, and Holm's p adjusted for looking at all but the main one."""
    return [
        StatisticsRow(
            marks.measure_label(one),
            _p_and_holm(one.these_fields, one.holm[0]),
            _p_and_holm(one.years_to_come, one.holm[1]),
        )
        for one in comparisons.values()
    ]


def alone_only(comparisons: Mapping[str, Comparison]) -> list[str]:
    """Findings that hold for a measure by itself, and not when all but the main one are looked at together."""
    return [
        f"{marks.measure_label(comparison)}, {marks.QUESTION_WORDS[question]}: "
        f"{marks.finding_words(comparison, answer)}, {ALONE}."
        for comparison in comparisons.values()
        for question, answer in (
            (Question.THESE_FIELDS, comparison.these_fields),
            (Question.YEARS_TO_COME, comparison.years_to_come),
        )
        if is_alone_only(comparison, question)
    ]


def _p_and_holm(answer: Answer, mark: HolmMark | None) -> str:
    alone = f"p {p_words(answer.p_value)}"
    return alone if mark is None else f"{alone}; with all {mark.of} p {p_words(mark.p)}"


def statistics_rows(comparison: Comparison) -> list[StatisticsRow]:
    """Every number behind both findings, differences in the comparison's unit."""
    these, future, exact = comparison.these_fields, comparison.years_to_come, comparison.exact
    new, agree = comparison.fields_not_tried, comparison.years_agree
    decimals = base_decimals(comparison) + 2

    def value(of: float | None) -> str:
        return number(of, decimals)

    def span(low: float | None, high: float | None) -> str:
        return UNKNOWN if low is None or high is None else f"{value(low)} to {value(high)}"

    unit = f", {comparison.unit}" if comparison.unit else ""
    margin = NOT_ASKED if comparison.margin is None else margin_words(comparison)
    wilcoxon = "exact" if exact.is_wilcoxon_exact else "normal approximation"
    return [
        StatisticsRow("rests on", basis_words(these), basis_words(future)),
        StatisticsRow("method", these.method, future.method),
        StatisticsRow("independent values", number(these.replicates, 0), number(future.replicates, 0)),
        StatisticsRow(f"estimate, standing minus windrowed{unit}", value(these.estimate), value(future.estimate)),
        StatisticsRow(f"standard error{unit}", value(these.std_error), value(future.std_error)),
        StatisticsRow("degrees of freedom", _df(these.df), _df(future.df)),
        StatisticsRow(
            f"{percent_words(comparison.level)} range{unit}",
            span(these.low, these.high),
            span(future.low, future.high),
        ),
        StatisticsRow("p, two-sided", p_words(these.p_value), p_words(future.p_value)),
        StatisticsRow("difference that matters", margin, margin),
        StatisticsRow(
            f"{percent_words(2 * comparison.level - 1)} range, for the same in practice{unit}",
            span(these.equivalence_low, these.equivalence_high),
            span(future.equivalence_low, future.equivalence_high),
        ),
        StatisticsRow(
            "p, equivalence (two one-sided tests)", p_words(these.equivalence_p), p_words(future.equivalence_p)
        ),
        StatisticsRow("do the years agree? F test p", p_words(agree.f_p), NOT_ASKED),
        StatisticsRow("do they change sides? Gail-Simon p", p_words(agree.gail_simon_p), NOT_ASKED),
        StatisticsRow("exact sign-flip p", p_words(exact.sign_flip_p), NOT_ASKED),
        StatisticsRow(f"Wilcoxon signed-rank p, {wilcoxon}", p_words(exact.wilcoxon_p), NOT_ASKED),
        StatisticsRow("sign test p", p_words(exact.sign_test_p), NOT_ASKED),
        StatisticsRow(f"Hodges-Lehmann estimate{unit}", value(exact.hodges_lehmann), NOT_ASKED),
        StatisticsRow(
            f"Hodges-Lehmann range{unit}", span(exact.hodges_lehmann_low, exact.hodges_lehmann_high), NOT_ASKED
        ),
        StatisticsRow(f"standard deviation between years (tau){unit}", NOT_ASKED, value(future.year_sd)),
        StatisticsRow(f"standard deviation of fields within a year{unit}", NOT_ASKED, value(future.field_sd)),
        StatisticsRow(
            f"a field not tried yet, in a new year{unit}", NOT_ASKED, span(new.prediction_low, new.prediction_high)
        ),
        StatisticsRow("how a field not tried yet is judged", NOT_ASKED, new.reason or new.method),
        StatisticsRow(
            "winters in which three years or more could be looked at", NOT_ASKED, number(comparison.looks, 0)
        ),
    ]


def basis_words(answer: Answer) -> str:
    """The pairs that an answer rests on, with how many field-years and years."""
    counts = f"{count(answer.field_years, 'field-year')} in {count(answer.years, 'year')}"
    return f"{ROW_WORDS[CarriedBy(_row_of(answer))]}: {counts}"


def _df(value: float | None) -> str:
    return number(value, 0 if value is None or float(value).is_integer() else 2)


def trial_rows(comparison: Comparison) -> list[tuple[str, str, str, str]]:
    """What it takes to see a gap in 8 of 10 such trials: kind of pair, gap, field-years, years; each with its range."""
    decimals = base_decimals(comparison)
    return [
        (
            ROW_WORDS[row.kind],
            amount(row.gap, comparison.unit, decimals),
            _needed(row.field_years),
            _needed(row.years),
        )
        for row in comparison.planning.rows
    ]


MOST_TOLD = 100  # past that the number is no plan for a farm


def _needed(found: Needed | None) -> str:
    if found is None or found.value is None:
        return UNKNOWN if found is None else f"over {MOST_TOLD}"
    if found.value > MOST_TOLD:
        return f"over {MOST_TOLD}"
    high = f"over {MOST_TOLD}" if found.high is None or found.high > MOST_TOLD else number(found.high, 0)
    return f"{number(found.value, 0)} ({number(found.low, 0)} to {high})"
