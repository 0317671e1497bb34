"""Do the years agree? Gail and Simon's own example and tables, R's values for both tests, and the old wrong case."""

import numpy as np
import pytest

from analytics.statistics.comparison import compare
from analytics.statistics.estimates import YearSums
from analytics.statistics.results import Finding
from analytics.statistics.years_agree import agreement, gail_simon_p
from tests.published.loader import agreed, published

GAIL_SIMON = published("gail_simon")
YIELD = {"measure": "yield", "unit": "bu/ac"}


def compared(differences, years, **options):
    return compare(differences, np.zeros(len(differences)), crop_year=years, **(YIELD | options))


def test_gail_and_simons_own_example():
    """Gail and Simon 1985: four subsets of women with breast cancer, Q- 4.28, p 0.088."""
    data, expected = GAIL_SIMON["data"]["published_example"], GAIL_SIMON["expected"]["published_example"]
    p = float(gail_simon_p(data["difference"], data["variance"]))
    assert p == agreed(expected["chi_square_p"])
    assert p == agreed(expected["published"]["p"])
    assert float(gail_simon_p(data["difference"], data["variance"], df=20)) == agreed(expected["f_form_p_with_20_df"])
    assert float(gail_simon_p(data["difference"], data["variance"], df=1e9)) == agreed(expected["f_form_p_with_1e9_df"])


def test_critical_values_of_gail_and_simon():
    """Their table at 0.05: with the smaller sum of squares at the critical value, p is 0.05."""
    subsets, critical = (
        GAIL_SIMON["data"]["critical"]["subsets"],
        GAIL_SIMON["expected"]["critical"]["least_q_at_0.05"]["value"],
    )
    for groups, least in zip(subsets, critical, strict=True):
        means = np.array([-(least**0.5), *[100.0] * (groups - 1)])
        assert float(gail_simon_p(means, np.ones(groups))) == pytest.approx(0.05, abs=1e-9)


@pytest.mark.parametrize(
    "name", ["immer_by_place", "immer_by_variety_less_its_mean", "kiln_dried", "years_apart", "one_side"]
)
def test_both_tests_against_r(name):
    data, expected = GAIL_SIMON["data"][name], GAIL_SIMON["expected"][name]
    got = compared(data["d"], data["year"]).years_agree
    assert got.f_p == agreed(expected["f_p"])
    assert got.gail_simon_p == agreed(expected["gail_simon_p"])


def test_a_year_alone_or_one_field_year_a_year_says_nothing():
    for differences, years in (([1.0, 2.0, 4.0], [1, 1, 1]), ([1.0, 2.0, 4.0], [1, 2, 3]), ([], [])):
        got = compared(differences, years).years_agree
        assert (got.f_p, got.gail_simon_p, got.disagree) == (None, None, False)


def test_no_spread_within_years_says_nothing():
    got = compared([1.0, 1.0, -2.0, -2.0], [1, 1, 2, 2]).years_agree
    assert (got.f_p, got.gail_simon_p) == (None, None)


def test_years_on_one_side_have_p_one():
    assert float(gail_simon_p([1.0, 2.0, 0.0], [1.0, 1.0, 1.0])) == 1.0
    assert float(gail_simon_p([-1.0, -2.0], [1.0, 1.0], df=5)) == 1.0


def test_ten_thousand_farms_go_through_the_same_lines():
    random = np.random.default_rng(1)
    counts, means, squares = np.array([2.0, 3.0, 4.0]), random.normal(size=(5, 3)), random.chisquare(6, 5)
    many = agreement(YearSums(counts=np.tile(counts, (5, 1)), means=means, squares=squares))
    for farm in range(5):
        one = agreement(YearSums(counts=counts, means=means[farm], squares=squares[farm]))
        assert float(one.f_p) == pytest.approx(float(many.f_p[farm]), rel=1e-12)
        assert float(one.gail_simon_p) == pytest.approx(float(many.gail_simon_p[farm]), rel=1e-12)


# --- what follows

OPPOSITE = [4.8, 4.9, 5.0, 5.1, -4.6, -4.7, -4.75, -4.65], [2023] * 4 + [2024] * 4


