"""For and against by field, with rules that the farm can change."""

from dataclasses import replace
from datetime import date

import pytest

from analytics.errors import BadInput
from analytics.planning.field_rules import (
    COMMON,
    FieldFacts,
    Season,
    field_facts,
    for_and_against,
    keep_rule,
    rules_in_force,
    usual_season,
)
from analytics.records.grown_tables import FIELD_DISTANCES, FIELDS, PLANTINGS
from tests.prepared import begun

PLAIN = {
    "field": "A", "acres": 150.0, "soil": "loam", "topography": "level", "notes": None, "crop": "canola",
    "variety": "Variety A", "shatter_tolerant": True, "seeded_on": date(2026, 5, 5), "weed_pressure": "medium",
    "stand": "average", "known_from": 2025, "last_crop": "wheat", "partners": (), "distances": {},
}  # fmt: skip
SEASON = Season(usual_seeding=(5, 8), days_standing=115.0, first_frosts=(date(2023, 8, 20), date(2024, 9, 20)), years=4)


@pytest.fixture
def empty(tiny):
    return tiny({})


@pytest.fixture(scope="module")
def rules(tmp_path_factory):
    """The rules of a farm that changed none."""
    with begun(tmp_path_factory.mktemp("rules") / "records.duckdb") as connection:
        return rules_in_force(connection)


def said(rules, season=SEASON, others=(), **changes):
    """What is said about field A; `others` are the names, and acres if not 60, of the other fields of the plan."""
    facts = FieldFacts(**{**PLAIN, **changes})
    planned = [facts, *(FieldFacts(**{**PLAIN, "field": name, "acres": acres}) for name, acres in others)]
    return {point.rule: point for point in for_and_against(facts, rules, season, crop_year=2026, planned=planned)}


def sides(rules, **given):
    return {rule: point.side for rule, point in said(rules, **given).items()}


B, C, LARGE = ("B", 60.0), ("C", 60.0), ("Large", 100.0)


@pytest.mark.parametrize(
    ("rule", "changes", "side"),
    [
        ("weeds", {"weed_pressure": "high"}, "against"),
        ("weeds", {"weed_pressure": "low"}, "for"),
        ("weeds", {"weed_pressure": "medium"}, None),
        ("weeds", {"weed_pressure": None}, "unknown"),
        ("stand", {"stand": "thin"}, "against"),
        ("stand", {"stand": "heavy"}, "for"),
        ("wet", {"topography": "low and wet"}, "against"),
        ("wet", {"notes": "slow to warm, below the road"}, None),
        ("uneven", {"notes": "Knolls ripen first"}, "against"),
        ("uneven", {}, None),
        ("shatter", {"shatter_tolerant": True}, "for"),
        ("shatter", {"shatter_tolerant": False}, "against"),
        ("shatter", {"shatter_tolerant": None}, "unknown"),
        ("partner", {"acres": 100.0}, "fair"),
        ("partner", {"acres": 99.9}, "unfair"),
        ("partner", {"acres": None}, "unknown"),
        ("partner", {"acres": 60.0, "partners": ("B",), "others": [B]}, "fair"),
        ("partner", {"acres": 60.0, "partners": ("B",)}, "unfair"),
        ("partner", {"acres": 60.0, "partners": ("Large",), "others": [LARGE]}, "unfair"),
        ("distance", {"acres": 60.0, "distances": {"B": 4.9}, "others": [B]}, "fair"),
        ("distance", {"acres": 60.0, "distances": {"B": 5.0}, "others": [B]}, "unfair"),
        ("distance", {"acres": 60.0, "distances": {}, "others": [B]}, "unknown"),
        ("distance", {"acres": 60.0, "distances": {"Large": 1.0}, "others": [B, LARGE]}, "unknown"),
        ("distance", {"acres": 60.0, "distances": {"B": 4.9}}, None),
        ("distance", {"acres": 100.0, "distances": {"B": 4.9}, "others": [B]}, None),
    ],
)
def test_each_rule_speaks_on_its_side(rules, rule, changes, side):
    assert sides(rules, **changes).get(rule) == side


