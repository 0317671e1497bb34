"""Windrower days: fits, does not fit, and at the edges."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.errors import BadInput
from analytics.money.windrower import OtherCrop, WindrowerWork, read_other_crops, windrower_fit

WORK = {
    "canola_acres": 900.0,
    "other_crops": (OtherCrop(name="oats", acres=200.0), OtherCrop(name="wheat", acres=100.0)),
    "acres_per_hour": 15.0,
    "hours_a_day": 8.0,
    "window_days": 10,
    "lost_day_pct": 0.0,
}


def fit(**changes):
    return windrower_fit(WindrowerWork(**{**WORK, **changes}))


def test_work_that_just_fits_leaves_no_canola_standing():
    """1,200 acres at 120 acres a day are ten days."""
    exact = fit()
    assert (exact.days_needed, exact.fits_usually, exact.chance_it_fits) == (10.0, True, 1.0)
    assert exact.standing_acres_usually == 0.0


def test_one_acre_more_does_not_fit_and_stands():
    over = fit(canola_acres=901.0)
    assert not over.fits_usually
    assert over.chance_it_fits == 0.0
    assert over.standing_acres_usually == pytest.approx(1.0)


def test_lost_days_leave_canola_standing_so_that_the_other_crops_are_on_time():
    wet = fit(lost_day_pct=30.0)
    assert wet.usual_days == pytest.approx(7.0)
    assert wet.standing_acres_usually == pytest.approx(1200 - 7 * 120)


def test_eight_windows_in_ten_need_more_acres_standing_than_the_average_one():
    """Of 10 days at 70 %, 6 or more come in 85 % of windows and 7 or more in 65 % (binomial tables)."""
    wet = fit(lost_day_pct=30.0)
    assert wet.standing_acres_8_in_10 == pytest.approx(1200 - 6 * 120)


def test_other_crops_that_alone_do_not_fit_are_said_and_no_more_canola_than_there_is_stands():
    none = fit(other_crops=(OtherCrop(name="oats", acres=1300.0),))
    assert not none.others_alone_fit
    assert none.standing_acres_usually == 900.0


def test_every_day_lost_leaves_all_canola_standing_without_dividing_by_nothing():
    lost = fit(lost_day_pct=100.0)
    assert (lost.usual_days, lost.chance_it_fits, lost.standing_acres_usually) == (0.0, 0.0, 900.0)


def test_no_acres_always_fit():
    nothing = fit(canola_acres=0.0, other_crops=(), lost_day_pct=50.0)
    assert (nothing.days_needed, nothing.fits_usually, nothing.chance_it_fits) == (0.0, True, 1.0)


@given(st.floats(0, 5000), st.floats(0, 100))
def test_more_rain_never_makes_it_fit_better(acres, lost):
    dry, wet = fit(canola_acres=acres), fit(canola_acres=acres, lost_day_pct=lost)
    assert wet.chance_it_fits <= dry.chance_it_fits
    assert wet.standing_acres_usually >= dry.standing_acres_usually - 1e-6


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("canola_acres", -1.0),
        ("acres_per_hour", 0.0),
        ("hours_a_day", 24.1),
        ("window_days", 0),
        ("window_days", 2.5),
        ("lost_day_pct", 100.1),
        ("other_crops", (OtherCrop(name="oats", acres=float("nan")),)),
    ],
)
def test_what_cannot_be_is_refused_with_what_is_allowed(name, value):
    with pytest.raises(BadInput, match="allowed"):
        fit(**{name: value})


def test_any_number_of_other_crops_is_typed_by_name_and_acres():
    assert read_other_crops("oats 300\n\nwinter wheat, 80.5\n") == (
        OtherCrop(name="oats", acres=300.0),
        OtherCrop(name="winter wheat", acres=80.5),
    )
    assert read_other_crops("") == ()


@pytest.mark.parametrize(
    ("line", "given"), [("oats", "'oats' given"), ("oats many", "'many' is not a number"), ("300", "'300'")]
)
def test_a_crop_without_acres_or_a_name_is_refused_with_its_line(line, given):
    with pytest.raises(BadInput, match=r"other crops, line 2: .*allowed a name and its acres") as refused:
        read_other_crops(f"wheat 80\n{line}")
    assert given in str(refused.value)
