"""What is said of years to come, beside the fields on record and alone."""

import pytest

from analytics.answer import wording
from analytics.statistics.replicates import YearResult
from tests.answer.made import FEW, HIGHER, LOWER, OPEN, SAME, answer, comparison


def test_both_questions_as_on_the_screen():
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2), answer(OPEN, 1.2, -1.1, 3.6), new_field=(-7.1, 9.4))
    assert wording.sentence(one) == (
        "Standing plots yielded 1.3 bu/ac more (0.4 to 2.2) on these 14 field-years over 5 years: "
        "more than chance explains. "
        "For years to come it is not settled: the average could lie between 1.1 less and 3.6 more, "
        "and a field not tried yet between 7 less and 9 more."
    )


def test_years_to_come_alone_carries_the_unit():
    one = comparison(answer(HIGHER, 1.3, 0.4, 2.2), answer(OPEN, 1.2, -1.1, 3.6))
    assert wording.years_to_come_sentence(one) == (
        "For years to come it is not settled: the average could lie between 1.1 less and 3.6 bu/ac more."
    )


def test_a_difference_for_years_to_come():
    one = comparison(answer(LOWER, -1.3, -2.2, -0.4), answer(LOWER, -1.2, -2.0, -0.4), new_field=(-5.0, -0.6))
    assert wording.years_to_come_sentence(one) == (
        "For years to come standing plots would yield 1.2 bu/ac less on average (2.0 to 0.4 less): "
        "more than chance explains, as far as 5 years can tell; a field not tried yet could lie between 5.0 and 0.6 "
        "less."
    )


def test_small_difference_for_years_to_come():
    one = comparison(answer(HIGHER, 0.5, 0.2, 0.8), answer(HIGHER, 0.5, 0.1, 0.9, small=True))
    assert "can tell, but smaller than the 1.0 bu/ac that would matter." in wording.years_to_come_sentence(one)


def test_no_difference_that_matters_for_years_to_come():
    one = comparison(
        answer(SAME, 0.1, -0.5, 0.7), answer(SAME, 0.1, -1.1, 0.9, equivalence_low=-0.6, equivalence_high=0.7)
    )
    assert wording.years_to_come_sentence(one) == (
        "For years to come yield is the same for practical purposes on average: the difference lies between 0.6 less "
        "and 0.7 more (90\u202f% range), inside the 1.0 bu/ac that would matter."
    )


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (-1.32, 0.009, "between 1.3 less and just over 0"),
        (-0.009, 1.32, "between just under 0 and 1.3 more"),
        (0.0002, 0.37, "between just over 0 and 0.4 more"),
    ],
)
def test_rounding_never_hides_a_sign(low, high, words):
    """-1.32 to +0.009 was told as between 1 and 0 less, and 0.0002 to 0.3731 to four decimals."""
    terms = wording.words_for(comparison(answer(OPEN, 0.0, -9.0, 9.0)), answer(OPEN, 0.0, -9.0, 9.0))
    assert terms.between(low, high) == words


@pytest.mark.parametrize(
    ("first", "second", "words"),
    [
        (0.4, 2.0, "0.4 and 2.0 bu/ac more"),
        (-0.4, 2.0, "0.4 less and 2.0 bu/ac more"),
        (-2, -1, "2.0 and 1.0 bu/ac less"),
    ],
)
def test_two_years_are_told_by_their_averages(first, second, words):
    by_year = tuple(
        YearResult(crop_year=year, field_years=3, estimate=estimate, low=None, high=None)
        for year, estimate in ((2022, first), (2023, second))
    )
    few = answer(FEW, 1.2, reason="There are 2 years; at least 3 are needed.", replicates=2)
    one = comparison(answer(OPEN, 1.2, -0.5, 2.9), few, years=2, by_year=by_year)
    assert wording.years_to_come_sentence(one) == (
        "For years to come nothing can be said yet. There are 2 years; at least 3 are needed. "
        f"The two yearly averages were {words}."
    )
