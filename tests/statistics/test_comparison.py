"""Both questions: the ladder from strips to years, what is left out and refused, the five findings, planning."""

from dataclasses import asdict
from math import isfinite

import numpy as np
import pytest
from scipy import stats

from analytics.errors import BadInput
from analytics.statistics.comparison import compare
from analytics.statistics.random_effects import hartung_knapp
from analytics.statistics.results import Finding
from tests.statistics.zero import YIELD, against_zero

# --- the ladder


def test_strips_are_averaged_before_they_count():
    got = compare([10, 12, 20], [9, 9, 15], field=["A", "A", "B"], **YIELD)
    assert (got.pairs, got.field_years) == (3, 2)
    assert got.these_fields.estimate == (2 + 5) / 2
    assert (got.mean_standing, got.mean_windrowed) == ((11 + 20) / 2, (9 + 15) / 2)
    assert got.mean_standing - got.mean_windrowed == got.these_fields.estimate


def test_the_same_field_in_another_year_is_another_field_year():
    got = compare([1, 2, 3, 5], [0, 0, 0, 0], field=["A", "A", "A", "A"], crop_year=[2020, 2020, 2021, 2021], **YIELD)
    assert (got.field_years, got.years) == (2, 2)
    assert [(row.crop_year, row.estimate) for row in got.by_year] == [(2020, 1.5), (2021, 4.0)]


def test_one_field_in_one_year_speaks_of_itself_over_its_strips():
    got = compare([4, 5, 7], [1, 1, 1], field=["A"] * 3, crop_year=[2024] * 3, **YIELD)
    answer = got.these_fields
    assert (answer.scope, answer.method, answer.replicates, answer.df) == (
        "this field, this year", "paired t over strips", 3, 2,
    )  # fmt: skip
    assert answer.p_value == pytest.approx(stats.ttest_1samp([3, 4, 6], 0).pvalue)
    assert got.exact.sign_flip_p == 0.25
    assert got.planning.field_years_needed is None
    assert got.years_to_come.finding is Finding.TOO_FEW


def test_two_strips_are_too_few():
    answer = compare([4, 5], [1, 1], field=["A"] * 2, **YIELD).these_fields
    assert (answer.finding, answer.reason) == (
        Finding.TOO_FEW,
        "There are 2 strips in one field and one year; at least 3 are needed.",
    )


def test_years_are_blocks_from_two_field_years_a_year_on():
    differences, years = [1.0, 2.0, 5.0, 6.5], [1, 1, 2, 2]
    blocked = against_zero(differences, crop_year=years)
    assert blocked.these_fields.df == 2
    assert blocked.these_fields.std_error == pytest.approx(((0.5 + 1.125) / 2) ** 0.5 / 2)
    fewer = against_zero(differences[:3], crop_year=years[:3])
    assert fewer.these_fields.df == 2
    assert fewer.these_fields.method == "paired t over field-years"
    assert "years_not_separated" in [caution.code for caution in fewer.cautions]


def test_unbalanced_years_are_weighted_by_hartung_knapp():
    differences, years = np.array([1.0, 2.5, 4.0, 3.0, 7.0, 5.5]), [1, 1, 2, 3, 3, 3]
    got = against_zero(differences, crop_year=years).years_to_come
    means = [1.75, 4.0, 15.5 / 3]
    within = (1.125 + 3 * np.var([3.0, 7.0, 5.5])) / 3
    model = hartung_knapp(means, within / np.array([2, 1, 3]))
    assert got.estimate == pytest.approx(float(model.estimate), rel=1e-12)
    assert got.std_error == pytest.approx(float(model.std_error), rel=1e-12)
    assert got.year_sd == pytest.approx(float(model.tau2) ** 0.5)
    assert got.field_sd == pytest.approx(within**0.5)
    reach = stats.t.ppf(0.975, 2) * (got.std_error**2 + got.year_sd**2 + got.field_sd**2) ** 0.5
    assert (got.prediction_low, got.prediction_high) == pytest.approx((got.estimate - reach, got.estimate + reach))


