"""A finding as a mark: its colour, shape and filling, and the few words that stand beside it.

Colour always names a method: blue circle where standing did better, vermilion square where windrowed did (two colours
of the Okabe-Ito palette, told apart by colour-blind eyes); grey while nothing is settled. A filled mark is settled, a
hollow one open. These fields have a thick bar, years to come a thin one. Shapes alone tell it in black and white.
"""

from dataclasses import dataclass

from analytics.answer.difference_words import base_decimals, words_for
from analytics.statistics.results import Answer, Comparison, Finding, Question
from analytics.trade.measures import MEASURES
from analytics.trade.numbers_as_text import UNKNOWN, amount, count

STANDING, WINDROWED = "#0072B2", "#D55E00"
UNDECIDED, INK, BAND, FAINT = "#767676", "#222222", "#ECECEC", "#C8C8C8"
CIRCLE, SQUARE = "circle", "square"
EVEN = "M-1,-0.35H1M-1,0.35H1"  # two level strokes: the same in practice
BY_YEAR = "M-1,-0.35H1M-1,0.35H1M-0.6,1L0.6,-1"  # the same two, struck through: the years differ
UPRIGHT = "M0,-0.9V0.9"  # a small upright stroke: the mean of a year, which is neither method's
SIDES = {"standing": (STANDING, CIRCLE), "windrowed": (WINDROWED, SQUARE)}
THICKNESS = {Question.THESE_FIELDS: 3.5, Question.YEARS_TO_COME: 1.5}
QUESTION_WORDS = {Question.THESE_FIELDS: "these fields", Question.YEARS_TO_COME: "years to come"}


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkLook:
    """How the mark of an answer is drawn."""

    colour: str
    fill: str
    shape: str
    thickness: float


def mark_look(answer: Answer, question: Question) -> MarkLook:
    """The look of one answer's mark and of its bar."""
    thickness = THICKNESS[question]
    if answer.better is not None:
        colour, shape = SIDES[answer.better]
        return MarkLook(colour=colour, fill=colour, shape=shape, thickness=thickness)
    strokes = {Finding.NO_DIFFERENCE_THAT_MATTERS: EVEN, Finding.DEPENDS_ON_YEAR: BY_YEAR}
    if answer.finding in strokes:
        return MarkLook(colour=INK, fill=INK, shape=strokes[answer.finding], thickness=thickness)
    return MarkLook(colour=UNDECIDED, fill="white", shape=CIRCLE, thickness=thickness)


def finding_words(comparison: Comparison, answer: Answer) -> str:
    """Two or three words for the finding, in the measure's own: "less green (better)", "not settled"."""
    if answer.finding in (Finding.STANDING_HIGHER, Finding.STANDING_LOWER):
        phrase = words_for(comparison, answer).phrase
        is_up = answer.finding is Finding.STANDING_HIGHER
        way = (phrase.mark_up or phrase.up) if is_up else (phrase.mark_down or phrase.down)
        slightly = "slightly " if answer.small else ""
        return f"{slightly}{way} ({'better' if answer.better == 'standing' else 'worse'})"
    return {
        Finding.NO_DIFFERENCE_THAT_MATTERS: "same in practice",
        Finding.DEPENDS_ON_YEAR: "depends on the year",
        Finding.NOT_SETTLED: "not settled",
        Finding.TOO_FEW: "too few",
    }[answer.finding]


def difference(
    comparison: Comparison, value: float | None, *, of: Answer | None = None, with_unit: bool = False
) -> str:
    """A difference as its size and the measure's own word for the way: "1.3 more", "8.1 days later".

    of : the answer whose decimals are to be used; that of these fields by default
    """
    if value is None:
        return UNKNOWN
    return words_for(comparison, of or comparison.these_fields).sized(value, with_unit=with_unit)


def bracket(comparison: Comparison, answer: Answer) -> str:
    """The range behind its estimate, with a space before: " (0.4 to 2.2)"; "" where there is none."""
    low, high = answer.shown_low, answer.shown_high
    return "" if low is None or high is None else f" ({words_for(comparison, answer).bracket(low, high)})"


def mark(comparison: Comparison, answer: Answer) -> str:
    """What stands beside a mark in a picture: "1.3 more (better)", "0.3 more, not settled"."""
    if answer.better is None or answer.estimate is None:
        return f"{difference(comparison, answer.estimate, of=answer)}, {finding_words(comparison, answer)}"
    size = words_for(comparison, answer).figure(answer.estimate)
    return f"{size} {finding_words(comparison, answer).removeprefix('slightly ')}"


def level(comparison: Comparison, value: float) -> str:
    """The value of one side with its unit: "42.1 bu/ac", "1.20 %"."""
    return amount(value, unit_of_values(comparison), base_decimals(comparison))


def unit_of_values(comparison: Comparison) -> str:
    """The unit of one side: percentages differ by points."""
    return "%" if comparison.unit == "points" else comparison.unit


def estimate(comparison: Comparison, answer: Answer) -> str:
    """An answer in one line: "1.3 bu/ac more (0.4 to 2.2)"."""
    return f"{difference(comparison, answer.estimate, of=answer, with_unit=True)}{bracket(comparison, answer)}"


def left_out_words(comparison: Comparison) -> str:
    """How many pairs lack a side: "2 pairs left out", "none left out"."""
    return f"{count(comparison.left_out, 'pair')} left out" if comparison.left_out else "none left out"


def measure_label(comparison: Comparison) -> str:
    """The measure as it heads a row: "Green seed"; one that is not ours as it was given."""
    known = MEASURES.get(comparison.measure)
    return known.label if known else comparison.measure.replace("_", " ")
