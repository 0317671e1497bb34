"""Shares and counts against published examples and R; sources in tests/published."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.statistics.exact_tests import sign_test_p
from analytics.statistics.proportions import (
    clopper_pearson,
    holm_adjusted,
    mantel_haenszel_odds_ratio,
)
from tests.published.loader import agreed, published

BINOMIAL = published("binomial_intervals")["expected"]


@pytest.mark.parametrize(
    "case", BINOMIAL["cases"] + BINOMIAL["green_seed_sizes"], ids=lambda c: f"{c['x']} of {c['n']}"
)
def test_single_share_intervals(case):
    """Newcombe 1998, Statistics in Medicine 17:857-872, and R binom.test and prop.test."""
    got = clopper_pearson(case["x"], case["n"])
    assert got.estimate == case["x"] / case["n"]
    assert [got.low, got.high] == agreed(case["clopper_pearson"])
    if "clopper_pearson_published" in case:
        assert [got.low, got.high] == agreed(case["clopper_pearson_published"])


def test_a_share_of_everything_mirrors_a_share_of_nothing():
    nothing, everything = clopper_pearson(0, 20), clopper_pearson(20, 20)
    assert (everything.low, everything.high) == pytest.approx((1 - nothing.high, 1.0))
    assert (nothing.low, everything.high) == (0.0, 1.0)


@pytest.mark.parametrize(("count", "total"), [(-1, 5), (6, 5), (0, 0)])
def test_impossible_counts_are_refused(count, total):
    with pytest.raises(ValueError, match="allowed 0 to"):
        clopper_pearson(count, total)


@pytest.mark.parametrize("name", ["bentur_2009", "cavo_2012", "fay_example", "agresti_approval"])
def test_paired_yes_or_no_is_the_sign_test_of_those_that_differ(name):
    """Fagerland, Lydersen and Laake 2017 ch. 8; Fay 2010; Agresti 1990; and R: McNemar's exact p."""
    case = published("mcnemar")
    _, only_first, only_second, _ = case["data"][name]
    expected = case["expected"][name]
    p = sign_test_p([1.0] * only_first + [-1.0] * only_second)
    assert p == agreed(expected["exact_p"])
    if "exact_p" in expected["published"]:
        assert p == agreed(expected["published"]["exact_p"])


def test_counts_below_zero_are_refused():
    with pytest.raises(ValueError, match="0 or more"):
        mantel_haenszel_odds_ratio([1], [-1], [1], [1])


def test_mantel_haenszel_over_cities_and_departments():
    """Agresti 2002 section 6.3 (eight Chinese cities); Bickel and others 1975 (six departments); R mantelhaen.test."""
    case = published("mantel_haenszel")
    cities, expected = case["data"]["china_smoking"], case["expected"]["china_smoking"]
    got = mantel_haenszel_odds_ratio(cities["a"], cities["b"], cities["c"], cities["d"])
    assert got.estimate == agreed(expected["odds_ratio"]) == agreed(expected["published"]["odds_ratio"])
    assert [got.low, got.high] == agreed(expected["ci95"])
    departments, expected = case["data"]["ucb_admissions"], case["expected"]["ucb_admissions"]
    names = ("male_admitted", "male_rejected", "female_admitted", "female_rejected")
    got = mantel_haenszel_odds_ratio(*(departments[name] for name in names))
    assert got.estimate == agreed(expected["odds_ratio"]) == agreed(expected["published"]["odds_ratio"])
    assert [got.low, got.high] == agreed(expected["ci95"])


def test_an_odds_ratio_without_events_on_both_sides_is_unknown():
    assert mantel_haenszel_odds_ratio([3, 0], [97, 100], [0, 0], [100, 100]) is None
    assert mantel_haenszel_odds_ratio([0], [0], [0], [0]) is None


def test_an_empty_stratum_changes_nothing():
    one = mantel_haenszel_odds_ratio([3, 5], [97, 95], [1, 2], [99, 98])
    assert mantel_haenszel_odds_ratio([3, 5, 0], [97, 95, 0], [1, 2, 0], [99, 98, 0]) == one


def test_holm_steps_down():
    """By hand after Holm 1979: 0.01 x 4, then 0.02 x 3, then never smaller than the one before."""
    assert holm_adjusted([0.02, 0.01, 0.03, 0.9]) == pytest.approx([0.06, 0.04, 0.06, 0.9])
    assert holm_adjusted([0.6, 0.7]) == [1.0, 1.0]
    assert holm_adjusted([None, 0.04]) == [None, 0.04]
    assert holm_adjusted([]) == []


@given(st.lists(st.floats(0, 1), min_size=1, max_size=12))
def test_holm_never_lowers_a_p_and_keeps_their_order(p_values):
    adjusted = holm_adjusted(p_values)
    assert all(p <= a <= 1 for p, a in zip(p_values, adjusted, strict=True))
    assert min(adjusted) == min(1.0, min(p_values) * len(p_values))
    by_size = [a for _, a in sorted(zip(p_values, adjusted, strict=True))]
    assert by_size == sorted(by_size)
