"""A comparison as plain sentences for a grower: the same words on screen, on paper and in the terminal.

The finding comes first, then its size with the range, then what it rests on, then what it cannot say. A difference is
never shown with a sign but as "more" or "less", and it is always standing against windrowed. Text that has nothing to
say is "", so that no screen prints "None".
"""

from collections.abc import Mapping
from dataclasses import dataclass

from analytics.answer.difference_words import (
    DifferenceWords,
    base_decimals,
    decimals_for,
    margin_words,
    measure_words,
    words_for,
)
from analytics.statistics.proportions import holm_adjusted
from analytics.statistics.results import Answer, Comparison, Finding, YearResult
from analytics.trade.numbers_as_text import NUMBER_WORDS, UNKNOWN, amount, count, counted, level_words, number

NOT_ASKED = "–"  # a cell of the checker's table that this question has no value for
FEWEST = 3  # field-years for these fields, and years for years to come, below which comparison says too_few


@dataclass(frozen=True, slots=True)
class CheckerRow:
    """One line of the table that a statistician checks: the value for each of the two questions, as text."""

    name: str
    these_fields: str
    years_to_come: str


def finding_words(answer: Answer) -> str:
    """Two or three words for a row of the picture."""
    if answer.small and answer.finding == Finding.STANDING_HIGHER:
        return "standing slightly higher"
    if answer.small and answer.finding == Finding.STANDING_LOWER:
        return "standing slightly lower"
    return {
        Finding.STANDING_HIGHER: "standing higher",
        Finding.STANDING_LOWER: "standing lower",
        Finding.NO_DIFFERENCE_THAT_MATTERS: "same in practice",
        Finding.DEPENDS_ON_YEAR: "depends on the year",
        Finding.NOT_SETTLED: "not settled",
        Finding.TOO_FEW: "too few",
    }[answer.finding]


def sentence(comparison: Comparison) -> str:
    """Both questions, answered in as few sentences as they need; for a null result with what could have been seen."""
    these, future = comparison.these_fields, comparison.years_to_come
    parts = [these_fields_sentence(comparison), what_could_be_seen(comparison)]
    if comparison.all_pairs.pairs and not (
        these.reason == future.reason and these.finding == future.finding == Finding.TOO_FEW
    ):
        parts.append(_years_to_come(comparison, with_unit=these.estimate is None))
    return " ".join(part for part in parts if part)


def these_fields_sentence(comparison: Comparison) -> str:
    """What happened on the fields and years on record."""
    answer, terms = comparison.these_fields, words_for(comparison, comparison.these_fields)
    ground = _ground(comparison)
    if comparison.all_pairs.pairs == 0:
        return f"There is nothing to compare yet: no pair has both sides for {measure_words(comparison)}."
    if answer.finding == Finding.TOO_FEW:
        numbers = "" if answer.estimate is None else f" {ground} {terms.clause(answer.estimate)}."
        opening = "Too few to judge." if answer.replicates < FEWEST else "It cannot be judged."
        return f"{opening} {_as_sentence(answer.reason)}{numbers}"
    if answer.estimate is None or answer.low is None or answer.high is None:
        raise ValueError(f"{comparison.measure}: a finding other than too_few needs an estimate and an interval")
    clause, bracket = terms.clause(answer.estimate), terms.bracket(answer.low, answer.high)
    if answer.finding == Finding.NOT_SETTLED:
        return (
            f"{ground} it is not settled: {clause}, but the difference could be anything "
            f"{terms.between(answer.low, answer.high)}."
        )
    if answer.finding == Finding.DEPENDS_ON_YEAR:
        return f"{ground} it depends on the year: {_extreme_years(comparison, terms)}. An average would say nothing."
    if answer.finding == Finding.NO_DIFFERENCE_THAT_MATTERS:
        same = f"{ground} {measure_words(comparison)} is the same for practical purposes:"
        if _inside_margin(comparison, answer):
            between = terms.between(answer.low, answer.high)
            return f"{same} the difference lies {between}, inside the {margin_words(comparison)} that would matter."
        return f"{same} {clause} ({bracket}), and {_ruled_out(comparison)}."
    return f"{ground} {clause} ({bracket}): a real difference here{_but_small(comparison, answer)}."


def years_to_come_sentence(comparison: Comparison) -> str:
    """What to expect on this farm in other years: the average, and a single new field."""
    return _years_to_come(comparison, with_unit=True)


