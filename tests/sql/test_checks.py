"""Every branch of sql/checks finds what it is there for and is silent about sound records."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from itertools import chain
from pathlib import Path

import duckdb
import pytest

from analytics.records.own_tables import SAVED_TABLES
from analytics.storage.database import failed_checks
from analytics.storage.sql_texts import SQL_FOLDER, check_files
from analytics.trade.measures import MEASURES
from tests.prepared import begun
from tests.sql.two_halves import Row, lay_in

PLOT = {"crop_year": 2024, "field": "Home", "plot": "east"}
NO_PLOT = {"crop_year": 2024, "field": "Home", "plot": "north"}
OF_NO_PAIR = {"crop_year": 2025, "field": "Other", "plot": "east"}  # a row twice here multiplies in no view of pairs
DAY, NEXT_DAY = date(2024, 9, 1), date(2024, 9, 2)
SPOT = {"checked_on": DAY, "place": "pan behind combine", "spot": "1", "area_m2": 1.0}
CHECK = {"crop_year": 2024, "bin": "1", "checked_on": DAY, "place": "core", "smell": "fresh"}
SPRING = {"counted_on": DAY, "spot": "1", "plants": 3, "area_m2": 0.25}
SIDES = {"standing_field": "Home", "standing_plot": "east", "windrowed_field": "Home", "windrowed_plot": "west"}
DRAW = {"drawn_at": "2024-01-05 10:00", "seed": 1, "place": 1, "first_side": "a", "second_side": "b"}

STRIP = OF_NO_PAIR | {
    "file_name": "points.csv",
    "fingerprint": "c0ffee",
    "points": 10,
    "kept": 9,
    "delay_s": 11.0,
    "cut_width_m": 9.0,
    "covered": 1.0,
    "monitor_kg": 900.0,
    "field_monitor_kg": 9000.0,
    "thresholds": "start_m 20",
    "outline": "0 0; 1 0; 1 1; 0 1",
}


def each_key_apart(row: Row, **others: object) -> list[Row]:
    """The row, and one more for each of its keys that differs in that key alone."""
    return [row, *(row | {name: other} for name, other in others.items())]


def each_plot_apart(row: Row, **others: object) -> list[Row]:
    return each_key_apart(OF_NO_PAIR | row, crop_year=2024, field="Home", plot="west", **others)


def half_a_pair(pair: str, **side: str) -> Row:
    return {"crop_year": 2024, "pair": pair, "layout": "strips", **side}


# Two rows that share all of a key but one column are no fault; nor is a blank where one may be.
SOUND: dict[str, list[Row]] = {
    "fields": [{"field": "Home"}, {"field": "Other"}],
    "plots": [
        {"crop_year": year, "field": field, "plot": plot, "method": method, "acres": 40.0}
        for year in (2024, 2025)
        for field in ("Home", "Other")
        for plot, method in (("east", "standing"), ("west", "windrowed"))
    ],
    "plantings": each_key_apart({"crop_year": 2025, "field": "Other"}, crop_year=2024, field="Home"),
    "pairs": [
        {"crop_year": 2024, "pair": "A", "layout": "split field", **SIDES},
        {"crop_year": 2025, "pair": "A", "layout": "split field", **SIDES},
        {"crop_year": 2024, "pair": "B", "layout": "strips"},
    ],
    "loads": each_plot_apart({"ticket": "1", "weight_kg": 1000.0}, ticket="2"),
    "samples": each_plot_apart({"sample": "1"}, sample="2"),
    "loss_checks": each_plot_apart(SPOT, checked_on=NEXT_DAY, place="ground behind header", spot="2"),
    "operations": each_plot_apart({"done_on": DAY, "operation": "swathing"}, done_on=NEXT_DAY, operation="combining"),
    "field_totals": each_key_apart(
        {"crop_year": 2025, "field": "Other", "certified_kg": 9000.0}, crop_year=2024, field="Home"
    ),
    "weather": each_key_apart(
        {"happened_on": DAY, "field": "Home", "event": "wind"}, happened_on=NEXT_DAY, field=None, event="hail"
    ),
    "prices": each_key_apart(
        {"crop_year": 2024, "crop": "canola", "grade": "1", "dollars_per_tonne": 600.0},
        crop_year=2025,
        crop="barley",
        grade="2",
    ),
    "field_distances": [{"field": "Home", "other_field": "Other", "distance_km": 3.0}],
    "bins": [
        *each_key_apart({"crop_year": 2024, "bin": "1"}, crop_year=2025, bin="2"),
        {"crop_year": 2025, "bin": "2"},
    ],
    "bin_fills": each_key_apart(
        OF_NO_PAIR | {"bin": "1", "filled_on": DAY},
        crop_year=2024,
        bin="2",
        field="Home",
        plot="west",
        filled_on=NEXT_DAY,
    ),
    "bin_checks": each_key_apart(CHECK, crop_year=2025, bin="2", checked_on=NEXT_DAY, place="top"),
    "spring_counts": each_plot_apart(SPRING, counted_on=NEXT_DAY, spot="2"),
    "plot_totals": each_plot_apart({"certified_kg": 9000.0}),
    "settings": each_key_apart({"name": "level", "value": "0.9"}, name="farm_name"),
    "cost_assumptions": each_key_apart({"item": "freight", "middle": 1.0, "source": "own"}, item="drying"),
    "planning_rules": each_key_apart({"rule": "frost", "is_used": True, "source": "own"}, rule="wind"),
    "draws": each_key_apart(
        {"crop_year": 2024, "pair": "A", "first_method": "standing", **DRAW}, crop_year=2025, pair="B"
    ),
    "broken_draws": each_key_apart(
        {"crop_year": 2024, "pair": "A", "noted_on": DAY, "reason": "hail"}, crop_year=2025, pair="B"
    ),
    "column_matches": each_key_apart(
        {"name": "scale", "table_name": "loads", "column_name": "ticket", "file_column": "No"},
        name="elevator",
        table_name="samples",
        column_name="weight_kg",
    ),
    "monitor_strips": each_key_apart(STRIP, crop_year=2024, field="Home", plot="west"),
    "monitor_removals": each_key_apart(OF_NO_PAIR | {"step": "header up", "points": 3}, plot="west", step="headland"),
    "monitor_cells": each_key_apart(OF_NO_PAIR | {"cell": 1, "east_m": 0.0, "north_m": 0.0}, plot="west", cell=2),
    "share_codes": [
        {"kind": "farm", "name": "this farm", "code": "B2C3-D4F5"},
        {"kind": "place", "name": "Home", "code": "G6H7"},
        {"kind": "place", "name": "Other", "code": "J8K9"},
    ],
}

# What is broken, with which rows, and what is said of it.
TWICE: list[tuple[str, str]] = [
    ("fields", "fields: Home is there twice."),
    ("plantings", "plantings: Other, 2025 is there twice."),
    ("plots", "plots: Other west, 2025 is there twice."),
    ("loads", "loads: ticket 1 of Other east, 2025 is there twice."),
    ("field_totals", "field_totals: Other, 2025 is there twice."),
    ("samples", "samples: sample 1 of Other east, 2025 is there twice."),
    ("loss_checks", "loss_checks: pan behind combine, spot 1 of Other east, 2024-09-01 is there twice."),
    ("operations", "operations: swathing of Other east, 2024-09-01 is there twice."),
    ("weather", "weather: wind on 2024-09-01 is there twice."),
    ("prices", "prices: canola grade 1, 2024 is there twice."),
    ("field_distances", "field_distances: Home and Other are there twice."),
    ("bins", "bins: 1, 2024 is there twice."),
    ("bin_fills", "bin_fills: 1 with Other east, 2024-09-01 is there twice."),
    ("bin_checks", "bin_checks: core of 1, 2024-09-01 is there twice."),
    ("spring_counts", "spring_counts: spot 1 of Other east, 2024-09-01 is there twice."),
    ("plot_totals", "plot_totals: Other east, 2025 is there twice."),
    ("settings", "settings: level is there twice."),
    ("monitor_strips", "monitor_strips: Other east, 2025 is there twice."),
    ("monitor_removals", "monitor_removals: header up of Other east, 2025 is there twice."),
    ("monitor_cells", "monitor_cells: 1 of Other east, 2025 is there twice."),
    ("cost_assumptions", "cost_assumptions: freight is there twice."),
    ("planning_rules", "planning_rules: frost is there twice."),
    ("draws", "draws: A, 2024 is there twice."),
    ("broken_draws", "broken_draws: A, 2024 is there twice."),
    ("column_matches", "column_matches: scale, ticket is there twice."),
]

Case = tuple[str, dict[str, list[Row]], list[str]]

# Faults that stand beside each other: each adds its own line.
BESIDE: list[Case] = [
    *((f"{name} twice", {name: [SOUND[name][-1 if name == "plots" else 0]]}, [says]) for name, says in TWICE),
    (
        "share_codes twice",
        {"share_codes": [{"kind": "place", "name": "Home", "code": "L2M3"}]},
        ["share_codes: Home is there twice."],
    ),
    (
        "a share code of two places",
        {"share_codes": [{"kind": "place", "name": "Third", "code": "G6H7"}]},
        ["share_codes: G6H7 stands for two."],
    ),
    (
        "weather of the whole farm twice",
        {"weather": [SOUND["weather"][2]]},
        ["weather: wind on 2024-09-01 is there twice."],
    ),
    (
        "a distance to itself",
        {"field_distances": [{"field": "Home", "other_field": "Home", "distance_km": 0.0}]},
        ["field_distances: Home has a distance to itself."],
    ),
    (
        "loads of no plot",
        {"loads": [NO_PLOT | {"ticket": "9"}]},
        ["loads: Home north, 2024 is not among the plots."],
    ),
    (
        "loads of a plot of another year",
        {"loads": [PLOT | {"crop_year": 2023, "ticket": "9"}]},
        ["loads: Home east, 2023 is not among the plots."],
    ),
    (
        "samples of no plot",
        {"samples": [NO_PLOT | {"sample": "9"}]},
        ["samples: Home north, 2024 is not among the plots."],
    ),
    (
        "loss_checks of no plot",
        {"loss_checks": [NO_PLOT | SPOT]},
        ["loss_checks: Home north, 2024 is not among the plots."],
    ),
    (
        "operations of no plot",
        {"operations": [NO_PLOT | {"done_on": DAY, "operation": "seeding"}]},
        ["operations: Home north, 2024 is not among the plots."],
    ),
    (
        "monitor_strips of no plot",
        {"monitor_strips": [STRIP | NO_PLOT]},
        ["monitor_strips: Home north, 2024 is not among the plots."],
    ),
    (
        "monitor_removals of no plot",
        {"monitor_removals": [NO_PLOT | {"step": "headland", "points": 1}]},
        ["monitor_removals: Home north, 2024 is not among the plots."],
    ),
    (
        "monitor_cells of no plot",
        {"monitor_cells": [NO_PLOT | {"cell": 1, "east_m": 0.0, "north_m": 0.0}]},
        ["monitor_cells: Home north, 2024 is not among the plots."],
    ),
    (
        "a filling from no plot",
        {"bin_fills": [NO_PLOT | {"bin": "1", "filled_on": DAY}]},
        ["bin_fills: Home north, 2024 is not among the plots."],
    ),
    (
        "a spring count of no plot",
        {"spring_counts": [NO_PLOT | SPRING]},
        ["spring_counts: Home north, 2024 is not among the plots."],
    ),
    (
        "a total of no plot",
        {"plot_totals": [NO_PLOT | {"certified_kg": 9000.0}]},
        ["plot_totals: Home north, 2024 is not among the plots."],
    ),
    (
        "a filling of no bin",
        {"bin_fills": [PLOT | {"bin": "9", "filled_on": DAY}]},
        ["bin_fills: 9, 2024 is not among the bins."],
    ),
    (
        "a check of a bin of another year",
        {"bin_checks": [CHECK | {"crop_year": 2023}]},
        ["bin_checks: 1, 2023 is not among the bins."],
    ),
    (
        "plantings of no field",
        {"plantings": [{"crop_year": 2024, "field": "Nowhere"}]},
        ["plantings: Nowhere is not among the fields."],
    ),
    (
        "plots of no field",
        {"plots": [{"crop_year": 2024, "field": "Nowhere", "plot": "east", "method": "standing"}]},
        ["plots: Nowhere is not among the fields."],
    ),
    (
        "field_totals of no field",
        {"field_totals": [{"crop_year": 2024, "field": "Nowhere", "certified_kg": 1.0}]},
        ["field_totals: Nowhere is not among the fields."],
    ),
    (
        "a distance from no field",
        {"field_distances": [{"field": "Nowhere", "other_field": "Home", "distance_km": 1.0}]},
        ["field_distances: Nowhere is not among the fields."],
    ),
    (
        "weather of no field",
        {"weather": [{"happened_on": DAY, "field": "Nowhere", "event": "frost"}]},
        ["weather: Nowhere is not among the fields."],
    ),
    (
        "a standing side that is no plot",
        {"pairs": [half_a_pair("C", standing_field="Home", standing_plot="north")]},
        ["pairs: Home north, 2024 is not among the plots."],
    ),
    (
        "a windrowed side that is no plot",
        {"pairs": [half_a_pair("D", windrowed_field="Home", windrowed_plot="south")]},
        ["pairs: Home south, 2024 is not among the plots."],
    ),
    (
        "a standing plot in two pairs",
        {"pairs": [half_a_pair("E", standing_field="Home", standing_plot="east")]},
        ["pairs: Home east, 2024 is in pairs A, E; a plot belongs to one."],
    ),
    (
        "a windrowed plot in two pairs",
        {"pairs": [half_a_pair("F", windrowed_field="Home", windrowed_plot="west")]},
        ["pairs: Home west, 2024 is in pairs A, F; a plot belongs to one."],
    ),
    (
        "a windrowed plot as the standing side",
        {"pairs": [half_a_pair("G", standing_field="Other", standing_plot="west")]},
        ["pairs: Other west, 2024 is the standing in pair G and was windrowed."],
    ),
    (
        "a standing plot as the windrowed side",
        {"pairs": [half_a_pair("H", windrowed_field="Other", windrowed_plot="east")]},
        ["pairs: Other east, 2024 is the windrowed in pair H and was standing."],
    ),
    (
        "a distance to no field",
        {"field_distances": [{"field": "Home", "other_field": "Nowhere else", "distance_km": 1.0}]},
        ["field_distances: Nowhere else is not among the fields."],
    ),
]

# Faults that would change what is said of another.
ALONE: list[Case] = [
    (
        "a distance there and back",
        {"field_distances": [{"field": "Other", "other_field": "Home", "distance_km": 3.0}]},
        ["field_distances: Home and Other are there twice."],
    ),
    (
        "pairs twice",
        {"pairs": [SOUND["pairs"][0]]},
        [
            "pairs: A, 2024 is there twice.",
            "pairs: Home east, 2024 is in pairs A, A; a plot belongs to one.",
            "pairs: Home west, 2024 is in pairs A, A; a plot belongs to one.",
            *(f"pair_measures: A, 2024, {name} is there 2 times." for name in MEASURES),
        ],
    ),
]


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Iterator[duckdb.DuckDBPyConnection]:
    with begun(tmp_path_factory.mktemp("sound") / "records.duckdb") as connection:
        lay_in(connection, SOUND)
        yield connection


@contextmanager
def broken(sound: duckdb.DuckDBPyConnection, rows: dict[str, list[Row]]) -> Iterator[None]:
    """Within the block these rows are on record too."""
    sound.execute("begin")
    lay_in(sound, rows)
    yield
    sound.execute("rollback")


OF_VIEWS = SQL_FOLDER / "queries" / "measures_twice.sql"  # reads every view
FAULTY = [BESIDE, *([case] for case in ALONE)]  # states of the records, each with all that is broken in it


def rows_of(cases: list[Case]) -> dict[str, list[Row]]:
    tables: dict[str, list[Row]] = {}
    for _, broken_rows, _ in cases:
        for name, rows in broken_rows.items():
            tables.setdefault(name, []).extend(rows)
    return tables


def problems(connection: duckdb.DuckDBPyConnection, query: str) -> list[str]:
    return [str(problem) for (problem,) in connection.execute(query).fetchall()]


@pytest.fixture(scope="module")
def said(sound: duckdb.DuckDBPyConnection) -> list[dict[Path, list[str]]]:
    """What each file of checks says of each of FAULTY; asked once."""
    answers = []
    for cases in FAULTY:
        rows = rows_of(cases)
        with broken(sound, rows):
            asked = [*check_files(), *([OF_VIEWS] if "pairs" in rows else [])]
            answers.append({file: problems(sound, file.read_text(encoding="utf-8")) for file in asked})
    return answers


def test_rows_that_differ_in_one_part_of_their_key_are_sound(sound):
    assert failed_checks(sound) == []


@pytest.mark.parametrize(
    ("state", "says"),
    [pytest.param(state, says, id=what) for state, cases in enumerate(FAULTY) for what, _, says in cases],
)
def test_what_is_broken_is_said(said, state, says):
    assert set(says) <= set(chain(*said[state].values()))


@pytest.mark.parametrize("state", range(len(FAULTY)))
def test_nothing_else_is_said_and_each_fault_once(said, state):
    assert sorted(chain(*said[state].values())) == sorted(chain(*(says for _, _, says in FAULTY[state])))


def test_all_of_it_is_said_of_one_fault(sound):
    what, rows, says = ALONE[-1]
    with broken(sound, rows):
        assert sorted(failed_checks(sound)) == sorted(says), what


def test_whatever_else_is_there_twice_the_view_of_pairs_holds_each_measure_once(sound):
    """So that it need not be asked where no check of a table found anything."""
    others = {
        "settings": [{"name": "requirements", "value": "weighed alike, loss counted alike"}],
        "loads": [PLOT | {"ticket": "3", "weight_kg": 900.0, "weighed_by": "yield monitor"}],
    }
    with broken(sound, others):
        lay_in(sound, {name: rows for name, rows in SOUND.items() if name != "pairs"})
        assert problems(sound, OF_VIEWS.read_text(encoding="utf-8")) == []
        assert problems(sound, "select distinct barred from pair_measures where pair = 'A' and barred is not null")


def test_every_table_that_is_saved_has_its_key_checked():
    assert {f"{name} twice" for name in SAVED_TABLES} <= {what for what, *_ in (*BESIDE, *ALONE)}


SOURCE = re.compile(r"\bfrom (\w+)")


def without_a_source(file: Path) -> Iterator[tuple[str, str]]:
    """The checks of a file as often as they read from something, each time with nothing there: (what, text)."""
    text = re.sub(r"--.*", "", file.read_text(encoding="utf-8"))
    for number, found in enumerate(SOURCE.finditer(text)):
        nothing = f"from (from {found[1]} limit 0) as {found[1]}"
        yield f"{file.stem}, {number}: {found[1]}", text[: found.start()] + nothing + text[found.end() :]


@pytest.mark.parametrize("file", [*check_files(), OF_VIEWS], ids=lambda file: file.stem)
def test_no_branch_could_be_taken_away_unnoticed(sound, said, file):
    """For each branch there is a state of which less is said when that branch finds nothing."""
    unnoticed = dict(without_a_source(file))
    assert unnoticed, "a check reads from something"
    for cases, heard in zip(FAULTY, said, strict=True):
        if heard.get(file):
            with broken(sound, rows_of(cases)):
                for branch, blinded in list(unnoticed.items()):
                    if set(problems(sound, blinded)) < set(heard[file]):
                        del unnoticed[branch]
    assert list(unnoticed) == []
