"""Numbers as a person reads them: the same on screen, on paper and in the terminal."""

import math
from decimal import Decimal

THIN_SPACE = "\u202f"  # the narrow one at which no line breaks
MINUS = "\u2212"
UNKNOWN = "unknown"
NUMBER_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
SINGULAR = {"points": "point", "days": "day"}
AREA_WORDS = {
    "$/ac": "an acre",
    "$/ha": "a hectare",
    "$/t": "a tonne",
    "$/bu": "a bushel",
    "$/h": "an hour",
    "$/t a point": "a tonne and point",
}


def number(value: float | None, decimals: int, *, sign: bool = False) -> str:
    """The value with that many decimals: a real minus sign, commas from 1,000 up, "unknown" for None.

    sign : put a plus before what is above 0
    >>> number(1.25, 2, sign=True)
    '+1.25'
    >>> number(-0.04, 1)
    '0.0'
    >>> number(42025, 0)
    '42,025'
    """
    if value is None or not math.isfinite(value):
        return UNKNOWN
    rounded = round(value, decimals)
    digits = f"{abs(rounded):,.{decimals}f}"
    before = MINUS if rounded < 0 else "+" if sign and rounded > 0 else ""
    return before + digits


def exact(value: float) -> str:
    """A number as it was given, no digit more or less, with a real minus sign: for quoting what was typed.

    >>> exact(-0.1), exact(20_000_000.0)
    ('−0.1', '20000000')
    """
    text = format(Decimal(f"{value:.15g}"), "f")
    return MINUS + text[1:] if text.startswith("-") else text


def amount(value: float | None, unit: str, decimals: int) -> str:
    """The value with its unit: "1.3 bu/ac", "1 day", "$14 an acre", "unknown" for None.

    >>> amount(-14.0, "$/ac", 0)
    '−$14 an acre'
    """
    text = number(value, decimals)
    if text == UNKNOWN:
        return text
    if unit.startswith("$"):
        money = f"{MINUS}${text[1:]}" if text.startswith(MINUS) else f"${text}"
        area = AREA_WORDS.get(unit, unit[1:].replace("/", "per ", 1))
        return f"{money} {area}".rstrip()
    if unit == "%":
        return f"{text}{THIN_SPACE}%"
    return f"{text} {SINGULAR.get(unit, unit) if text == '1' else unit}".rstrip()


def capital(text: str) -> str:
    """The text with a large first letter, its units as they were.

    >>> capital("test weight, kg/hL")
    'Test weight, kg/hL'
    """
    return text[:1].upper() + text[1:]


def count(how_many: int, noun: str) -> str:
    """A number of things: "1 pair", "14 field-years"."""
    return f"{number(how_many, 0)} {noun if how_many == 1 else noun + 's'}"


def percent_words(share: float) -> str:
    """A share as a percentage: 0.95 is "95 %"."""
    return amount(share * 100, "%", 0 if round(share * 100, 6).is_integer() else 1)


def counted(how_many: int, noun: str) -> str:
    """A count that opens a sentence: "Nine field-years", "14 field-years"."""
    if how_many >= len(NUMBER_WORDS):
        return count(how_many, noun)
    return f"{capital(NUMBER_WORDS[how_many])} {noun if how_many == 1 else noun + 's'}"
