"""A season's plots from those of the year before, and plots that could be set side by side; offered, never forced."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import polars as pl

from analytics.records.cell_text import as_text
from analytics.records.columns import METHODS
from analytics.records.form import Records, Typed

MOST_TIMES = 2.0  # acres of one side of the other's that are still offered as alike; our choice, no source
MOST_DAYS = 21  # between two seedings that are still offered as alike; our choice, no source


FIRST_SEEDING = (5, 1)  # month and day; before it papers are of the harvest before. Common practice, no source


def harvest_before(day: date) -> int:
    """The crop year whose papers are in the hand on a day: last harvest's until seeding.

    >>> harvest_before(date(2027, 1, 15)), harvest_before(date(2027, 9, 15))
    (2026, 2027)
    """
    return day.year if (day.month, day.day) >= FIRST_SEEDING else day.year - 1


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedPair:
    """A pair as it would be typed, and why the two are offered."""

    typed: Typed
    words: str


def copied_plots(records: Records, *, crop_year: int) -> tuple[int | None, list[Typed]]:
    """The last crop year before this one with plots, and its plots as typed rows: field, plot, method, acres.

    Plots that the crop year has already are not among them; dates and stages are left to be typed.
    """
    plots = records["plots"]
    year = plots.filter(pl.col("crop_year") < crop_year)["crop_year"].max()
    if not isinstance(year, int):
        return None, []
    here = plots.filter(pl.col("crop_year") == crop_year)
    rows = plots.filter(pl.col("crop_year") == year).join(here, on=["field", "plot"], how="anti").sort("field", "plot")
    names = ("field", "plot", "method", "acres")
    return year, [
        {name: "" if row[name] is None else as_text(row[name]) for name in names} for row in rows.iter_rows(named=True)
    ]


def offered_pairs(records: Records, *, crop_year: int) -> list[OfferedPair]:
    """Standing and windrowed plots in no pair: of the same field first, then nearest in seeding among one variety.

    Like with like: never a strip with a half, nor a piece with one of more than twice its acres; of several that could
    be set side by side those nearest in acres, then those whose names have the nearest numbers, as strips 1 and 2 have.
    """
    plots = records["plots"].filter(pl.col("crop_year") == crop_year).sort("field", "plot")
    pairs = records["pairs"].filter(pl.col("crop_year") == crop_year)
    taken = {
        (row[f"{method}_field"], row[f"{method}_plot"]) for row in pairs.iter_rows(named=True) for method in METHODS
    }
    free = [row for row in plots.iter_rows(named=True) if (row["field"], row["plot"]) not in taken]
    planted = {
        row["field"]: row for row in records["plantings"].filter(pl.col("crop_year") == crop_year).iter_rows(named=True)
    }
    candidates = []
    for one in (row for row in free if row["method"] == "standing"):
        for other in (row for row in free if row["method"] == "windrowed"):
            unlike = _unlike(one, other)
            if unlike is None:
                continue
            if one["field"] == other["field"]:
                candidates.append(((0, *unlike), one, other, _same_field_words(one, other)))
            elif (days := _days_apart(planted, one["field"], other["field"])) is not None:
                words = f"same variety, seeded {days} days apart" if days else "same variety, seeded the same day"
                candidates.append(((1 + days, *unlike), one, other, words))
    offered: list[OfferedPair] = []
    used: set[tuple[str, str]] = set()
    names = {str(name) for name in pairs["pair"]}
    for (cost, *_), one, other, words in sorted(candidates, key=lambda candidate: candidate[0]):
        sides = {(one["field"], one["plot"]), (other["field"], other["plot"])}
        if used & sides:
            continue
        used |= sides
        name = _free_name(names)
        typed = {
            "pair": name,
            "standing_field": one["field"],
            "standing_plot": one["plot"],
            "windrowed_field": other["field"],
            "windrowed_plot": other["plot"],
            "layout": "matched after harvest" if cost else "strips" if _is_strip(one["plot"]) else "split field",
        }
        both = f"{one['field']}, {one['plot']} (standing) with {other['field']}, {other['plot']} (windrowed)"
        offered.append(OfferedPair(typed=typed, words=f"{both}: {words}"))
    return offered


def _unlike(one: Mapping[str, Any], other: Mapping[str, Any]) -> tuple[float, int] | None:
    """How far two plots are apart in acres and in the numbers of their names; None where they are not alike at all."""
    if _is_strip(one["plot"]) is not _is_strip(other["plot"]):
        return None
    times = 1.0
    if one["acres"] and other["acres"]:
        times = max(one["acres"], other["acres"]) / min(one["acres"], other["acres"])
    if times > MOST_TIMES:
        return None
    return round(times, 1), abs(_number_in(one["plot"]) - _number_in(other["plot"]))


def _is_strip(plot: str) -> bool:
    """Whether a plot is called a strip: strip 3, S3, s-3."""
    return re.search(r"(?i)strip|^s\W?[0-9]+$", plot) is not None


def _number_in(plot: str) -> int:
    found = re.search(r"[0-9]{1,9}", plot)
    return int(found[0]) if found else 0


def _same_field_words(one: Mapping[str, Any], other: Mapping[str, Any]) -> str:
    if not (one["acres"] and other["acres"]) or one["acres"] == other["acres"]:
        return "same field"
    return f"same field, {as_text(one['acres'])} and {as_text(other['acres'])} acres"


def _days_apart(planted: Mapping[str, Mapping[str, object]], one: str, other: str) -> int | None:
    """Days between the seedings of two fields of one variety; None where that is not known, or too far apart."""
    here, there = planted.get(one), planted.get(other)
    if here is None or there is None or here["variety"] is None or here["variety"] != there["variety"]:
        return None
    first, second = here["seeded_on"], there["seeded_on"]
    if not isinstance(first, date) or not isinstance(second, date):
        return None
    days = abs((first - second).days)
    return days if days <= MOST_DAYS else None


def _free_name(names: set[str]) -> str:
    number = 1
    while str(number) in names:
        number += 1
    names.add(str(number))
    return str(number)
