"""Numbers and dates as people type them: read exactly, or refused with a reason."""

import random
import re
from contextlib import suppress
from datetime import date
from decimal import Decimal, InvalidOperation
from itertools import combinations_with_replacement, permutations, product

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from analytics.trade.typed_text import LARGEST, LONGEST, MONTHS, NotReadable, read_date, read_number, read_whole_number

CROP_YEAR = 2025

NUMBERS = {
    "18.62": 18.62,
    "18,62": 18.62,
    " 18.62 ": 18.62,
    "1 234,5": 1234.5,
    "1 234.5": 1234.5,
    "1\u00a0234": 1234.0,
    "1'234": 1234.0,
    "1,234.5": 1234.5,
    "1.234,5": 1234.5,
    "1,234,567": 1234567.0,
    "1.234.567": 1234567.0,
    "1.234": 1.234,
    "0,123": 0.123,
    "1234,567": 1234.567,
    ",5": 0.5,
    ".5": 0.5,
    "5.": 5.0,
    "-3": -3.0,
    "\u22123": -3.0,
    "+3": 3.0,
    "007": 7.0,
}
NO_NUMBERS = [
    "",
    " ",
    "1,234",
    "-1,234",
    "12,345",
    "abc",
    "nan",
    "NaN",
    "inf",
    "-Infinity",
    "1e5",
    "0x10",
    "1_000",
    "--1",
    "1-2",
    "1,2,3",
    "1,234,5",
    "1.234.5",
    "1,234,56",
    "12.345.6",
    "1,234,",
    "1.234.5.",
    "1.2.3",
    "1,23.4",
    "12 34",
    "0 500",
    "0,001,234",
    "1  234",
    "8.5%",
    "$5",
    "5 kg",
    "\u00bd",
    ".",
    ",",
    "9" * 400,
    "1000000000001",
]


@pytest.mark.parametrize(("text", "number"), NUMBERS.items())
def test_a_number_is_read_as_it_was_meant(text, number):
    assert read_number(text) == number


@pytest.mark.parametrize("text", NO_NUMBERS)
def test_what_is_no_number_or_could_be_two_is_refused(text):
    with pytest.raises(NotReadable):
        read_number(text)


def test_one_comma_before_three_digits_names_both_readings():
    with pytest.raises(NotReadable, match=r"could be 1234 or 1\.234"):
        read_number("1,234")


def test_the_largest_number_is_read_and_the_next_refused():
    assert read_number("1000000000000") == LARGEST
    with pytest.raises(NotReadable, match="larger than any number"):
        read_number("1000000000000.1")


def test_a_text_longer_than_any_number_or_date_is_refused_at_once():
    assert read_number("0" * (LONGEST - 1) + "1") == 1
    for read in (read_number, read_date):
        with pytest.raises(NotReadable, match="too long"):
            read("1" * 100_000 + "x")


def test_a_whole_number_has_no_fraction():
    assert read_whole_number("500") == read_whole_number("500,0") == 500
    with pytest.raises(NotReadable, match="not a whole number"):
        read_whole_number("500.5")


def plainly(text: str) -> str | None:
    """The grammar in plain words: what the text says as a plain number, or nothing where it must be refused.

    Digits may have one decimal mark. Or they stand in groups, one to three first (no zero in front), then three each,
    with one mark between them all, and behind them perhaps the other mark as decimal mark. What is both is two numbers:
    a comma is refused, a point is a decimal mark.
    """
    marks = [letter for letter in text if letter in "., "]
    runs = re.split("[., ]", text)
    if not any(runs):
        return None
    decimal = None
    if len(marks) <= 1 and " " not in marks:
        decimal = ".".join(runs)
    grouped = None
    for has_decimals in (False, True):
        between, groups = (marks[:-1], runs[:-1]) if has_decimals else (marks, runs)
        is_even = len(set(between)) == 1 and len(groups) > 1 and {len(group) for group in groups[1:]} == {3}
        if is_even and 1 <= len(groups[0]) <= 3 and groups[0][0] != "0":
            if not has_decimals:
                grouped = "".join(groups)
            elif marks[-1] != between[0] and marks[-1] != " ":
                grouped = f"{''.join(groups)}.{runs[-1]}"
    if decimal is not None and marks == [","] and len(runs[1]) == 3 and len(runs[0]) <= 3 and runs[0].strip("0"):
        return None
    return decimal if decimal is not None else grouped


