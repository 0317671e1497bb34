"""What is on record about the two plots of a pair: each side's rows of every table and view, read once."""

from dataclasses import dataclass

import duckdb
import polars as pl

from analytics.errors import BadInput
from analytics.storage.database import read, read_query, read_table

Record = dict[str, object]

ONE_ROW_VIEWS = ("plots", "plot_yield", "plot_quality", "plot_loss", "plot_timing", "plot_money", "plot_machines")
MANY_ROW_VIEWS = ("load_mass", "samples", "loss_spots", "loss_places", "plot_loss_parts", "plot_costs")
MADE_OF_OTHERS = ("plot_money", "plot_loss_parts")  # read first, so that what they are made of is worked out once


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One plot of a pair. `one` holds a row of each of ONE_ROW_VIEWS, plantings and fields, empty where there is
    none; `many` the rows of each of MANY_ROW_VIEWS.
    """

    method: str
    field: str
    plot: str
    one: dict[str, Record]
    many: dict[str, tuple[Record, ...]]

    def value(self, view: str, column: str) -> object:
        """A value of one of the one-row views; None where there is no row or the value is blank."""
        return self.one[view].get(column)

    def number(self, view: str, column: str) -> float | None:
        """The same, as a number."""
        value = self.value(view, column)
        return float(value) if isinstance(value, int | float) else None


@dataclass(frozen=True, slots=True, kw_only=True)
class PairSides:
    """A pair as it was made, and its two sides; None for a side that was not named."""

    crop_year: int
    pair: str
    field: str  # the field, or both of neighbours, as in pair_measures
    layout: str
    allocation: str | None
    notes: str | None
    standing: Side | None
    windrowed: Side | None


def pair_names(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Every pair in order: crop_year, pair, field, is_planned (not harvested yet)."""
    return read_query(connection, "pair_names")


def read_pair(connection: duckdb.DuckDBPyConnection, crop_year: int, pair: str) -> PairSides:
    """Both sides of one pair. Raises BadInput when there is no such pair."""
    found = read_query(connection, "one_pair", crop_year=crop_year, pair=pair)
    if found.is_empty():
        raise BadInput(f"pair {pair}, {crop_year}: not on record. Choose one of those that are.")
    row = found.row(0, named=True)
    read_views = {
        view: read_query(connection, "rows_of_pair", view=view, crop_year=crop_year, pair=pair)
        for view in dict.fromkeys((*MADE_OF_OTHERS, *ONE_ROW_VIEWS, *MANY_ROW_VIEWS))
    }
    plantings = read(connection, "from plantings where crop_year = $crop_year", crop_year=crop_year)
    fields = read_table(connection, "fields")

    def side(method: str) -> Side | None:
        field, plot = row[f"{method}_field"], row[f"{method}_plot"]
        if plot is None:
            return None

        def of_plot(rows: pl.DataFrame) -> tuple[Record, ...]:
            return tuple(rows.filter(pl.col("side") == method).drop("side").iter_rows(named=True))

        def of_field(rows: pl.DataFrame) -> Record:
            return next(rows.filter(pl.col("field") == field).iter_rows(named=True), {})

        one = {view: next(iter(of_plot(read_views[view])), {}) for view in ONE_ROW_VIEWS}
        return Side(
            method=method,
            field=field,
            plot=plot,
            one=one | {"plantings": of_field(plantings), "fields": of_field(fields)},
            many={view: of_plot(read_views[view]) for view in MANY_ROW_VIEWS},
        )

    return PairSides(
        crop_year=crop_year,
        pair=pair,
        field=row["pair_field"],
        layout=row["layout"],
        allocation=row["allocation"],
        notes=row["notes"],
        standing=side("standing"),
        windrowed=side("windrowed"),
    )