def what_could_be_seen(comparison: Comparison) -> str:
    """The gap that such records would find in 8 of 10 cases; only when these fields settle nothing."""
    smallest = comparison.planning.detectable_difference
    if comparison.these_fields.finding != Finding.NOT_SETTLED or smallest is None:
        return ""
    if comparison.field_years == 1:
        replicates = counted(comparison.pairs, "such strip pair")
    else:
        replicates = counted(comparison.field_years, "such field-year")
    gap = amount(smallest, comparison.unit, base_decimals(comparison))
    return f"{replicates} would find a gap of {gap} or more in 8 of 10 cases; yours may be smaller."


def rests_on(comparison: Comparison) -> str:
    """Pairs, field-years, years and pairs left out, in one line."""
    counted = ", ".join(
        (
            count(comparison.pairs, "pair"),
            count(comparison.field_years, "field-year"),
            count(comparison.years, "year"),
        )
    )
    left_out = f"{count(comparison.left_out, 'pair')} left out" if comparison.left_out else "none left out"
    return f"{counted}; {left_out}."


def level_and_margin(comparison: Comparison) -> str:
    """The two settings that govern every finding, in one line."""
    ranges = f"Level {level_words(comparison.level)}: so often do ranges made this way hold the true difference"
    if comparison.margin is None:
        return f"{ranges}. No difference in {measure_words(comparison)} is set as the one that matters."
    return f"{ranges}. A difference in {measure_words(comparison)} matters from {margin_words(comparison)}."


def next_steps(comparison: Comparison) -> list[str]:
    """What would settle it, the cheapest first; at most three lines."""
    steps = []
    if comparison.left_out:
        pairs = "the 1 pair that lacks" if comparison.left_out == 1 else f"the {comparison.left_out} pairs that lack"
        steps.append(f"Complete {pairs} a side, where the papers are still there: that takes no new harvest.")
    steps.extend(step for step in (_step_here(comparison), _step_in_time(comparison)) if step)
    findings = {comparison.these_fields.finding, comparison.years_to_come.finding}
    if not findings & {Finding.NOT_SETTLED, Finding.TOO_FEW, Finding.DEPENDS_ON_YEAR}:
        steps.append(
            f"Both questions are settled for {measure_words(comparison)} at the {level_words(comparison.level)} level."
        )
    return steps


def estimate_with_range(comparison: Comparison, answer: Answer) -> str:
    """A difference for a column headed with its unit: "1.3 (0.4 to 2.2)", signed; "unknown" without an estimate."""
    return _with_range(answer.estimate, answer.low, answer.high, decimals_for(comparison, answer))


def year_with_range(comparison: Comparison, year: YearResult) -> str:
    """The same for one crop year alone; without the range where there is none."""
    return _with_range(year.estimate, year.low, year.high, base_decimals(comparison))


def together_rows(comparisons: Mapping[str, Comparison]) -> list[CheckerRow]:
    """All measures at once: the p of each, and Holm's p adjusted for looking at all of them."""
    found = list(comparisons.values())
    these, future = [one.these_fields.p_value for one in found], [one.years_to_come.p_value for one in found]
    return [
        CheckerRow(measure_words(one).capitalize(), _p_and_holm(*here), _p_and_holm(*ahead))
        for one, here, ahead in zip(
            found,
            zip(these, holm_adjusted(these), strict=True),
            zip(future, holm_adjusted(future), strict=True),
            strict=True,
        )
    ]


def _p_and_holm(p: float | None, holm: float | None) -> str:
    return f"p {_p(p)}; Holm {_p(holm)}"


