"""Exploration: loss by the conditions of the check, seeds left behind, green seed by frost. Never a finding."""

import csv
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import duckdb
import pytest

from analytics.answer.marks import SIDES
from analytics.pairs.conditions import condition_counts, green_by_frost, loss_conditions, lost_seeds
from analytics.storage.database import read_table
from analytics.trade.seed_loss import seeds_per_m2
from dashboard.frame.shown_picture import specification
from dashboard.winter.exploring import against_condition
from tests.conftest import small_records
from tests.sql.two_halves import EAST, WEST, Row, Tiny, check, only, pair_of_plots

PUBLISHED = Path(__file__).resolve().parents[1] / "published" / "trade" / "volunteers.csv"
CUT, COMBINED = date(2024, 8, 20), date(2024, 9, 1)
NOTED = {"hour_of_day": 14.0, "ground_speed_kmh": 6.0, "air_c": 22.0, "humidity_pct": 40.0}


@pytest.mark.parametrize(
    "row", list(csv.DictReader(PUBLISHED.read_text(encoding="utf-8").splitlines())), ids=lambda row: row["source"][:6]
)
def test_seeds_per_square_metre_are_those_of_the_two_papers(row: dict[str, str]) -> None:
    found = seeds_per_m2(float(row["loss_kg_ha"]), thousand_seed_g=float(row["thousand_seed_g"]))
    assert found == pytest.approx(float(row["seeds_m2"]), rel=float(row["tolerance_pct"]) / 100)


def counted(plot: Row, day: int, spot: str, plants: int) -> Row:
    return {**plot, "counted_on": date(2025, 5, day), "spot": spot, "plants": plants, "area_m2": 0.25}


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Iterator[duckdb.DuckDBPyConnection]:
    """40 seeds of 4 g a thousand on 1 m2 behind the header and 60 in a pan twice concentrated: 40 + 30 on a metre."""
    pan = {"cut_width_m": 2.0, "discharge_width_m": 1.0}
    tables = pair_of_plots(
        samples=[EAST | {"sample": "1", "thousand_seed_g": 4.0}],
        loss_checks=[
            check(EAST, "ground behind header", "1", seeds=40, **NOTED),
            check(EAST, "pan behind combine", "1", seeds=80, **pan, **NOTED),
            check(EAST, "pan behind combine", "2", seeds=40, **pan, **NOTED | {"air_c": 24.0}),
            check(WEST, "pan behind combine", "1", seeds=40, **pan),
        ],
        spring_counts=[
            counted(EAST, 1, "1", 90),
            counted(EAST, 20, "1", 10),
            counted(EAST, 20, "2", 14),
            counted(WEST, 20, "1", 9),
        ],
    )
    with small_records(tmp_path_factory.mktemp("conditions") / "records.duckdb", tables) as connection:
        yield connection


def test_seeds_left_on_a_square_metre_are_the_loss_over_the_weight_of_a_seed(
    records: duckdb.DuckDBPyConnection,
) -> None:
    assert only(records, "plot_lost_seeds")["lost_seeds_m2"] == pytest.approx(40 + (80 + 40) / 2 / 2)
    assert only(records, "plot_lost_seeds", WEST)["lost_seeds_m2"] is None  # no count behind the pick-up
    assert lost_seeds(records) == ("Standing left about 70 seeds/m2 (70 to 70 on 1 plot).",)


def test_the_conditions_of_a_check_are_the_means_of_its_spots(records: duckdb.DuckDBPyConnection) -> None:
    rows = loss_conditions(records)
    assert rows.select("place", "method", "air_c", "hour_of_day").rows() == [
        ("ground behind header", "standing", 22.0, 14.0),
        ("pan behind combine", "standing", 23.0, 14.0),
    ]
    pan_g_m2 = (80 + 40) / 2 * 4 / 1000 / 2
    assert rows["loss"][1] == pytest.approx(pan_g_m2 / 5.60425578097)
    assert (
        condition_counts(rows) == "1 plot (1 standing, 0 windrowed) in 1 crop year have checks with conditions noted."
    )


def test_the_picture_holds_a_mark_a_check_in_the_colour_of_its_method(records: duckdb.DuckDBPyConnection) -> None:
    picture = specification(against_condition(loss_conditions(records), "air_c", "loss, bu/ac"))
    (marks,) = (frame for frame in picture["datasets"].values() if "air_c" in frame.columns)
    assert marks.select("air_c", "colour", "shape").rows() == [(22.0, *SIDES["standing"]), (23.0, *SIDES["standing"])]


def test_volunteers_are_the_mean_of_the_spots_of_the_last_day(records: duckdb.DuckDBPyConnection) -> None:
    assert only(records, "plot_volunteers")["plants_m2"] == 48.0
    (pair,) = read_table(records, "pair_measures").filter(measure="volunteers").iter_rows(named=True)
    assert (pair["standing"], pair["windrowed"], pair["difference"]) == (48.0, 36.0, 12.0)


def frosty(*frosts: Row, **windrowed: object) -> dict[str, list[Row]]:
    tables = pair_of_plots(
        samples=[
            EAST | {"sample": "1", "seeds_crushed": 500, "green_seeds": 20},
            WEST | {"sample": "1", "seeds_crushed": 500, "green_seeds": 30},
        ],
        weather=[{"event": "frost", "unit": "C", **frost} for frost in frosts],
    )
    tables["plots"][0]["harvested_on"] = COMBINED
    tables["plots"][1] |= {"windrowed_on": CUT, "harvested_on": COMBINED} | windrowed
    return tables


def test_frost_between_the_cuts_came_before_standing_and_after_windrowing(tiny: Tiny) -> None:
    frost = {"happened_on": date(2024, 8, 25), "reading": -3.5, "hours_below_zero": 6.0}
    assert green_by_frost(tiny(frosty(frost))) == (
        "Standing, with frost before cutting (down to −3.5 C, up to 6 hours below zero): 4.00\u202f% green on average, "
        "1 field-year.",
        "Windrowed, with frost after cutting (down to −3.5 C, up to 6 hours below zero): 6.00\u202f% green on average, "
        "1 field-year.",
    )


def test_frost_of_spring_of_another_field_or_after_the_combine_is_none(tiny: Tiny) -> None:
    tables = frosty(
        {"happened_on": date(2024, 5, 10), "reading": -2.0},
        {"happened_on": date(2024, 9, 20), "reading": -6.0},
        {"happened_on": date(2024, 8, 25), "reading": -2.0, "field": "Other"},
    )
    tables["fields"].append({"field": "Other"})
    said = green_by_frost(tiny(tables))
    assert [line.partition(":")[0] for line in said] == [
        "Standing, without frost on record", "Windrowed, without frost on record",
    ]  # fmt: skip


def test_a_year_without_any_weather_says_nothing_of_frost(tiny: Tiny) -> None:
    assert green_by_frost(tiny(frosty())) == ()
