"""Outlay, life and interest, against the present-value tables in tests/published/trade/money.csv."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.errors import BadInput
from analytics.money.buying import Purchase, annuity_factor, buy, present_value

PARTS = {"outlay": 30_000.0, "life_years": 10, "salvage": 5_000.0, "interest_pct": 7.0, "acres_a_year": 800.0}


def test_present_value_of_a_lump_sum_as_published():
    """USDA Natural Resources Conservation Service, interest and annuity workbook: PV_LUMP."""
    assert present_value(3400, interest_pct=7, years=10) == pytest.approx(1728.39, abs=0.01)


def test_present_value_of_an_annuity_as_published():
    """Same workbook: PV_ANNUITY, 1 a year for 30 years at 7 %."""
    assert annuity_factor(interest_pct=7, years=30) == pytest.approx(12.409, abs=0.0005)


def test_payback_of_3000_at_500_a_year_is_six_years():
    """PAYBACK: inputs from an organic farming association article on equipment; answer derived."""
    purchase = Purchase(outlay=3000, life_years=10, salvage=0, interest_pct=0, acres_a_year=100)
    assert buy(purchase, gain_ac=5.0).payback_years == 6.0


def test_without_interest_the_cost_is_a_straight_line():
    result = buy(Purchase(**{**PARTS, "interest_pct": 0.0}), gain_ac=5.0)
    assert result.cost_a_year == pytest.approx((30_000 - 5_000) / 10)
    assert result.net_present_value == pytest.approx(10 * 4_000 + 5_000 - 30_000)


@given(st.floats(1_000, 200_000), st.integers(1, 30), st.floats(0, 1), st.floats(0, 20), st.floats(10, 5_000))
def test_a_gain_equal_to_the_cost_per_acre_brings_nothing_over_its_life(outlay, life, share, interest, acres):
    purchase = Purchase(
        outlay=outlay, life_years=life, salvage=outlay * share, interest_pct=interest, acres_a_year=acres
    )
    cost_ac = buy(purchase, gain_ac=1.0).cost_ac
    result = buy(purchase, gain_ac=cost_ac)
    assert result.net_present_value == pytest.approx(0, abs=1e-6 * outlay)
    if cost_ac > 0:
        assert result.acres_to_break_even == pytest.approx(acres)


@pytest.mark.parametrize("gain", [0.0, -3.0])
def test_without_a_gain_it_never_comes_back(gain):
    result = buy(Purchase(**PARTS), gain_ac=gain)
    assert result.payback_years is None
    assert result.acres_to_break_even is None
    assert result.net_present_value < 0


def test_a_windrower_that_is_sold_adds_what_it_no_longer_costs():
    kept, sold = buy(Purchase(**PARTS), gain_ac=2.0), buy(Purchase(**PARTS), gain_ac=2.0, saved_a_year=6_000.0)
    factor = annuity_factor(interest_pct=7, years=10)
    assert sold.net_present_value - kept.net_present_value == pytest.approx(6_000 * factor)
    assert sold.acres_to_break_even == 0.0


@pytest.mark.parametrize(
    ("given_value", "words"),
    [
        ({"outlay": 0.0}, "outlay: 0 .* allowed above 0"),
        ({"life_years": 0}, "life: 0 years given; allowed 1 to 50"),
        ({"life_years": 2.5}, "allowed whole years"),
        ({"salvage": -1.0}, "salvage: −1 \\$ given; allowed 0 to 30,000"),
        ({"salvage": 30_001.0}, "salvage: 30001"),
        ({"outlay": 20_000_000.0}, "outlay: 20000000 "),
        ({"interest_pct": -0.1}, "interest"),
        ({"interest_pct": 50.1}, "interest"),
        ({"acres_a_year": 0.0}, "acres a year: 0 .* allowed above 0"),
        ({"acres_a_year": float("nan")}, "acres a year"),
    ],
)
def test_what_cannot_be_is_refused_with_what_is_allowed(given_value, words):
    with pytest.raises(BadInput, match=words):
        Purchase(**{**PARTS, **given_value})


def test_no_interest_and_no_salvage_are_allowed():
    assert Purchase(**{**PARTS, "interest_pct": 0.0, "salvage": 0.0}).salvage == 0.0


def test_an_unknown_gain_is_refused():
    with pytest.raises(BadInput, match="unknown"):
        buy(Purchase(**PARTS), gain_ac=float("nan"))


def test_the_yearly_cost_is_the_outlay_over_the_published_annuity_factor():
    """PV_ANNUITY: 12.409 at 7 % over 30 years, so that an outlay of 12,409 costs 1,000 a year (0.0806 of it)."""
    result = buy(
        Purchase(outlay=12_409.0, life_years=30, salvage=0.0, interest_pct=7.0, acres_a_year=500.0), gain_ac=5.0
    )
    assert result.cost_a_year == pytest.approx(1000.0, abs=0.05)
    assert result.cost_ac == pytest.approx(2.0, abs=0.0001)
