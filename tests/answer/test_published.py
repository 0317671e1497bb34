"""Beside the published trials: rows in the farm's unit, whether it is unlike them, and the companion in words."""

import json

import pytest

from analytics.answer.published import (
    PRIORS,
    chance_above,
    marks,
    published_object,
    starting_from_published,
    unlike_others,
    what_others_found,
)

TWO_YEARS = {"differences": [1.2, 3.4, 2.0, -1.0], "year": [2023, 2023, 2024, 2024]}


def started(measure="yield", *, unit="bu/ac", margin=1.0, **other):
    return starting_from_published(measure, unit=unit, margin=margin, **(TWO_YEARS | other))


def test_differences_come_first_and_surveys_last():
    rows = what_others_found("yield", unit="bu/ac", yield_bu_ac=45)
    order = [(row.is_survey, not row.is_difference) for row in rows]
    assert order == sorted(order)
    assert rows[0].found == "equal on average over all sites"
    assert rows[-1].is_survey
    assert not any(row.is_survey and row.is_difference for row in rows)
    assert rows[-1].cannot_tell.startswith("It cannot tell the method's effect at all")


@pytest.mark.parametrize(("unit", "times"), [("bu/ac", 1.0), ("t/ha", 0.0560426), ("kg/ha", 56.0426), ("lb/ac", 50.0)])
def test_ranges_are_in_the_farms_unit(unit, times):
    """56.0426 kg/ha are 1 bu/ac: 50 lb of 0.45359237 kg over 4,046.856 m2."""
    row = next(row for row in what_others_found("yield", unit=unit) if "favourable" in row.found)
    assert (row.low, row.high) == pytest.approx((2.5338 * times, 6.6021 * times), rel=1e-4)
    assert row.unit == unit


def test_a_published_figure_keeps_its_own_unit_in_words():
    found = [row.found for row in what_others_found("loss", unit="bu/ac", yield_bu_ac=45)]
    assert "windrowed: 2.6 to 4.6 % of yield" in found
    assert "standing: 25 to 319 lb/ac; 172 on average, the range is between combines" in found


def test_without_a_yield_shares_stay_words():
    rows = what_others_found("loss", unit="bu/ac")
    assert all(row.low is None for row in rows if "% of yield" in row.found)


def test_green_seed_is_published_in_words_alone():
    rows = what_others_found("green_seed", unit="points")
    assert len(rows) == 3
    assert all(row.low is None for row in rows)


def test_nothing_is_shown_where_nothing_is_published():
    assert what_others_found("test_weight", unit="kg/hL") == ()
    assert unlike_others("test_weight", prediction_low=-1, prediction_high=1, unit="kg/hL") == ""


@pytest.mark.parametrize(
    ("low", "high", "judged"),
    [
        (-1.0, 3.0, "this farm lies among them"),
        (-12.0, 18.0, "this farm's records leave room for all that they found, and more"),
        (1.0, 30.0, "this farm overlaps with them"),
        (10.0, 30.0, "this farm is unlike them"),
        (-30.0, -10.0, "this farm is unlike them"),
    ],
)
def test_says_in_one_sentence_whether_the_farm_is_unlike_others(low, high, judged):
    said = unlike_others("yield", prediction_low=low, prediction_high=high, unit="bu/ac")
    assert said.startswith("In the published site-years standing lay between 7.4 less and 6.6 bu/ac more, a new field ")
    assert said.endswith(f": {judged}.")


def test_says_nothing_of_a_farm_without_a_prediction():
    assert unlike_others("yield", prediction_low=None, prediction_high=None, unit="bu/ac") == ""


def test_a_sentence_that_a_banker_can_repeat():
    got = started()
    assert got.sentence == (
        "From the published trials alone the likely range is 8 bu/ac less to 8 more; "
        "with two years of yours it is 2 less to 4 more."
    )
    assert got.chances.startswith(
        "By this start there are 81 chances in 100 that standing plots would yield more on average; "
    )
    assert "that the two lie within 1 bu/ac" in got.chances
    assert got.new_field.startswith("A field not tried yet could by this start lie between ")
    assert "site-years differed, from 7.4 bu/ac less to 6.6 more" in got.because


def test_a_start_in_another_unit_is_the_same_start():
    per = 0.0560426
    got, other = (
        started(),
        started(unit="t/ha", margin=per, differences=[per * value for value in TWO_YEARS["differences"]]),
    )
    assert other.priors.stated.low == pytest.approx(per * got.priors.stated.low, rel=1e-4)
    assert other.priors.stated.above_margin == pytest.approx(got.priors.stated.above_margin, abs=1e-4)


def test_rounding_hides_no_sign():
    """0.1 less to 0.3 more, not "0 less to 0 more"."""
    got = started("loss", unit="t/ha", margin=0.03, differences=[0.2, 0.4, 0.3, 0.6])
    assert got.sentence.endswith("is 0.2 t/ha less to 0.2 more; with two years of yours it is 0.1 less to 0.3 more.")


def test_the_chance_of_more_than_is_needed_falls_as_the_need_rises():
    chances = [
        chance_above(needed, TWO_YEARS["differences"], TWO_YEARS["year"]) for needed in (-3.0, -0.1, 0, 0.1, 3.0)
    ]
    assert chances == sorted(chances, reverse=True)
    got = started(margin=0.1).priors.stated
    assert chances[1:4] == pytest.approx([1 - got.below_margin, got.above_zero, got.above_margin])
    assert chance_above(1.0, [1.0, 2.0], [2024, 2024]) is None


def test_three_marks_show_how_much_is_the_farms_own_voice():
    got = dict(marks(started(differences=[6.0, 7.0, 8.0, 7.5])))
    means = [companion.mean for companion in got.values()]
    assert list(got) == [
        "as published",
        "if published gaps were half as wide",
        "if nearly nothing was published",
    ]
    assert means[1] < means[0] < means[2] < 7.2


@pytest.mark.parametrize("measure", ["green_seed", "dockage", "net_return", "own measure"])
def test_no_companion_where_nothing_published_supports_one(measure):
    assert started(measure, unit="points") is None


def test_no_companion_from_one_year_or_without_spread():
    assert started(differences=[1.0, 2.0], year=[2024, 2024]) is None
    assert started(differences=[1.0, 1.0, 1.0, 1.0]) is None


def test_json_has_every_number_and_no_other():
    told = json.loads(json.dumps(published_object(started()), allow_nan=False))
    assert set(told) == {"unit", "years", "stated", "doubtful", "loose", "sentence", "chances", "new_field", "because"}
    assert told["years"] == 2
    assert told["stated"]["mean_sd"] == PRIORS["yield"].mean_sd
    assert published_object(None) is None
    assert published_object(started(margin=None))["stated"]["above_margin"] is None
