"""A comparison as plain sentences for a grower: the same words on screen, on paper and in the terminal.

The finding comes first, with the pairs that carry it, then its size with the range, then how firm it is, then what is
open. A difference is never shown with a sign but as "more" or "less", and it is always standing against windrowed.
"Gave" and "left" are said only where the lot decided every pair. Text that has nothing to say is "", so that no screen
prints "None".
"""

from analytics.answer.difference_words import (
    DifferenceWords,
    base_decimals,
    decimals_for,
    margin_words,
    measure_words,
    words_for,
)
from analytics.statistics.given_pairs import Allocation
from analytics.statistics.replicates import YearResult
from analytics.statistics.results import Answer, Basis, CarriedBy, Comparison, Finding, LeftOut, Question
from analytics.trade.numbers_as_text import amount, count, counted, number, percent_words

SETTLED = (Finding.STANDING_HIGHER, Finding.STANDING_LOWER)
WHERE = {Basis.ONE_FIELD: "where one field was cut both ways", Basis.DRAWN_BY_LOT: "where the lot decided"}
KINDS_TOLD = {  # where all pairs are of one kind
    CarriedBy.ONE_FIELD: WHERE[Basis.ONE_FIELD],
    CarriedBy.TWO_FIELDS: "over pairs of two separate fields",
    CarriedBy.MATCHED: "over pairs matched after harvest",
}
MOST_NAMED = 2  # field-years or years on which an answer hangs
FEWEST_STEPS = 5  # of its last decimal in a range, or rounding would move its ends too far; our choice, no source


def sentence(comparison: Comparison) -> str:
    """Both questions, each with how firm its answer is; for a null result with what could have been seen."""
    these, future = comparison.these_fields, comparison.years_to_come
    parts = [
        these_fields_sentence(comparison),
        firm_sentence(comparison, Question.THESE_FIELDS),
        what_could_be_seen(comparison),
    ]
    if comparison.all_pairs.pairs and not (
        these.reason == future.reason and these.finding == future.finding == Finding.TOO_FEW
    ):
        parts.append(_years_to_come(comparison, with_unit=these.estimate is None))
        parts.append(firm_sentence(comparison, Question.YEARS_TO_COME))
    parts.append(carries_sentence(comparison))
    return " ".join(part for part in parts if part)


def these_fields_sentence(comparison: Comparison) -> str:
    """What was seen on the fields and years on record, and on which pairs it rests."""
    answer, terms = comparison.these_fields, words_for(comparison, comparison.these_fields)
    where, ground = on_which_pairs(comparison, answer), _ground(comparison)
    if comparison.all_pairs.pairs == 0:
        return _nothing_to_compare(comparison)
    if answer.finding is Finding.TOO_FEW:
        numbers = "" if answer.estimate is None else f" {_opened(ground)} {terms.clause(answer.estimate)}."
        opening = "Too few to judge." if answer.replicates < 3 else "It cannot be judged."
        return f"{opening} {_as_sentence(answer.reason)}{numbers}"
    if answer.estimate is None or answer.low is None or answer.high is None:
        raise ValueError(f"{comparison.measure}: a finding other than too_few needs an estimate and an interval")
    if answer.finding is Finding.DEPENDS_ON_YEAR:
        depends = f"{measure_words(comparison)} depends on the year: {_extreme_years(comparison, terms)}"
        return f"{_opened(where, depends)} {ground}. An average of them would say nothing."
    clause, bracket = terms.clause(answer.estimate), terms.bracket(answer.low, answer.high)
    average = ""
    if comparison.years_agree.disagree:
        average = f", on average over years that disagree, {_from_year_to_year(comparison, terms)}"
    if answer.finding is Finding.NOT_SETTLED:
        anything = f"but the difference could be anything {terms.between(answer.low, answer.high)}"
        settled = f"{measure_words(comparison)} is not settled"
        return f"{_opened(where, settled)}: {ground} {clause}{average}, {anything}."
    if answer.finding is Finding.NO_DIFFERENCE_THAT_MATTERS:
        same = f"{measure_words(comparison)} is the same for practical purposes {ground}"
        return f"{_opened(where, same)}: {_inside_margin(comparison, answer, terms)}."
    beyond = f"more than chance explains{_but_small(comparison, answer)}"
    return f"{_opened(where, clause)} ({bracket}) {ground}{average}: {beyond}."


def years_to_come_sentence(comparison: Comparison) -> str:
    """What to expect on this farm in other years: the average, and a field not tried yet."""
    return _years_to_come(comparison, with_unit=True)


