"""The interval of one plot: kept on the day, short the day before, and what is said where a day is blank."""

from datetime import date

import pytest

from analytics.trade.days import interval_doubt, interval_words

PLOT = {
    "crop_year": 2024,
    "field": "Home",
    "plot": "east",
    "method": "windrowed",
    "preharvest_on": date(2024, 8, 20),
    "preharvest_interval_days": 14.0,
    "windrowed_on": date(2024, 9, 3),
    "harvested_on": date(2024, 9, 12),
}
NO_CUT = {"windrowed_on": None, "harvested_on": None}


@pytest.mark.parametrize("label", [14.0, 13.5, 0.0, None])
def test_an_interval_is_kept_on_the_day(label: float | None) -> None:
    assert interval_doubt(PLOT | {"preharvest_interval_days": label}) is None


def test_half_a_day_on_the_label_is_not_rounded_away() -> None:
    doubt = interval_doubt(PLOT | {"preharvest_interval_days": 14.5})
    assert doubt is not None
    assert doubt.in_short == "Home, east, 2024 (14 days, label 14.5)"


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({}, ""),
        (
            {"windrowed_on": date(2024, 8, 21)},
            "Home, east, 2024: only 1 day from the product to the first cut; by these records the label asks for 14.",
        ),
        (
            {"windrowed_on": date(2024, 8, 18)},
            "Home, east, 2024: the product is dated 2 days after the first cut. Is a date wrong?",
        ),
        (
            {"windrowed_on": None},
            "Home, east, 2024: the day of windrowing is blank, so the days after the product are not known; "
            "by these records the label asks for 14.",
        ),
        (
            {"windrowed_on": None, "harvested_on": date(2024, 8, 30)},
            "Home, east, 2024: at most 10 days from the product to the first cut; "
            "by these records the label asks for 14.",
        ),
        (NO_CUT, "Home, east, 2024: the days after the product are not known yet: a day is blank."),
        (
            {"preharvest_interval_days": None},
            "Home, east, 2024: the label's days were not typed, so the days after the product cannot be checked.",
        ),
    ],
)
def test_what_is_said_of_a_plot_that_got_a_product(changed: dict[str, object], said: str) -> None:
    assert interval_words(PLOT | changed) == said


def test_a_plot_that_is_not_cut_yet_raises_no_doubt() -> None:
    assert interval_doubt(PLOT | NO_CUT) is None


def test_an_interval_of_unknown_start_is_not_called_short() -> None:
    """Dated by combining alone it is at most so long: short for certain only below the label."""
    on_the_day = interval_doubt(PLOT | {"windrowed_on": None, "harvested_on": date(2024, 9, 3)})
    day_before = interval_doubt(PLOT | {"windrowed_on": None, "harvested_on": date(2024, 9, 2)})
    assert on_the_day is not None
    assert day_before is not None
    assert (on_the_day.is_short, day_before.is_short) == (False, True)
    same_day = interval_doubt(PLOT | {"windrowed_on": date(2024, 8, 20)})
    assert same_day is not None
    assert "only 0 days from the product" in same_day.words
