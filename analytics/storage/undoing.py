"""Undoing one act: what it would touch is shown first; rows changed since are named and left to a decision."""

import json
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

import duckdb
import polars as pl

from analytics.errors import BadInput, Refused
from analytics.records.cell_text import key_text
from analytics.records.faults import LISTED
from analytics.records.form import Table
from analytics.records.own_tables import MONITOR_CELLS, MONITOR_REMOVALS, MONITOR_STRIPS, SAVED_TABLES
from analytics.storage.acts import changed_cells, rows_words, table_words
from analytics.storage.database import read, read_query, read_table
from analytics.storage.history import TableSave, changes_of, later_acts, row_texts, save
from analytics.trade.numbers_as_text import count

OF_POINTS = {table.name for table in (MONITOR_STRIPS, MONITOR_REMOVALS, MONITOR_CELLS)}


@dataclass(frozen=True, slots=True, kw_only=True)
class UndoneRow:
    """A row that an undo would touch, as JSON text: as it is `now`, as it will be `then`; null for no row.

    changed_by : the latest act that changed it after the act to be undone, and by whom; null when it is as that act
    left it
    """

    table: str
    key: str
    now: str | None
    then: str | None
    changed_by: str | None

    def __str__(self) -> str:
        name = f"{table_words(self.table)}, {self.key}"
        if self.now is None or self.then is None:
            return f"{name}: {'comes back' if self.now is None else 'goes'}"
        return f"{name}: {changed_cells(self.now, self.then)}"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Undo:
    """What undoing an act would do. `rows` are those that differ from now; nothing is left to undo without any."""

    act_id: int
    rows: tuple[UndoneRow, ...]
    saves: tuple[TableSave, ...]

    @property
    def conflicts(self) -> tuple[UndoneRow, ...]:
        """Rows that are not as the act left them, because a later act changed them; that change would be lost."""
        return tuple(row for row in self.rows if row.changed_by)

    @property
    def words(self) -> str:
        """A heading for what it would touch."""
        if not self.rows:
            return f"There is nothing of act {self.act_id} left to undo."
        tables = Counter(row.table for row in self.rows)
        return f"What undoing act {self.act_id} would touch ({rows_words(tables)})"


def plan_undo(connection: duckdb.DuckDBPyConnection, act_id: int) -> Undo:
    """What undoing the act would touch. Raises BadInput when there is no such act. Nothing is written."""
    if read(connection, "select act_id from acts where act_id = $act_id", act_id=act_id).is_empty():
        raise BadInput(f"undo: act {act_id} given; allowed is the number of an act in the history.")
    changed = changes_of(connection, act_id)
    later = _by_whom(connection, later_acts(connection, act_id, list(changed)))
    rows: list[UndoneRow] = []
    saves: list[TableSave] = []
    for name, changes in sorted(changed.items()):
        table = SAVED_TABLES[name]
        now = row_texts(read_table(connection, name), table).rename({"row": "now"})
        touched = (
            changes.select("row_key", "after", pl.col("before").alias("then"))
            .join(now, on="row_key", how="left")
            .join(later.filter(pl.col("table_name") == name).drop("table_name"), on="row_key", how="left")
            .filter(pl.col("now").ne_missing(pl.col("then")))
            .with_columns(pl.when(pl.col("now").ne_missing(pl.col("after"))).then(pl.col("changed_by")))
            .sort("row_key")
        )
        rows += [
            UndoneRow(
                table=name,
                key=key_text(json.loads(row["row_key"]).values()),
                now=row["now"],
                then=row["then"],
                changed_by=row["changed_by"],
            )
            for row in touched.iter_rows(named=True)
        ]
        saves.append(
            TableSave(
                table=table,
                saved=rows_of(table, touched["then"].drop_nulls()),
                removed=rows_of(table, touched.filter(pl.col("then").is_null())["row_key"]),
            )
        )
    return Undo(act_id=act_id, rows=tuple(rows), saves=tuple(saves))


def _by_whom(connection: duckdb.DuckDBPyConnection, later: pl.DataFrame) -> pl.DataFrame:
    """The same with the column changed_by, in words, instead of later_act."""
    acts = read_query(connection, "acts_by_number", numbers=later["later_act"].unique().to_list())
    words = pl.format("act {} by {}", "act_id", "done_by").alias("changed_by")
    return later.join(acts.select(words, later_act="act_id"), on="later_act").drop("later_act")


def undo(
    connection: duckdb.DuckDBPyConnection, planned: Undo, *, done_by: str, why: str = "", force: bool = False
) -> int:
    """Write what was planned, as an act of its own that can be undone too; its number.

    why : kept with the act
    force : undo also what later acts changed since
    Raises Refused when there is nothing to undo, when the records changed since the plan was shown, when later acts
    changed a row and force is false, or when records would be left that point to nothing.
    """
    if plan_undo(connection, planned.act_id).rows != planned.rows:
        raise Refused(f"The records changed since act {planned.act_id} was looked at. Nothing was undone. Look again.")
    if not planned.rows:
        raise Refused(planned.words)
    if planned.conflicts and not force:
        raise Refused(
            "\n".join(
                [
                    f"Nothing was undone: {count(len(planned.conflicts), 'record')} of act {planned.act_id} changed "
                    "since. Undo the later act first, or say that its changes may go:",
                    *(f"  {line}" for line in conflict_lines(planned)),
                ]
            )
        )
    return save(
        connection,
        list(planned.saves),
        done_by=done_by,
        source="undo",
        why=f"act {planned.act_id} undone" + (f": {why.strip()}" if why.strip() else ""),
        must_pass_checks=True,
    )


def undo_lines(planned: Undo, *, most: int = LISTED) -> list[str]:
    """What an undo would touch, a line each; of what is left of a monitor's points, untyped, only how many."""
    summed = Counter(row.table for row in planned.rows if row.table in OF_POINTS)
    lines = [str(row) for row in planned.rows if row.table not in OF_POINTS]
    return [*(f"{table_words(name)}: {count(many, 'record')}" for name, many in summed.items()), *_listed(lines, most)]


def conflict_lines(planned: Undo, *, most: int = LISTED) -> list[str]:
    """Which of it a later act changed, whose change would be lost, a line each."""
    return _listed([f"{row} (changed by {row.changed_by})" for row in planned.conflicts], most)


def _listed(lines: list[str], most: int) -> list[str]:
    more = len(lines) - most
    return [*lines[:most], *([f"... and {count(more, 'record')} more."] if more > 0 else [])]


def rows_of(table: Table, texts: Iterable[str]) -> pl.DataFrame:
    """Rows as kept in the history, JSON text, to a frame of the table; columns that a text lacks are blank."""
    schema = table.polars_schema()
    as_kept = {name: pl.String if type_ == pl.Date else type_ for name, type_ in schema.items()}
    # The json module reads every number back to the very same one.
    frame = pl.DataFrame([json.loads(text) for text in texts], schema=as_kept)
    return frame.with_columns(
        pl.col(name).str.to_date("%Y-%m-%d") for name, type_ in schema.items() if type_ == pl.Date
    )
