"""The one way into the records: every save keeps who, when, why, and each row before and after."""

from collections.abc import Mapping
from dataclasses import dataclass

import duckdb
import polars as pl

from analytics.errors import Refused
from analytics.records.form import Table
from analytics.storage.database import failed_checks, query_text, read, read_table, save_statement, transaction
from analytics.storage.what_happened import begun, done


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
        failed_before = failed_checks(connection) if must_pass_checks else []
        ((act_id,),) = connection.execute(
            "insert into acts (done_by, source, why) values ($done_by, $source, $why) returning act_id",
            {"done_by": done_by, "source": source, "why": why},
        ).fetchall()
        for one in saves:
            _save_table(connection, one, act_id)
        if must_pass_checks and (failed := [now for now in failed_checks(connection) if now not in failed_before]):
            raise Refused("\n".join(["Nothing was written, because afterwards:", *failed]))
    done(f"Act {act_id} was saved")
    return int(act_id)


def _save_table(connection: duckdb.DuckDBPyConnection, one: TableSave, act_id: int) -> None:
    names, key = list(one.table.column_names), list(one.table.key)
    # An accent that was typed in two ways is one name, as in files that are read.
    saved = one.saved.select(names).with_columns(pl.col(pl.String).str.normalize("NFC"))
    removed = one.removed.select(key)
    touched = pl.concat([saved.select(key), removed])
    before = row_texts(
        read_table(connection, one.table.name).join(touched, on=key, how="semi", nulls_equal=True), one.table
    )
    after = row_texts(saved, one.table)
    changes = after.rename({"row": "after"}).join(
        before.rename({"row": "before"}), on="row_key", how="full", coalesce=True
    )
    for name, frame in {"saved_rows": saved, "removed_rows": removed, "changed_rows": changes}.items():
        connection.register(name, frame)
    connection.execute(save_statement(one.table.name))
    connection.execute(query_text("add_changes"), {"act_id": act_id, "table_name": one.table.name})
    for name in ("saved_rows", "removed_rows", "changed_rows"):
        connection.unregister(name)


def row_texts(rows: pl.DataFrame, table: Table) -> pl.DataFrame:
    """Each row as the history keeps it: columns row_key and row, the key and the whole row as JSON text."""
    return rows.select(
        row_key=pl.struct(table.key).struct.json_encode(),
        row=pl.struct(table.column_names).struct.json_encode(),
    )


def changes_of(connection: duckdb.DuckDBPyConnection, act_id: int) -> Mapping[str, pl.DataFrame]:
    """What an act changed, by table: columns row_key, before, after (JSON text, null where there was or is no row)."""
    rows = read(
        connection,
        "select table_name, row_key, before, after from changes where act_id = $act_id",
        act_id=act_id,
    )
    return {str(name[0]): frame.drop("table_name") for name, frame in rows.group_by("table_name")}
