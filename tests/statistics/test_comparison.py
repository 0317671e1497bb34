"""Both questions: published cases, the ladder from strips to years, the five findings, and what must change nothing."""

from dataclasses import asdict
from math import isfinite

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from analytics.errors import BadInput
from analytics.statistics.another_unit import scaled
from analytics.statistics.comparison import compare
from analytics.statistics.random_effects import hartung_knapp
from analytics.statistics.results import Finding
from tests.published.loader import agreed, published

YIELD = {"measure": "yield", "unit": "bu/ac"}


def against_zero(differences, **options):
    return compare(differences, np.zeros(len(differences)), **(YIELD | options))


# --- published pairs


def t_cases():
    cases = []
    for name, first, second in [
        ("student_kiln_dried", "not_kiln_dried", "kiln_dried"),
        ("preece_barley_12_farms", "first", "second"),
        ("preece_wheat_6_pairs", "first", "second"),
        ("preece_oats_9_years", "first", "second"),
        ("student_sleep", "second", "first"),
        ("boys_shoes", "material_B", "material_A"),
        ("immer_barley", "y1931", "y1932"),
    ]:
        case = published(name)
        cases.append(pytest.param(case["data"][first], case["data"][second], case["expected"], id=name))
    soft_seed = published("student_soft_seed")
    data, expected = soft_seed["data"], soft_seed["expected"]["corn"]
    cases.append(pytest.param(data["corn_soft"], data["corn_hard"], expected, id="student_soft_seed"))
    return cases


@pytest.mark.parametrize(("first", "second", "expected"), t_cases())
def test_published_pairs_without_years_are_the_paired_t(first, second, expected):
    """R 4.2.2 t.test(paired=TRUE) and the battery beside it; sources in tests/published."""
    got = compare(first, second, **YIELD)
    answer = got.these_fields
    assert got.pairs == got.field_years == answer.replicates == expected["n_pairs"]["value"]
    assert answer.estimate == agreed(expected["mean_difference"])
    assert answer.std_error == agreed(expected["standard_error"])
    assert answer.df == agreed(expected["df"])
    assert answer.p_value == agreed(expected["t_p_two_sided"])
    assert [answer.low, answer.high] == agreed(expected["t_ci95"])
    ninety = compare(first, second, **YIELD, level=0.90)
    assert [ninety.these_fields.low, ninety.these_fields.high] == agreed(expected["t_ci90"])
    assert got.exact.sign_flip_p == agreed(expected["signflip_p_check_exactRankTests"])
    assert got.exact.wilcoxon_p == agreed(expected["wilcoxon_exact_p"])
    assert got.exact.hodges_lehmann == agreed(expected["hodges_lehmann"])
    for tost in expected.get("tost", []):
        answer = compare(first, second, **YIELD, margin=tost["margin"]).these_fields
        assert answer.equivalence_p == agreed(tost["p"])
        assert (answer.equivalence_p < 0.05) == tost["equivalent_at_5pct"]


def test_equivalence_of_a_published_summary():
    """Lakens 2017, Social Psychological and Personality Science 8:355-362: 65 pairs, bounds 0.4 standard deviations."""
    case = published("equivalence_tost")
    data, expected = case["data"]["summary_example"], case["expected"]["summary_example"]
    sd = expected["sd_difference"]["value"]
    shape = np.arange(data["n"]) - (data["n"] - 1) / 2
    differences = data["mean1"] - data["mean2"] + shape / shape.std(ddof=1) * sd  # any 65 with this mean and spread
    answer = against_zero(differences, margin=0.4 * sd, level=0.95).these_fields
    assert answer.df == agreed(expected["df"])
    assert answer.equivalence_p == agreed(expected["p"])
    assert answer.finding is Finding.NO_DIFFERENCE_THAT_MATTERS
    ninety = against_zero(differences, level=0.90).these_fields
    assert [ninety.low, ninety.high] == agreed(expected["ci90"])


def test_darwin_in_inches_is_fishers_in_eighths():
    """Fisher 1935, ch. III: t = 2.148 on 14 degrees of freedom."""
    case = published("darwin_zea_mays")
    got = scaled(compare(case["data"]["first_inches"], case["data"]["second_inches"], **YIELD), 8, "eighths of an inch")
    expected = case["expected"]
    assert got.these_fields.estimate == agreed(expected["published"]["mean_difference"])
    assert got.these_fields.std_error == agreed(expected["published"]["standard_error"])
    assert got.these_fields.estimate / got.these_fields.std_error == agreed(expected["published"]["t"])
    assert got.these_fields.df == 14
    assert got.exact.hodges_lehmann == agreed(expected["hodges_lehmann"])