def firm_sentence(comparison: Comparison, question: Question) -> str:
    """How firm an answer is: what carries it alone, whether the exact test agrees, and how the methods were given."""
    answer = _answer(comparison, question)
    parts = [_hangs_on(comparison.firm.changes(question))]
    if question is Question.THESE_FIELDS:
        parts.append(_by_the_exact_test(comparison))
    is_said = question is Question.YEARS_TO_COME and comparison.these_fields.finding in SETTLED
    if answer.finding in SETTLED and not (is_said and answer.basis is comparison.these_fields.basis):
        parts.append(_not_drawn(answer))
    return " ".join(part for part in parts if part)


def carries_sentence(comparison: Comparison) -> str:
    """What the other pairs say, where the headline rests on fields that were cut both ways."""
    if comparison.these_fields.basis is not Basis.ONE_FIELD:
        return ""
    rows = {row.row: row for row in comparison.carries if row.question is Question.THESE_FIELDS}
    two = rows.get(CarriedBy.TWO_FIELDS)
    if two is None or two.estimate is None or not two.field_years:
        return ""
    terms = words_for(comparison, comparison.these_fields)
    ranged = "too few to judge" if two.low is None or two.high is None else terms.bracket(two.low, two.high)
    said = terms.sized(two.estimate, with_unit=True)
    ground = count(two.field_years, "field-year")
    is_in_neither = comparison.years_to_come.basis is Basis.ONE_FIELD
    return (
        f"Pairs of two separate fields say {said} ({ranged}) on {ground}; there soil and history differ along with the "
        f"method, so they are not counted in the answer{'' if is_in_neither else ' for these fields'}."
    )


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
    """Pairs, field-years, years and pairs left out, in one line; on the basis of these fields, and of how many."""
    used = ", ".join(
        (
            count(comparison.pairs, "pair"),
            count(comparison.field_years, "field-year"),
            count(comparison.years, "year"),
        )
    )
    others = comparison.all_pairs.pairs - comparison.pairs
    not_in_it = ""
    if others > 0:
        have = "has" if others == 1 else "have"
        not_in_it = (
            f"; {count(others, 'more pair')} {have} both sides but {'is' if others == 1 else 'are'} not counted in it"
        )
    left_out = f"{count(comparison.left_out, 'pair')} left out" if comparison.left_out else "none left out"
    return f"{used}{not_in_it}; {left_out}."


def level_and_margin(comparison: Comparison) -> str:
    """The two settings that govern every finding, in one line."""
    level = percent_words(comparison.level)
    chance = number(100 * comparison.level, 0)
    ranges = f"{level} ranges: about {chance} of 100 ranges made this way hold the true difference"
    if comparison.margin is None:
        return f"{ranges}. No difference in {measure_words(comparison)} is set as the one that matters."
    return f"{ranges}. A difference in {measure_words(comparison)} matters from {margin_words(comparison)}."


def estimate_with_range(comparison: Comparison, answer: Answer) -> str:
    """A difference for a column headed with its unit: "1.3 (0.4 to 2.2)", signed; "unknown" without an estimate.

    The range is the one that belongs to the finding.
    """
    return with_range(answer.estimate, answer.shown_low, answer.shown_high, decimals_for(comparison, answer))


def year_with_range(comparison: Comparison, year: YearResult) -> str:
    """The same for one crop year alone; without the range where there is none."""
    return with_range(year.estimate, year.low, year.high, base_decimals(comparison))


def with_range(estimate: float | None, low: float | None, high: float | None, decimals: int) -> str:
    """A signed difference with its range; one decimal more where an end would otherwise lose its sign."""
    if low is None or high is None:
        return number(estimate, decimals)
    if any(end != 0 and round(end, decimals) == 0 for end in (low, high)):
        decimals += 1
    return f"{number(estimate, decimals)} ({number(low, decimals)} to {number(high, decimals)})"


def p_words(value: float | None) -> str:
    """A p value: three decimals, "below 0.001", "unknown"."""
    return "below 0.001" if value is not None and value < 0.001 else number(value, 3)


def on_which_pairs(comparison: Comparison, answer: Answer) -> str:
    """Which pairs an answer rests on, inside a sentence; "" where nobody said how pairs were made."""
    if answer.basis in WHERE:
        return WHERE[answer.basis]
    told = {row.row: row.pairs for row in comparison.carries if row.row in KINDS_TOLD}
    if not any(told.values()) or comparison.all_pairs.field_years == 1:
        return ""
    only = [words for kind, words in KINDS_TOLD.items() if told[kind] == comparison.all_pairs.pairs]
    if only:
        return only[0]
    return "over all pairs" if answer.pairs == comparison.all_pairs.pairs else "over all pairs but the matched ones"


