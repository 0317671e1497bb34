"""What would settle a measure, the cheapest first: papers, three more seasons, or another question."""

from analytics.answer.difference_words import base_decimals, margin_words, measure_words
from analytics.statistics.results import Basis, Comparison, Finding
from analytics.statistics.trial_size import gap_found_after
from analytics.trade.numbers_as_text import amount, count, counted, percent_words

OPEN = (Finding.NOT_SETTLED, Finding.TOO_FEW, Finding.DEPENDS_ON_YEAR)
FEWEST = 3  # field-years for these fields, years for years to come
SO_FAR = "By the spread so far, which may come out otherwise,"
SEASONS = 3  # as far ahead as a plan is made; our choice, no source


def next_steps(comparison: Comparison) -> list[str]:
    """At most three lines."""
    steps = []
    if comparison.left_out:
        pairs = "the 1 pair that lacks" if comparison.left_out == 1 else f"the {comparison.left_out} pairs that lack"
        steps.append(f"Complete {pairs} a side, where the papers are still there: that takes no new harvest.")
    steps += [step for step in (_here(comparison), _in_time(comparison)) if step]
    if not {comparison.these_fields.finding, comparison.years_to_come.finding} & set(OPEN):
        steps.append(
            f"Both questions about {measure_words(comparison)} have an answer at the "
            f"{percent_words(comparison.level)} level."
        )
    return steps


def _here(comparison: Comparison) -> str:
    """What would settle the question about these fields."""
    finding, now = comparison.these_fields.finding, comparison.field_years
    if finding is Finding.TOO_FEW and now < FEWEST:
        more = counted(FEWEST - now, "more field-year")
        return f"{more} would make {FEWEST}, the fewest that can be judged. Cut one field both ways, in strips."
    if finding is not Finding.NOT_SETTLED:
        return ""
    if comparison.margin is None:
        return f"Say which difference in {measure_words(comparison)} would matter; then what it takes can be told."
    answer = comparison.these_fields
    gap = gap_found_after(answer, seasons=SEASONS, level=comparison.level)
    if gap is None or answer.field_years < 2:
        return ""
    season = count(max(round(answer.field_years / answer.years), 1), "field-year")
    strips = "" if answer.basis is Basis.ONE_FIELD else " Fields cut both ways, in strips, would need fewer."
    margin, found = margin_words(comparison), amount(gap, comparison.unit, base_decimals(comparison))
    if gap <= comparison.margin or found == margin:
        return f"{SO_FAR} three more seasons of {season} each would find a gap of {margin} in 8 of 10 cases.{strips}"
    return (
        f"{SO_FAR} three more seasons of {season} each would find a gap of {found} in 8 of 10 cases, not one of "
        f"{margin}; decide which gap would change what you do.{strips}"
    )


def _in_time(comparison: Comparison) -> str:
    """What would settle the question about years to come."""
    finding, now = comparison.years_to_come.finding, comparison.years_to_come.years
    if finding is Finding.TOO_FEW and now < FEWEST:
        more = counted(FEWEST - now, "more year")
        return f"{more} would make {FEWEST}, the fewest that can say a word about years to come."
    if finding is not Finding.NOT_SETTLED or comparison.margin is None:
        return ""
    needed = comparison.planning.years_needed
    if needed is None or needed > now + SEASONS:
        return (
            "What holds for years to come takes years: more fields in one year do not stand in for another year. "
            "Go on pairing each season."
        )
    more_years = counted(max(needed - now, 1), "more year").lower()
    return f"{SO_FAR} {more_years} like these would find a lasting gap of {margin_words(comparison)} in 8 of 10 cases."
