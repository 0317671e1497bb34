"""Does it depend on yes or no: agreement with R, and what is refused."""

import numpy as np
import pytest
from scipy import stats

from analytics.statistics.depends_on import Moderator, NotAsked, moderator
from tests.published.loader import agreed, published

CASE = published("depends_on_x")


def answer(name, **options):
    data = CASE["data"][name]
    return moderator(data["d"], data["year"], data["x"], **options)


@pytest.mark.parametrize("name", CASE["data"])
def test_agrees_with_lm_and_with_pbkrtest(name):
    """R 4.2.2 lm, lme4 1.1.31, pbkrtest 0.5.2; data sources in the file."""
    got, expected = answer(name), CASE["expected"][name]
    for contrast, values in ((got.fixed, expected), (got.random, expected["random"])):
        for number in ("without", "with", "difference", "std_error", "df", "low", "high", "p"):
            mine = getattr(contrast, "with_" if number == "with" else number)
            assert mine == agreed(values[number]), number


@pytest.mark.parametrize("seed", range(5))
def test_within_one_year_random_years_say_what_fixed_ones_say(seed):
    """Both are then the comparison of two groups with one spread."""
    random = np.random.default_rng(seed)
    group, d = random.random(40) < 0.6, random.normal(size=40)
    got = moderator(d, np.full(40, 2024), group)
    by_scipy = stats.ttest_ind(d[group], d[~group])
    for contrast in (got.fixed, got.random):
        assert (contrast.without, contrast.with_) == pytest.approx((d[~group].mean(), d[group].mean()), rel=1e-9)
        assert (contrast.df, contrast.p) == pytest.approx((38, by_scipy.pvalue), rel=1e-7)


def test_the_level_moves_the_range_alone():
    wide, narrow = answer("npk", level=0.99), answer("npk", level=0.8)
    assert wide.fixed.low < narrow.fixed.low < narrow.fixed.high < wide.fixed.high
    assert wide.random.p == narrow.random.p


def test_swapping_yes_and_no_flips_the_sign():
    data = CASE["data"]["wool_uneven"]
    got, other = answer("wool_uneven"), moderator(data["d"], data["year"], [not x for x in data["x"]])
    for one, two in ((got.fixed, other.fixed), (got.random, other.random)):
        assert two.difference == pytest.approx(-one.difference, rel=1e-9)
        assert (two.without, two.with_) == pytest.approx((one.with_, one.without), rel=1e-9)
        assert (two.low, two.high, two.p) == pytest.approx((-one.high, -one.low, one.p), rel=1e-8)


def test_unit_and_offset_change_nothing_else():
    data = CASE["data"]["npk_uneven"]
    got, other = answer("npk_uneven"), moderator(1e6 * np.array(data["d"]) + 1e7, data["year"], data["x"])
    for one, two in ((got.fixed, other.fixed), (got.random, other.random)):
        assert two.difference == pytest.approx(1e6 * one.difference, rel=1e-7)
        assert (two.df, two.p) == pytest.approx((one.df, one.p), rel=1e-6)


FOUR_YEARS = [2021, 2021, 2022, 2022, 2023, 2023, 2024, 2024]


@pytest.mark.parametrize(
    ("x", "year", "d", "reason"),
    [
        ([1, 1, 0, 0, 0, 0, 0, 0], FOUR_YEARS, range(8), "2 field-years with it and 6 without: it takes 3 of each"),
        ([1, 1, 1, 1, 0, 0, 0, 0], FOUR_YEARS, range(8), "no year has field-years both with it and without it"),
        ([1, 0, 1, 0, 1, 0], [1, 1, 2, 2, 3, 4], range(6), "6 field-years over 4 years leave 1"),
        ([1, 0, 1, 0, 1, 0, 1, 0], FOUR_YEARS, [5.0] * 8, "no spread to judge by"),
        ([1, 0, 1, 0, 1, 0, 1, 0], FOUR_YEARS, [1.1, 0.1] * 4, "no spread to judge by"),
    ],
)
def test_says_why_it_cannot_be_asked(x, year, d, reason):
    got = moderator(list(d), year, x)
    assert isinstance(got, NotAsked)
    assert reason in got.reason


def test_the_least_that_can_be_asked():
    got = moderator([1.0, 2.5, 0.5, 2.0, 3.0, 1.0], [1, 1, 2, 2, 3, 3], [False, True, False, True, True, False])
    assert isinstance(got, Moderator)
    assert got.fixed.df == 2
    assert (got.field_years_with, got.field_years_without) == (3, 3)
