"""One field cut in two halves, as rows of its tables."""

from collections.abc import Callable, Sequence
from datetime import date

import duckdb
import polars as pl

from analytics.records.own_tables import SAVED_TABLES
from analytics.storage.database import read_table

Row = dict[str, object]
Tables = dict[str, list[Row]]
Tiny = Callable[[Tables], duckdb.DuckDBPyConnection]

EAST = {"crop_year": 2024, "field": "Home", "plot": "east"}
WEST = {"crop_year": 2024, "field": "Home", "plot": "west"}


def lay_in(connection: duckdb.DuckDBPyConnection, tables: Tables) -> None:
    """Rows as they are, past all that keeps a fault out of the records; what a row leaves out is blank."""
    for name, rows in tables.items():
        given = pl.DataFrame(rows, schema=SAVED_TABLES[name].polars_schema())  # noqa: F841  read by name
        connection.execute(f"insert into {name} by name from given")


def pair_of_plots(**more: list[Row]) -> Tables:
    """One field of two halves of 50 acres, paired; `more` are further tables."""
    return {
        "fields": [{"field": "Home", "acres": 100.0}],
        "plots": [
            {**EAST, "method": "standing", "acres": 50.0},
            {**WEST, "method": "windrowed", "acres": 50.0},
        ],
        "pairs": [
            {
                "crop_year": 2024,
                "pair": "A",
                "standing_field": "Home",
                "standing_plot": "east",
                "windrowed_field": "Home",
                "windrowed_plot": "west",
                "layout": "split field",
            }
        ],
        **more,
    }


def beside_each_other(farms: Sequence[Tables]) -> Tables:
    """Farms of one field Home as one farm: their fields are Home 0, Home 1, ... and their pairs A 0, A 1, ..."""
    together: Tables = {}
    for number, tables in enumerate(farms):
        for name, rows in tables.items():
            for row in rows:
                named = {key: f"{text} {number}" if text in ("Home", "A") else text for key, text in row.items()}
                together.setdefault(name, []).append(named)
    return together


def load(plot: Row, ticket: str, weight: float | None = 20_000.0, **more: object) -> Row:
    values = {"moisture_pct": 12.0, "dockage_pct": 2.0, "weighed_by": "certified scale", **more}
    return {**plot, "ticket": ticket, "weight_kg": weight, **values}


def check(plot: Row, place: str, spot: str, **more: object) -> Row:
    return {**plot, "checked_on": date(2024, 9, 1), "place": place, "spot": spot, "area_m2": 1.0, **more}


def only(connection: duckdb.DuckDBPyConnection, view: str, plot: Row = EAST) -> Row:
    return read_table(connection, view).row(
        by_predicate=(pl.col("field") == plot["field"]) & (pl.col("plot") == plot["plot"]), named=True
    )


def loss_records() -> Tables:
    """In g/m2, 4 g a thousand. Standing: 1, then 3 on the ground, 6 in the pan at factor 6. Windrowed: 0.5, 1.5, 2."""
    pan = {"grams": 6.0, "cut_width_m": 9.0, "discharge_width_m": 1.5}
    return pair_of_plots(
        loads=[load(EAST, "1"), load(WEST, "2")],
        samples=[{**plot, "sample": "1", "grade": "1", "thousand_seed_g": 4.0} for plot in (EAST, WEST)],
        prices=[{"crop_year": 2024, "crop": "canola", "grade": "1", "dollars_per_tonne": 600.0}],
        loss_checks=[
            check(EAST, "ground before harvest", "1", seeds=200),
            check(EAST, "ground before harvest", "2", seeds=300),
            check(EAST, "ground behind header", "1", grams=3.0),
            check(EAST, "pan behind combine", "1", **pan),
            check(WEST, "ground before harvest", "1", seeds=125),
            check(WEST, "ground after windrower", "1", grams=1.5),
            check(WEST, "ground behind header", "1", grams=2.0),
            check(WEST, "pan behind combine", "1", **pan),
        ],
    )


def without(place: str, plot: str) -> Tables:
    records = loss_records()
    kept = [row for row in records["loss_checks"] if (row["plot"], row["place"]) != (plot, place)]
    return {**records, "loss_checks": kept}