def test_years_count_alike_when_one_has_more_than_three_times_the_field_years():
    differences, years = [1.0, 2.5, 4.0, 3.0, 7.0, 5.5, 4.5], [1, 1, 2, 3, 3, 3, 3]
    got = against_zero(differences, crop_year=years).years_to_come
    wanted = stats.ttest_1samp([1.75, 4.0, 5.0], 0)
    assert got.method == "t over year means"
    assert (got.p_value, got.df) == pytest.approx((wanted.pvalue, 2))
    assert (got.low, got.high) == pytest.approx(tuple(wanted.confidence_interval(0.95)))


def test_fields_alike_within_each_year_still_answer_for_years_to_come():
    got = against_zero([1.0, 1.0, 3.0, 3.0, 2.5, 2.5], crop_year=[1, 1, 2, 2, 3, 3])
    assert (got.these_fields.finding, got.these_fields.p_value) == (Finding.TOO_FEW, None)
    assert got.years_to_come.p_value == pytest.approx(stats.ttest_1samp([1, 3, 2.5], 0).pvalue)
    assert got.years_to_come.field_sd == 0


@pytest.mark.parametrize("pairs", [1, 2, 3, 6, 40])
@pytest.mark.parametrize("years", [1, 2, 3, 8])
def test_every_size_over_every_number_of_years(pairs, years):
    random = np.random.default_rng(pairs * 10 + years)
    crop_year = [2000 + place % years for place in range(pairs)]
    crop_year[-1] = 2000  # unbalanced
    got = compare(random.normal(41, 3, pairs), random.normal(40, 3, pairs), crop_year=crop_year, margin=1.0, **YIELD)
    seasons = len(set(crop_year))
    assert (got.pairs, got.field_years, got.years) == (pairs, pairs, seasons)
    assert (got.these_fields.finding is Finding.TOO_FEW) == (pairs < 3)
    assert (got.years_to_come.finding is Finding.TOO_FEW) == (seasons < 3)
    assert sum(row.field_years for row in got.by_year) == pairs
    for answer in (got.these_fields, got.years_to_come):
        assert (answer.reason is None) == (answer.finding is not Finding.TOO_FEW)
        assert all(isfinite(value) for value in asdict(answer).values() if isinstance(value, float))
        if answer.low is not None:
            assert answer.low < answer.estimate < answer.high


# --- what is left out, and what is refused


def test_a_missing_side_is_left_out_and_counted():
    got = compare([40, None, 42, float("nan"), 45], [39, 40, None, 40, 43.5], pair=list("abcde"), **YIELD)
    assert (got.pairs, got.left_out) == (2, 3)
    assert [(row.pair, row.difference) for row in got.pair_differences] == [("a", 1.0), ("e", 1.5)]


def test_no_pair_at_all_is_too_few_with_nothing_known():
    for got in (compare([], [], **YIELD), compare([None], [3.0], **YIELD)):
        assert got.these_fields.finding is got.years_to_come.finding is Finding.TOO_FEW
        assert got.these_fields.reason == "There is no complete pair."
        assert (got.these_fields.estimate, got.mean_standing, got.exact.sign_flip_p) == (None, None, None)
        assert (got.by_year, got.pair_differences, got.cautions) == ((), (), ())


def test_one_pair_is_refused_a_finding():
    got = compare([41], [40], **YIELD, margin=1)
    assert got.these_fields.finding is Finding.TOO_FEW
    assert (got.these_fields.estimate, got.these_fields.low, got.these_fields.p_value) == (1.0, None, None)
    assert got.planning.field_years_needed is None


def test_all_equal_differences_have_no_spread_to_judge_by():
    got = compare([40.3, 41.3, 45.3], [38.3, 39.3, 43.3], **YIELD, margin=1)
    answer = got.these_fields
    assert (answer.finding, answer.p_value, answer.low, answer.equivalence_p) == (Finding.TOO_FEW, None, None, None)
    assert answer.reason == "All differences are the same, so there is no spread to judge by."
    assert answer.estimate == pytest.approx(2)
    assert got.planning.detectable_difference is None


@pytest.mark.parametrize("bad", [float("inf"), float("-inf"), 1.01e70])
def test_infinities_are_refused_by_row(bad):
    with pytest.raises(BadInput, match=r"row 2, windrowed: .* allowed a finite number"):
        compare([1, 2], [1, bad], **YIELD)


