"""Numbers, amounts and counts as text."""

import pytest

from analytics.trade.numbers_as_text import amount, count, counted, number, percent_words


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [
        (1.25, 2, "1.25"),
        (-1.3, 1, "\u22121.3"),
        (-0.04, 1, "0.0"),
        (0.0, 0, "0"),
        (999.4, 0, "999"),
        (999.6, 0, "1,000"),
        (-1_234_567.8, 1, "\u22121,234,567.8"),
        (None, 1, "unknown"),
        (float("nan"), 1, "unknown"),
        (float("-inf"), 1, "unknown"),
    ],
)
def test_number_as_text(value, decimals, text):
    assert number(value, decimals) == text


def test_a_sign_is_shown_when_asked_and_never_before_zero():
    assert [number(value, 1, sign=True) for value in (1.0, 0.0, -0.01, -1.0)] == ["+1.0", "0.0", "0.0", "\u22121.0"]


@pytest.mark.parametrize(
    ("value", "unit", "decimals", "text"),
    [
        (1.3, "bu/ac", 1, "1.3 bu/ac"),
        (1, "points", 0, "1 point"),
        (1, "points", 1, "1.0 points"),
        (0.9, "points", 1, "0.9 points"),
        (1, "days", 0, "1 day"),
        (3, "days", 0, "3 days"),
        (14.2, "$/ac", 0, "$14 an acre"),
        (-14.2, "$/ac", 0, "\u2212$14 an acre"),
        (0.25, "$/head", 2, "$0.25 per head"),
        (2, "$", 0, "$2"),
        (2.5, "%", 1, "2.5\u202f%"),
        (2.5, "", 1, "2.5"),
        (None, "bu/ac", 1, "unknown"),
        (None, "$/ac", 0, "unknown"),
    ],
)
def test_amount_with_its_unit(value, unit, decimals, text):
    assert amount(value, unit, decimals) == text


def test_counts_are_singular_for_one():
    assert [count(n, "pair") for n in (0, 1, 2)] == ["0 pairs", "1 pair", "2 pairs"]
    assert [counted(n, "year") for n in (1, 12, 13)] == ["One year", "Twelve years", "13 years"]


def test_a_share_is_said_in_percent():
    assert [percent_words(share) for share in (0.95, 0.9, 0.8, 0.995)] == [
        "95\u202f%",
        "90\u202f%",
        "80\u202f%",
        "99.5\u202f%",
    ]
