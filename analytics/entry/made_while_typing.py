"""Fields, plots and pairs made in the middle of typing, so that a first ticket needs no paper filled in before it."""

from collections.abc import Mapping

import duckdb
import polars as pl

from analytics.entry.checked_rows import read_rows
from analytics.entry.typed_rows import Row
from analytics.errors import BadInput
from analytics.records.form import Records, Table, Typed
from analytics.records.grown_tables import FIELDS, PAIRS, PLOTS
from analytics.records.last_season import OfferedPair, offered_pairs
from analytics.storage.history import TableSave, save
from analytics.storage.tables_now import TablesNow
from analytics.storage.transactions import transaction


def make_plot(
    connection: duckdb.DuckDBPyConnection, typed: Typed, *, crop_year: int, done_by: str, comma: str = ""
) -> tuple[str, str]:
    """Save a plot, and its field where that is not on record; the names of both.

    typed : field, plot, method and acres as typed
    comma : what the farm said of a comma before three digits
    Raises BadInput, and saves nothing, for what is refused or unlikely and for a plot that is on record.
    """
    with transaction(connection):
        records, saves = dict(TablesNow(connection)), []
        if typed["field"].strip() not in set(records["fields"]["field"]):
            field = _sound(FIELDS, {"field": typed["field"]}, records, fixed={}, comma=comma)
            saves.append(_added(FIELDS, field))
            records["fields"] = pl.concat([records["fields"], saves[0].saved])
        plot = _sound(PLOTS, typed, records, fixed={"crop_year": crop_year}, comma=comma)
        names = str(plot.values["field"]), str(plot.values["plot"])
        if plot.before is not None:
            raise BadInput(f"{', '.join(names)}, {crop_year} is on record already. Choose it in the list of plots.")
        save(connection, [*saves, _added(PLOTS, plot)], done_by=done_by, source="screen")
    return names


def pairs_to_make(connection: duckdb.DuckDBPyConnection, crop_year: int) -> list[OfferedPair]:
    """Standing and windrowed plots of one field that are in no pair yet."""
    offered = offered_pairs(TablesNow(connection), crop_year=crop_year)
    return [pair for pair in offered if pair.typed["standing_field"] == pair.typed["windrowed_field"]]


def make_pair(connection: duckdb.DuckDBPyConnection, pair: OfferedPair, *, crop_year: int, done_by: str) -> None:
    """Save an offered pair. Raises BadInput when it cannot be one any more."""
    with transaction(connection):
        row = _sound(PAIRS, pair.typed, TablesNow(connection), fixed={"crop_year": crop_year}, comma="")
        save(connection, [_added(PAIRS, row)], done_by=done_by, source="screen")


def _sound(table: Table, typed: Typed, records: Records, *, fixed: Mapping[str, object], comma: str) -> Row:
    rows = read_rows(table, [typed], fixed=fixed, units={}, records=records, comma=comma)
    if not rows:
        raise BadInput(f"{table.name}: nothing typed; allowed a row with {', '.join(table.key)}.")
    (row,) = rows
    if row.refused or row.unlikely:
        raise BadInput(" ".join((*row.refused, *row.unlikely)))
    return row


def _added(table: Table, row: Row) -> TableSave:
    saved = pl.DataFrame([row.values], schema=table.polars_schema())
    return TableSave(table=table, saved=saved, removed=saved.clear())
