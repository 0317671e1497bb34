"""What a person reads in a spreadsheet cell that holds a number: the number, percent, date or words its format shows.

A cell holds a number and a format; "0.012" with the format 0.0% is read as 1.2 %, "45914" with yyyy-mm-dd as a day.
Source of the formats: ECMA-376 part 1, 18.8.30 (built in) and 18.8.31 (their letters).
"""

import math
import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from functools import cache

GENERAL = "General"
# Built in by number; the currency ones differ by country, here without a sign. Those not named are General.
BUILT_IN = {
    1: "0",
    2: "0.00",
    3: "#,##0",
    4: "#,##0.00",
    5: "#,##0_);(#,##0)",
    6: "#,##0_);(#,##0)",
    7: "#,##0.00_);(#,##0.00)",
    8: "#,##0.00_);(#,##0.00)",
    9: "0%",
    10: "0.00%",
    11: "0.00E+00",
    12: "# ?/?",
    13: "# ??/??",
    **dict.fromkeys((14, 15, 16, 17, 22, *range(27, 37), *range(50, 59), *range(71, 75), 77), "yyyy-mm-dd"),
    **dict.fromkeys((18, 19, 20, 21, 45, 47, 75, 76, 79, 80), "h:mm:ss"),
    37: "#,##0_);(#,##0)",
    38: "#,##0_);(#,##0)",
    39: "#,##0.00_);(#,##0.00)",
    40: "#,##0.00_);(#,##0.00)",
    41: "#,##0_);(#,##0)",
    42: "#,##0_);(#,##0)",
    43: "#,##0.00_);(#,##0.00)",
    44: "#,##0.00_);(#,##0.00)",
    46: "[h]:mm:ss",
    48: "##0.0E+0",
    49: "@",
    67: "0%",
    68: "0.00%",
    81: "yyyy-mm-dd",
}
TOKEN = re.compile(
    r'"(?P<quoted>[^"]*)"?|\\(?P<escaped>.)|_.|\*(?P<fill>.)|\[(?P<bracket>[^\]]*)\]?'
    r"|(?P<general>General)|(?P<exponent>[eE][+-])|(?P<clock>AM/PM|A/P|上午/下午)|(?P<digit>[0#?])"
    r"|(?P<letter>[a-zA-Z])|(?P<other>.)",
    re.IGNORECASE | re.DOTALL,
)
CONDITION = re.compile(r"(<=|>=|<>|<|>|=)\s*(-?\d+(?:\.\d*)?)")
CURRENCY = re.compile(r"[$¤]|\bCA?D?\$|\b(?:CAD|USD)\b")  # dollars alone; other money is no dollars_per_acre
CALENDAR = set("ymdhsebgap")  # letters of a day or an hour; any other stands for no part of either
LAST_SERIAL = 2_958_465  # 9999-12-31 counted from 1900
UNUSUAL = "a number in an unusual form"
REMEDY_FORM = "Give the cell the form of a plain number, and see that it says what you mean."


class NotShown(ValueError):
    """The cell does not show its number as a person could read it back.

    given : what stands there, in words
    remedy : what to do
    """

    def __init__(self, given: str, remedy: str = REMEDY_FORM) -> None:
        super().__init__(given)
        self.given, self.remedy = given, remedy


@dataclass(frozen=True, slots=True, kw_only=True)
class FormatSection:
    """One of up to four parts of a format. `before` and `after` are the words around the digits.

    condition : (sign, limit) of a part that says for which numbers it is
    percents, thousands : how often the number is shown times 100, or divided by 1000
    least_digits : shown before the decimal mark, with noughts in front where the number has fewer
    """

    kind: str  # number, day, moment (a day and its hour), time, elapsed, words
    condition: tuple[str, float] | None = None
    before: str = ""
    after: str = ""
    percents: int = 0
    thousands: int = 0
    least_digits: int = 1
    is_unusual: bool = False


def shown(value: float, code: str, *, from_1904: bool = False) -> str:
    """The text of a number under a format, with all digits that the cell holds (15) even where fewer are shown.

    from_1904 : days are counted from 1904-01-01, as in workbooks of old
    Raises NotShown where a person would read another number, or none.
    >>> shown(0.012, "0%"), shown(0.4, '0.0"%"'), shown(45914, "d-mmm-yy"), shown(18620, "#,##0")
    ('1.2%', '0.4%', '2025-09-14', '18620')
    """
    if not math.isfinite(value):
        raise NotShown("a cell that holds no number")
    sections = _sections(code)
    section, hides_sign = _section_for(sections, value)
    if section.kind not in ("number", "words"):
        return _moment(value, section.kind, from_1904=from_1904)
    if section.kind == "words":
        words = f"{section.before}{section.after}".strip()
        raise NotShown(
            f"a number that its form {f'shows as {words!r}' if words else 'hides'}",
            "Give the cell the form of a plain number, or leave it blank.",
        )
    if section.is_unusual:
        raise NotShown(UNUSUAL)
    if section.thousands:
        raise NotShown("a number shown in thousands", "Give the cell the form of a plain number, so that all is seen.")
    before, after = _plain_words(section.before), _plain_words(section.after)
    if hides_sign and value < 0:
        if before == "-" and not after:
            before = ""
        elif before == "(" and after == ")":
            before = after = ""
        else:
            raise NotShown("a number below zero whose form does not show its minus")
    if section.percents:
        after = after.replace("%", "", section.percents)
    number = plain_number(value, times_100=section.percents)
    missing = section.least_digits - len(number.lstrip("-").partition(".")[0])
    if missing > 0:
        number = f"{'-' if number.startswith('-') else ''}{'0' * missing}{number.lstrip('-')}"
    if number == "0" and before == "-":  # an accountant's nil
        before = ""
    if before.startswith("-") and number.startswith("-"):
        raise NotShown(UNUSUAL)
    percent = "%" * section.percents
    return f"{before}{number}{percent}{' ' if after and after[0].isalpha() else ''}{after}"


