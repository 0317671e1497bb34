"""Differences in the few words that fit beside a mark; whole sentences are the business of analytics.answer.wording."""

from analytics.answer.difference_words import base_decimals, words_for
from analytics.answer.wording import finding_words
from analytics.statistics.results import Answer, Comparison
from analytics.trade.numbers_as_text import UNKNOWN, amount, count


def difference(
    comparison: Comparison, value: float | None, *, of: Answer | None = None, with_unit: bool = False
) -> str:
    """A difference as its size and the measure's own word for the way: "1.3 more", "8.1 days later".

    of : the answer whose decimals are to be used; that of these fields by default
    """
    if value is None:
        return UNKNOWN
    words = words_for(comparison, of or comparison.these_fields)
    size = words.figure(value, with_unit=with_unit)
    if round(value, words.decimals) == 0:
        return size
    return f"{size} {words.phrase.up if value > 0 else words.phrase.down}"


def bracket(comparison: Comparison, answer: Answer) -> str:
    """The interval behind its estimate, with a space before: " (0.4 to 2.2)"; "" where there is none."""
    if answer.low is None or answer.high is None:
        return ""
    return f" ({words_for(comparison, answer).bracket(answer.low, answer.high)})"


def mark(comparison: Comparison, answer: Answer) -> str:
    """What stands beside a mark in a picture: "1.3 more, standing higher"."""
    return f"{difference(comparison, answer.estimate, of=answer)}, {finding_words(answer)}"


def level(comparison: Comparison, value: float) -> str:
    """The value of one side with its unit: "42.1 bu/ac", "1.20 %"."""
    return amount(value, unit_of_values(comparison), base_decimals(comparison))


def unit_of_values(comparison: Comparison) -> str:
    """The unit of one side: percentages differ by points."""
    return "%" if comparison.unit == "points" else comparison.unit


def estimate(comparison: Comparison, answer: Answer) -> str:
    """An answer in one line: "1.3 bu/ac more (0.4 to 2.2)"."""
    return f"{difference(comparison, answer.estimate, of=answer, with_unit=True)}{bracket(comparison, answer)}"


def left_out(comparison: Comparison) -> str:
    """How many pairs lack a side: "2 pairs left out", "none left out"."""
    return f"{count(comparison.left_out, 'pair')} left out" if comparison.left_out else "none left out"