def test_the_largest_number_allowed_and_a_tiny_one_still_give_numbers():
    for size in (1e70, 1e-60):
        got = compare(np.array([1, 0.2, 0.3, -0.5, 0.4]) * size, np.zeros(5), crop_year=[1, 1, 2, 3, 3], **YIELD)
        for answer in (got.these_fields, got.years_to_come):
            assert all(isfinite(value) for value in asdict(answer).values() if isinstance(value, float))
            assert answer.low < answer.estimate < answer.high


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"standing": ["abc", 2.0]}, "standing: .*abc"),
        ({"standing": [1.0]}, "windrowed: 2 rows given; allowed 1"),
        ({"crop_year": [2024]}, "crop_year: 1 rows given; allowed 2"),
        ({"crop_year": [2024, None]}, "row 2, crop_year: None given"),
        ({"crop_year": [2024, 2024.5]}, "row 2, crop_year: 2024.5 given"),
        ({"crop_year": [2024, "2025"]}, "row 2, crop_year: '2025' given"),
        ({"field": ["A", ""]}, "row 2, field: blank given"),
        ({"direction": "up"}, 'direction: "up" given'),
        ({"level": 0.5}, "level: 0.5 given"),
        ({"level": 1.0}, "level: 1.0 given"),
        ({"margin": 0.0}, "margin: 0.0 given"),
        ({"margin": float("nan")}, "margin: nan given"),
    ],
)
def test_bad_input_is_named(arguments, message):
    given_arguments = {"standing": [1.0, 2.0], "windrowed": [1.0, 1.0]} | YIELD | arguments
    with pytest.raises(BadInput, match=message):
        compare(**given_arguments)


def test_a_blank_year_of_a_row_that_is_left_out_does_not_matter():
    assert compare([1, None], [1, 2], crop_year=[2024, None], field=["A", None], **YIELD).left_out == 1


# --- findings


@pytest.mark.parametrize(
    ("differences", "margin", "finding", "small"),
    [
        ([4, 5, 6, 5], 1.0, Finding.STANDING_HIGHER, False),
        ([-4, -5, -6, -5], None, Finding.STANDING_LOWER, False),
        ([0.4, 0.5, 0.6, 0.5], 1.0, Finding.STANDING_HIGHER, True),
        ([0.2, -0.1, 0.1, -0.2], 1.0, Finding.NO_DIFFERENCE_THAT_MATTERS, False),
        ([0.2, -0.1, 0.1, -0.2], None, Finding.NOT_SETTLED, False),
        ([4, -5, 6, -5], 1.0, Finding.NOT_SETTLED, False),
        ([1, 1, 1, 1], 1.0, Finding.TOO_FEW, False),
    ],
)
def test_the_five_findings(differences, margin, finding, small):
    answer = against_zero(differences, margin=margin).these_fields
    assert (answer.finding, answer.small) == (finding, small)
    assert (answer.equivalence_p is None) == (margin is None or finding is Finding.TOO_FEW)


@pytest.mark.parametrize(
    ("sign", "direction", "better"),
    [(1, "higher", "standing"), (-1, "higher", "windrowed"), (1, "lower", "windrowed"), (-1, "lower", "standing")],
)
def test_better_follows_the_direction_of_the_measure(sign, direction, better):
    got = against_zero([sign * value for value in (4, 5, 6, 5)], direction=direction)
    assert got.these_fields.better == better


def test_equivalence_is_the_interval_at_twice_the_error_inside_the_margin():
    """Schuirmann 1987: at 95 %, exactly when the 90 % interval lies inside the margin."""
    differences = [0.2, -0.1, 0.4, -0.3, 0.1]
    ninety = against_zero(differences, level=0.90).these_fields
    edge = max(-ninety.low, ninety.high)
    assert against_zero(differences, margin=edge * 1.0001).these_fields.equivalence_p < 0.05
    assert against_zero(differences, margin=edge * 0.9999).these_fields.equivalence_p > 0.05


def test_the_level_decides():
    differences = [1.0, 2.0, 0.2, 2.4, 0.1]
    assert against_zero(differences, level=0.90).these_fields.finding is Finding.STANDING_HIGHER
    assert against_zero(differences, level=0.99).these_fields.finding is Finding.NOT_SETTLED


