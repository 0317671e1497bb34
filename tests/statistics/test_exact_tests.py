"""Exact tests: published cases, full enumeration of small ones, and what is returned where counting is out of reach."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest, rankdata

from analytics.statistics import exact_tests
from analytics.statistics.exact_tests import HodgesLehmann, hodges_lehmann, sign_flip_p, sign_test_p, wilcoxon_p
from tests.published.loader import agreed, published


def published_differences():
    plain = ["student_kiln_dried", "preece_barley_12_farms", "preece_oats_9_years", "preece_wheat_6_pairs"]
    cases = [(name, published(name)["data"]["difference"], published(name)["expected"]) for name in plain]
    for name, column in [
        ("darwin_zea_mays", "difference_eighths"),
        ("student_sleep", "difference"),
        ("boys_shoes", "difference_B_minus_A"),
        ("immer_barley", "difference_1931_minus_1932"),
        ("student_two_pairs", "difference_as_printed"),
    ]:
        cases.append((name, published(name)["data"][column], published(name)["expected"]))
    soft_seed, farms = published("student_soft_seed"), published("preece_barley_12_farms")
    cases.append(("soft_seed", soft_seed["data"]["corn_difference"], soft_seed["expected"]["corn"]))
    cases.append(("eleven_farms", farms["data"]["difference"][:11], farms["expected"]["without_farm_12"]))
    return [pytest.param(differences, expected, id=name) for name, differences, expected in cases]


@pytest.mark.parametrize(("differences", "expected"), published_differences())
def test_published_pairs_agree_with_r(differences, expected):
    """Values and sources in tests/published; exactRankTests keeps mid-ranks and drops zeros, as here."""
    assert sign_flip_p(differences) == agreed(expected["signflip_p_check_exactRankTests"])
    assert wilcoxon_p(differences) == agreed(expected["wilcoxon_exact_p"])
    assert sign_test_p(differences) == agreed(expected["sign_test_p"])
    for level, key in ((0.95, "hodges_lehmann_ci95"), (0.90, "hodges_lehmann_ci90")):
        got = hodges_lehmann(differences, level=level)
        assert got.estimate == agreed(expected["hodges_lehmann"])
        if expected[key].get("kind") == "undefined":
            assert (got.low, got.high) == (None, None)
        else:
            assert [got.low, got.high] == agreed(expected[key])


def test_darwins_863_arrangements_in_inches_as_in_eighths():
    """Fisher 1935, The Design of Experiments, section 21: 863 of 32768 arrangements on each side."""
    data = published("darwin_zea_mays")["data"]
    inches = np.subtract(data["first_inches"], data["second_inches"])
    assert sign_flip_p(inches) == 2 * 863 / 32768
    assert sign_flip_p(data["difference_eighths"]) == 2 * 863 / 32768


def test_box_hunter_hunter_shoes_7_of_1024():
    """Box, Hunter and Hunter 1978, Statistics for Experimenters, ch. 4: 7 of 1024, so p two-sided is 14/1024."""
    assert sign_flip_p(published("boys_shoes")["data"]["difference_B_minus_A"]) == 14 / 1024


def test_critical_ranks_of_the_printed_table():
    """University of York table of T, P = 0.05, exact at every n (see the file's notes on tables that are not)."""
    table = published("critical_values_wilcoxon")
    for count, critical in zip(table["data"]["n"], table["expected"]["two_sided_5pct_published"]["value"], strict=True):
        smallest = table["expected"]["smallest_two_sided_p"]["value"][count - 4]
        assert wilcoxon_p(range(1, count + 1)) == pytest.approx(smallest, rel=1e-12)
        if critical is None:
            assert smallest > 0.05
            continue
        assert p_when_negative_ranks_sum_to(critical, count) <= 0.05 < p_when_negative_ranks_sum_to(critical + 1, count)


def p_when_negative_ranks_sum_to(total, count):
    values = np.arange(1.0, count + 1)
    for rank in range(count, 0, -1):
        if rank <= total:
            values[rank - 1] *= -1
            total -= rank
    assert total == 0
    return wilcoxon_p(values)


def enumerated_p(values):
    """Share of all sign patterns whose sum is at least as far from 0, straight from the definition."""
    sums = [
        abs(sum(sign * abs(v) for sign, v in zip(signs, values, strict=True)))
        for signs in product((-1, 1), repeat=len(values))
    ]
    return sum(total >= abs(sum(values)) - 1e-9 for total in sums) / len(sums)


halves_with_ties_and_zeros = st.lists(st.integers(-8, 8).map(lambda k: k / 2), min_size=1, max_size=9)
off_any_grid = st.lists(st.integers(-(10**6), 10**6).map(lambda k: k * np.pi / 10**5), min_size=1, max_size=9)


@given(halves_with_ties_and_zeros)
def test_sign_flip_equals_full_enumeration_with_ties_and_zeros(values):
    assert sign_flip_p(values) == pytest.approx(enumerated_p(values), rel=1e-12)


@given(off_any_grid)
def test_sign_flip_equals_full_enumeration_off_any_grid(values):
    assert sign_flip_p(values) == pytest.approx(enumerated_p(values), rel=1e-12)


@given(halves_with_ties_and_zeros.filter(any))
def test_wilcoxon_equals_full_enumeration_with_ties_and_zeros(values):
    ranked = [v for v in values if v]
    signed_ranks = np.sign(ranked) * rankdata(np.abs(ranked))
    assert wilcoxon_p(values) == pytest.approx(enumerated_p(signed_ranks.tolist()), rel=1e-12)


@given(halves_with_ties_and_zeros, st.sampled_from([0.8, 0.9, 0.95]))
def test_hodges_lehmann_equals_the_written_out_averages(values, level):
    averages = sorted((a + b) / 2 for i, a in enumerate(values) for b in values[i:])
    got = hodges_lehmann(values, level=level)
    assert got.estimate == pytest.approx(np.median(averages), abs=1e-12)
    ranks = np.arange(1, len(values) + 1)
    sums = sorted(int(ranks[np.array(signs)].sum()) for signs in product((False, True), repeat=len(values)))
    at_least = sums[int(np.ceil((1 - level) / 2 * len(sums) - 1e-12)) - 1]  # smallest with that much at or below it
    if at_least == 0:
        assert (got.low, got.high) == (None, None)
    else:
        assert got.low == pytest.approx(averages[at_least - 1], abs=1e-12)
        assert got.high == pytest.approx(averages[-at_least], abs=1e-12)


def test_counting_and_halves_agree_at_forty():
    values = np.round(np.random.default_rng(4).normal(1, 4, 40), 2)
    nudged = values * (1 + 1e-13)  # off the grid in the sixth digit of a step only: both paths see the same sums
    irrational = values * np.pi
    assert sign_flip_p(nudged) == pytest.approx(sign_flip_p(values), rel=1e-12)
    assert sign_flip_p(irrational) == pytest.approx(sign_flip_p(values), rel=1e-9)


def test_sign_flip_is_exact_for_40_off_grid_and_unknown_for_41():
    values = np.random.default_rng(1).normal(0.5, 2, 41)
    assert 0 < sign_flip_p(values[:40]) < 1
    assert sign_flip_p(values) is None


def test_sign_flip_is_exact_for_200_on_a_grid():
    """200 differences of the same size: the binomial distribution is the answer."""
    values = np.where(np.arange(200) < 120, 0.37, -0.37)
    assert sign_flip_p(values) == pytest.approx(binomtest(120, 200).pvalue, rel=1e-12)
    assert 0 < sign_flip_p(np.round(np.random.default_rng(2).normal(0.3, 4, 200), 2)) < 1


def test_averages_of_three_strips_still_sit_on_a_grid():
    thirds = np.random.default_rng(3).integers(-900, 1200, 60) / 300
    assert sign_flip_p(thirds) == sign_flip_p(thirds * 300)


def test_differences_that_only_rounding_tells_apart_are_tied():
    ties = [45.3 - 43.3, 44.1 - 42.1, 43.3 - 45.3, 1.0, 5.0]
    assert wilcoxon_p(ties) == wilcoxon_p([2, 2, -2, 1, 5])
    assert sign_test_p([0.1 + 0.2 - 0.3, 1.0]) == sign_test_p([0.0, 1.0])


def test_nothing_to_count():
    assert sign_flip_p([]) is None
    assert wilcoxon_p([]) is None
    assert wilcoxon_p([0.0, 0.0]) is None
    assert sign_test_p([0.0]) is None
    assert sign_flip_p([0.0, 0.0]) == 1.0
    assert hodges_lehmann([], level=0.95) == HodgesLehmann(estimate=None, low=None, high=None)


def test_hodges_lehmann_interval_needs_six_at_95_percent():
    assert hodges_lehmann([1, 2, 3, 4, 5], level=0.95).low is None
    assert hodges_lehmann([1, 2, 3, 4, 5, 6], level=0.95).low == 1


def test_large_samples_pass_smoothly_into_the_normal_approximation():
    values = np.random.default_rng(5).normal(0.1, 1, 501)
    exact, approximate = wilcoxon_p(values[:500]), wilcoxon_p(np.append(values[:500], 1e-9))
    assert approximate == pytest.approx(exact, rel=0.02)
    ten_thousand = np.random.default_rng(6).normal(0.1, 1, 10_000)
    got = hodges_lehmann(ten_thousand, level=0.95)
    assert got.low < got.estimate < got.high
    assert got.high - got.low == pytest.approx(2 * 1.96 * (np.pi / 3) ** 0.5 / 100, rel=0.05)
    assert hodges_lehmann(np.zeros(20_001), level=0.95).estimate is None


@given(st.lists(st.integers(-500, 500).map(lambda k: k / 100), min_size=2, max_size=25), st.randoms())
def test_swapping_sides_and_shuffling_change_nothing(values, random):
    shuffled = random.sample(values, len(values))
    swapped = [-v for v in values]
    for test in (sign_flip_p, wilcoxon_p, sign_test_p):
        assert test(values) == pytest.approx(test(swapped)) == pytest.approx(test(shuffled))
    straight, other_way = hodges_lehmann(values, level=0.9), hodges_lehmann(swapped, level=0.9)
    assert straight.estimate == -other_way.estimate
    assert straight.low == (None if other_way.high is None else -other_way.high)


@pytest.mark.parametrize("tail", [0.025, 0.05, 0.1])
def test_past_the_longest_count_the_normal_quantile_goes_on_where_the_exact_one_ends(monkeypatch, tail):
    """Rank sums of 500 values reach 125,250 with a spread of 3,231: the normal quantile is within 3 of the exact."""
    exact = exact_tests._signed_rank_quantile(500, tail)
    monkeypatch.setattr(exact_tests, "LARGEST_EXACT_RANKS", 499)
    assert abs(exact_tests._signed_rank_quantile(500, tail) - exact) <= 3
