"""Very many new rows of one table in one act: in the history as one Parquet file, beside the places they belong to.

Rows that change or go are kept as text, one by one (history.py), and so are fewer new ones. Parquet is an open standard
and names its columns and their types itself: rows that were packed before a column came or went are read as they were.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from io import BytesIO

import duckdb
import polars as pl

from analytics.records.form import Table
from analytics.storage.database import read_query
from analytics.storage.sql_texts import query_text

PACKED_FROM = 20_000  # new rows of one table and act; fewer are quick as texts; our choice, no source


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PackedRows:
    """What an act brought into one table, in the order in which it came; `key` are the columns of the table's key."""

    act_id: int
    table_name: str
    key: tuple[str, ...]
    rows: pl.DataFrame

    def found(self, *, crop_year: int | None, field: str | None) -> pl.DataFrame:
        """Those that belong to the crop year and the field; null for any."""
        of_year, of_field, of_second = _place(self.key, self.rows)
        rows = self.rows
        if crop_year is not None:
            rows = rows.filter(of_year == crop_year)
        if field is not None:
            rows = rows.filter((of_field == field).fill_null(False) | (of_second == field).fill_null(False))
        return rows


def pack(connection: duckdb.DuckDBPyConnection, act_id: int, table: Table, rows: pl.DataFrame) -> None:
    """Keep the rows as new ones of the act; within a transaction. `rows` has the columns of the table."""
    content = BytesIO()
    rows.write_parquet(content, compression="zstd", compression_level=1, statistics=False)
    named = {"act_id": act_id, "table_name": table.name}
    of_rows = named | {"key_columns": list(table.key), "content": content.getvalue()}
    connection.execute(query_text("add_packed_rows"), of_rows)
    crop_year, field, second_field = _place(table.key, rows)
    places = rows.group_by(crop_year=crop_year, field=field, second_field=second_field).agg(number=pl.len())
    connection.register("places", places)
    try:
        connection.execute(query_text("add_packed_places"), named)
    finally:
        connection.unregister("places")


def packed_in(connection: duckdb.DuckDBPyConnection, act_id: int) -> list[PackedRows]:
    """What the act brought packed, by table."""
    found = read_query(connection, "packed_rows_of_act", act_id=act_id)
    return [_unpacked(act_id=act_id, **row) for row in found.iter_rows(named=True)]


def packed_after(connection: duckdb.DuckDBPyConnection, act_id: int, tables: Collection[str]) -> list[PackedRows]:
    """What later acts brought packed into these tables, newest first."""
    found = read_query(connection, "packed_after", act_id=act_id, tables=list(tables))
    return [_unpacked(**row) for row in found.iter_rows(named=True)]


def _unpacked(*, act_id: int, table_name: str, key_columns: Sequence[str], content: bytes) -> PackedRows:
    rows = pl.read_parquet(BytesIO(content))
    return PackedRows(act_id=act_id, table_name=table_name, key=tuple(key_columns), rows=rows)


def _place(key: Sequence[str], rows: pl.DataFrame) -> tuple[pl.Expr, pl.Expr, pl.Expr]:
    """The crop year and the one or two fields a row belongs to, as sql/views/60_change_places.sql says of a text."""
    none = pl.lit(None, dtype=pl.String)
    year = pl.lit(None, dtype=pl.Int64)
    if "crop_year" in key:
        year = pl.col("crop_year")
    elif "happened_on" in key:
        year = pl.col("happened_on").dt.year().cast(pl.Int64)
    one = "field" if "field" in key else "standing_field"
    field, second_field = (pl.col(name) if name in rows.columns else none for name in (one, "windrowed_field"))
    return year, field, second_field