def test_immers_thirty_pairs_are_six_locations():
    """Venables and Ripley print p = 0.0024 for 30 pairs; six location means give 0.158."""
    case = published("immer_barley")
    got = compare(case["data"]["y1931"], case["data"]["y1932"], field=case["data"]["location"], **YIELD)
    expected = case["expected"]["by_location_means"]
    answer = got.these_fields
    assert (got.pairs, got.field_years, got.years) == (30, 6, 1)
    assert answer.estimate == agreed(expected["mean"])
    assert answer.std_error == agreed(expected["se"])
    assert answer.df == agreed(expected["df"])
    assert answer.p_value == agreed(expected["p"])
    assert [answer.low, answer.high] == agreed(expected["ci95"])
    assert answer.finding is Finding.NOT_SETTLED


def test_kiln_dried_seed_over_its_two_years():
    """Student 1908: seven pairs of 1899, four of 1900; years as blocks, 9 df; two are too few for years to come."""
    data = published("student_kiln_dried")["data"]
    got = compare(data["not_kiln_dried"], data["kiln_dried"], crop_year=data["year"], **YIELD)
    first, second = np.array(data["difference"][:7]), np.array(data["difference"][7:])
    within = ((first.var() * 7 + second.var() * 4) / 9) ** 0.5
    assert got.these_fields.df == 9
    assert got.these_fields.std_error == pytest.approx(within / 11**0.5, rel=1e-12)
    assert [row.estimate for row in got.by_year] == agreed(
        published("student_kiln_dried")["expected"]["year_means"]["means"]
    )
    broad = got.years_to_come
    model = hartung_knapp([first.mean(), second.mean()], within**2 / np.array([7, 4]))
    assert (broad.finding, broad.df) == (Finding.TOO_FEW, 1)
    assert (broad.estimate, broad.std_error) == pytest.approx((float(model.estimate), float(model.std_error)))


def test_soft_seed_over_three_years_is_the_t_test_on_year_means():
    """Student 1908 p. 22: three years x two soils; R t.test on the three year means."""
    case = published("student_soft_seed")
    data, expected = case["data"], case["expected"]["corn"]["year_means"]
    got = compare(data["corn_soft"], data["corn_hard"], crop_year=data["year"], field=data["soil"], **YIELD)
    assert [row.estimate for row in got.by_year] == agreed(expected["means"])
    broad = got.years_to_come
    assert broad.estimate / broad.std_error == agreed(expected["t"])
    assert broad.df == 2
    narrow = got.these_fields
    assert (narrow.finding, narrow.df) == (Finding.NOT_SETTLED, 3)
    assert agreed(expected["ci95"]).expected[0] > 0  # alone it would be settled where these fields are not
    assert (broad.low, broad.high, broad.p_value) == pytest.approx((narrow.low, narrow.high, narrow.p_value))
    assert broad.finding is Finding.NOT_SETTLED


def test_one_pair_a_year_is_the_paired_t_over_years_with_its_prediction():
    """Preece 1982 Table 5: one pair a year for nine years; R for the prediction interval."""
    case = published("preece_oats_9_years")
    got = compare(case["data"]["first"], case["data"]["second"], crop_year=case["data"]["year"], **YIELD)
    broad, narrow = got.years_to_come, got.these_fields
    assert broad.method == "paired t over years"
    assert (broad.low, broad.high) == (narrow.low, narrow.high)
    assert [broad.prediction_low, broad.prediction_high] == agreed(case["expected"]["prediction_interval95_new_pair"])
    assert (broad.year_sd, broad.field_sd) == (None, None)
    assert [caution.code for caution in got.cautions] == ["no_field_named", "years_not_separated"]


def test_two_close_pairs_are_too_few():
    """Student's own warning, 1908 p. 23: +.5 and +.6 would be p = 0.058 by t; the exact test says 0.5."""
    case = published("student_two_pairs")
    got = against_zero(case["data"]["difference_as_printed"])
    assert got.these_fields.finding is Finding.TOO_FEW
    assert got.these_fields.reason == "There are 2 field-years; at least 3 are needed."
    assert got.these_fields.p_value == agreed(case["expected"]["t_p_two_sided"])
    assert got.exact.sign_flip_p == 0.5
    assert got.these_fields.better is None


def test_pastes_casks_in_batches_are_strips_in_fields_in_years():
    """Davies and Goldsmith 1972: SE of the mean 0.67687 with 9 df from lme4 and from the ten batch means."""
    case = published("pastes")
    data = case["data"]
    years = [ord(letter) for letter in data["batch"]]
    got = against_zero(data["strength"], crop_year=years, field=data["cask"])
    assert (got.pairs, got.field_years, got.years) == (60, 30, 10)
    broad = got.years_to_come
    assert broad.estimate == agreed(case["expected"]["estimate"])
    assert broad.std_error == agreed(case["expected"]["batch_means_analysis"]["se"])
    assert broad.df == case["expected"]["batch_means_analysis"]["df"]["value"]
    assert broad.year_sd**2 == agreed(case["expected"]["variances"]["batch"])


