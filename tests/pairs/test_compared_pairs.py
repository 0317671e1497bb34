"""What weakens a pair is said just past its limit and not on it: in a caution, beside the pair, and on the sheet."""

from collections.abc import Iterator
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
from analytics.records.tables import TABLES
from analytics.settings import read_settings
from analytics.sheet import numbers
from analytics.sheet.printed_tables import pair_notes, pair_table
from analytics.storage.database import read_table
from analytics.trade.measures import find_measure
from tests.conftest import write
from tests.prepared import begun

SEEDED = date(2024, 5, 10)


# Name of a pair: colour change of its windrowed side, days between its seedings, and what is said of it.
PAIRS = {
    "just too early": (EARLY_COLOUR_CHANGE_PCT - 0.1, 0, "windrowed_early", "e", "cut before"),
    "seeded too late": (90.0, DAYS_BETWEEN_SEEDINGS + 1, "seeded_apart", "s", "seeded more than"),
    "seeded too soon": (90.0, -DAYS_BETWEEN_SEEDINGS - 1, "seeded_apart", "s", "seeded more than"),
    "at the limits": (EARLY_COLOUR_CHANGE_PCT, DAYS_BETWEEN_SEEDINGS, "", "", ""),
    "at the limits, the other first": (EARLY_COLOUR_CHANGE_PCT, -DAYS_BETWEEN_SEEDINGS, "", "", ""),
}


def pair(name: str, colour_change: float, days_apart: int) -> dict[str, list[dict[str, object]]]:
    """Two neighbouring fields with a weighed load each, cut and seeded as given."""
    sides = {f"{name}, east": "standing", f"{name}, west": "windrowed"}
    keys = [{"crop_year": 2024, "field": field} for field in sides]
    load = {"ticket": "1", "weight_kg": 20_000.0, "moisture_pct": 9.0, "dockage_pct": 1.0}
    return {
        "fields": [{"field": field} for field in sides],
        "plantings": [
            key | {"crop": "canola", "seeded_on": SEEDED + timedelta(days=days)}
            for key, days in zip(keys, (0, days_apart), strict=True)
        ],
        "plots": [
            key | {"plot": "whole", "method": method, "acres": 40.0, "seed_colour_change_pct": colour}
            for key, method, colour in zip(keys, sides.values(), (None, float(colour_change)), strict=True)
        ],
        "loads": [key | {"plot": "whole", "weighed_by": "certified scale"} | load for key in keys],
        "pairs": [
            {"crop_year": 2024, "pair": name, "layout": "neighbouring fields", "allocation": "drawn by lot"}
            | {f"{method}_field": field for field, method in sides.items()}
            | {f"{method}_plot": "whole" for method in sides.values()}
        ],
    }


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Iterator[duckdb.DuckDBPyConnection]:
    """A farm with all of the pairs."""
    tables: dict[str, list[dict[str, object]]] = {}
    for name, (colour_change, days_apart, *_) in PAIRS.items():
        for table, rows in pair(name, colour_change, days_apart).items():
            tables.setdefault(table, []).extend(rows)
    with begun(tmp_path_factory.mktemp("limits") / "records.duckdb") as connection:
        write(connection, {name: pl.DataFrame(rows, TABLES[name].polars_schema()) for name, rows in tables.items()})
        yield connection


@pytest.fixture(scope="module")
def measured(records: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    return read_table(records, "pair_measures")


@pytest.mark.parametrize("name", PAIRS)
def test_a_limit_itself_is_no_fault_and_just_past_it_is(records, measured, name):
    """60 % colour change: Canola Council of Canada, 2019. 7 days between seedings: our choice, no source."""
    *_, code, letter, words = PAIRS[name]
    only = measured.filter(pair=name)
    facts = pair_facts(records).filter(pair=name)
    said = {one.code for one in pair_cautions(facts, find_measure("yield"), only.filter(measure="yield"))}
    assert said & {"windrowed_early", "seeded_apart"} == ({code} if code else set())

    shown = one_pair(records, 2024, name)
    beside = [row.caution for group in shown.groups for row in group.facts if row.caution]
    assert [
        bool(words) and words in caution for caution in beside if "cut before" in caution or "seeded" in caution
    ] == ([True] if words else [])

    rows = numbers.pair_numbers(records, only, read_settings(records))
    assert isinstance(rows, pl.DataFrame)
    (printed,) = pair_table(rows, 1).rows
    assert printed[5] == letter
    assert f" {letter}: " in pair_notes(rows, 10.0)[0] if letter else " e: " not in pair_notes(rows, 10.0)[0]


@pytest.mark.parametrize(
    ("measure", "words"),
    [
        ("yield", "seed colour change. Early cutting alone can cost yield."),
        ("green_seed", "seed colour change. Early cutting alone can leave more green seed."),
        ("days_to_harvest", "seed colour change. Early cutting alone brings harvest forward."),
        ("moisture", "seed colour change."),
    ],
)
def test_what_early_cutting_does_is_said_of_the_measure_that_is_asked_about(records, measured, measure, words):
    rows = measured.filter(measure=measure, pair="just too early").with_columns(difference=pl.lit(1.0))
    said = {one.code: one.text for one in pair_cautions(pair_facts(records), find_measure(measure), rows)}
    assert said["windrowed_early"].endswith(words)


def test_a_pair_left_out_names_the_paper_that_it_waits_for(demo):
    said = {
        one.code: one.text for one in pair_cautions(pair_facts(demo), find_measure("yield"), pair_rows(demo, "yield"))
    }
    assert said["left_out"] == (
        "Left out: pair H1, 2022, which lacks moisture on ticket 4292 for Home quarter, west (windrowed). And 1 more."
    )
