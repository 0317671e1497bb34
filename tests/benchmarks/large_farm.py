"""A farm of many seasons and fields, invented for measuring and alike for the same seed; no number is judged by it."""

import datetime

import duckdb
import numpy as np
import polars as pl

from analytics.records.tables import TABLES
from analytics.storage.history import TableSave, save

SIDES = ("standing", "windrowed")


def large_farm(*, seasons: int, fields: int, loads: int, seed: int = 60) -> dict[str, pl.DataFrame]:
    """Every table a comparison reads, by name: each field halved each season, `loads` tickets a plot."""
    random = np.random.default_rng(seed)
    years = range(2006, 2006 + seasons)
    names = [f"Field {number:02d}" for number in range(1, fields + 1)]
    halves = pl.DataFrame(
        [(year, name, method, method) for year in years for name in names for method in SIDES],
        schema=["crop_year", "field", "plot", "method"],
        orient="row",
    )
    halves = halves.with_columns(
        acres=pl.lit(80.0),
        seed_colour_change_pct=pl.lit(60.0),
        harvested_on=pl.date(pl.col("crop_year"), 9, 10)
        + pl.duration(days=pl.col("field").str.slice(6).cast(pl.Int64)),
        windrowed_on=pl.when(pl.col("method") == "windrowed").then(pl.date(pl.col("crop_year"), 8, 25)),
    )
    plots = halves.height
    of_plot = halves.select("crop_year", "field", "plot")
    tickets = of_plot.select(pl.all().repeat_by(loads).explode())
    count = tickets.height
    tables = {
        "fields": pl.DataFrame({"field": names, "acres": [160.0] * fields}),
        "plantings": pl.DataFrame(
            [(year, name, "canola", "Variety A", datetime.date(year, 5, 12)) for year in years for name in names],
            schema=["crop_year", "field", "crop", "variety", "seeded_on"],
            orient="row",
        ),
        "plots": halves,
        "pairs": pl.DataFrame(
            [
                (year, f"P{number:02d}", name, "standing", name, "windrowed")
                for year in years
                for number, name in enumerate(names)
            ],
            schema=["crop_year", "pair", "standing_field", "standing_plot", "windrowed_field", "windrowed_plot"],
            orient="row",
        ).with_columns(layout=pl.lit("split field"), allocation=pl.lit("drawn by lot")),
        "loads": tickets.with_columns(
            ticket=pl.int_range(count).cast(pl.String),
            weight_kg=pl.Series(80 * 40 * 22.68 / loads * random.normal(1, 0.05, count)).round(0),
            moisture_pct=pl.Series(random.uniform(7, 10, count)).round(1),
            dockage_pct=pl.Series(random.uniform(0.5, 3, count)).round(1),
            weighed_by=pl.lit("certified scale"),
        ),
        "samples": of_plot.with_columns(
            sample=pl.lit("S1"),
            grade=pl.lit("1"),
            seeds_crushed=pl.lit(500),
            green_seeds=pl.Series(random.binomial(500, 0.01, plots)),
            test_weight_kg_hl=pl.Series(random.uniform(63, 67, plots)).round(1),
            thousand_seed_g=pl.Series(random.uniform(3, 4, plots)).round(2),
        ),
        "prices": pl.DataFrame({"crop_year": list(years)}).with_columns(
            crop=pl.lit("canola"), grade=pl.lit("1"), dollars_per_tonne=pl.lit(600.0)
        ),
    }
    return {name: _complete(name, rows) for name, rows in tables.items()}


def keep(connection: duckdb.DuckDBPyConnection, tables: dict[str, pl.DataFrame]) -> None:
    """Save all tables in one act."""
    saves = [TableSave(table=TABLES[name], saved=rows, removed=rows.clear()) for name, rows in tables.items()]
    save(connection, saves, done_by="benchmark", source="import")


def _complete(name: str, rows: pl.DataFrame) -> pl.DataFrame:
    schema = TABLES[name].polars_schema()
    return rows.select(
        (pl.col(column) if column in rows.columns else pl.lit(None)).cast(kind).alias(column)
        for column, kind in schema.items()
    )
