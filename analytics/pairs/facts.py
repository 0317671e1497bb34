"""The rows of a pair side by side, as ready text: two sides, their difference, a caution, and the papers behind.

Differences are standing minus windrowed.
"""

from dataclasses import dataclass, replace
from datetime import date

from analytics.pairs.sides import PairSides, Side
from analytics.trade.numbers_as_text import UNKNOWN, number

NOTHING = "\u2013"  # does not apply, or nothing noted


@dataclass(frozen=True, slots=True, kw_only=True)
class Papers:
    """What stands behind a number: a small table of ready text."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One row. `caution` is a sentence when the two sides differ though they should not, or something is wrong."""

    label: str
    standing: str
    windrowed: str
    difference: str = ""
    caution: str = ""
    help: str = ""  # a key of help_texts.HELP
    standing_papers: Papers | None = None
    windrowed_papers: Papers | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Facts that belong together, under a heading, and what to take care of where there is something."""

    name: str
    facts: tuple[Fact, ...]
    care: str = ""


def known_sides(sides: PairSides) -> list[Side]:
    """The sides that are on record, standing first."""
    return [side for side in (sides.standing, sides.windrowed) if side is not None]


def numbers_fact(
    sides: PairSides,
    label: str,
    view: str,
    column: str,
    decimals: int,
    *,
    factor: float = 1.0,
    papers: dict[str, Papers] | None = None,
    help_key: str = "",
) -> Fact:
    """A row of two numbers and their difference."""
    values = [side.number(view, column) if side else None for side in (sides.standing, sides.windrowed)]
    shown = [None if value is None else value * factor for value in values]
    return Fact(
        label=label,
        standing=number(shown[0], decimals),
        windrowed=number(shown[1], decimals),
        difference=difference_words(shown[0], shown[1], decimals),
        help=help_key,
        standing_papers=(papers or {}).get("standing"),
        windrowed_papers=(papers or {}).get("windrowed"),
    )


def difference_words(standing: float | None, windrowed: float | None, decimals: int) -> str:
    """Standing minus windrowed with its sign; "" where a side is unknown."""
    if standing is None or windrowed is None:
        return ""
    return number(standing - windrowed, decimals, sign=True)


def same_fact(sides: PairSides, label: str, view: str, column: str, caution: str) -> Fact:
    """A row of two words that should be alike; the caution is shown when both are known and differ."""
    values = [side.value(view, column) if side else None for side in (sides.standing, sides.windrowed)]
    differs = None not in values and values[0] != values[1]
    return Fact(label=label, standing=words(values[0]), windrowed=words(values[1]), caution=caution if differs else "")


def words(value: object) -> str:
    """A value of the records as text: "unknown", "yes", "3 Sep 2025"."""
    if value is None:
        return UNKNOWN
    if isinstance(value, bool):
        return "yes" if value else "no"
    return date_words(value) if isinstance(value, date) else str(value)


def date_words(day: date) -> str:
    """A day as it is said: "3 Sep 2025"."""
    return f"{day.day} {day:%b %Y}"


def days_fact(sides: PairSides, label: str, column: str, *, standing: bool = True, windrowed: bool = True) -> Fact:
    """A row of two days and the days between them; a side that a row does not apply to gets a dash."""
    days = [
        side.value("plot_timing", column) if side and applies else None
        for side, applies in ((sides.standing, standing), (sides.windrowed, windrowed))
    ]
    both = [day for day in days if isinstance(day, date)]
    return Fact(
        label=label,
        standing=words(days[0]) if standing else NOTHING,
        windrowed=words(days[1]) if windrowed else NOTHING,
        difference=f"{number((both[0] - both[1]).days, 0, sign=True)} days" if len(both) == 2 else "",
    )


def figure(value: object, decimals: int) -> str:
    """A number of the records with so many decimals; "unknown" for a blank."""
    return number(float(value), decimals) if isinstance(value, int | float) else UNKNOWN


def number_or_none(value: object) -> float | None:
    """A value of the records as a number; None for a blank."""
    return float(value) if isinstance(value, int | float) else None


def in_unit(value: float | None, factor: float) -> float | None:
    """A value in another unit; None stays unknown."""
    return None if value is None else value * factor


def with_caution(fact: Fact, caution: str) -> Fact:
    """The row with one more caution on it."""
    return replace(fact, caution=" ".join(text for text in (fact.caution, caution) if text))
