"""Numbers and dates as people type them: read exactly, or refused with a reason. Never a guess, never a factor of ten.

Browser number fields and spreadsheet readers drop commas and clamp values without a word, so the program takes text
and reads it here, for files and for screens alike.
"""

import re
from collections.abc import Iterable
from datetime import date

SPACES = "\u00a0\u202f\u2009 '\u2019"  # thousands marks that are not a point or a comma
MONTHS = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)
LONGEST = 60  # letters of a number or date; a longer text is none, and could keep the program busy for hours
FIRST_YEAR, LAST_YEAR = 1980, 2100  # as crop years; 0205 and 2205 are slips of the keyboard
LARGEST = 1e12  # far beyond any mass, area or price on a farm; keeps "2e308" and slips of the keyboard out

TIME_OF_DAY = re.compile(r"(?<=\d)[ T]([01]?\d|2[0-3]):[0-5]\d(:[0-5]\d(\.\d+)?)?$")
# The grammar of a number: digits, or groups of three behind one to three digits with one mark between them all; then
# perhaps one decimal mark, another one, and digits.
DECIMAL = re.compile(r"[+-]?(?P<whole>\d*)(?:[.,](?P<fraction>\d*))?")
COMMA_OR_DECIMALS = r"[+-]?[1-9][0-9]{0,2},[0-9]{3}"  # 22,910
THOUSANDS, DECIMAL_MARK = "thousands", "decimal mark"  # what a farm may say that comma is
GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}(?P<mark>[ .,])\d{3}(?:(?P=mark)\d{3})*(?:(?!(?P=mark))[.,](?P<fraction>\d*))?")


class NotReadable(ValueError):
    """The text is not a number or date that can be read without guessing; the message says why."""


def read_number(text: str, *, thousands: str = "", comma: str = "") -> float:
    """The number that was typed; decimal point or decimal comma, thousands apart by spaces, commas or points.

    `1,234` and `1.234` could be one thousand or one and a bit. A point is read as a decimal mark, as in every CSV;
    a single comma before exactly three digits is refused, because both readings are common.
    thousands : "," or "." where what stands around the text has settled that this mark sets thousands apart
    comma : what the farm said such a comma is, THOUSANDS or DECIMAL_MARK; "" while it was not asked
    Raises NotReadable. Neither "nan", "inf" nor an exponent is a number on a ticket.
    >>> read_number("18,62"), read_number("18.62"), read_number("1 234,5"), read_number("1,234.5")
    (18.62, 18.62, 1234.5, 1234.5)
    >>> read_number("1,234", thousands=",")
    1234.0
    >>> read_number("1,234", comma=THOUSANDS), read_number("1,234", comma=DECIMAL_MARK)
    (1234.0, 1.234)
    """
    if len(text) > LONGEST:
        raise NotReadable("too long for a number")
    kept = text.strip().replace("\u2212", "-")
    for space in SPACES:
        kept = kept.replace(space, " ")
    if not re.fullmatch(r"[+-]?[\d., ]*\d[\d., ]*", kept, flags=re.ASCII):
        raise NotReadable("not a number")
    plain = _without_thousands(kept, thousands, comma)
    number = float(plain.replace(",", "."))
    if abs(number) > LARGEST:
        raise NotReadable("larger than any number on a farm")
    return number


def _without_thousands(kept: str, thousands: str, comma: str) -> str:
    grouped, decimal = GROUPED.fullmatch(kept), DECIMAL.fullmatch(kept)
    if decimal:
        whole, fraction = decimal["whole"], decimal["fraction"] or ""
        if thousands and thousands in kept:
            if grouped is None:
                mark = "comma" if thousands == "," else "point"
                raise NotReadable(f"thousands are set apart by a {mark} here, in groups of three digits")
        else:
            if "," in kept and len(fraction) == 3 and whole.strip("0") and len(whole) <= 3:
                if comma == THOUSANDS and grouped:
                    return kept.replace(",", "")
                if comma != DECIMAL_MARK:
                    raise NotReadable(f"could be {whole}{fraction} or {whole}.{fraction}; type it without the comma")
            return kept
    if grouped is None:
        raise NotReadable(_why_not_grouped(kept))
    if thousands and grouped["mark"] in ".," and grouped["mark"] != thousands:
        raise NotReadable("commas and points do not stand as in the numbers around it")
    return kept.replace(grouped["mark"], "")


def _why_not_grouped(kept: str) -> str:
    if " " in kept:
        return "spaces may only stand between groups of three digits"
    if "," in kept and "." in kept:
        return "commas and points do not stand as in a number"
    return "more than one decimal mark" if kept.count(",") + kept.count(".") > 1 else "not a number"


def unclear_comma(text: str) -> str:
    """The number in a text, perhaps with a unit behind it, that could be thousands or decimals; "" if it is none.

    >>> unclear_comma("22,910 lb"), unclear_comma("22,91"), unclear_comma("1,234.5")
    ('22,910', '', '')
    """
    found = re.fullmatch(rf"\$?\s*({COMMA_OR_DECIMALS})\s*[A-Za-z/%]{{0,10}}", text.strip(), re.ASCII)
    return found[1] if found else ""


