"""Typed rows into the records: what would be done, who changed a row in between, and one plain line after it."""

import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import duckdb
import polars as pl

from analytics.entry.checked_rows import doubted, read_rows
from analytics.entry.typed_rows import Row, as_recorded, column_label, same_values
from analytics.entry.unlikely import sounds_like_a_job
from analytics.records.cell_text import as_text
from analytics.records.form import Records, Typed
from analytics.records.grown_tables import OPERATIONS
from analytics.records.papers import Paper
from analytics.storage.database import read_query, read_table
from analytics.storage.history import TableSave, last_act_on, save
from analytics.trade.numbers_as_text import count, counted

# Other rows rest on these, so a row that is no longer typed stays on record.
RESTED_ON = ("fields", "plots")


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict:
    """A row that somebody else changed after it was loaded: cells as (label, typed here, on record now)."""

    number: int
    name: str
    changed_by: str
    cells: tuple[tuple[str, str, str], ...]

    @property
    def words(self) -> str:
        """Both values and who typed the other, as one sentence."""
        cells = "; ".join(f"{what}: {mine} here, {theirs} by {self.changed_by}" for what, mine, theirs in self.cells)
        return f"{self.name} was typed by {self.changed_by} as well. {cells}."


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """All typed rows of one paper and place, and what saving would do.

    removed : rows of the records that were loaded and are no longer among the typed ones
    """

    paper: Paper
    rows: tuple[Row, ...]
    conflicts: tuple[Conflict, ...]
    removed: tuple[dict[str, object], ...]

    def _ready(self) -> list[Row]:
        waiting = {conflict.number for conflict in self.conflicts}
        return [row for row in self.rows if row.is_kept and not row.is_as_before and row.number not in waiting]

    @property
    def added(self) -> list[Row]:
        """Rows that would be new."""
        return [row for row in self._ready() if row.before is None]

    @property
    def changed(self) -> list[Row]:
        """Rows that would take the place of one on record."""
        return [row for row in self._ready() if row.before is not None]

    @property
    def left(self) -> list[Row]:
        """Rows that wait: refused, unlikely without a word, or typed by somebody else as well."""
        ready = {row.number for row in self._ready()}
        return [row for row in self.rows if row.number not in ready and not row.is_as_before]

    @property
    def touches(self) -> int:
        """How many rows saving would touch."""
        return len(self._ready()) + len(self.removed)

    @property
    def why(self) -> str | None:
        """The words with which unlikely rows are kept."""
        words = [f"{row.name}: {row.why}" for row in self._ready() if row.unlikely and row.why]
        return "; ".join(words) or None


def read_entry(
    connection: duckdb.DuckDBPyConnection,
    paper: Paper,
    typed: Sequence[Typed],
    *,
    records: Records,
    fixed: Mapping[str, object],
    units: Mapping[str, str],
    loaded: Sequence[Typed],
    mine: Collection[str] = (),
    crop_year: int | None = None,
    comma: str = "",
) -> Entry:
    """The typed rows against the records as they are now, read once and checked once.

    records : the tables as they are now
    loaded : rows that were on record when the typing began, as as_typed gives them
    mine : names of rows for which the value typed here was chosen over somebody else's
    crop_year : for dates without a year, where the table has no crop year of its own
    comma : what the farm said of a comma before three digits
    Raises BadInput for too many rows.
    """
    table = paper.table
    rows = read_rows(
        table, typed, fixed=fixed, units=units, records=records, loaded=loaded, crop_year=crop_year, comma=comma
    )
    if table is OPERATIONS:
        items = dict(read_table(connection, "operation_items").iter_rows())
        asked = dict(sounds_like_a_job(table, rows, items))
        rows = tuple(
            doubted(row, asked[place], "operation") if place in asked else row for place, row in enumerate(rows)
        )
    known = [as_recorded(row, table, fixed) for row in loaded]
    at_first = {_key(paper, row): row for row in known}
    kept, conflicts = [], []
    for row in rows:
        first = at_first.get(_key(paper, row.values))
        is_untouched = first is not None and same_values(row.values, first) and not row.refused
        if is_untouched and not row.is_as_before:
            continue  # only somebody else changed it or took it out, and so it stays
        kept.append(row)
        is_theirs = (
            row.before is not None and not row.is_as_before and (first is None or not same_values(row.before, first))
        )
        if is_theirs and not row.refused and row.name not in mine:
            conflicts.append(_conflict(connection, paper, row))
    return Entry(
        paper=paper, rows=tuple(kept), conflicts=tuple(conflicts), removed=_removed(paper, rows, known, records)
    )


