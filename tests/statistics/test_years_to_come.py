"""Years to come: R's values, and a range that is never narrower than the one for these fields."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from analytics.statistics.comparison import compare
from analytics.statistics.results import Finding
from tests.published.loader import agreed, published

YIELD = {"measure": "yield", "unit": "bu/ac"}
HELD = published("years_held")


def compared(differences, years, **options):
    return compare(differences, np.zeros(len(differences)), crop_year=years, **(YIELD | options))


@pytest.mark.parametrize("name", ["dyestuff", "dyestuff2", "dyestuff_uneven", "dyestuff2_uneven"])
def test_hartung_knapp_held_or_not_against_r(name):
    """metafor rma(test="knha") and the pooled t; in Dyestuff2 the batches spread less than chance, and it is held."""
    data, expected = HELD["data"][name], HELD["expected"][name]
    got = compared(data["d"], data["year"], margin=data["margin"])
    answer = got.years_to_come
    for field in (
        "estimate",
        "std_error",
        "df",
        "low",
        "high",
        "p_value",
        "equivalence_low",
        "equivalence_high",
        "equivalence_p",
    ):
        assert getattr(answer, field) == agreed(expected[field]), field
    assert answer.year_sd**2 == agreed(expected["tau2"])
    narrow, reach = got.these_fields, stats.t.ppf(0.975, answer.df) * answer.std_error
    assert narrow.high - narrow.estimate == agreed(expected["these_fields_half_width"])
    assert reach == agreed(expected["hartung_knapp_half_width"])
    assert (answer.high - answer.estimate > reach * (1 + 1e-9)) == expected["held"]["value"]


def test_years_to_come_are_not_settled_where_these_fields_are_not():
    """Said before: not settled here and yet "0.9 more (0.8 to 1.0): a real difference" for years to come."""
    differences = [5.9, -4.1, 5.8, -3.9, 6.1, -4.4]
    got = compared(differences, [2021, 2021, 2022, 2022, 2023, 2023])
    assert got.these_fields.finding is got.years_to_come.finding is Finding.NOT_SETTLED
    means = np.array(differences).reshape(3, 2).mean(1)
    assert stats.ttest_1samp(means, 0).pvalue < 0.05  # the years alone would call it settled
    assert got.years_to_come.p_value > 0.5


def rows():
    value = st.integers(-80, 80).map(lambda k: k / 10)
    return st.lists(st.tuples(value, st.integers(2001, 2005)), min_size=2, max_size=16)


@given(rows(), st.sampled_from([0.8, 0.9, 0.95, 0.99]), st.sampled_from([0.5, 2.0]))
def test_the_range_for_years_to_come_is_never_narrower(pairs, level, margin):
    differences, years = zip(*pairs, strict=True)
    got = compared(differences, years, level=level, margin=margin)
    narrow, broad = got.these_fields, got.years_to_come
    if narrow.low is None or broad.low is None:
        return
    exact = 1 - 1e-9
    assert broad.high - broad.low >= exact * (narrow.high - narrow.low)
    assert broad.equivalence_high - broad.equivalence_low >= exact * (narrow.equivalence_high - narrow.equivalence_low)
    settled = {Finding.STANDING_HIGHER, Finding.STANDING_LOWER}
    assert (broad.p_value < 1 - level) == (broad.low > 0 or broad.high < 0)
    assert broad.finding not in settled or broad.p_value < 1 - level
    own = 2 * stats.t.sf(abs(broad.estimate) / broad.std_error, broad.df) if broad.std_error else 0
    assert broad.p_value >= own * exact


def test_prediction_takes_the_error_before_it_was_held():
    data = HELD["data"]["dyestuff2"]
    answer = compared(data["d"], data["year"]).years_to_come
    variance = answer.std_error**2 + answer.year_sd**2 + answer.field_sd**2
    reach = stats.t.ppf(0.975, 5) * variance**0.5
    assert (answer.prediction_low, answer.prediction_high) == pytest.approx(
        (answer.estimate - reach, answer.estimate + reach)
    )


def test_years_with_no_spread_within_count_alike():
    got = compared([1.0, 1.0, 3.0, 2.5, 2.5, 2.5], [1, 1, 2, 3, 3, 3]).years_to_come
    assert got.method == "t over year means"
    assert got.p_value == pytest.approx(stats.ttest_1samp([1, 3, 2.5], 0).pvalue)


def test_year_means_that_are_all_alike_rest_on_the_spread_of_fields():
    got = compared([1.0, 3.0, 1.0, 3.0, 1.0, 3.0], [1, 1, 2, 2, 3, 3])
    assert got.years_to_come.std_error == 0
    assert (got.years_to_come.low, got.years_to_come.high) == pytest.approx(
        (got.these_fields.low, got.these_fields.high)
    )
