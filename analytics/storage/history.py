"""The one way into the records: every save keeps who, when, why, and each row before and after."""

import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import chain

import duckdb
import polars as pl
import pyarrow as pa

from analytics.errors import Refused
from analytics.records.form import Table
from analytics.storage.database import failed_checks, read, read_query, read_table
from analytics.storage.packed_rows import PACKED_FROM, pack, packed_after, packed_in
from analytics.storage.sql_texts import query_text, save_statement
from analytics.storage.transactions import transaction
from analytics.storage.what_happened import begun, done

ROWS_AT_A_TIME = 20_000  # whose texts are in memory together; a row takes half a kilobyte as text
# Texts of our own encoder, said to be JSON, so that the engine need not check each of them once more.
IS_JSON = {"ARROW:extension:name": "arrow.json", "ARROW:extension:metadata": ""}
CHANGED = pa.schema(
    [
        pa.field("table_name", pa.large_string()),
        *(pa.field(name, pa.large_string(), metadata=IS_JSON) for name in ("row_key", "before", "after")),
    ]
)


@dataclass(frozen=True, slots=True, kw_only=True)
class TableSave:
    """Rows of one table to write: `saved` come or replace the row with the same key, `removed` go. Columns as in
    `table`; of `removed` only the key is read.
    """

    table: Table
    saved: pl.DataFrame
    removed: pl.DataFrame


def save(
    connection: duckdb.DuckDBPyConnection,
    saves: list[TableSave],
    *,
    done_by: str,
    source: str,
    why: str | None = None,
    must_pass_checks: bool = False,
) -> int:
    """Write all rows of all tables, or none, with their history; the number of the act.

    source : "import", "screen", "terminal", "setting", "undo" or "restore"
    must_pass_checks : raise Refused, and write nothing, when a check of sql/checks fails that did not fail before
    """
    begun()
    with transaction(connection):
        ((act_id,),) = connection.execute(
            "insert into acts (done_by, source, why) values ($done_by, $source, $why) returning act_id",
            {"done_by": done_by, "source": source, "why": why},
        ).fetchall()
        _write(connection, [_prepared(one) for one in saves], act_id)
        if must_pass_checks and (failed := _newly_failed(connection)):
            raise Refused("\n".join(["Nothing was written, because afterwards:", *failed]))
    done(f"Act {act_id} was saved")
    return int(act_id)


def _newly_failed(connection: duckdb.DuckDBPyConnection) -> list[str]:
    """The checks that fail within this transaction and did not before it."""
    failed = failed_checks(connection)
    if not failed:
        return []
    with connection.cursor() as outside:  # sees what was there before the transaction
        before = failed_checks(outside)
    return [now for now in failed if now not in before]


def _prepared(one: TableSave) -> TableSave:
    """The same with the table's own columns, in their order; of what goes, the key."""
    saved = _composed(one.saved.select(one.table.column_names))
    return TableSave(table=one.table, saved=saved, removed=one.removed.select(one.table.key))


def _write(connection: duckdb.DuckDBPyConnection, saves: list[TableSave], act_id: int) -> None:
    """The history of all tables as one stream, which the engine packs as it comes, then the rows of each.

    What follows on another statement goes into the log as it is, and is packed only when the records are closed. Very
    many new rows are packed before that.
    """
    existing = [read_table(connection, one.table.name) for one in saves]
    apart = [_apart(*one) for one in zip(saves, existing, strict=True)]
    changes = chain.from_iterable(_changes(rest, was) for (rest, _), was in zip(apart, existing, strict=True))
    with _registered(connection, changed_rows=pa.RecordBatchReader.from_batches(CHANGED, changes)):
        connection.execute(query_text("add_changes"), {"act_id": act_id})
    for one, new in apart:
        if not new.is_empty():
            pack(connection, act_id, one.table, new)
            _insert(connection, one.table, new)
        with _registered(connection, saved_rows=one.saved, removed_rows=one.removed):
            connection.execute(save_statement(one.table.name))


def _insert(connection: duckdb.DuckDBPyConnection, table: Table, new: pl.DataFrame) -> None:
    """Add rows of which none is on record; to look for each of them there first takes a quarter more."""
    in_order = new.select(connection.table(table.name).columns)
    with _registered(connection, new_rows=in_order):
        connection.table("new_rows").insert_into(table.name)


@contextmanager
def _registered(connection: duckdb.DuckDBPyConnection, **named: object) -> Iterator[None]:
    """Rows that a statement within the block reads by these names."""
    for name, rows in named.items():
        connection.register(name, rows)
    try:
        yield
    finally:
        for name in named:
            connection.unregister(name)


def _composed(rows: pl.DataFrame) -> pl.DataFrame:
    """An accent that was typed in two ways is one name, as in files that are read. Plain letters are passed over."""
    texts = rows.select(pl.col(pl.String))
    accented = [text.name for text in texts if (text.str.len_bytes() != text.str.len_chars()).any()]
    return rows.with_columns(pl.col(accented).str.normalize("NFC"))


