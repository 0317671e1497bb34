"""What speaks for and against cutting a field standing next year, and for a fair trial on it: a list, and no verdict.

Each rule can be switched off, its threshold and its source changed. What most of them say is common practice; where
exactly a threshold lies is our choice. Neither has a source.
"""

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

import duckdb
import polars as pl

from analytics.errors import BadInput
from analytics.records.own_tables import PLANNING_RULES
from analytics.records.papers import PAPERS
from analytics.storage.database import read_query, read_table
from analytics.storage.history import TableSave, save
from analytics.trade.numbers_as_text import amount, count

COMMON = "common practice, no source"
OURS = "our choice, no source"
TYPE_DISTANCES = f"type it under What came in?, {PAPERS['field_distances'].name}"
WET_WORDS = r"\b(low|wet|slough|creek|flood)"
UNEVEN_WORDS = r"\b(rolling|knoll|hill|ripen)"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanningRule:
    """One rule. `threshold` and `unit` are None and "" where the rule has none."""

    rule: str
    label: str
    meaning: str
    threshold: float | None = None
    unit: str = ""
    source: str = COMMON
    is_used: bool = True


RULES = (
    PlanningRule(
        rule="weeds",
        label="Weed pressure",
        meaning="high weeds speak against, low ones for: green weeds go through the header with the crop",
    ),
    PlanningRule(
        rule="stand",
        label="Stand",
        meaning="a thin stand branches, ripens unevenly and moves in wind; a heavy one holds together",
    ),
    PlanningRule(rule="wet", label="Low, wet spots", meaning="they ripen late and stay green"),
    PlanningRule(rule="uneven", label="Uneven ripening", meaning="knolls ripen before the rest"),
    PlanningRule(
        rule="shatter",
        label="Shatter tolerance",
        meaning="a shatter tolerant variety speaks for, another one against",
        source="Gan, Malhi, Brandt and McDonald (2008) Assessment of seed shattering resistance and yield loss in five "
        "oilseed crops, Canadian Journal of Plant Science (abstract): napus lost about 7 % standing where shatter was "
        "high",
    ),
    PlanningRule(
        rule="frost",
        label="Frost",
        meaning="counts against when frost came before combining in so many of the years on record",
        threshold=30.0,
        unit="% of years",
        source=OURS,
    ),
    PlanningRule(
        rule="partner",
        label="Partner",
        meaning="a field of so many acres can be split and is its own partner; a smaller one needs another field",
        threshold=100.0,
        unit="acres",
        source=OURS,
    ),
    PlanningRule(
        rule="distance",
        label="Distance to a partner",
        meaning="makes a poor comparison for a field too small to split, when the nearest other one is so far away: "
        "rain, wind and soil change on the way",
        threshold=5.0,
        unit="km",
        source=OURS,
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldFacts:
    """What is known of a field for a crop year. `known_from` is the crop year of weeds and stand."""

    field: str
    acres: float | None
    soil: str | None
    topography: str | None
    notes: str | None
    crop: str | None  # planned, when its planting is on record
    variety: str | None
    shatter_tolerant: bool | None
    seeded_on: date | None
    weed_pressure: str | None
    stand: str | None
    known_from: int | None
    last_crop: str | None
    partners: tuple[str, ...]  # fields that were its neighbour in a pair before
    distances: Mapping[str, float]  # km to other fields, as far as on record


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """How harvests usually went on this farm, for judging frost."""

    usual_seeding: tuple[int, int] | None  # month, day
    days_standing: float | None  # from seeding to combining, mean of the standing plots
    first_frosts: tuple[date, ...]  # first frost from August on, one a year with a frost
    years: int  # those with any weather on record; a year without is not known, not quiet


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One thing said about a field.

    side : "for" or "against" cutting it standing, "fair" or "unfair" for a trial on it, or "unknown"
    """

    rule: str
    side: str
    text: str
    source: str


def rules_in_force(connection: duckdb.DuckDBPyConnection) -> dict[str, PlanningRule]:
    """Every rule, as changed by the farm where it was."""
    own = {row["rule"]: row for row in read_table(connection, "planning_rules").iter_rows(named=True)}
    return {
        rule.rule: rule
        if rule.rule not in own
        else PlanningRule(
            rule=rule.rule,
            label=rule.label,
            meaning=rule.meaning,
            threshold=own[rule.rule]["threshold"],
            unit=rule.unit,
            source=own[rule.rule]["source"],
            is_used=own[rule.rule]["is_used"],
        )
        for rule in RULES
    }


def keep_rule(
    connection: duckdb.DuckDBPyConnection,
    name: str,
    *,
    is_used: bool,
    threshold: float | None,
    source: str,
    done_by: str,
) -> int:
    """Change a rule; the number of the act. A blank source is "common practice, no source". Raises BadInput."""
    known = {rule.rule: rule for rule in RULES}
    if name not in known:
        raise BadInput(f"rule: {name!r} given; allowed {', '.join(known)}.")
    if known[name].threshold is not None and (threshold is None or not 0 < threshold <= 10_000):
        raise BadInput(f"{known[name].label}: {threshold} given; allowed a number above 0 to 10000 {known[name].unit}.")
    row = {
        "rule": name,
        "is_used": is_used,
        "threshold": None if known[name].threshold is None else threshold,
        "source": source.strip() or COMMON,
    }
    rows = pl.DataFrame([row], schema=PLANNING_RULES.polars_schema())
    change = TableSave(table=PLANNING_RULES, saved=rows, removed=rows.clear())
    return save(connection, [change], done_by=done_by, source="screen", why=f"planning rule {name}")


def field_facts(connection: duckdb.DuckDBPyConnection, crop_year: int) -> list[FieldFacts]:
    """Every field as it stands for `crop_year`: its planting of that year, weeds and stand as last seen."""
    rows = read_query(connection, "field_facts", crop_year=crop_year)
    neighbours: dict[str, set[str]] = {}
    for one, other in read_query(connection, "neighbouring_fields").iter_rows():
        neighbours.setdefault(one, set()).add(other)
        neighbours.setdefault(other, set()).add(one)
    distances: dict[str, dict[str, float]] = {}
    for one, other, km in read_table(connection, "field_distances").iter_rows():
        distances.setdefault(one, {})[other] = km
        distances.setdefault(other, {})[one] = km
    return [
        FieldFacts(
            **row,
            partners=tuple(sorted(neighbours.get(row["field"], ()))),
            distances=distances.get(row["field"], {}),
        )
        for row in rows.iter_rows(named=True)
    ]


def usual_season(connection: duckdb.DuckDBPyConnection) -> Season:
    """Seeding, days to standing harvest and first frosts on this farm."""
    timing = read_table(connection, "plot_timing").filter(pl.col("method") == "standing")
    frosts = read_query(connection, "first_frosts")
    day = timing["seeded_on"].dt.ordinal_day().mean()
    usual = None if day is None else date(2001, 1, 1) + timedelta(days=round(float(day)) - 1)  # type: ignore[arg-type]
    days = timing["days_to_harvest"].mean()
    return Season(
        usual_seeding=None if usual is None else (usual.month, usual.day),
        days_standing=None if days is None else float(days),  # type: ignore[arg-type]
        first_frosts=tuple(frosts["first_on"].to_list()),
        years=read_table(connection, "weather")["happened_on"].dt.year().n_unique(),
    )


def for_and_against(
    facts: FieldFacts,
    rules: dict[str, PlanningRule],
    season: Season,
    *,
    crop_year: int,
    planned: Collection[FieldFacts],
) -> list[Point]:
    """What speaks for and against cutting this field standing, and what is not known; for first.

    planned : the fields of the plan; those too small to split may become partners
    """
    split_from = rules["partner"].threshold
    others = [one for one in planned if one.field != facts.field and not can_be_split(one, split_from)]
    found = [
        Point(rule=name, side=side, text=text, source=rules[name].source)
        for name, side, text in (
            _weeds(facts),
            _stand(facts),
            *_lie(facts),
            _shatter(facts),
            _frost(facts, rules["frost"], season, crop_year),
            _partner(facts, split_from, others),
            _distance(facts, rules, others),
        )
        if rules[name].is_used and text
    ]
    order = ("for", "against", "fair", "unfair", "unknown")
    return sorted(found, key=lambda point: order.index(point.side))


Said = tuple[str, str, str]


def _weeds(facts: FieldFacts) -> Said:
    if facts.weed_pressure is None:
        return "weeds", "unknown", "Weed pressure is not on record."
    side = {"high": "against", "low": "for"}.get(facts.weed_pressure, "")
    text = f"Weed pressure was {facts.weed_pressure} in {facts.known_from}." if side else ""
    return "weeds", side, text


def _stand(facts: FieldFacts) -> Said:
    if facts.stand is None:
        return "stand", "unknown", "The stand is not on record."
    side = {"thin": "against", "heavy": "for"}.get(facts.stand, "")
    return "stand", side, f"The stand was {facts.stand} in {facts.known_from}." if side else ""


def _lie(facts: FieldFacts) -> tuple[Said, Said]:
    def speaks(pattern: str) -> str:
        return "; ".join(
            text for text in (facts.topography, facts.notes) if text and re.search(pattern, text, re.IGNORECASE)
        )

    wet, uneven = speaks(WET_WORDS), speaks(UNEVEN_WORDS)
    return (
        ("wet", "against", f"Low or wet ground: {wet}." if wet else ""),
        ("uneven", "against", f"It may ripen unevenly: {uneven}." if uneven else ""),
    )


def _shatter(facts: FieldFacts) -> Said:
    if facts.shatter_tolerant is None:
        return "shatter", "unknown", "Whether its variety tolerates shatter is not on record for that year."
    if facts.shatter_tolerant:
        return "shatter", "for", "Its variety is sold as shatter tolerant."
    return "shatter", "against", "Its variety is not sold as shatter tolerant."


def _frost(facts: FieldFacts, rule: PlanningRule, season: Season, crop_year: int) -> Said:
    if season.days_standing is None or season.usual_seeding is None or rule.threshold is None:
        return "frost", "unknown", "Frost cannot be judged: seeding and combining days of standing plots are missing."
    if not season.years:
        return "frost", "unknown", "Frost cannot be judged: no weather is on record."
    seeded = facts.seeded_on or date(crop_year, *season.usual_seeding)
    ready = seeded + timedelta(days=round(season.days_standing))
    early = sum((frost.month, frost.day) < (ready.month, ready.day) for frost in season.first_frosts)
    share = 100 * early / season.years
    planned = "" if facts.seeded_on else " if seeded at the usual time"
    text = (
        f"In {early} of the {count(season.years, 'year')} with weather on record frost came before {ready.day} "
        f"{ready:%B}, when it would be combined{planned}."
    )
    return "frost", "against" if share >= rule.threshold else "for", text


def can_be_split(facts: FieldFacts, split_from: float | None) -> bool:
    """Whether a field is large enough to be its own partner; not where its acres are unknown."""
    return facts.acres is not None and split_from is not None and facts.acres >= split_from


def _partner(facts: FieldFacts, split_from: float | None, others: Collection[FieldFacts]) -> Said:
    if facts.acres is None:
        return "partner", "unknown", "Its acres are not on record, so whether it can be split is not known."
    if can_be_split(facts, split_from):
        return "partner", "fair", f"With {facts.acres:g} acres it can be split: the partner lies in the same field."
    near = [one.field for one in others if one.field in facts.partners]
    if near:
        return "partner", "fair", f"It was paired with {near[0]} before, which is in this plan too."
    if others:
        return "partner", "unfair", f"With {facts.acres:g} acres it is too small to split and needs another field."
    return "partner", "unfair", "Too small to split, and no other field of this plan is left as its partner."


def _distance(facts: FieldFacts, rules: dict[str, PlanningRule], others: Collection[FieldFacts]) -> Said:
    far = rules["distance"].threshold
    if not others or far is None or can_be_split(facts, rules["partner"].threshold):
        return "distance", "", ""
    known = sorted((facts.distances[one.field], one.field) for one in others if one.field in facts.distances)
    if not known:
        return "distance", "unknown", f"How far its partner would be is not on record: {TYPE_DISTANCES}."
    km, nearest = known[0]
    how_many = f"{len(others) - len(known)} of {len(others)}"
    some = "" if len(known) == len(others) else f" How far off {how_many} others are is not on record."
    side = "unfair" if km >= far else "fair"
    return "distance", side, f"{nearest}, the nearest partner in this plan, lies {amount(km, 'km', 1)} away.{some}"
