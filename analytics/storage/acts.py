"""The history as it is read: act by act, newest first, and what each changed, in words, a line a record."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

import duckdb
import polars as pl

from analytics.records.cell_text import as_text, key_text
from analytics.storage.database import read, read_query
from analytics.storage.history import came_texts
from analytics.storage.packed_rows import packed_in
from analytics.trade.numbers_as_text import number

TABLES_NAMED = 3  # more are counted
SOURCE_WORDS = {
    "import": "files brought in",
    "screen": "typed on a screen",
    "terminal": "kept in the terminal",
    "setting": "a setting changed",
    "undo": "an act undone",
    "restore": "a backup restored",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """Which acts are looked for: those that changed something of a crop year, field and table, done by a person."""

    crop_year: int | None = None
    field: str | None = None
    table: str | None = None
    done_by: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """One act: when, by whom, from where (a key of SOURCE_WORDS), why, and how many records of each table changed."""

    act_id: int
    happened_at: datetime
    done_by: str
    source: str
    why: str | None
    rows: Mapping[str, int]

    @property
    def words(self) -> str:
        """The act in one line: "Act 12, 2026-11-25 14:02, A grower: typed on a screen (loads 2)"."""
        done = f"{SOURCE_WORDS[self.source]} ({rows_words(self.rows)})"
        return f"Act {self.act_id}, {self.happened_at:%Y-%m-%d %H:%M}, {self.done_by}: {done}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What can be searched for: all that the history names."""

    crop_years: tuple[int, ...]
    fields: tuple[str, ...]
    tables: tuple[str, ...]
    people: tuple[str, ...]


def count_acts(connection: duckdb.DuckDBPyConnection, search: Search) -> int:
    """How many acts are found."""
    return len(_found(connection, search))


def list_acts(connection: duckdb.DuckDBPyConnection, search: Search, *, skipped: int, shown: int) -> tuple[Act, ...]:
    """The acts that are found, newest first: `shown` of them after the first `skipped`."""
    numbers = _found(connection, search).sort(descending=True).slice(skipped, shown)
    acts = read_query(connection, "acts_by_number", numbers=numbers.to_list())
    counted = read_query(connection, "rows_of_acts", numbers=numbers.to_list())
    rows: dict[int, dict[str, int]] = {}
    for act_id, table, how_many in counted.iter_rows():
        rows.setdefault(act_id, {})[table] = how_many
    return tuple(Act(**act, rows=rows.get(act["act_id"], {})) for act in acts.iter_rows(named=True))


def _found(connection: duckdb.DuckDBPyConnection, search: Search) -> pl.Series:
    """The numbers of the acts that are found, in no order."""
    narrow = (search.crop_year, search.field, search.table) != (None, None, None)
    return read_query(
        connection,
        "found_acts",
        done_by=search.done_by,
        narrow=narrow,
        crop_year=search.crop_year,
        field=search.field,
        table=search.table,
    )["act_id"]


def changes_in_words(
    connection: duckdb.DuckDBPyConnection, act_id: int, search: Search, *, skipped: int, shown: int
) -> tuple[tuple[str, ...], int]:
    """What an act changed of what is looked for, a line a record, and how many such records there are in all.

    Records kept one by one come first, by table and key, then those that came packed, as they came.
    """
    asked = {"act_id": act_id, "crop_year": search.crop_year, "field": search.field, "table": search.table}
    rows = read_query(connection, "found_changes", **asked, shown=shown, skipped=skipped)
    number = read_query(connection, "count_changes", **asked).item()
    lines = [change_words(*row) for row in rows.iter_rows()]
    for one in packed_in(connection, act_id):
        if search.table not in (None, one.table_name):
            continue
        found = one.found(crop_year=search.crop_year, field=search.field)
        page = found.slice(max(skipped - number, 0), shown - len(lines))
        lines += [change_words(one.table_name, *row) for row in came_texts(page, one.key).iter_rows()]
        number += found.height
    return tuple(lines), number


def last_act(connection: duckdb.DuckDBPyConnection) -> str:
    """Number and time of the newest act, blank where there is none: what is kept of the records is right until then."""
    newest = read(connection, "select coalesce(max(act_id) || ' ' || max(happened_at), '') from acts")
    return str(newest.item())


def choices(connection: duckdb.DuckDBPyConnection) -> Choices:
    """What the history names, each once."""
    places = read(connection, "select distinct crop_year, field, second_field, table_name from act_places")
    fields = {*places["field"].drop_nulls(), *places["second_field"].drop_nulls()}
    people = read(connection, "select distinct done_by from acts order by done_by")
    return Choices(
        crop_years=tuple(sorted(places["crop_year"].drop_nulls().unique(), reverse=True)),
        fields=tuple(sorted(fields)),
        tables=tuple(sorted(places["table_name"].unique())),
        people=tuple(people["done_by"]),
    )


def change_words(table: str, row_key: str, before: str | None, after: str | None) -> str:
    """One changed record: table, key, and each changed column as before -> after.

    row_key, before, after : JSON text as the history keeps it; null before a record came and after it went
    """
    key = json.loads(row_key)
    if before and after:
        done = changed_cells(before, after)
    else:
        row = json.loads(after or before or "{}")
        cells = [
            f"{column_words(name)} {as_text(value)}"
            for name, value in row.items()
            if value is not None and name not in key
        ]
        done = ", ".join(["new" if after else "removed", *cells])
    return f"{table_words(table)}, {key_text(key.values())}: {done}"


def changed_cells(before: str, after: str) -> str:
    """The columns in which two states of a record, JSON text, differ: "acres 158.5 -> 160"."""
    was, now = json.loads(before), json.loads(after)
    cells = [
        f"{column_words(name)} {as_text(was.get(name))} -> {as_text(now.get(name))}"
        for name in {**was, **now}
        if was.get(name) != now.get(name)
    ]
    return ", ".join(cells) or "as it was"


def rows_words(rows: Mapping[str, int]) -> str:
    """How many records of which tables: "loads 2, samples 1"."""
    if len(rows) > TABLES_NAMED:
        return f"{number(sum(rows.values()), 0)} records in {len(rows)} tables"
    return ", ".join(f"{table_words(name)} {number(how_many, 0)}" for name, how_many in rows.items()) or "no record"


def table_words(name: str) -> str:
    """A table as it is said: "loss checks"."""
    return name.replace("_", " ")


def column_words(name: str) -> str:
    """A column as it is said: "moisture pct"."""
    return name.replace("_", " ")
