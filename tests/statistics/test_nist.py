"""Means, spreads and the spread within years, against the certified values of NIST's Statistical Reference Datasets.

Each set is taken as differences: standing carries the values, windrowed nothing. The univariate sets are field-years of
one crop year, the groups of the one-way sets are crop years. The tolerance stands beside each value (tests/published).
"""

from math import sqrt

import pytest

from analytics.statistics.comparison import compare
from analytics.statistics.results import Finding
from tests.published.loader import agreed, published

UNIVARIATE, ONE_WAY = published("nist_strd_univariate"), published("nist_strd_anova")


def values(name: str) -> list[float]:
    """A univariate set; of the last three NIST prints a rule: one value, then 500 times a pair."""
    first = {"NumAcc2": 1.2, "NumAcc3": 1000000.2, "NumAcc4": 10000000.2}
    if name not in first:
        return UNIVARIATE["data"][name]
    middle = first[name]
    return [middle, *[round(middle - 0.1, 1), round(middle + 0.1, 1)] * 500]


@pytest.mark.parametrize("name", UNIVARIATE["expected"])
def test_mean_and_standard_deviation(name: str) -> None:
    given, certified = values(name), UNIVARIATE["expected"][name]
    found = compare(given, [0.0] * len(given), measure="x", unit="")
    assert found.these_fields.estimate == agreed(certified["mean"])
    assert found.these_fields.std_error * sqrt(len(given)) == agreed(certified["sd"])


@pytest.mark.parametrize("name", [name for name in ONE_WAY["expected"] if name != "SmLs07"])
def test_the_spread_within_years_is_the_residual_of_a_one_way_analysis(name: str) -> None:
    given, certified = ONE_WAY["data"][name], ONE_WAY["expected"][name]
    found = compare(given["y"], [0.0] * len(given["y"]), crop_year=given["group"], measure="x", unit="")
    assert found.these_fields.df == certified["df"]["value"][1]
    assert found.these_fields.std_error * sqrt(len(given["y"])) == agreed(certified["residual_sd"])


def test_a_spread_in_the_last_digit_of_a_double_is_taken_for_rounding_and_not_judged() -> None:
    """SmLs07: thirteen leading digits of every value are the same, so that its 0.1 is within what doubles can round."""
    given = ONE_WAY["data"]["SmLs07"]
    found = compare(given["y"], [0.0] * len(given["y"]), crop_year=given["group"], measure="x", unit="")
    assert found.these_fields.finding is Finding.TOO_FEW