def _conflict(connection: duckdb.DuckDBPyConnection, paper: Paper, row: Row) -> Conflict:
    before = row.before or {}
    cells = tuple(
        (column_label(column), as_text(row.values[column.name]), as_text(before[column.name]))
        for column in paper.table.columns
        if row.values[column.name] != before[column.name]
    )
    changed_by = last_changed_by(connection, paper, before)
    return Conflict(number=row.number, name=row.name, changed_by=changed_by, cells=cells)


def _key(paper: Paper, values: Mapping[str, object]) -> tuple[object, ...]:
    return tuple(values[name] for name in paper.table.key)


def _removed(
    paper: Paper, rows: Sequence[Row], known: Sequence[dict[str, object]], records: Records
) -> tuple[dict[str, object], ...]:
    """Nothing while a row is refused, for it may be the missing one with its key mistyped; nothing others changed."""
    if paper.table.name in RESTED_ON or any(row.refused for row in rows):
        return ()
    typed = {_key(paper, row.values) for row in rows}
    gone = [row for row in known if _key(paper, row) not in typed]
    if not gone:
        return ()
    schema = paper.table.polars_schema()
    now = records[paper.table.name].join(
        pl.DataFrame(gone, schema=schema), on=paper.table.key, how="semi", nulls_equal=True
    )
    before = {_key(paper, row): row for row in gone}
    return tuple(row for row in now.iter_rows(named=True) if same_values(row, before[_key(paper, row)]))


def last_changed_by(connection: duckdb.DuckDBPyConnection, paper: Paper, row: Mapping[str, object]) -> str:
    """Who last wrote a row of the records; "somebody" when the history does not tell."""
    act_id = last_act_on(connection, paper.table, row)
    if act_id is None:
        return "somebody"
    return str(read_query(connection, "acts_by_number", numbers=[act_id])["done_by"].item())


def save_entry(connection: duckdb.DuckDBPyConnection, entry: Entry, *, done_by: str) -> str:
    """Save what is ready as one act; a line that says what was added, changed, taken out and left."""
    table = entry.paper.table
    if entry.touches:
        schema = table.polars_schema()
        ready = [row.values for row in (*entry.added, *entry.changed)]
        one = TableSave(
            table=table,
            saved=pl.DataFrame(ready, schema=schema),
            removed=pl.DataFrame(list(entry.removed), schema=schema),
        )
        save(connection, [one], done_by=done_by, source="screen", why=entry.why)
    return done_words(entry)


def done_words(entry: Entry) -> str:
    """The line after a save: "6 tickets added, 1 changed, 1 left"; names those that are left."""
    noun = entry.paper.noun
    parts = [f"{count(len(entry.added), noun)} added", f"{len(entry.changed)} changed"]
    if entry.removed:
        parts.append(f"{len(entry.removed)} taken out")
    left = entry.left
    parts.append(f"{len(left)} left" + (f" ({', '.join(row.name for row in left)})" if left else ""))
    return f"{', '.join(parts)}."


def save_button_words(entry: Entry, place: str) -> str:
    """What the save button will do: "Save 6 tickets for North half, 2026"."""
    ready = len(entry.added) + len(entry.changed)
    words = f"Save {count(ready, entry.paper.noun)}"
    if entry.removed:
        words = f"{words} and take out {len(entry.removed)}" if ready else f"Take out {len(entry.removed)}"
    return f"{words} for {place}"


def came_in_words(entry: Entry, place: str, *, on_record: int) -> str:
    """The first line: "Three tickets on record for North half, 2026; 2 typed here wait to be saved."."""
    waiting = entry.touches + len(entry.left)
    typed = f"{waiting} typed here {'waits' if waiting == 1 else 'wait'} to be saved" if waiting else "nothing waits"
    if entry.left and waiting > len(entry.left):
        typed = f"{typed}, {len(entry.left)} of them for a correction or a word why"
    return f"{counted(on_record, entry.paper.noun)} on record for {place}; {typed}."


def last_entered(connection: duckdb.DuckDBPyConnection) -> dict[str, object]:
    """Crop year, field and plot of the row that was saved last from the screen, as far as it names them."""
    rows = read_query(connection, "last_typed")
    return dict(json.loads(rows.item())) if rows.height else {}
