"""The plan for a crop year as the screen and the command both show it: what it starts from, and what follows."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date

import duckdb
import polars as pl

from analytics.answer.review import in_yield_unit, review
from analytics.errors import BadInput
from analytics.planning.drawing_lots import kept_draws
from analytics.planning.field_rules import (
    FieldFacts,
    PlanningRule,
    Point,
    Season,
    field_facts,
    for_and_against,
    rules_in_force,
)
from analytics.planning.field_rules import usual_season as season_of
from analytics.planning.pairing import PlannedPair, PlanPower, plan_power, propose_pairs, strip_pairs
from analytics.settings import read_settings
from analytics.statistics.results import Comparison
from analytics.storage.database import read_table
from analytics.trade.units import CROP


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """What the plan for a crop year starts from. `draws` are those kept for it; `taken` the fields with plots in it.

    yields : the comparison of yield, in the chosen yield unit
    pair_names : names that pairs of the crop year have already
    """

    crop_year: int
    fields: list[FieldFacts]
    rules: dict[str, PlanningRule]
    season: Season
    yields: Comparison
    draws: pl.DataFrame
    taken: frozenset[str]
    pair_names: frozenset[str]

    @property
    def free(self) -> list[str]:
        """Fields without plots in the crop year."""
        return [one.field for one in self.fields if one.field not in self.taken]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonPlan:
    """The fields of a plan, their pairs before the lot, those left without partner, and what it could show.

    power : None without a pair
    """

    fields: list[FieldFacts]
    pairs: list[PlannedPair]
    alone: list[str]
    power: PlanPower | None


def year_to_plan(connection: duckdb.DuckDBPyConnection, today: date) -> int:
    """The crop year after the newest one with a weighed load; a plan that is kept does not move it on."""
    newest: int | None = read_table(connection, "loads")["crop_year"].max()  # type: ignore[assignment]
    return today.year if newest is None else newest + 1


def read_start(connection: duckdb.DuckDBPyConnection, crop_year: int, known: Comparison | None = None) -> Start:
    """What the plan for the crop year starts from. Raises BadInput for a year outside 1980 to 2100.

    known : yields, in the unit of the record, where they were compared already
    """
    if not 1980 <= crop_year <= 2100:
        raise BadInput(f"crop year: {crop_year} given; allowed 1980 to 2100.")
    plots, pairs = read_table(connection, "plots"), read_table(connection, "pairs")
    return Start(
        crop_year=crop_year,
        fields=field_facts(connection, crop_year),
        rules=rules_in_force(connection),
        season=season_of(connection),
        yields=in_yield_unit(known or review(connection, "yield"), read_settings(connection).yield_unit),
        draws=kept_draws(connection, crop_year),
        taken=frozenset(plots.filter(pl.col("crop_year") == crop_year)["field"]),
        pair_names=frozenset(pairs.filter(pl.col("crop_year") == crop_year)["pair"]),
    )


def fields_at_first(start: Start) -> list[str]:
    """Free fields sown to canola on record, else those without canola the year before, else all.

    None once the draw is done.
    """
    free = [one for one in start.fields if one.field in start.free]
    canola = [one.field for one in free if (one.crop or "").lower() == CROP]
    rested = [one.field for one in free if (one.last_crop or "").lower() != CROP]
    return canola or rested or start.free if start.draws.is_empty() else []


def plan_season(start: Start, names: Collection[str], strips: Mapping[str, int] | None = None) -> SeasonPlan:
    """Pairs for the named fields.

    strips : for a field large enough to split, how many pairs of strips instead of two halves
    Raises BadInput for a field that is not on record, has plots in that year, or cannot be laid out in strips.
    """
    for name in names:
        if name not in start.free:
            raise BadInput(
                f"field: {name!r} given; allowed a field on record without plots in {start.crop_year}: "
                f"{', '.join(start.free) or 'there is none'}."
            )
    fields = [one for one in start.fields if one.field in names]
    proposed, alone = propose_pairs(fields, start.rules, names_taken=start.pair_names)
    halved = {pair.first.field for pair in proposed if pair.layout == "split field"}
    in_strips = dict(strips or {})
    if wrong := [name for name in in_strips if name not in halved]:
        raise BadInput(
            f"strips: {', '.join(wrong)} given; allowed fields of the plan that are large enough to split: "
            f"{', '.join(sorted(halved)) or 'there is none'}."
        )
    pairs = []
    for pair in proposed:
        number = in_strips.get(pair.first.field)
        pairs += [pair] if number is None else strip_pairs(pair.first.field, number)
    field_years = len({(pair.first.field, pair.second.field) for pair in pairs})
    in_one_field = all(pair.first.field == pair.second.field for pair in pairs)
    power = plan_power(start.yields, field_years=field_years, in_one_field=in_one_field) if field_years else None
    return SeasonPlan(fields=fields, pairs=pairs, alone=alone, power=power)


def read_strips(texts: Iterable[str]) -> dict[str, int]:
    """How many pairs of strips for which field, from texts such as "North half=4". Raises BadInput."""
    found = {}
    for text in texts:
        field, _, typed = text.rpartition("=")
        if not field.strip() or not typed.strip().isdecimal():
            raise BadInput(f'strips: {text!r} given; allowed a field and how many pairs, such as "North half=4".')
        found[field.strip()] = int(typed)
    return found


def said_of(start: Start, the_plan: SeasonPlan) -> dict[str, list[Point]]:
    """What speaks for and against, for each field of the plan."""
    return {
        one.field: for_and_against(one, start.rules, start.season, crop_year=start.crop_year, planned=the_plan.fields)
        for one in the_plan.fields
    }