def test_years_of_opposite_sign_are_no_finding_but_depend_on_the_year():
    """Said before: "0.14 more (0.03 to 0.25): a real difference here, but smaller than would matter"."""
    got = compared(*OPPOSITE, margin=1.0, direction="lower")
    answer = got.these_fields
    assert 0 < answer.low < answer.estimate < answer.high < 1.0
    assert (answer.finding, answer.better, answer.small) == (Finding.DEPENDS_ON_YEAR, None, False)
    assert (got.years_agree.highest, got.years_agree.lowest, got.years_agree.disagree) == (2023, 2024, True)
    assert got.cautions[0].code == "years_disagree"


def test_years_that_disagree_are_never_the_same_in_practice():
    """Said before: "the same for practical purposes" with years far beyond the margin on both sides."""
    differences = [1.4, 1.5, 1.6, -1.4, -1.5, -1.6, 0.1, 0.0, -0.1]
    years = [2021] * 3 + [2022] * 3 + [2023] * 3
    answer = compared(differences, years, margin=1.0).these_fields
    assert answer.equivalence_p < 0.05
    assert answer.finding is Finding.DEPENDS_ON_YEAR
    same_side = compared(np.add(differences, 1.6), years, margin=3.0)
    assert same_side.years_agree.gail_simon_p == 1
    assert same_side.these_fields.finding is Finding.STANDING_HIGHER
    assert -3 < same_side.these_fields.low < same_side.these_fields.high < 3
    assert not same_side.these_fields.small  # a size is not said of years that disagree either


def test_years_that_differ_without_changing_sides_are_not_called_the_same():
    """By F alone: one year far from the others, none clearly below zero."""
    differences = [mean + apart for mean in (1.2, -0.3, 0.0, 0.0) for apart in (-0.5, 0.0, 0.5)]
    got = compared(differences, [year for year in range(2021, 2025) for _ in range(3)], margin=1.0)
    agree = got.years_agree
    assert agree.f_p < 0.05 < agree.gail_simon_p
    answer = got.these_fields
    assert -1 < answer.low < 0 < answer.high < 1
    assert answer.equivalence_p < 0.01
    assert answer.finding is got.years_to_come.finding is Finding.NOT_SETTLED


def test_equivalence_is_not_said_for_years_to_come_either():
    random = np.random.default_rng(4)
    years = np.repeat(np.arange(2010, 2022), 6)
    differences = np.repeat(np.tile([0.6, -0.6], 6), 6) + random.normal(0, 0.2, 72)
    broad = compared(differences, years, margin=3.0).years_to_come
    assert broad.equivalence_p < 0.01
    assert broad.finding is Finding.NOT_SETTLED


def test_too_few_comes_before_the_years():
    answer = compared([4.0, -4.0], [2023, 2024]).these_fields
    assert answer.finding is Finding.TOO_FEW


# --- each year alone


def test_year_ranges_take_the_spread_pooled_over_years():
    """Said before of a year with two fields: "1.7 (-44.3 to 47.7)"; its own spread has one degree of freedom."""
    differences = np.array([1.0, 2.0, -2.0, 5.4, 0.0, 1.5, 3.0, 0.5])
    years = [2021, 2021, 2022, 2022, 2023, 2023, 2024, 2024]
    got = compared(differences, years)
    apart = differences.reshape(4, 2) - differences.reshape(4, 2).mean(1, keepdims=True)
    reach = 2.7764451051977987 * (np.square(apart).sum() / 4 / 2) ** 0.5  # t, 0.975, 4 df
    assert [(row.high - row.low) / 2 for row in got.by_year] == pytest.approx([reach] * 4)


def test_years_that_are_no_blocks_have_their_own_spread_or_none():
    by_year = compared([1.0, 2.0, 5.0], [2021, 2021, 2022]).by_year
    assert by_year[0].low == pytest.approx(1.5 - 12.706204736432095 / 2)
    assert (by_year[1].low, by_year[1].high) == (None, None)


def test_a_year_of_one_field_year_has_a_range_where_years_are_blocks():
    by_year = compared([1.0, 2.0, 4.0, 5.0], [2021, 2022, 2022, 2022]).by_year
    assert by_year[0].low is not None