def plain_number(value: float, *, times_100: int = 0) -> str:
    """The shortest text without an exponent that means the number, to 15 digits as a spreadsheet shows them.

    >>> plain_number(0.1 + 0.2), plain_number(5e6), plain_number(0.285, times_100=1)
    ('0.3', '5000000', '28.5')
    """
    text = f"{value:.15g}"
    if not times_100 and "e" not in text:
        return text if text != "-0" else "0"
    plain = format(Decimal(text).scaleb(2 * times_100), "f")
    plain = plain.rstrip("0").rstrip(".") if "." in plain else plain
    return "0" if plain in ("-0", "") else plain


def _section_for(sections: tuple[FormatSection, ...], value: float) -> tuple[FormatSection, bool]:
    """The part for this number, and whether that part leaves the minus to its own words."""
    if any(section.condition for section in sections):
        for section in sections if sections[0].condition else ():
            if section.condition is None or _holds(section.condition, value):
                return section, section.condition is not None and section.condition[0] in ("<", "<=")
        raise NotShown(UNUSUAL)
    if len(sections) > 1 and value < 0:
        return sections[1], True
    if len(sections) > 2 and value == 0:
        return sections[2], False
    return sections[0], False


def _holds(condition: tuple[str, float], value: float) -> bool:
    sign, limit = condition
    return {
        "<": value < limit,
        "<=": value <= limit,
        ">": value > limit,
        ">=": value >= limit,
        "=": value == limit,
        "<>": value != limit,
    }[sign]


@cache
def _sections(code: str) -> tuple[FormatSection, ...]:
    parts: list[list[re.Match[str]]] = [[]]
    for token in TOKEN.finditer(code):
        if token[0] == ";":
            parts.append([])
        else:
            parts[-1].append(token)
    return tuple(_section(tokens) for tokens in parts[:3])


def _section(tokens: list[re.Match[str]]) -> FormatSection:
    before, after, condition = "", "", None
    letters = ""
    percents = thousands = noughts = 0
    has_digits = is_unusual = is_elapsed = has_point = False
    for token in tokens:
        words = token["quoted"] or token["escaped"] or ""
        if (bracket := token["bracket"]) is not None:
            if found := CONDITION.fullmatch(bracket.strip()):
                condition = (found[1], float(found[2]))
            elif bracket.startswith("$"):
                words = bracket[1:].partition("-")[0]
            elif re.fullmatch(r"[hms]+", bracket, re.IGNORECASE):
                is_elapsed = True
        elif token["fill"]:
            words = "" if token["fill"] == " " else token["fill"] * 2  # fills the cell; twice is no number
        elif token["digit"] or token["general"] or token[0] == "@":
            is_unusual |= bool(after)
            has_digits, thousands = True, 0
            noughts += token[0] == "0" and not has_point
        elif token["letter"]:
            letters += token[0].lower()
        elif token["clock"]:
            letters += "h"
        elif token["exponent"]:
            has_point, noughts = True, 0
        elif token[0] == "%":
            percents += 1
            words = "%"
        elif token[0] == ",":
            thousands += has_digits and not after
        elif token[0] == "." and not has_point:
            has_point = True
        elif token[0] == "/":
            noughts = 0
        elif token["other"]:
            words = token[0]
        if has_digits:
            after += words if words.strip() or after else ""
        else:
            before += words
    kind = _kind(set(letters), has_digits=has_digits, is_elapsed=is_elapsed)
    return FormatSection(
        kind=kind,
        condition=condition,
        before=before,
        after=after,
        percents=percents,
        thousands=thousands,
        least_digits=noughts,
        is_unusual=is_unusual or not set(letters) <= CALENDAR,
    )


def _kind(letters: set[str], *, has_digits: bool, is_elapsed: bool) -> str:
    """The letter m is a month, or beside h or s a minute."""
    if is_elapsed:
        return "elapsed"
    if letters and letters <= CALENDAR:
        has_day, has_hour = letters & set("yde"), letters & set("hs")
        return ("moment" if has_day else "time") if has_hour else "day"
    return "number" if has_digits or letters else "words"


def _plain_words(words: str) -> str:
    """Words beside a number without blanks and signs of money."""
    return " ".join(CURRENCY.sub("", words).split()).replace("\u2212", "-")


def _moment(value: float, kind: str, *, from_1904: bool) -> str:
    if not 0 <= value <= LAST_SERIAL:
        raise NotShown("a number that is no day", "Type the day, year-month-day.")
    seconds = round((value % 1 if kind == "time" else value) * 86_400)
    if kind in ("time", "elapsed"):
        return f"{seconds // 3600:02}:{seconds // 60 % 60:02}:{seconds % 60:02}"
    begin = datetime(1904, 1, 1) if from_1904 else datetime(1899, 12, 31 if value < 60 else 30)
    at = begin + timedelta(seconds=seconds if kind == "moment" else math.floor(value) * 86_400)
    return str(at).removesuffix(" 00:00:00")
