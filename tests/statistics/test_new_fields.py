"""Fields not tried yet: the wider question, with years crossed with places where places come back."""

import numpy as np
import pytest
from scipy import stats

from analytics.statistics.comparison import compare
from analytics.statistics.results import Finding
from tests.published.loader import agreed, published

YIELD = {"measure": "yield", "unit": "bu/ac"}
CROSSED = published("crossed_years")


def compared(differences, years, places=None, **options):
    field = None if places is None else [str(place) for place in places]
    return compare(differences, np.zeros(len(differences)), crop_year=years, field=field, **(YIELD | options))


@pytest.mark.parametrize("name", ["penicillin_uneven", "sleep_in_turn", "dyestuff_one_a_year", "immer_one_a_year"])
def test_places_that_come_back_are_crossed_with_years_against_r(name):
    """lme4 and pbkrtest: the same estimate, standard error, df and spread as asked of crossed alone."""
    data, expected = CROSSED["data"][name], CROSSED["expected"][name]
    got = compared(data["d"], data["year"], data["place"])
    answer = got.fields_not_tried
    assert answer.finding is None
    for field in ("estimate", "std_error", "df", "place_sd", "rest_sd"):
        assert getattr(answer, field) == agreed(expected[field]), field
    reach = stats.t.ppf(0.975, answer.df)
    assert answer.high - answer.estimate == pytest.approx(reach * answer.std_error)
    assert answer.prediction_high - answer.estimate == pytest.approx(
        reach * expected["prediction_sd"]["value"], rel=1e-3
    )
    assert got.years_to_come.prediction_low is None  # a field that comes back is not a new one
    by_name = {value.name: value.shrunken for value in got.shrunken.places}
    places = [str(place) for place in sorted(set(data["place"]))]
    assert [by_name[place] for place in places] == agreed(expected["shrunken_places"])
    if got.field_years == got.years:
        assert answer.year_sd is None
        assert got.shrunken.years == ()
    else:
        assert answer.year_sd == agreed(expected["year_sd"])
        assert [value.shrunken for value in got.shrunken.years] == agreed(expected["shrunken_years"])
        assert [value.name for value in got.shrunken.years] == [str(year) for year in sorted(set(data["year"]))]


def test_one_field_over_six_years_says_nothing_of_a_new_field():
    """Said before: "a single new field could lie between 1 and 3 more", and "Both questions are settled"."""
    got = compared([1.9, 2.1, 2.0, 2.2, 1.8, 2.0], range(2018, 2024), ["A"] * 6)
    assert got.years_to_come.finding is Finding.STANDING_HIGHER
    assert got.fields_not_tried.finding is Finding.TOO_FEW
    assert got.fields_not_tried.reason == "Only one field was tried; at least 3 are needed to speak of others."
    assert got.years_to_come.prediction_low is None


def test_two_fields_or_two_years_are_too_few():
    two_fields = compared([1.0, 2.0, 3.0, 2.5, 1.5, 0.5], [1, 1, 2, 2, 3, 3], list("ABABAB"))
    assert two_fields.fields_not_tried.reason.startswith("Only two fields were tried")
    two_years = compared([1.0, 2.0, 3.0, 2.5, 1.5, 0.5], [1, 1, 1, 2, 2, 2], list("ABCABC"))
    assert two_years.fields_not_tried.reason == "There are 2 years; at least 3 are needed."


def test_no_place_back_is_the_answer_for_years_to_come():
    got = compared([1.0, 2.0, 3.5, 2.5, 1.5, 0.5], [1, 1, 2, 2, 3, 3], list("ABCDEF"))
    broad, new = got.years_to_come, got.fields_not_tried
    assert (new.estimate, new.low, new.high, new.df) == (broad.estimate, broad.low, broad.high, broad.df)
    assert (new.prediction_low, new.prediction_high) == (broad.prediction_low, broad.prediction_high)
    assert (new.year_sd, new.place_sd, new.rest_sd) == (broad.year_sd, None, broad.field_sd)


def test_one_new_field_a_year_is_a_new_year_too():
    differences = np.array([1.0, 2.0, 4.0, 3.0])
    new = compared(differences, [1, 2, 3, 4], list("ABCD")).fields_not_tried
    sd = differences.std(ddof=1)
    assert (new.year_sd, new.rest_sd) == (None, pytest.approx(sd))
    reach = stats.t.ppf(0.975, 3) * (sd**2 / 4 + sd**2) ** 0.5
    assert (new.prediction_low, new.prediction_high) == pytest.approx((2.5 - reach, 2.5 + reach))


def test_fields_alike_to_the_last_digit_say_nothing():
    got = compared([2.0] * 6, [1, 1, 2, 2, 3, 3], list("ABCABC"))
    assert got.fields_not_tried.finding is Finding.TOO_FEW
    assert "no spread" in got.fields_not_tried.reason


def test_a_year_is_drawn_towards_the_average_by_what_is_known_of_it():
    got = compared([1.0, 2.0, 6.0, 7.0, 3.0, 4.5], [2021, 2021, 2022, 2022, 2023, 2023], list("ABCDEF"))
    answer = got.years_to_come
    share = answer.year_sd**2 / (answer.year_sd**2 + answer.field_sd**2 / 2)
    for value, raw in zip(got.shrunken.years, (1.5, 6.5, 3.75), strict=True):
        assert value.raw == raw
        assert value.shrunken == pytest.approx(answer.estimate + share * (raw - answer.estimate))
    assert got.shrunken.places == ()
