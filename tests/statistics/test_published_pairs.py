"""Both questions on published pairs, each held against its own source."""

import numpy as np
import pytest

from analytics.statistics.another_unit import scaled
from analytics.statistics.comparison import compare
from analytics.statistics.random_effects import hartung_knapp
from analytics.statistics.results import Finding
from tests.published.loader import agreed, published
from tests.statistics.zero import YIELD, against_zero

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
