"""What weakens a pair is said just past its limit and not on it: in a caution, beside the pair, and on the sheet."""

from collections.abc import Callable
from datetime import date, timedelta

import duckdb
import polars as pl
import pytest

from analytics.pairs.compared_pairs import (
    DAYS_BETWEEN_SEEDINGS,
    EARLY_COLOUR_CHANGE_PCT,
    pair_cautions,
    pair_facts,
    pair_rows,
)
from analytics.pairs.one_pair import one_pair
from analytics.settings import read_settings
from analytics.sheet import numbers
from analytics.sheet.printed_tables import pair_notes, pair_table
from analytics.storage.database import read_table
from analytics.trade.measures import find_measure

SEEDED = date(2024, 5, 10)


@pytest.fixture
def pair(tiny: Callable[..., duckdb.DuckDBPyConnection]) -> Callable[..., duckdb.DuckDBPyConnection]:
    """Two neighbouring fields with a weighed load each, cut and seeded as given."""

    def make(*, colour_change: float, days_apart: int) -> duckdb.DuckDBPyConnection:
        sides = {"East": "standing", "West": "windrowed"}
        keys = {field: {"crop_year": 2024, "field": field} for field in sides}
        load = {"ticket": "1", "weight_kg": 20_000.0, "moisture_pct": 9.0, "dockage_pct": 1.0}
        return tiny(
            {
                "fields": [{"field": field} for field in sides],
                "plantings": [
                    keys["East"] | {"crop": "canola", "seeded_on": SEEDED},
                    keys["West"] | {"crop": "canola", "seeded_on": SEEDED + timedelta(days=days_apart)},
                ],
                "plots": [
                    keys[field] | {"plot": "whole", "method": method, "acres": 40.0, "seed_colour_change_pct": colour}
                    for (field, method), colour in zip(sides.items(), (None, colour_change), strict=True)
                ],
                "loads": [key | {"plot": "whole", "weighed_by": "certified scale"} | load for key in keys.values()],
                "pairs": [
                    {"crop_year": 2024, "pair": "A", "layout": "neighbouring fields", "allocation": "drawn by lot"}
                    | {f"{method}_field": field for field, method in sides.items()}
                    | {f"{method}_plot": "whole" for method in sides.values()}
                ],
            }
        )

    return make


@pytest.mark.parametrize(
    ("colour_change", "days_apart", "code", "letter", "words"),
    [
        (EARLY_COLOUR_CHANGE_PCT - 0.1, 0, "windrowed_early", "e", "cut before"),
        (90.0, DAYS_BETWEEN_SEEDINGS + 1, "seeded_apart", "s", "seeded more than"),
        (90.0, -DAYS_BETWEEN_SEEDINGS - 1, "seeded_apart", "s", "seeded more than"),
        (EARLY_COLOUR_CHANGE_PCT, DAYS_BETWEEN_SEEDINGS, None, None, None),
        (EARLY_COLOUR_CHANGE_PCT, -DAYS_BETWEEN_SEEDINGS, None, None, None),
    ],
)
def test_a_limit_itself_is_no_fault_and_just_past_it_is(pair, colour_change, days_apart, code, letter, words):
    """60 % colour change: Canola Council of Canada, 2019. 7 days between seedings: our choice, no source."""
    connection = pair(colour_change=float(colour_change), days_apart=days_apart)
    said = {
        one.code for one in pair_cautions(pair_facts(connection), find_measure("yield"), pair_rows(connection, "yield"))
    }
    assert said & {"windrowed_early", "seeded_apart"} == ({code} if code else set())

    shown = one_pair(connection, 2024, "A")
    beside = [row.caution for group in shown.groups for row in group.facts if row.caution]
    assert [
        bool(words) and words in caution for caution in beside if "cut before" in caution or "seeded" in caution
    ] == ([True] if words else [])

    rows = numbers.pair_numbers(connection, read_table(connection, "pair_measures"), read_settings(connection))
    assert isinstance(rows, pl.DataFrame)
    (printed,) = pair_table(rows, 1).rows
    assert printed[5] == (letter or "")
    assert (f" {letter}: " in pair_notes(rows, 10.0)[0]) == bool(letter)


@pytest.mark.parametrize(
    ("measure", "words"),
    [
        ("yield", "seed colour change. Early cutting alone can cost yield."),
        ("green_seed", "seed colour change. Early cutting alone can leave more green seed."),
        ("days_to_harvest", "seed colour change. Early cutting alone brings harvest forward."),
        ("moisture", "seed colour change."),
    ],
)
def test_what_early_cutting_does_is_said_of_the_measure_that_is_asked_about(pair, measure, words):
    connection = pair(colour_change=40.0, days_apart=0)
    rows = pair_rows(connection, measure).with_columns(difference=pl.lit(1.0))
    said = {one.code: one.text for one in pair_cautions(pair_facts(connection), find_measure(measure), rows)}
    assert said["windrowed_early"].endswith(words)


def test_a_pair_left_out_names_the_paper_that_it_waits_for(demo):
    said = {
        one.code: one.text for one in pair_cautions(pair_facts(demo), find_measure("yield"), pair_rows(demo, "yield"))
    }
    assert said["left_out"] == (
        "Left out: pair H1, 2022, which lacks moisture on ticket 4292 for Home quarter, west (windrowed). And 1 more."
    )