@pytest.mark.parametrize("name", ["dyestuff", "dyestuff2"])
def test_dyestuff_batches_as_years(name):
    """lme4/pbkrtest on Dyestuff (Davies and Goldsmith) and Dyestuff2 (Box and Tiao): Kenward-Roger df 5.

    With between-batch variance at 0, lme4 pools all 30 values into its SE; Hartung-Knapp keeps that of the batches.
    """
    case = published(name)
    got = against_zero(case["data"]["yield"], crop_year=[ord(letter) for letter in case["data"]["batch"]])
    broad, expected = got.years_to_come, case["expected"]
    assert broad.estimate == agreed(expected["estimate"])
    assert broad.df == agreed(expected["kenward_roger_df"])
    assert broad.year_sd**2 == agreed(expected["variances"]["Batch"])
    means = [row.estimate for row in got.by_year]
    assert broad.std_error == pytest.approx(np.std(means, ddof=1) / 6**0.5, rel=1e-12)
    if name == "dyestuff":
        assert broad.std_error == agreed(expected["se"])
        assert broad.field_sd**2 == agreed(expected["variances"]["Residual"])


def test_critical_values_of_t_are_those_of_the_handbook():
    """NIST/SEMATECH e-Handbook 1.3.6.7.2: half-width / SE at 95 % is the column 0.025."""
    table = published("critical_values_t")
    exact = dict(zip(table["data"]["df"], table["expected"]["exact"]["value"], strict=True))
    for df in (2, 5, 10, 29):
        answer = against_zero(np.arange(df + 1.0)).these_fields
        assert (answer.high - answer.estimate) / answer.std_error == pytest.approx(exact[df][2], rel=1e-9)


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


@pytest.mark.parametrize("pairs", [1, 2, 3, 6, 12, 40])
@pytest.mark.parametrize("years", range(1, 9))
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
    windrowed = np.array([41.3, 38.9, 40.2, 37.7, 44.1, 39.6, 42.8, 40.5]) + offset
    got, plain = compare(windrowed + differences, windrowed, **YIELD).exact, against_zero(differences).exact
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


# --- what must change nothing, or only the sign, or only the unit


def farms():
    values = st.integers(0, 800).map(lambda k: k / 10)
    row = st.tuples(values, values, st.integers(2001, 2004), st.sampled_from("ABC"))
    return st.lists(row, min_size=1, max_size=14)


def columns(rows):
    standing, windrowed, years, fields = (list(column) for column in zip(*rows, strict=True))
    return standing, windrowed, years, fields


def numbers(answer):
    return [answer.estimate, answer.std_error, answer.low, answer.high, answer.prediction_low, answer.prediction_high]


def assert_close(got, wanted, *, rel, least):
    if wanted is None:
        assert got is None
    else:
        assert got == pytest.approx(wanted, rel=rel, abs=least)


def assert_same(first, second, sign=1.0, factor=1.0):
    """Answers agree up to sign (which swaps the ends of intervals) and unit."""
    for one, other in ((first.these_fields, second.these_fields), (first.years_to_come, second.years_to_come)):
        estimate, std_error, *ends = numbers(one)
        if sign < 0:
            ends = [ends[1], ends[0], ends[3], ends[2]]
        ours = [std_error, *(None if value is None else sign * value for value in (estimate, *ends))]
        estimate, std_error, *ends = numbers(other)
        for got, wanted in zip([std_error, estimate, *ends], ours, strict=True):
            assert_close(got, None if wanted is None else wanted * factor, rel=1e-6, least=1e-9 * factor)
        assert_close(other.p_value, one.p_value, rel=1e-5, least=1e-12)
        assert_close(other.equivalence_p, one.equivalence_p, rel=1e-5, least=1e-12)
        assert (other.replicates, other.df, other.reason, other.small) == (
            one.replicates,
            one.df,
            one.reason,
            one.small,
        )
    for name in ("sign_flip_p", "wilcoxon_p", "sign_test_p"):
        assert_close(getattr(second.exact, name), getattr(first.exact, name), rel=1e-9, least=0)
    assert second.planning.field_years_needed == first.planning.field_years_needed
    assert second.planning.years_needed == first.planning.years_needed


FLIPPED = {
    Finding.STANDING_HIGHER: Finding.STANDING_LOWER,
    Finding.STANDING_LOWER: Finding.STANDING_HIGHER,
}


