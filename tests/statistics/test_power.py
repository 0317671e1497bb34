"""Power of the paired t: R's power.t.test(strict=TRUE) and printed examples; sources in tests/published."""

import numpy as np
import pytest
from scipy import stats

from analytics.statistics.power import detectable_difference, power_of_t, replicates_needed
from tests.published.loader import agreed, published

CASE = published("power_paired_t")


def paired_power(*, count, effect, alpha):
    return power_of_t(effect_in_std_errors=effect * count**0.5, df=count - 1, level=1 - alpha)


def test_power_over_the_grid_of_r():
    grid = CASE["data"]["power_grid"]
    got = [
        paired_power(count=count, effect=effect, alpha=alpha)
        for count, effect, alpha in zip(grid["n"], grid["effect_in_sd_of_differences"], grid["alpha"], strict=True)
    ]
    assert got == agreed(CASE["expected"]["power_grid"])


def test_printed_power_examples():
    """Matched pairs, n 50, dz 0.421637: 0.832114; n 20, variances 10 and 12, r 0.7, difference 2: 0.907."""
    printed = CASE["expected"]["published"]
    assert paired_power(count=50, effect=0.421637, alpha=0.05) == agreed(printed["faul_2007_n50_dz0.421637"])
    sd = (10 + 12 - 2 * 0.7 * 120**0.5) ** 0.5
    got = paired_power(count=20, effect=2 / sd, alpha=0.05)
    assert got == agreed(printed["statpsych_n20_var10_12_cor0.7_es2"])


def test_pairs_needed_over_the_grid_of_r():
    grid = CASE["data"]["pairs_needed"]
    got = [
        replicates_needed(difference=difference, sd=sd, level=1 - grid["alpha"], power=power)
        for difference, sd, power in zip(grid["delta"], grid["sd_of_differences"], grid["power"], strict=True)
    ]
    assert got == CASE["expected"]["pairs_needed"]["value"]


def test_detectable_difference_of_r():
    data = CASE["expected"]["detectable"]["data"]
    got = [
        detectable_difference(
            std_error=data["sd_of_differences"] / count**0.5, df=count - 1, level=1 - data["alpha"], power=data["power"]
        )
        for count in data["n"]
    ]
    assert got == agreed(CASE["expected"]["detectable"]["delta"])


@pytest.mark.parametrize("df", [1, 2, 3, 10, 398, 1e6])
@pytest.mark.parametrize("level", [0.8, 0.95, 0.99, 0.9999])
def test_the_detectable_difference_is_found_at_the_power_asked(df, level):
    found = detectable_difference(std_error=2.5, df=df, level=level)
    assert power_of_t(effect_in_std_errors=found / 2.5, df=df, level=level) == pytest.approx(0.8, abs=1e-9)


@pytest.mark.parametrize(("level", "df"), [(0.8, 3), (0.95, 14), (0.95, 1000), (0.999, 10), (0.9999, 300)])
def test_the_power_rises_to_one_and_is_never_lost(level, df):
    """The distribution function of the library has holes far out: nothing was said there, and so "not enough"."""
    effects = np.linspace(0, 60 * stats.t.ppf((1 + level) / 2, df), 300)
    powers = [power_of_t(effect_in_std_errors=effect, df=df, level=level) for effect in effects]
    assert powers == pytest.approx(np.maximum.accumulate(powers), abs=1e-9)
    assert powers[-1] == 1


def test_a_gap_twelve_times_the_spread_needs_no_more_than_the_fewest():
    """12 * sqrt(10) is 38 standard errors, in such a hole; 11 was said, the first number beyond it."""
    assert replicates_needed(difference=12.0, sd=1.0, level=0.95, fewest=10) == 10


def test_without_a_difference_the_power_is_the_error_rate():
    assert power_of_t(effect_in_std_errors=0.0, df=7, level=0.95) == pytest.approx(0.05, abs=1e-12)


def test_years_as_blocks_cost_degrees_of_freedom():
    paired = replicates_needed(difference=4.0, sd=3.0, level=0.95)
    blocked = replicates_needed(difference=4.0, sd=3.0, level=0.95, blocks=4)
    assert paired < blocked
    assert replicates_needed(difference=4.0, sd=3.0, level=0.95, fewest=50) == 50


def test_no_spread_needs_the_fewest_and_a_hopeless_margin_is_unknown():
    assert replicates_needed(difference=1.0, sd=0.0, level=0.95, fewest=3) == 3
    assert replicates_needed(difference=1e-9, sd=1.0, level=0.95) is None


@pytest.mark.parametrize("replicates", [5, 6])
def test_a_cv_of_5_percent_has_a_fair_chance_of_a_difference_of_10(replicates):
    """Ohio State University Extension, 1999: with 5 to 6 replicates. Taken as better than even, and short of 9 in 10.

    Two plots of CV 5 % differ with a standard deviation of 5 % times root 2.
    """
    effect = 10 / (5 * 2**0.5)
    assert 0.5 < paired_power(count=replicates, effect=effect, alpha=0.05) < 0.9