# --- the parts of the two answers


def _answer(comparison: Comparison, question: Question) -> Answer:
    return comparison.these_fields if question is Question.THESE_FIELDS else comparison.years_to_come


def _opened(first: str, then: str = "") -> str:
    """Two parts as the beginning of a sentence; the first may be empty."""
    text = f"{first}, {then}" if first and then else first or then
    return text[0].upper() + text[1:]


def _ground(comparison: Comparison) -> str:
    """How many it rests on, inside a sentence: "on these 14 field-years over 5 years"."""
    if comparison.pairs == 1:
        return "on this one pair"
    if comparison.field_years == 1:
        if comparison.these_fields.replicates == 1:
            return f"on this one field-year with its {count(comparison.pairs, 'pair')} that share fields"
        return f"on this one field-year with its {count(comparison.pairs, 'strip pair')}"
    field_years = count(comparison.field_years, "field-year")
    if comparison.years > 1:
        return f"on these {field_years} over {count(comparison.years, 'year')}"
    crop_year = comparison.by_year[0].crop_year if comparison.by_year else None
    return f"on these {field_years} in {'one year' if crop_year is None else crop_year}"


def _inside_margin(comparison: Comparison, answer: Answer, terms: DifferenceWords) -> str:
    """The range that belongs to two one-sided tests: inside the margin by what the finding says."""
    low, high = answer.equivalence_low, answer.equivalence_high
    if low is None or high is None:
        raise ValueError(f"{comparison.measure}: the same in practice needs the range that says so")
    level = percent_words(2 * comparison.level - 1)
    between = terms.between(low, high)
    return f"the difference lies {between} ({level} range), inside the {margin_words(comparison)} that would matter"


def _but_small(comparison: Comparison, answer: Answer) -> str:
    return f", but smaller than the {margin_words(comparison)} that would matter" if answer.small else ""


def _extreme_years(comparison: Comparison, terms: DifferenceWords) -> str:
    """The year furthest up and the one furthest down: "4.9 bu/ac more in 2023, 4.7 less in 2024"."""
    high, low = _extremes(comparison)
    return (
        f"{terms.sized(high.estimate, with_unit=True)} in {high.crop_year}, {terms.sized(low.estimate)} in "
        f"{low.crop_year}"
    )


def _from_year_to_year(comparison: Comparison, terms: DifferenceWords) -> str:
    high, low = _extremes(comparison)
    return f"from {terms.sized(high.estimate)} in {high.crop_year} to {terms.sized(low.estimate)} in {low.crop_year}"


def _extremes(comparison: Comparison) -> tuple[YearResult, YearResult]:
    years = sorted(comparison.by_year, key=lambda year: year.estimate)
    return years[-1], years[0]


def _years_to_come(comparison: Comparison, *, with_unit: bool) -> str:
    answer, terms = comparison.years_to_come, words_for(comparison, comparison.years_to_come)
    another = answer.basis is not comparison.these_fields.basis
    opening = f"For years to come, {on_which_pairs(comparison, answer)}," if another else "For years to come"
    if answer.finding is Finding.TOO_FEW:
        averages = _year_averages(comparison, terms)
        return f"For years to come nothing can be said yet. {_as_sentence(answer.reason)}{averages}"
    if answer.estimate is None or answer.low is None or answer.high is None:
        raise ValueError(f"{comparison.measure}: a finding other than too_few needs an estimate and an interval")
    range_of_one = _new_field(comparison)
    others = "" if range_of_one else _no_other_field(comparison)
    new_field = f"; a field not tried yet could lie {range_of_one}" if range_of_one else ""
    if answer.finding is Finding.NOT_SETTLED:
        between = terms.between(answer.low, answer.high, with_unit=with_unit)
        both = f"{between}, and a field not tried yet {range_of_one}" if range_of_one else between
        return f"{opening} it is not settled: the average could lie {both}.{others}"
    if answer.finding is Finding.NO_DIFFERENCE_THAT_MATTERS:
        same = f"{opening} {measure_words(comparison)} is the same for practical purposes on average"
        return f"{same}: {_inside_margin(comparison, answer, terms)}{new_field}.{others}"
    clause, bracket = terms.clause(answer.estimate, future=True), terms.bracket(answer.low, answer.high)
    far = f"more than chance explains, as far as {count(answer.years, 'year')} can tell"
    return f"{opening} {clause} on average ({bracket}): {far}{_but_small(comparison, answer)}{new_field}.{others}"