def test_the_nearest_partner_is_named_and_what_is_unknown_is_said(rules):
    found = said(rules, acres=60.0, distances={"B": 7.25, "C": 2.4}, others=[B, C, ("D", 60.0)])
    assert (
        found["distance"].text
        == "C, the nearest partner in this plan, lies 2.4 km away. How far off 1 of 3 others are is not on record."
    )
    nothing = said(rules, acres=60.0, others=[B])
    assert nothing["distance"].text.endswith("not on record: type it under What came in?, Distances between fields.")


def test_how_far_is_too_far_can_be_changed(empty):
    near = {"acres": 60.0, "distances": {"B": 2.4}, "others": [B]}
    keep_rule(empty, "distance", is_used=True, threshold=2.4, source="own view", done_by="test")
    assert sides(rules_in_force(empty), **near)["distance"] == "unfair"


def test_distances_are_read_from_either_end(empty, add):
    add(empty, FIELDS, {"field": "A"}, {"field": "B"}, {"field": "C"})
    add(empty, FIELD_DISTANCES, {"field": "B", "other_field": "A", "distance_km": 2.4})
    facts = {one.field: one.distances for one in field_facts(empty, 2026)}
    assert facts == {"A": {"B": 2.4}, "B": {"A": 2.4}, "C": {}}


def test_frost_counts_from_its_share_of_years(empty, rules):
    """Seeded 5 May and 115 days later is 28 August: of 4 years one had its first frost before, 25 %; limit 30 %."""
    assert sides(rules)["frost"] == "for"
    keep_rule(empty, "frost", is_used=True, threshold=25.0, source="own view", done_by="test")
    assert sides(rules_in_force(empty))["frost"] == "against"


def test_frost_is_unknown_without_standing_harvests(empty, rules):
    assert sides(rules, season=usual_season(empty))["frost"] == "unknown"


def test_frost_is_unknown_without_any_weather_and_counts_only_years_that_have_some(rules):
    assert sides(rules, season=replace(SEASON, years=0))["frost"] == "unknown"
    text = said(rules, replace(SEASON, years=2))["frost"].text
    assert text.startswith("In 1 of the 2 years with weather on record frost came")


def test_a_rule_can_be_switched_off_and_keeps_its_source(empty):
    keep_rule(empty, "weeds", is_used=False, threshold=None, source="", done_by="test")
    rules = rules_in_force(empty)
    assert "weeds" not in sides(rules, weed_pressure="high")
    assert rules["weeds"].source == COMMON


@pytest.mark.parametrize(("name", "threshold"), [("frost", None), ("frost", 0.0), ("sunshine", 1.0)])
def test_a_rule_that_cannot_be_is_refused(empty, name, threshold):
    with pytest.raises(BadInput, match="allowed"):
        keep_rule(empty, name, is_used=True, threshold=threshold, source="", done_by="test")


def test_every_rule_names_a_source_or_says_common_practice(rules):
    assert all(rule.source for rule in rules.values())


def test_facts_take_weeds_and_stand_from_the_last_planting_and_variety_from_the_planned_one(empty, add):
    add(empty, FIELDS, {"field": "A", "acres": 80.0}, {"field": "B"})
    add(
        empty,
        PLANTINGS,
        {"crop_year": 2023, "field": "A", "crop": "canola", "variety": "Variety A", "weed_pressure": "high"},
        {"crop_year": 2024, "field": "A", "crop": "barley", "weed_pressure": "low", "stand": "thin"},
    )
    one, other = field_facts(empty, 2026)
    assert (one.weed_pressure, one.stand, one.known_from, one.last_crop, one.variety) == (
        "low",
        "thin",
        2024,
        "barley",
        None,
    )
    assert (other.acres, other.weed_pressure, other.last_crop) == (None, None, None)


def test_demo_fields_have_a_season_to_judge_by(demo):
    season = usual_season(demo)
    assert season.years == 6
    assert 90 < season.days_standing < 140
    assert len(field_facts(demo, 2026)) == 11