def test_every_text_of_up_to_seven_digits_and_three_marks_follows_the_grammar():
    tried = refused = 0
    for digits in ["1234567"[:length] for length in range(1, 8)] + ["0123456"[:length] for length in range(1, 8)]:
        for count in range(4):
            for places in combinations_with_replacement(range(len(digits) + 1), count):
                for marks in product(",. ", repeat=count):
                    text = digits
                    for place, mark in sorted(zip(places, marks, strict=True), reverse=True, key=lambda one: one[0]):
                        text = text[:place] + mark + text[place:]
                    if text != text.strip():
                        continue
                    tried += 1
                    wanted = plainly(text)
                    try:
                        got = read_number(text)
                    except NotReadable:
                        refused += 1
                        assert wanted is None, text
                    else:
                        assert wanted is not None, text
                        assert got == float(wanted), text
    assert (tried, refused) == (15_624, 15_429)


@pytest.mark.parametrize(
    ("text", "thousands", "number"),
    [
        ("22,910", ",", 22910),
        ("22,910.5", ",", 22910.5),
        ("8.5", ",", 8.5),
        ("22,91", ",", None),
        ("22.910,5", ",", None),
        ("22.910", ".", 22910),
        ("8,5", ".", 8.5),
        ("22.91", ".", None),
        ("1 234", ".", 1234),
    ],
)
def test_a_settled_thousands_mark_is_never_a_decimal_mark(text, thousands, number):
    if number is None:
        with pytest.raises(NotReadable):
            read_number(text, thousands=thousands)
    else:
        assert read_number(text, thousands=thousands) == number


def meant(text: str) -> Decimal:
    """What the text says with its decimal mark made a point and its thousands marks taken out."""
    kept = re.sub(r"[ '\u00a0]", "", text.strip()).replace("\u2212", "-")
    marks = [mark for mark in kept if mark in ",."]
    if len(marks) > 1 and len(set(marks)) == 1:  # only thousands marks
        return Decimal(kept.replace(marks[0], ""))
    if marks:
        whole, fraction = kept.rsplit(marks[-1], 1)
        kept = f"{re.sub('[,.]', '', whole)}.{fraction}"
    return Decimal(kept)


def test_of_1000_typed_values_none_is_changed_in_silence():
    """Ways of writing one number: every one is read as just that number, or refused because it could be two."""
    draw = random.Random(20260914)
    forms = [("", "."), ("", ","), (",", "."), (".", ","), (" ", ","), ("\u00a0", "."), ("'", ".")]
    refused = {}
    for _ in range(1000):
        number = Decimal(draw.randint(-9_999_999, 9_999_999)).scaleb(-draw.randint(0, 3))
        thousands, mark = draw.choice(forms)
        text = f"{number:,f}".replace(",", "T").replace(".", mark).replace("T", thousands)
        if re.fullmatch(r"-?\d{1,3}\.\d{3}", text):
            number = Decimal(text)  # a point alone is a decimal mark, as in every CSV
        try:
            got = read_number(text)
        except NotReadable as problem:
            refused[text] = str(problem)
            continue
        assert Decimal(repr(got)) == number, text
    assert len(refused) < 50
    assert [text for text, reason in refused.items() if "could be" not in reason] == []


TYPED = st.one_of(st.text(alphabet="0123456789.,- '\u00a0+eE%", max_size=14), st.text(max_size=20))


def check_number(text: str) -> None:
    try:
        number = read_number(text)
    except NotReadable:
        return
    try:
        assert number == float(meant(text))
    except InvalidOperation:
        pytest.fail(f"{text!r} was read as {number}")


@given(TYPED)
@example("1.234")
@example("1,234.")
def test_whatever_is_typed_is_refused_or_read_exactly(text):
    check_number(text)


@pytest.mark.slow
@settings(max_examples=10_000)
@given(TYPED)
def test_whatever_is_typed_is_refused_or_read_exactly_10_000_times(text):
    check_number(text)


