"""Days from a pre-harvest product to the first cut, against the label's interval as typed.

A label counts its days to harvest. Windrowing is cutting, so the days of a windrowed plot end with the windrower and
not with the combine (common practice, no source). The view plot_timing holds the same rule for the records.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import polars as pl

from analytics.trade.numbers_as_text import amount, exact

HEADING = "Days from a product to the first cut"


def days_to_first_cut(plot: Mapping[str, object]) -> int | None:
    """Whole days from the product to the first cut; below 0 when the product came later, None where a day is blank.

    plot : method, preharvest_on, windrowed_on and harvested_on of a row of plots

    >>> sprayed = {"preharvest_on": date(2022, 8, 20), "harvested_on": date(2022, 9, 5)}
    >>> days_to_first_cut({**sprayed, "method": "windrowed", "windrowed_on": date(2022, 8, 22)})
    2
    >>> days_to_first_cut({**sprayed, "method": "standing", "windrowed_on": None})
    16
    """
    return _days_between(plot, "windrowed_on" if plot["method"] == "windrowed" else "harvested_on")


def _days_between(plot: Mapping[str, object], cut: str) -> int | None:
    sprayed_on, cut_on = plot["preharvest_on"], plot[cut]
    return (cut_on - sprayed_on).days if isinstance(sprayed_on, date) and isinstance(cut_on, date) else None


@dataclass(frozen=True, slots=True, kw_only=True)
class IntervalDoubt:
    """A plot that was cut sooner after the product than the label asks, or for which nobody can tell.

    days : to the first cut; to combining where the day of windrowing is blank
    is_dated : whether the day of the first cut is on record
    """

    plot: str
    days: int
    is_dated: bool
    label_days: float

    @property
    def is_short(self) -> bool:
        """Whether it was too short for certain: the first cut is never later than combining."""
        return self.days < self.label_days

    @property
    def in_short(self) -> str:
        """For a list: "Willow quarter, east, 2025 (12 days, label 14)"."""
        if self.days < 0:
            return f"{self.plot} (product dated after the first cut)"
        most = "" if self.is_dated else "at most "
        return f"{self.plot} ({most}{amount(self.days, 'days', 0)}, label {exact(self.label_days)})"

    @property
    def words(self) -> str:
        """The same as a sentence."""
        if self.days < 0:
            late = amount(-self.days, "days", 0)
            return f"{self.plot}: the product is dated {late} after the first cut. Is a date wrong?"
        asks = f"by these records the label asks for {exact(self.label_days)}"
        if not self.is_short:
            return f"{self.plot}: the day of windrowing is blank, so the days after the product are not known; {asks}."
        only = "only" if self.is_dated else "at most"
        return f"{self.plot}: {only} {amount(self.days, 'days', 0)} from the product to the first cut; {asks}."


def interval_doubt(plot: Mapping[str, object]) -> IntervalDoubt | None:
    """What to ask about the interval of a plot; None where it was kept, or where product, label or cut are blank.

    plot : a row of plots
    """
    label, days = plot["preharvest_interval_days"], days_to_first_cut(plot)
    at_most = _days_between(plot, "harvested_on") if days is None else days
    if not isinstance(label, int | float) or at_most is None or (days is not None and days >= label):
        return None
    return IntervalDoubt(
        plot=_name(plot),
        days=at_most,
        is_dated=days is not None,
        label_days=label,
    )


def interval_doubts(plots: pl.DataFrame) -> tuple[IntervalDoubt, ...]:
    """The same for every row of plots, in their order."""
    sprayed = plots.drop_nulls(["preharvest_on", "preharvest_interval_days"])
    asked = (interval_doubt(plot) for plot in sprayed.iter_rows(named=True))
    return tuple(doubt for doubt in asked if doubt is not None)


def interval_words(plot: Mapping[str, object]) -> str:
    """What to say of a plot that got a product: what is too short, what is blank and cannot be told, or ""."""
    if doubt := interval_doubt(plot):
        return doubt.words
    if plot["preharvest_interval_days"] is None:
        return f"{_name(plot)}: the label's days were not typed, so the days after the product cannot be checked."
    if days_to_first_cut(plot) is None:
        return f"{_name(plot)}: the days after the product are not known yet: a day is blank."
    return ""


def _name(plot: Mapping[str, object]) -> str:
    return f"{plot['field']}, {plot['plot']}, {plot['crop_year']}"
