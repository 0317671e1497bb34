"""What a difference may go with, in words. To look at, not to conclude: groups differ in more than one thing."""

from collections.abc import Sequence

from analytics.answer import marks
from analytics.answer.wording import p_words
from analytics.statistics.depends_on import NotAsked
from analytics.statistics.exploration import DependsOn
from analytics.statistics.results import Comparison
from analytics.trade.numbers_as_text import count

QUESTIONS = {
    "two_fields": ("One field, or two fields?", "one field cut both ways", "two separate fields"),
    "drawn_by_lot": ("Chosen, or drawn by lot?", "chosen", "drawn by lot"),
    "early_cut": ("Cut before 60 % colour?", "at 60 % or later", "before 60 %"),
    "shatter_tolerant": ("A variety that holds its pods?", "not shatter tolerant", "shatter tolerant"),
    "preharvest_product": ("A product before harvest?", "no product", "with a product"),
    "same_variety": ("The same variety on both sides?", "different varieties", "the same variety"),
}
CAUTION = (
    "Exploration: look, do not conclude. Groups of field-years differ in more than one thing, and methods may have "
    "been chosen by it. Years are taken out, so means differ from those of other tables. Of six such questions one can "
    "look clear by luck; the p with all questions allows for that."
)


def computed(asked: Sequence[DependsOn]) -> list[tuple[str, str, str, DependsOn]]:
    """The lines that could be computed: question, the words for without and with, and what was found."""
    return [(*QUESTIONS[line.name], line) for line in asked if not isinstance(line.found, NotAsked)]


def depends_lines(comparison: Comparison, asked: Sequence[DependsOn]) -> list[str]:
    """A sentence a question, also for those that the records cannot answer."""
    return [_line(comparison, line) for line in asked]


def _line(comparison: Comparison, line: DependsOn) -> str:
    question, without, with_ = QUESTIONS[line.name]
    out = f" {count(line.left_out, 'field-year')} left out, being mixed or not known." if line.left_out else ""
    if isinstance(line.found, NotAsked):
        return f"{question} The records cannot say: {line.found.reason}.{out}"
    fixed, found = line.found.fixed, line.found
    first = f"{without} {marks.difference(comparison, fixed.without)} (n {found.field_years_without})"
    second = f"{with_} {marks.difference(comparison, fixed.with_)} (n {found.field_years_with})"
    p = f"p {p_words(fixed.p)}, with all questions {p_words(line.holm_p)}"
    return f"{question} {first[0].upper()}{first[1:]}; {second}; {p}.{out}"