@pytest.mark.parametrize(
    "text",
    [
        "2025-09-14",
        "2025/9/14",
        "2025.09.14",
        " 2025-09-14 ",
        "2025-09-14 00:00:00",
        "2025-09-14T13:30",
        "14/09/2025",
        "09/14/2025",
        "14 Sep 2025",
        "14-Sep-2025",
        "Sep 14, 2025",
        "september 14 2025",
        "Sept. 14 2025",
        "14 Sep",
    ],
)
def test_a_date_is_read_as_it_was_meant(text):
    assert read_date(text, crop_year=2025) == date(2025, 9, 14)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("04/05/2025", "could be 2025-04-05 or 2025-05-04"),
        ("12/11/2025", "could be 2025-12-11 or 2025-11-12"),
        ("2025-02-30", "no such day"),
        ("2025-13-01", "no such day"),
        ("0205-09-14", "the year 205"),
        ("1979-12-31", "the year 1979"),
        ("2101-01-01", "the year 2101"),
        ("14 Foo 2025", "not a month"),
        ("14 Ma 2025", "not a month"),
        ("45000", "not a date"),
        ("tomorrow", "not a date"),
        ("", "not a date"),
        ("14 Sep 25", "not a date"),
        ("2025-09-14 25:00", "not a date"),
    ],
)
def test_what_is_no_date_or_could_be_two_is_refused(text, reason):
    with pytest.raises(NotReadable, match=reason):
        read_date(text)


def test_a_date_without_a_year_needs_the_crop_year():
    with pytest.raises(NotReadable, match="the year is missing"):
        read_date("14 Sep")


@given(st.dates(date(1980, 1, 1), date(2100, 12, 31)), st.sampled_from(["%Y-%m-%d", "%d %b %Y", "%B %d, %Y"]))
def test_every_day_is_read_back_from_each_unmistakable_form(day, form):
    assert read_date(day.strftime(form)) == day


PART = st.one_of(
    st.integers(1, 31).map(str),
    st.integers(1, 12).map("{:02}".format),
    st.integers(1975, 2105).map(str),
    st.sampled_from(["Sep", "September", "may", "Mar", "Ma", "Oct.", "x", ""]),
)
BETWEEN = st.sampled_from(["-", "/", ".", " ", ", ", ""])
DATES = st.one_of(st.tuples(PART, BETWEEN, PART, BETWEEN, PART).map("".join), st.text(max_size=70))


def possible_days(text: str) -> set[date]:
    """Every day that the words and numbers of the text could mean, each word used once, the year of four digits."""
    parts = re.findall(r"[^\W\d_]+|\d+", text)
    years = [part for part in parts if len(part) == 4 and part.isdigit()]
    rest = [part for part in parts if part not in years]
    found = set()
    for first, second in permutations(rest, 2) if len(rest) == 2 and len(years) < 2 else ():
        names = [month for month, name in enumerate(MONTHS, 1) if name.startswith(second.lower())]
        for month in [int(second)] if second.isdigit() else names:
            with suppress(ValueError):
                found.add(date(int(years[0]) if years else CROP_YEAR, month, int(first)))
    return found


def check_date(text: str) -> None:
    """Refused, or the one day that it can mean; with the year first, the month comes before the day."""
    try:
        day = read_date(text, crop_year=CROP_YEAR)
    except NotReadable:
        return
    assert 1980 <= day.year <= 2100
    if year_first := re.match(r"\s*\d{4}[-/.](\d+)[-/.](\d+)", text):
        assert (day.month, day.day) == (int(year_first[1]), int(year_first[2]))
    else:
        assert possible_days(text) == {day}


@given(DATES)
@example("14/09/2025")
@example("09/14/2025")
@example("9 May 2025")
def test_any_text_is_the_day_that_it_means_or_refused(text):
    check_date(text)


@pytest.mark.slow
@settings(max_examples=10_000)
@given(DATES)
def test_any_text_is_the_day_that_it_means_or_refused_10_000_times(text):
    check_date(text)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("18 62", "spaces may only stand between groups of three digits"),
        ("1,2.3,4", "commas and points do not stand as in a number"),
        ("1.2.3", "more than one decimal mark"),
        ("1,2,3", "more than one decimal mark"),
    ],
)
def test_what_is_no_number_is_told_by_its_marks(text, reason):
    with pytest.raises(NotReadable, match=reason):
        read_number(text)


@pytest.mark.parametrize("text", ["13/12/2025", "12/13/2025", "12/12/2025"])
def test_a_day_and_month_that_cannot_be_mistaken_are_read(text):
    assert read_date(text, crop_year=2025) == date(2025, 12, min(13, max(int(text[:2]), int(text[3:5]))))
