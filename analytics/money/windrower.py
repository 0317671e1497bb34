"""Windrower days: will the acres fit the window, and how many canola acres must be cut standing so that the other crops
are on time. Arithmetic on numbers alone.
"""

from dataclasses import dataclass
from math import ceil, isfinite

from analytics.errors import BadInput
from analytics.statistics.proportions import binomial_at_least, binomial_quantile
from analytics.trade.numbers_as_text import exact, number
from analytics.trade.typed_text import NotReadable, read_number

EIGHT_IN_TEN = 0.8
LONGEST_DAY = 14  # hours that are believed unasked; our choice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherCrop:
    """Another crop that needs the windrower."""

    name: str
    acres: float


def read_other_crops(text: str, *, comma: str = "") -> tuple[OtherCrop, ...]:
    r"""Other crops as typed, one a line: a name and its acres. Empty lines are passed over.

    comma : what the farm said of a comma before three digits
    Raises BadInput naming the line, what was given and what is allowed.
    >>> read_other_crops("oats 300\nwinter wheat 80")[1]
    OtherCrop(name='winter wheat', acres=80.0)
    """
    return tuple(
        _other_crop(place, line, comma) for place, line in enumerate(text.splitlines(), start=1) if line.strip()
    )


def _other_crop(place: int, line: str, comma: str) -> OtherCrop:
    name, _, acres = line.strip().rpartition(" ")
    allowed = "allowed a name and its acres, such as oats 300"
    if not name.strip():
        raise BadInput(f"other crops, line {place}: {line.strip()!r} given; {allowed}.")
    try:
        return OtherCrop(name=name.strip(" ,:"), acres=read_number(acres, comma=comma))
    except NotReadable as problem:
        raise BadInput(
            f"other crops, line {place}: {line.strip()!r} given; {acres!r} is {problem}; {allowed}."
        ) from None


@dataclass(frozen=True, slots=True, kw_only=True)
class WindrowerWork:
    """What the windrower has to do and what it can do."""

    canola_acres: float
    other_crops: tuple[OtherCrop, ...]
    acres_per_hour: float
    hours_a_day: float
    window_days: int
    lost_day_pct: float  # chance that a day of the window is lost to rain or dew

    def __post_init__(self) -> None:
        """Raises BadInput, saying what is allowed."""
        _check("canola acres", self.canola_acres, 0, 1_000_000)
        for crop in self.other_crops:
            _check(f"acres of {crop.name}", crop.acres, 0, 1_000_000)
        _check("acres an hour", self.acres_per_hour, 0.1, 500)
        _check("hours a day", self.hours_a_day, 0.5, 24)
        _check("days of the window", self.window_days, 1, 120)
        _check("chance of a lost day", self.lost_day_pct, 0, 100)
        if self.window_days != int(self.window_days):
            raise BadInput(f"days of the window: {exact(self.window_days)} given; allowed whole days.")

    @property
    def other_acres(self) -> float:
        """Acres of all the other crops."""
        return sum(crop.acres for crop in self.other_crops)


@dataclass(frozen=True, slots=True, kw_only=True)
class WindrowerFit:
    """Whether it fits. Days are days of cutting.

    days_needed : for all acres
    usual_days : days of the window that are not lost, on average
    fits_usually : days_needed within usual_days
    chance_it_fits : of enough days, each lost by itself; wet spells last, so it is on the hopeful side
    standing_acres_usually : canola acres to cut standing so that the rest fits an average window
    standing_acres_8_in_10 : the same so that it fits in 8 of 10 windows
    others_alone_fit : the other crops by themselves within an average window
    """

    days_needed: float
    usual_days: float
    fits_usually: bool
    chance_it_fits: float
    standing_acres_usually: float
    standing_acres_8_in_10: float
    others_alone_fit: bool


def windrower_fit(work: WindrowerWork) -> WindrowerFit:
    """The work against its window.

    Days are lost independently with one chance: a binomial number of cutting days.
    """
    acres_a_day = work.acres_per_hour * work.hours_a_day
    acres = work.canola_acres + work.other_acres
    days_needed = acres / acres_a_day
    kept = 1 - work.lost_day_pct / 100
    usual_days = work.window_days * kept
    whole_days = ceil(days_needed - 1e-9)
    chance = binomial_at_least(whole_days, of=work.window_days, share=kept)
    sure_days = binomial_quantile(1 - EIGHT_IN_TEN, of=work.window_days, share=kept)

    def to_leave(days: float) -> float:
        return min(max(acres - days * acres_a_day, 0.0), work.canola_acres)

    return WindrowerFit(
        days_needed=days_needed,
        usual_days=usual_days,
        fits_usually=days_needed <= usual_days + 1e-9,
        chance_it_fits=chance,
        standing_acres_usually=to_leave(usual_days),
        standing_acres_8_in_10=to_leave(sure_days),
        others_alone_fit=work.other_acres <= usual_days * acres_a_day + 1e-9,
    )


def long_day_question(hours_a_day: float) -> str:
    """A question about more hours than a rested person cuts; "" when there is none."""
    if hours_a_day <= LONGEST_DAY:
        return ""
    return f"{exact(hours_a_day)} hours a day leave little sleep. Will two people take turns?"


def _check(name: str, value: float, low: float, high: float) -> None:
    if not isfinite(value) or not low <= value <= high:
        raise BadInput(f"{name}: {exact(value)} given; allowed {exact(low)} to {number(high, 0)}.")