def test_cautions_follow_from_the_counts():
    codes = [caution.code for caution in against_zero([1.0, 2.0], field=["A", "B"]).cautions]
    assert codes == ["one_year_only", "fewer_than_five_field_years"]
    for field_years, is_said in ((4, True), (5, False)):
        cautions = against_zero([1.0, 2.0, 1.5, 1.2, 1.9][:field_years], field=list("ABCDE")[:field_years]).cautions
        assert ("fewer_than_five_field_years" in {caution.code for caution in cautions}) == is_said
    years, fields = [1, 1, 2, 2, 3, 3], list("ABABAB")
    assert against_zero([1.0, 2.0, 2.0, 1.0, 1.5, 1.2], crop_year=years, field=fields).cautions == ()
    assert "1 field-year;" in against_zero([1.0], field=["A"]).cautions[1].text


def test_small_only_where_the_whole_range_lies_inside_the_margin():
    """Said before of 0.21 to 0.51: "a real difference, but smaller than the 0.50 points that would matter"."""
    differences = [0.25, 0.30, 0.36, 0.42, 0.47, 0.36, 0.28, 0.44]
    high = against_zero(differences).these_fields.high
    assert 0.36 < high < 0.5
    assert against_zero(differences, margin=high * 1.01).these_fields.small
    inside_at_ninety = against_zero(differences, margin=high * 0.99).these_fields
    assert inside_at_ninety.equivalence_p < 0.05
    assert not inside_at_ninety.small


def test_the_range_that_belongs_to_equivalence_is_given():
    """Said before at the 80 in 100 level: 4.2 earlier to 3.8 later beside "3.0 days or more is ruled out"."""
    differences = [-9.0, 8.0, 6.5, -8.0, 1.0, 2.0, -3.0, 2.9]
    answer = against_zero(differences, margin=3.0, level=0.80).these_fields
    assert answer.finding is Finding.NO_DIFFERENCE_THAT_MATTERS
    assert answer.low < -3 or answer.high > 3
    assert -3 < answer.equivalence_low < answer.equivalence_high < 3
    sixty = against_zero(differences, level=0.60).these_fields
    assert (answer.equivalence_low, answer.equivalence_high) == pytest.approx((sixty.low, sixty.high))


@pytest.mark.parametrize("offset", [0.0, 1e3, 1e9, -1e9])
def test_an_offset_breaks_no_tie(offset):
    """At 1e9 the computer tells 2.0 from 2.0000001; said before: sign-flip 0.156 where it is 0.164."""
    differences = np.array([2.0, 0.3, -0.3, 1.1, -2.0, 0.7, 0.7, 1.1])
    windrowed = np.array([41.3, 38.9, 40.2, 37.7, 44.1, 39.6, 42.8, 40.5])
    standing = np.round(windrowed + differences, 1)  # both as typed, so that each is rounded by itself
    got, plain = compare(standing + offset, windrowed + offset, **YIELD).exact, against_zero(differences).exact
    assert (got.sign_flip_p, got.wilcoxon_p, got.sign_test_p) == (
        plain.sign_flip_p,
        plain.wilcoxon_p,
        plain.sign_test_p,
    )
    assert got.hodges_lehmann == pytest.approx(plain.hodges_lehmann, abs=1e-4)


# --- planning


def test_planning_names_what_could_have_been_seen():
    differences = np.array([1.0, -2.0, 3.0, 0.5, 2.0, -1.0])
    plan = against_zero(differences, margin=2.0).planning
    sd, effect = differences.std(ddof=1), plan.detectable_difference
    found = stats.nct.sf(stats.t.ppf(0.975, 5), 5, effect / (sd / 6**0.5))
    assert found == pytest.approx(0.8, abs=1e-6)
    count = plan.field_years_needed
    powers = [stats.nct.sf(stats.t.ppf(0.975, n - 1), n - 1, 2.0 * n**0.5 / sd) for n in (count - 1, count)]
    assert powers[0] < 0.8 <= powers[1]
    assert plan.years_needed is None


def test_years_needed_grow_with_the_spread_between_years():
    steady = against_zero([1.0, 2.0, 1.2, 2.1, 1.1, 1.9], crop_year=[1, 1, 2, 2, 3, 3], margin=2.0).planning
    erratic = against_zero([1.0, 2.0, 6.2, 7.1, -4.9, -4.1], crop_year=[1, 1, 2, 2, 3, 3], margin=2.0).planning
    assert steady.years_needed == 3
    assert erratic.years_needed > 10
