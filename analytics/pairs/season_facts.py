"""The season of a pair, side by side: planting, ripening and cutting, weather in between, harvest."""

from collections.abc import Sequence
from datetime import date

import polars as pl

from analytics.pairs.compared_pairs import DAYS_BETWEEN_SEEDINGS, EARLY_COLOUR_CHANGE_PCT
from analytics.pairs.facts import (
    NOTHING,
    Fact,
    Group,
    date_words,
    days_fact,
    known_sides,
    numbers_fact,
    same_fact,
    with_caution,
    words,
)
from analytics.pairs.sides import PairSides, Record, Side
from analytics.trade import days
from analytics.trade.cautions import LABEL
from analytics.trade.numbers_as_text import THIN_SPACE, UNKNOWN, number


def planting(sides: PairSides) -> Group:
    """What grew where; nearly all of it should be alike."""
    seeded = days_fact(sides, "seeded", "seeded_on")
    seeded_days = [side.value("plot_timing", "seeded_on") for side in known_sides(sides)]
    both = [day for day in seeded_days if isinstance(day, date)]
    if len(both) == 2 and abs((both[0] - both[1]).days) > DAYS_BETWEEN_SEEDINGS:
        seeded = with_caution(seeded, f"The sides were seeded more than {DAYS_BETWEEN_SEEDINGS} days apart.")
    facts = [
        Fact(
            label="plot",
            standing=_plot_words(sides.standing),
            windrowed=_plot_words(sides.windrowed),
        ),
        numbers_fact(sides, "acres", "plots", "acres", 1),
        same_fact(sides, "soil", "fields", "soil", "The soils differ."),
        same_fact(sides, "topography", "fields", "topography", "The land lies differently."),
        same_fact(sides, "variety", "plantings", "variety", "The sides grew different varieties."),
        same_fact(sides, "shatter tolerant", "plantings", "shatter_tolerant", "Only one is shatter tolerant."),
        same_fact(sides, "herbicide system", "plantings", "herbicide_system", "The herbicide systems differ."),
        seeded,
        same_fact(sides, "stand", "plantings", "stand", "The stands differ."),
        same_fact(sides, "weeds", "plantings", "weed_pressure", "Weed pressure differs."),
    ]
    return Group(name="Planting", facts=tuple(facts))


def _plot_words(side: Side | None) -> str:
    return "not on record" if side is None else f"{side.field}, {side.plot}"


def ripening(sides: PairSides) -> Group:
    """Stage, cutting and pre-harvest product, with the label's interval."""
    stage = Fact(
        label="seed colour change, %",
        standing=_stage_words(sides.standing),
        windrowed=_stage_words(sides.windrowed),
    )
    cut_at = sides.windrowed.number("plots", "seed_colour_change_pct") if sides.windrowed else None
    if cut_at is not None and cut_at < EARLY_COLOUR_CHANGE_PCT:
        stage = with_caution(
            stage,
            f"The windrow was cut before {EARLY_COLOUR_CHANGE_PCT}{THIN_SPACE}% seed colour change; "
            "early cutting alone can cost yield.",
        )
    facts = [stage, days_fact(sides, "windrowed", "windrowed_on", standing=False)]
    with_product = [side for side in known_sides(sides) if _has_product(side)]
    if with_product:
        facts.append(
            Fact(
                label="pre-harvest product",
                standing=_product_words(sides.standing),
                windrowed=_product_words(sides.windrowed),
            )
        )
        facts.append(_interval(sides, with_product))
    return Group(name="Ripening and cutting", facts=tuple(facts))


def _stage_words(side: Side | None) -> str:
    if side is None:
        return UNKNOWN
    value = side.number("plots", "seed_colour_change_pct")
    if value is not None:
        return number(value, 0)
    return UNKNOWN if side.method == "windrowed" or _has_product(side) else NOTHING


def _has_product(side: Side) -> bool:
    return side.value("plots", "preharvest_on") is not None or side.value("plots", "preharvest_product") is not None