def _no_other_field(comparison: Comparison) -> str:
    """Why nothing is said of a field not tried yet, where so few were tried that they say nothing of others."""
    found = comparison.fields_not_tried
    return f" {_as_sentence(found.reason)}" if found.finding is Finding.TOO_FEW else ""


def _new_field(comparison: Comparison) -> str:
    """The range for a field not tried yet, one decimal coarser than the average where it is wide enough for that."""
    found = comparison.fields_not_tried
    if found.prediction_low is None or found.prediction_high is None:
        return ""
    terms = words_for(comparison, comparison.years_to_come)
    decimals = max(base_decimals(comparison) - 1, 0)
    if found.prediction_high - found.prediction_low < FEWEST_STEPS / 10**decimals:
        decimals = base_decimals(comparison)
    coarser = DifferenceWords(terms.phrase, terms.unit, decimals)
    return coarser.between(found.prediction_low, found.prediction_high)


def _year_averages(comparison: Comparison, terms: DifferenceWords) -> str:
    """Two years are too few for a range, not for their two averages."""
    if len(comparison.by_year) != 2:
        return ""
    first, second = (year.estimate for year in comparison.by_year)
    before, last = terms.sized(first), terms.sized(second, with_unit=True)
    if before.split()[-1] == last.split()[-1]:  # the way is said once: "0.4 and 2.0 bu/ac more"
        before = terms.figure(first)
    return f" The two yearly averages were {before} and {last}."


def _hangs_on(changes: tuple[LeftOut, ...]) -> str:
    """What single field-years or years carry: "It hangs on 2023: without it, it is not settled."."""
    if not changes:
        return ""
    changes = tuple(sorted(changes, key=lambda one: (one.crop_year or 0, one.place or "")))  # not as rows came
    years = [one for one in changes if one.place is None]
    alone = {one.crop_year for one in years}
    named = [*years, *(one for one in changes if one.place is not None and one.crop_year not in alone)]
    becomes = _becomes(named[0].finding)
    if len(named) == 1:
        what = "one year" if named[0].place is None else "one field-year"
        return f"It hangs on {what}: without {named[0].words} {becomes}."
    first = " or without ".join(one.words for one in named[:MOST_NAMED])
    more = len(named) - MOST_NAMED
    others = f", or without any of {more} others," if more > 1 else ", or without one other," if more else ""
    same = all(one.finding is named[0].finding for one in named)
    kind = "years" if all(one.place is None for one in named) else "field-years"
    return f"It hangs on single {kind}: without {first}{others} {becomes if same else 'the answer changes'}."


def _becomes(finding: Finding) -> str:
    return {
        Finding.NOT_SETTLED: "it is not settled",
        Finding.NO_DIFFERENCE_THAT_MATTERS: "it is the same for practical purposes",
        Finding.DEPENDS_ON_YEAR: "it depends on the year",
        Finding.TOO_FEW: "too few are left to judge",
    }.get(finding, "it would be more than chance explains")


def _by_the_exact_test(comparison: Comparison) -> str:
    """What the test that needs no bell curve says where it decides otherwise, or cannot decide."""
    finding, agrees = comparison.these_fields.finding, comparison.firm.exact_agrees
    if finding is Finding.DEPENDS_ON_YEAR:  # it asks about the average, of which nothing is said
        return ""
    if agrees is None and comparison.exact.sign_flip_p is not None and finding in SETTLED:
        return "With so few, a test that needs no bell curve could not confirm it."
    if agrees is not False:
        return ""
    p = p_words(comparison.exact.sign_flip_p)
    if finding in SETTLED:
        return f"The test that needs no bell curve does not confirm it (p {p})."
    return f"The test that needs no bell curve by itself would find a difference (p {p})."


def _not_drawn(answer: Answer) -> str:
    if Allocation.CHOSEN in answer.allocations:
        return "Methods were chosen, not drawn by lot, so the fields themselves may be part of it."
    if Allocation.NOT_KNOWN in answer.allocations:
        return "Whether the lot decided is not on record, so the fields themselves may be part of it."
    return ""


def _nothing_to_compare(comparison: Comparison) -> str:
    measure, barred = measure_words(comparison), sum(pairs for _, pairs in comparison.all_pairs.barred)
    if barred:
        have = "1 pair has" if barred == 1 else f"{number(barred, 0)} pairs have"
        return f"There is nothing to compare yet: {have} both sides for {measure}, and none of them counts."
    return f"There is nothing to compare yet: no pair has both sides for {measure}."


def _as_sentence(reason: str | None) -> str:
    text = (reason or "there is too little on record").strip().rstrip(".")
    return f"{text[0].upper()}{text[1:]}."