def _apart(one: TableSave, existing: pl.DataFrame) -> tuple[TableSave, pl.DataFrame]:
    """The save without its new rows, and those, where they are very many; else all of it, and none."""
    if one.saved.height >= PACKED_FROM:
        key = list(one.table.key)
        new = one.saved
        if not existing.is_empty():
            new = new.join(existing, on=key, how="anti", nulls_equal=True, maintain_order="left")
        if new.height >= PACKED_FROM:
            others = one.saved.clear()
            if new.height < one.saved.height:
                others = one.saved.join(existing, on=key, how="semi", nulls_equal=True)
            return TableSave(table=one.table, saved=others, removed=one.removed), new
    return one, one.saved.clear()


def _changes(one: TableSave, existing: pl.DataFrame) -> Iterator[pa.RecordBatch]:
    """What each row was and is, a stretch at a time, while the engine writes the one before."""
    key = list(one.table.key)
    stretch = max(ROWS_AT_A_TIME, existing.height // 10)  # as each looks through all that exist
    parts = [(part.select(key), part) for part in one.saved.iter_slices(stretch)]
    for touched, rows in [*parts, (one.removed, one.saved.clear())]:
        if touched.is_empty():
            continue
        was = existing.join(touched, on=key, how="semi", nulls_equal=True)
        changes = row_texts(rows, one.table).rename({"row": "after"})
        if was.is_empty():
            changes = changes.with_columns(before=pl.lit(None, dtype=pl.String))
        else:
            before = row_texts(was, one.table).rename({"row": "before"})
            changes = changes.join(before, on="row_key", how="full", coalesce=True)
        named = changes.with_columns(table_name=pl.lit(one.table.name)).select(CHANGED.names)
        found = named.to_arrow(compat_level=pl.CompatLevel.oldest())
        yield from pa.Table.from_arrays(found.columns, schema=CHANGED).to_batches()


def row_texts(rows: pl.DataFrame, table: Table) -> pl.DataFrame:
    """Each row as the history keeps it: columns row_key and row, the key and the whole row as JSON text."""
    return _as_texts(rows.select(table.column_names), table.key)


def _as_texts(rows: pl.DataFrame, key: Sequence[str]) -> pl.DataFrame:
    return rows.select(row_key=pl.struct(key).struct.json_encode(), row=pl.struct(pl.all()).struct.json_encode())


def changes_of(connection: duckdb.DuckDBPyConnection, act_id: int) -> Mapping[str, pl.DataFrame]:
    """What an act changed, by table: columns row_key, before, after (JSON text, null where there was or is no row)."""
    rows = read(
        connection,
        "select table_name, row_key, before, after from changes where act_id = $act_id",
        act_id=act_id,
    )
    found = [(str(name[0]), frame.drop("table_name")) for name, frame in rows.group_by("table_name")]
    found += [(one.table_name, came_texts(one.rows, one.key)) for one in packed_in(connection, act_id)]
    names = dict.fromkeys(name for name, _ in found)
    return {name: pl.concat([frame for table, frame in found if table == name]) for name in names}


def came_texts(rows: pl.DataFrame, key: Sequence[str]) -> pl.DataFrame:
    """Packed rows as those kept one by one are: columns row_key, before and after, JSON text, before null."""
    before = pl.lit(None, dtype=pl.String).alias("before")
    return _as_texts(rows, key).rename({"row": "after"}).select("row_key", before, "after")


def later_acts(connection: duckdb.DuckDBPyConnection, act_id: int, tables: Sequence[str]) -> pl.DataFrame:
    """Records that were changed after an act: columns table_name, row_key (JSON text), later_act.

    tables : those in which packed rows are looked for too
    """
    packed = [
        _as_texts(one.rows, one.key).select(
            pl.lit(one.table_name).alias("table_name"), "row_key", pl.lit(one.act_id, dtype=pl.Int64).alias("later_act")
        )
        for one in packed_after(connection, act_id, tables)
    ]
    found = pl.concat([read_query(connection, "changed_later", act_id=act_id), *packed])
    return found.group_by("table_name", "row_key").agg(pl.col("later_act").max()) if packed else found


def last_act_on(connection: duckdb.DuckDBPyConnection, table: Table, row: Mapping[str, object]) -> int | None:
    """The latest act that wrote this row of the table; None when the history does not tell."""
    schema = {name: type_ for name, type_ in table.polars_schema().items() if name in table.key}
    frame = pl.DataFrame([{name: row[name] for name in schema}], schema=schema)
    key = json.loads(frame.select(pl.struct(table.key).struct.json_encode()).item())
    changes = read_query(connection, "changed_by", table_name=table.name)
    kept = next((act_id for act_id, row_key in changes.iter_rows() if json.loads(row_key) == key), 0)
    for one in packed_after(connection, kept, [table.name]):
        if one.rows.join(frame, on=one.key, how="semi", nulls_equal=True).height:
            return one.act_id
    return kept or None