def checker_rows(comparison: Comparison) -> list[CheckerRow]:
    """The table for a statistician: every number behind both findings, differences in the comparison's unit."""
    these, future, exact = comparison.these_fields, comparison.years_to_come, comparison.exact
    new = comparison.fields_not_tried
    decimals = base_decimals(comparison) + 2

    def value(of: float | None) -> str:
        return number(of, decimals)

    def span(low: float | None, high: float | None) -> str:
        return UNKNOWN if low is None or high is None else f"{value(low)} to {value(high)}"

    unit = f", {comparison.unit}" if comparison.unit else ""
    ranks = "exact" if exact.is_wilcoxon_exact else "normal approximation"
    margin = NOT_ASKED if comparison.margin is None else margin_words(comparison)
    return [
        CheckerRow("method", these.method, future.method),
        CheckerRow("independent values", number(these.replicates, 0), number(future.replicates, 0)),
        CheckerRow(f"estimate, standing minus windrowed{unit}", value(these.estimate), value(future.estimate)),
        CheckerRow(f"standard error{unit}", value(these.std_error), value(future.std_error)),
        CheckerRow("degrees of freedom", _df(these.df), _df(future.df)),
        CheckerRow(f"interval{unit}", span(these.low, these.high), span(future.low, future.high)),
        CheckerRow("level", level_words(comparison.level), level_words(comparison.level)),
        CheckerRow("p, two-sided", _p(these.p_value), _p(future.p_value)),
        CheckerRow("difference that matters", margin, margin),
        CheckerRow("p, equivalence (two one-sided tests)", _p(these.equivalence_p), _p(future.equivalence_p)),
        CheckerRow("exact sign-flip p", _p(exact.sign_flip_p), NOT_ASKED),
        CheckerRow(f"Wilcoxon signed-rank p, {ranks}", _p(exact.wilcoxon_p), NOT_ASKED),
        CheckerRow("sign test p", _p(exact.sign_test_p), NOT_ASKED),
        CheckerRow(f"Hodges-Lehmann estimate{unit}", value(exact.hodges_lehmann), NOT_ASKED),
        CheckerRow(
            f"Hodges-Lehmann interval{unit}", span(exact.hodges_lehmann_low, exact.hodges_lehmann_high), NOT_ASKED
        ),
        CheckerRow(f"standard deviation between years (tau){unit}", NOT_ASKED, value(future.year_sd)),
        CheckerRow(f"standard deviation of fields within a year{unit}", NOT_ASKED, value(future.field_sd)),
        CheckerRow(
            f"prediction for a new field in a new year{unit}",
            NOT_ASKED,
            span(new.prediction_low, new.prediction_high),
        ),
    ]


def _extreme_years(comparison: Comparison, terms: DifferenceWords) -> str:
    """The years with the highest and the lowest mean: "4.9 bu/ac more in 2023, 4.7 less in 2024"."""
    means = {year.crop_year: year.estimate for year in comparison.by_year}
    words: list[str] = []
    for year in (comparison.years_agree.highest, comparison.years_agree.lowest):
        way = terms.phrase.up if means[year] > 0 else terms.phrase.down
        words.append(f"{terms.figure(means[year], with_unit=not words)} {way} in {year}")
    return ", ".join(words)


def _inside_margin(comparison: Comparison, answer: Answer) -> bool:
    """Whether the whole interval is inside; the two one-sided tests may hold where it is not, being the narrower."""
    margin = comparison.margin
    if margin is None or answer.low is None or answer.high is None:
        return False
    return -margin < answer.low and answer.high < margin


def _ruled_out(comparison: Comparison) -> str:
    gap, level = margin_words(comparison), level_words(comparison.level)
    return f"a gap of {gap} or more, either way, is ruled out at the {level} level"


def _but_small(comparison: Comparison, answer: Answer) -> str:
    return f", but smaller than the {margin_words(comparison)} that would matter" if answer.small else ""


def _ground(comparison: Comparison) -> str:
    """Where it was seen, to open a sentence: "On these 14 field-years over 5 years"."""
    if comparison.pairs == 1:
        return "On this one pair"
    if comparison.field_years == 1:
        return f"On this one field-year, by its {count(comparison.pairs, 'strip pair')},"
    field_years = count(comparison.field_years, "field-year")
    if comparison.years > 1:
        return f"On these {field_years} over {count(comparison.years, 'year')}"
    crop_year = comparison.by_year[0].crop_year if comparison.by_year else None
    return f"On these {field_years} in {'one year' if crop_year is None else crop_year}"