@given(farms())
def test_swapping_sides_flips_every_sign_and_nothing_else(rows):
    standing, windrowed, years, fields = columns(rows)
    one = compare(standing, windrowed, crop_year=years, field=fields, margin=1.0, **YIELD)
    other = compare(windrowed, standing, crop_year=years, field=fields, margin=1.0, **YIELD)
    assert_same(one, other, sign=-1.0)
    for answer, flipped in ((one.these_fields, other.these_fields), (one.years_to_come, other.years_to_come)):
        assert flipped.finding is FLIPPED.get(answer.finding, answer.finding)
        assert {answer.better, flipped.better} in ({None}, {"standing", "windrowed"})


@given(farms(), st.integers(-500, 500).map(lambda k: k / 10))
def test_adding_a_constant_to_both_sides_changes_nothing(rows, shift):
    standing, windrowed, years, fields = columns(rows)
    one = compare(standing, windrowed, crop_year=years, field=fields, margin=1.0, **YIELD)
    shifted = compare(
        np.add(standing, shift), np.add(windrowed, shift), crop_year=years, field=fields, margin=1.0, **YIELD
    )
    assert_same(one, shifted)
    assert shifted.these_fields.finding is one.these_fields.finding
    assert shifted.years_to_come.finding is one.years_to_come.finding


@given(farms(), st.randoms(use_true_random=False))
def test_the_order_of_rows_changes_nothing(rows, random):
    shuffled = random.sample(rows, len(rows))
    one, other = (
        compare(standing, windrowed, crop_year=years, field=fields, margin=1.0, **YIELD)
        for standing, windrowed, years, fields in (columns(rows), columns(shuffled))
    )
    assert_same(one, other)
    assert [row.crop_year for row in one.by_year] == [row.crop_year for row in other.by_year]


@given(farms(), st.sampled_from([56.0425, 50.0, 0.0560425, 1 / 3]))
def test_the_finding_does_not_depend_on_the_unit(rows, factor):
    standing, windrowed, years, fields = columns(rows)
    one = compare(standing, windrowed, crop_year=years, field=fields, margin=1.0, **YIELD)
    converted = scaled(one, factor, "another unit")
    again = compare(
        np.multiply(standing, factor),
        np.multiply(windrowed, factor),
        crop_year=years,
        field=fields,
        measure="yield",
        unit="another unit",
        margin=factor,
    )
    assert_same(one, converted, factor=factor)
    assert_same(one, again, factor=factor)
    for other in (converted, again):
        assert (other.unit, other.margin) == ("another unit", factor)
        assert other.these_fields.finding is one.these_fields.finding
        assert other.years_to_come.finding is one.years_to_come.finding
        assert other.mean_standing == pytest.approx(one.mean_standing * factor)
        assert other.exact.hodges_lehmann == pytest.approx(
            one.exact.hodges_lehmann * factor, rel=1e-8, abs=1e-8 * factor
        )
        assert [row.difference for row in other.pair_differences] == pytest.approx(
            [row.difference * factor for row in one.pair_differences], abs=1e-9
        )
        assert [row.estimate for row in other.by_year] == pytest.approx(
            [row.estimate * factor for row in one.by_year], abs=1e-9
        )


@pytest.mark.parametrize("factor", [0, -1, float("inf"), float("nan")])
def test_a_unit_needs_a_factor_above_zero(factor):
    with pytest.raises(BadInput, match="factor"):
        scaled(against_zero([1.0, 2.0, 4.0]), factor, "kg/ha")


def test_ten_thousand_pairs_are_a_matter_of_course():
    random = np.random.default_rng(8)
    got = compare(
        random.normal(41, 5, 10_000),
        random.normal(40, 5, 10_000),
        crop_year=random.integers(2001, 2021, 10_000),
        **YIELD,
    )
    assert (got.pairs, got.years, got.these_fields.df) == (10_000, 20, 9_980)
    assert got.exact.sign_flip_p is None
    assert got.exact.wilcoxon_p < 1e-20
    assert got.exact.hodges_lehmann == pytest.approx(got.these_fields.estimate, abs=0.1)


def test_four_strips_treated_alike_spread_as_published():
    """STRIP_NOISE: Ontario Grain Farmer, Cropside, December 2018: 172, 176, 182, 173 bu/ac; mean 175.75, SD 4.5."""
    strips = [172.0, 176.0, 182.0, 173.0]
    answer = compare(strips, [0.0] * 4, field=["one"] * 4, measure="yield", unit="bu/ac").these_fields
    assert (answer.estimate, answer.std_error * 4**0.5) == (pytest.approx(175.75), pytest.approx(4.5, abs=0.01))
    assert answer.scope == "this field, this year"