def _product_words(side: Side | None) -> str:
    if side is None or not _has_product(side):
        return NOTHING
    product = side.value("plots", "preharvest_product") or "product not named"
    return f"{product}, {words(side.value('plots', 'preharvest_on'))}"


def _interval(sides: PairSides, with_product: Sequence[Side]) -> Fact:
    """Days from the product to the cut against the label's, as typed; a short or blank one is a caution."""
    asked = [words for side in with_product if (words := days.interval_words(side.one["plots"]))]
    return Fact(
        label="days from spraying to first cut (label asks)",
        standing=_interval_figures(sides.standing),
        windrowed=_interval_figures(sides.windrowed),
        caution=" ".join([*asked, LABEL]) if asked else "",
    )


def _interval_figures(side: Side | None) -> str:
    if side is None or not _has_product(side):
        return NOTHING
    passed = side.number("plot_timing", "days_after_product")
    return f"{number(passed, 0)} ({number(side.number('plots', 'preharvest_interval_days'), 0)})"


def weather_facts(sides: PairSides, weather: pl.DataFrame) -> Group:
    """A row an event, and where the crop was. weather : as from timing.weather_between."""
    facts = [
        Fact(
            label=f"{date_words(row['happened_on'])}, {weather_words(row)}",
            standing=_out_words(row, sides.standing, "still standing"),
            windrowed=_out_words(row, sides.windrowed, "in the windrow"),
        )
        for row in weather.iter_rows(named=True)
    ]
    if not facts:
        facts = [Fact(label="nothing on record", standing=NOTHING, windrowed=NOTHING)]
    return Group(name="Weather between cutting stage and combining", facts=tuple(facts))


def weather_words(row: Record) -> str:
    """An event as it was noted: "wind 96 km/h, North half". row : a row of weather."""
    reading = row["reading"]
    size = f" {reading:g} {row['unit'] or ''}".rstrip() if isinstance(reading, float) else ""
    where = f", {row['field']}" if row["field"] else ""
    return f"{row['event']}{size.replace('-', '−')}{where}"


def _out_words(row: Record, side: Side | None, where: str) -> str:
    """Where the crop of a side was when it happened."""
    if side is None or row[f"hit_{side.method}"] is None:
        return UNKNOWN
    if row["field"] not in (None, side.field):
        return "not on this field"
    return where if row[f"hit_{side.method}"] else "already in"


def harvest(sides: PairSides) -> Group:
    """Days of combining, and the days it took."""
    combined = days_fact(sides, "combined", "harvested_on")
    facts = [
        combined,
        numbers_fact(sides, "days from seeding", "plot_timing", "days_to_harvest", 0),
        Fact(
            label="days from cut or product",
            standing=_wait_words(sides.standing, "days_product_to_combine"),
            windrowed=_wait_words(sides.windrowed, "days_in_windrow"),
        ),
    ]
    return Group(name="Harvest", facts=(*facts, *_machines(sides)))


def _machines(sides: PairSides) -> list[Fact]:
    """What the machines did, as far as somebody noted it; who and with what should be alike."""
    view = "plot_machines"
    facts = [
        numbers_fact(sides, "combining pace, ac/h", view, "pace_ac_h", 1),
        numbers_fact(sides, "machine hours per 100 acres", view, "hours_per_100_ac", 1),
        numbers_fact(sides, "fuel, L/ac", view, "fuel_l_ac", 1),
        numbers_fact(sides, "stops per 100 acres", view, "stops_per_100_ac", 1),
        same_fact(sides, "combine", view, "machine", "The sides were combined with different machines."),
        same_fact(
            sides, "who drove the combine", view, "operator", "Different people were at the wheel of the combine."
        ),
        numbers_fact(sides, "hours it could not start, damp or green", view, "waiting_hours", 1),
    ]
    return [fact for fact in facts if (fact.standing, fact.windrowed) != (UNKNOWN, UNKNOWN)]


def _wait_words(side: Side | None, column: str) -> str:
    value = side.number("plot_timing", column) if side else None
    return NOTHING if value is None else number(value, 0)