def read_whole_number(text: str, *, thousands: str = "", comma: str = "") -> int:
    """A whole number as typed, marks as in read_number. Raises NotReadable when there is a fraction."""
    number = read_number(text, thousands=thousands, comma=comma)
    if number != int(number):
        raise NotReadable("not a whole number")
    return int(number)


DAY_FIRST, MONTH_FIRST = "day first", "month first"  # what 10/3/24 may be
NUMBERS_YEAR_LAST = re.compile(r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4}|\d{2})")


def read_date(text: str, *, crop_year: int | None = None, order: str = "") -> date:
    """A date as typed: 2025-09-14, 2025/9/14, 14 Sep 2025, Sep 14 2025, 14 September; the last needs `crop_year`.

    All-number dates with the year last (04/05/2025) are refused when day and month could be exchanged, and those with a
    year of two digits always, unless `order` says which stands first: DAY_FIRST or MONTH_FIRST. With the month in
    letters a year of two digits (3-Oct-24) is read where it is the crop year or next to it.
    Raises NotReadable.
    >>> read_date("Sep 14, 2025"), read_date("14 Sep", crop_year=2025)
    (datetime.date(2025, 9, 14), datetime.date(2025, 9, 14))
    >>> read_date("10/3/24", order=MONTH_FIRST), read_date("3-Oct-24", crop_year=2024)
    (datetime.date(2024, 10, 3), datetime.date(2024, 10, 3))
    """
    if len(text) > LONGEST:
        raise NotReadable("too long for a date")
    kept = TIME_OF_DAY.sub("", text.strip())  # a ticket or a spreadsheet may carry it; the day is what is kept
    if match := re.fullmatch(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})", kept):
        return _date(*(int(part) for part in match.groups()))
    if match := NUMBERS_YEAR_LAST.fullmatch(kept):
        return _year_last(*(int(part) for part in match.groups()), order=order)
    words = re.findall(r"[A-Za-z]+|\d+", kept)
    if not re.fullmatch(r"[A-Za-z0-9 .,/-]+", kept) or not 2 <= len(words) <= 3:
        raise NotReadable("not a date; type year-month-day")
    names = [word for word in words if word.isalpha()]
    numbers = [int(word) for word in words if word.isdigit()]
    if len(numbers) == 2 and numbers[0] < 1000 and len(words[-1]) == 2 and crop_year is not None:
        numbers[1] += crop_year - crop_year % 100  # 3-Oct-24
        if abs(numbers[1] - crop_year) > 1:
            raise NotReadable(f"the year {words[-1]} is not that of the crop year; type all four digits")
    years = [number for number in numbers if number >= 1000]
    days = [number for number in numbers if number < 1000]
    if len(names) != 1 or len(days) != 1 or len(years) > 1:
        raise NotReadable("not a date; type year-month-day")
    months = [number for number, name in enumerate(MONTHS, 1) if name.startswith(names[0].lower())]
    if len(names[0]) < 3 or not months:
        raise NotReadable(f"{names[0]!r} is not a month")
    year = years[0] if years else crop_year
    if year is None:
        raise NotReadable("the year is missing")
    return _date(year, months[0], days[0])


def _year_last(first: int, second: int, last: int, *, order: str) -> date:
    if last < 100:
        if not order:
            raise NotReadable("which is the day, the month and the year? Type year-month-day")
        last += 1900 if last >= FIRST_YEAR % 100 else 2000
    if order and (first <= 12 or order == DAY_FIRST) and (second <= 12 or order == MONTH_FIRST):
        return _date(last, *((second, first) if order == DAY_FIRST else (first, second)))
    if order or (first <= 12 and second <= 12 and first != second):
        one, other = _date(last, first, second), _date(last, second, first)
        raise NotReadable(f"could be {one} or {other}; type year-month-day")
    return _date(last, min(first, second), max(first, second))


def order_of_days(texts: Iterable[str]) -> str:
    """What stands first in dates of numbers alone: DAY_FIRST or MONTH_FIRST where one of them settles it, else "".

    >>> order_of_days(["10/3/24", "9/28/24"]), order_of_days(["10/3/24"])
    ('month first', '')
    """
    found = [match for text in texts if (match := NUMBERS_YEAR_LAST.fullmatch(TIME_OF_DAY.sub("", text.strip())))]
    is_day_first = any(int(match[1]) > 12 for match in found)
    is_month_first = any(int(match[2]) > 12 for match in found)
    if is_day_first is is_month_first:
        return ""
    return DAY_FIRST if is_day_first else MONTH_FIRST


def _date(year: int, month: int, day: int) -> date:
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise NotReadable(f"the year {year} is not between {FIRST_YEAR} and {LAST_YEAR}")
    try:
        return date(year, month, day)
    except ValueError as problem:
        raise NotReadable("there is no such day") from problem
