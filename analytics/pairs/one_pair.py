"""One pair: every fact of its two sides in the same row, what differs besides the method marked, papers behind it."""

from collections.abc import Sequence
from dataclasses import dataclass

import duckdb
import polars as pl

from analytics.pairs import grading, loss_facts, result_facts, season_facts, timing
from analytics.pairs.compared_pairs import planned_pairs
from analytics.pairs.facts import Group, known_sides
from analytics.pairs.sides import PairSides, read_pair
from analytics.settings import Settings, read_settings
from analytics.trade.numbers_as_text import amount, number
from analytics.trade.units import YIELD_DECIMALS, per_bu_ac

PLANNED = "This pair is planned and not harvested yet."


@dataclass(frozen=True, slots=True, kw_only=True)
class OnePair:
    """A pair as a screen shows it. `bars` and `weather` are for its picture, columns as in timing.calendar_bars and
    timing.calendar_weather.
    """

    crop_year: int
    pair: str
    field: str
    sentence: str
    made: str
    groups: tuple[Group, ...]
    bars: pl.DataFrame
    weather: pl.DataFrame

    @property
    def cautions(self) -> tuple[str, ...]:
        """Every caution on a row, in the order of the rows."""
        return tuple(fact.caution for group in self.groups for fact in group.facts if fact.caution)


def one_pair(connection: duckdb.DuckDBPyConnection, crop_year: int, pair: str) -> OnePair:
    """Everything on record about one pair, in the yield unit of the settings. Raises BadInput for an unknown pair."""
    sides = read_pair(connection, crop_year, pair)
    settings = read_settings(connection)
    weather = timing.weather_between(connection, crop_year=crop_year, pair=pair)
    limits = grading.limits_in_force(connection, settings.grading, crop_year=crop_year)
    classes = {
        side.method: grading.moisture_class(connection, moisture)
        for side in known_sides(sides)
        if (moisture := side.number("plot_yield", "moisture_pct")) is not None
    }
    binned = [row for side in known_sides(sides) for view in ("load_mass", "samples") for row in side.many[view]]
    may_heat = grading.may_heat(connection, binned, jurisdiction=settings.grading, crop_year=crop_year)
    groups = (
        season_facts.planting(sides),
        season_facts.ripening(sides),
        season_facts.weather_facts(sides, weather),
        season_facts.harvest(sides),
        result_facts.weight_and_yield(sides, settings, classes),
        result_facts.quality(sides, settings, limits, may_heat=may_heat),
        loss_facts.losses_by_part(sides, settings),
        result_facts.money_facts(sides),
    )
    bars = timing.calendar_bars(connection, crop_year).filter(pl.col("pair") == pair)
    is_planned = planned_pairs(connection).filter(crop_year=crop_year, pair=pair).height > 0
    return OnePair(
        crop_year=crop_year,
        pair=pair,
        field=sides.field,
        sentence=PLANNED if is_planned else _sentence(sides, settings, groups),
        made=_made(sides),
        groups=groups,
        bars=bars,
        weather=weather,
    )


def _sentence(sides: PairSides, settings: Settings, groups: Sequence[Group]) -> str:
    """The pair's finding, and what differed besides the method."""
    unit, decimals = settings.yield_unit, YIELD_DECIMALS[settings.yield_unit]
    values = [side.number("plot_yield", "yield_bu_ac") if side else None for side in (sides.standing, sides.windrowed)]
    standing, windrowed = (None if value is None else value * per_bu_ac(unit) for value in values)
    if standing is None or windrowed is None:
        first = f"What the two ways gave is unknown: {_why_no_yield(sides)}."
    elif round(standing, decimals) == round(windrowed, decimals):
        first = f"Both sides gave {amount(standing, unit, decimals)}."
    else:
        way = "more" if standing > windrowed else "less"
        first = (
            f"Standing gave {amount(abs(standing - windrowed), unit, decimals)} {way}: "
            f"{number(standing, decimals)} against {number(windrowed, decimals)}."
        )
    differing = [fact.label.split(",")[0] for group in groups for fact in group.facts if fact.caution]
    if not differing:
        return f"{first} Nothing else on record that should be alike differed."
    return f"{first} Besides the method, look at: {', '.join(differing)}."


def _why_no_yield(sides: PairSides) -> str:
    reasons = []
    for method, side in (("standing", sides.standing), ("windrowed", sides.windrowed)):
        if side is None:
            reasons.append(f"the {method} plot is not on record")
        elif side.value("plot_yield", "yield_bu_ac") is None:
            missing = [
                str(side.value("plot_yield", f"missing_{what}"))
                for what in ("loads", "acres", "weight", "dockage", "moisture")
                if side.value("plot_yield", f"missing_{what}") is not None
            ]
            reasons.append(f"{side.field} {side.plot} ({method}) lacks {', '.join(missing)}")
    return "; ".join(reasons)


def _made(sides: PairSides) -> str:
    """How the pair was made, as a sentence."""
    allocation = {None: "it is not noted who chose", "chosen": "the methods were chosen"}.get(
        sides.allocation, f"the methods were {sides.allocation}"
    )
    note = f" {sides.notes}." if sides.notes else ""
    return f"{sides.field}: {sides.layout}; {allocation}.{note}"