def _years_to_come(comparison: Comparison, *, with_unit: bool) -> str:
    answer, terms = comparison.years_to_come, words_for(comparison, comparison.years_to_come)
    if answer.finding == Finding.TOO_FEW:
        averages = _year_averages(comparison, terms)
        return f"For years to come nothing can be said yet. {_as_sentence(answer.reason)}{averages}"
    if answer.estimate is None or answer.low is None or answer.high is None:
        raise ValueError(f"{comparison.measure}: a finding other than too_few needs an estimate and an interval")
    bracket = terms.bracket(answer.low, answer.high)
    range_of_one = _new_field(comparison, answer)
    new_field = f"; a single new field could lie {range_of_one}" if range_of_one else ""
    if answer.finding == Finding.NOT_SETTLED:
        between = terms.between(answer.low, answer.high, with_unit=with_unit)
        both = f"{between}, and a single new field {range_of_one}" if range_of_one else between
        return f"For years to come it is not settled: the average could lie {both}."
    if answer.finding == Finding.NO_DIFFERENCE_THAT_MATTERS:
        same = f"For years to come {measure_words(comparison)} is the same for practical purposes on average:"
        if _inside_margin(comparison, answer):
            between = terms.between(answer.low, answer.high)
            inside = f"inside the {margin_words(comparison)} that would matter"
            return f"{same} the difference lies {between}, {inside}{new_field}."
        clause = terms.clause(answer.estimate, future=True)
        return f"{same} {clause} ({bracket}), and {_ruled_out(comparison)}{new_field}."
    clause = terms.clause(answer.estimate, future=True)
    real = f"a real difference, as far as {count(answer.years, 'year')} can tell{_but_small(comparison, answer)}"
    return f"For years to come {clause} on average ({bracket}): {real}{new_field}."


def _new_field(comparison: Comparison, answer: Answer) -> str:
    """The range for a single new field, one decimal coarser than the average: it is that wide."""
    new = comparison.fields_not_tried
    if new.prediction_low is None or new.prediction_high is None:
        return ""
    terms = words_for(comparison, answer)
    coarser = DifferenceWords(terms.phrase, terms.unit, max(base_decimals(comparison) - 1, 0))
    return coarser.between(new.prediction_low, new.prediction_high)


def _year_averages(comparison: Comparison, terms: DifferenceWords) -> str:
    """Two years are too few for a range, not for their two averages."""
    if len(comparison.by_year) != 2:
        return ""
    first, second = (year.estimate for year in comparison.by_year)
    way, second_way = (terms.phrase.up if average >= 0 else terms.phrase.down for average in (first, second))
    first_way = "" if way == second_way else f" {way}"
    last = terms.figure(second, with_unit=True)
    return f" The two yearly averages were {terms.figure(first)}{first_way} and {last} {second_way}."


def _step_here(comparison: Comparison) -> str:
    """What would settle the question about these fields."""
    finding, now = comparison.these_fields.finding, comparison.field_years
    if finding == Finding.TOO_FEW and now < FEWEST:
        more = counted(FEWEST - now, "more field-year")
        return f"{more} would give the {NUMBER_WORDS[FEWEST]} that a judgement needs at least."
    if finding != Finding.NOT_SETTLED:
        return ""
    if comparison.margin is None:
        return f"Say which difference in {measure_words(comparison)} would matter; then what it takes can be told."
    return _step(
        comparison.planning.field_years_needed, now, "field-year", f"a true gap of {margin_words(comparison)} here"
    )


def _step_in_time(comparison: Comparison) -> str:
    """What would settle the question about years to come."""
    finding, now = comparison.years_to_come.finding, comparison.years_to_come.years
    if finding == Finding.TOO_FEW and now < FEWEST:
        more = counted(FEWEST - now, "more year")
        return f"{more} would give the {NUMBER_WORDS[FEWEST]} that a word about years to come needs."
    if finding != Finding.NOT_SETTLED or comparison.margin is None:
        return ""
    gap = f"a lasting gap of {margin_words(comparison)}, with as many fields a year as now"
    return _step(comparison.planning.years_needed, now, "year", gap)


def _step(needed: int | None, now: int, noun: str, gap: str) -> str:
    """How many field-years or years in all would show the gap, and how many of them are still to come."""
    if needed is None:
        return ""
    if needed > 100:
        return f"More than 100 {noun}s would be needed to show {gap}."
    if needed <= now:
        return f"{counted(now, noun)} would already show {gap}, in 8 of 10 cases; a smaller gap may be there."
    return f"{counted(needed, noun)} in all, {needed - now} more than now, would show {gap}, in 8 of 10 cases."


def _as_sentence(reason: str | None) -> str:
    text = (reason or "there is too little on record").strip().rstrip(".")
    return f"{text[0].upper()}{text[1:]}."


def _with_range(estimate: float | None, low: float | None, high: float | None, decimals: int) -> str:
    text = number(estimate, decimals)
    if low is None or high is None:
        return text
    return f"{text} ({number(low, decimals)} to {number(high, decimals)})"


def _p(value: float | None) -> str:
    return "below 0.001" if value is not None and value < 0.001 else number(value, 3)


def _df(value: float | None) -> str:
    return number(value, 0 if value is None or float(value).is_integer() else 2)
