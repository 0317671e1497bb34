"""How the columns of somebody else's file match ours: guessed by their names, chosen, kept for next year."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import duckdb
import polars as pl

from analytics.errors import BadInput
from analytics.files.column_words import (
    FILE_UNITS,
    LIKELY,
    NET,
    NEVER_GUESSED,
    likeness,
    unit_choices,
    unit_in,
    words_of,
)
from analytics.files.text_tables import CellUnits, TextTable
from analytics.files.typed_columns import read_column
from analytics.files.untidy import ROW_NUMBER, said_method, years_said
from analytics.records.columns import NOTES
from analytics.records.faults import Fault
from analytics.records.form import LONGEST_NAME, Column, Table
from analytics.records.own_tables import COLUMN_MATCHES, SAVED_TABLES
from analytics.records.tables import TABLES
from analytics.storage.database import read_table
from analytics.storage.history import TableSave, save
from analytics.trade.units import unit_of

# What a row of another table may say too, and the columns of which one at least has to be there for it.
TOLD_TOO: Mapping[str, tuple[str, ...]] = {
    "plantings": ("variety", "seeded_on"),
    "plots": ("method",),
    "fields": (),
    "loads": ("weight_kg",),
    "samples": ("grade", "green_pct", "green_seeds", "test_weight_kg_hl", "thousand_seed_g"),
}
# A grade on a ticket is of that day and load.
ALIKE_IN = {"sample": "ticket", "ticket": "sample", "taken_on": "delivered_on", "delivered_on": "taken_on"}
TABLE_LIKELY = 1.5  # columns' worth of likeness; below it a table is not guessed


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """Where each column of a table of ours comes from in a file.

    columns : the file's column (its plain name) by column of ours
    units : unit of the file's numbers by column of ours, where it is not the record's own
    constants : what stands in every row, as typed, by column of ours that the file does not have
    """

    table: Table
    columns: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    constants: Mapping[str, str] = field(default_factory=dict)

    @property
    def missing(self) -> list[Column]:
        """Columns that are needed and come from nowhere."""
        return [
            column
            for column in self.table.columns
            if column.required and column.name not in self.columns and not self.constants.get(column.name, "").strip()
        ]

    def not_read(self, headers: Iterable[str]) -> list[str]:
        """Columns of the file that nothing is taken from."""
        taken = (*self.columns.values(), ROW_NUMBER)
        in_net = NEVER_GUESSED if any(header.startswith(NET) for header in taken) else set()
        return [header for header in headers if header not in taken and not in_net & set(words_of(header))]

    def fits(self, headers: Iterable[str]) -> bool:
        """Whether the file has every column that the match takes."""
        return set(self.columns.values()) <= set(headers)


def is_ours(text: TextTable) -> bool:
    """Whether a table of text has the name of one of ours, its needed columns, and none that is not ours."""
    table = SAVED_TABLES.get(text.name)
    if table is None:
        return False
    needed = {column.name for column in table.columns if column.required}
    return needed <= set(text.cells.columns) <= set(table.column_names)


# --- guessing


def guess_table(name: str, headers: Sequence[str]) -> Table | None:
    """The table whose columns the headers are most like; null when they are like none.

    name : the plain name of the file or sheet, which counts as a column
    """
    alike = {table.name: _table_likeness(table, name, headers) for table in TABLES.values()}
    likeliest = max(alike, key=lambda table: alike[table])
    return TABLES[likeliest] if alike[likeliest] >= TABLE_LIKELY else None


def _table_likeness(table: Table, name: str, headers: Sequence[str]) -> float:
    found = guess_match(table, headers)
    telling = [column for column in found.columns if column != NOTES.name]  # any table may have notes
    alike = sum(likeness(column, found.columns[column]) for column in telling)
    named = any(table.name.rstrip("s").startswith(word.rstrip("s")) for word in words_of(name) if len(word) > 3)
    return alike + named - 0.5 * len(found.missing)


def guess_match(table: Table, headers: Sequence[str]) -> Match:
    """The file's columns whose names are most like ours, each taken once, and the units that their names speak of."""
    candidates = [
        (-alike, place, column.name, header)
        for place, column in enumerate(table.columns)
        for header in headers
        if (alike := likeness(column.name, header)) >= LIKELY
    ]
    columns: dict[str, str] = {}
    for _, _, column, header in sorted(candidates):
        if column not in columns and header not in columns.values():
            columns[column] = header
    units = {column: unit for column, header in columns.items() if (unit := unit_in(column, header))}
    return Match(table=table, columns=columns, units=units)


def guess_others(main: Match, text: TextTable) -> list[Match]:
    """What the same rows say beside the table of `main`: how each plot was cut, what was sown, a grade for each load.

    Keys are taken from where `main` has them; the other columns are those that `main` leaves.
    """
    found: list[Match] = []
    free = left_by(main, text.cells.columns)
    for name, telling in TOLD_TOO.items():
        if name == main.table.name:
            continue
        other = other_match(TABLES[name], main, free)
        is_of_plots = name == "fields" and "plots" in (main.table.name, *(match.table.name for match in found))
        is_told_above = name == "plots" and bool(said_method(text))
        if is_of_plots or is_told_above or any(column in other.columns for column in telling):
            found.append(other)
            taken = [theirs for ours, theirs in other.columns.items() if ours not in other.table.key]
            free = [header for header in free if header not in taken]
    return found


def left_by(main: Match, headers: Sequence[str]) -> list[str]:
    """Columns of a file that other tables may take; how a plot was cut is there even where it is the plot's name."""
    return [
        header
        for header in headers
        if header not in main.columns.values() or header == main.columns.get("plot") == _method_column(headers)
    ]


def _method_column(headers: Sequence[str]) -> str | None:
    return guess_match(TABLES["plots"], headers).columns.get("method")


def other_match(table: Table, main: Match, free: Sequence[str]) -> Match:
    """How the rows of `main` are rows of another table too; free : columns that `main` leaves."""
    guessed = guess_match(table, free)
    shared = {
        ours: main.columns[theirs]
        for ours, theirs in ((column.name, ALIKE_IN.get(column.name, column.name)) for column in table.columns)
        if theirs in main.columns and (ours in table.key or ours in ALIKE_IN)
    }
    if "plot" in table.column_names and "plot" not in shared and "method" in guessed.columns:
        shared["plot"] = guessed.columns["method"]  # one plot for each way that the field was cut
    constants = {name: text for name, text in main.constants.items() if name in table.key}
    return Match(table=table, columns={**guessed.columns, **shared}, units=guessed.units, constants=constants)


def usual_column(match: Match, column: Column, headers: Sequence[str]) -> str | None:
    """The column that a needed one is taken from where none is like it.

    A load without a ticket has its row's number, and a plot without a name is called by how it was cut.
    """
    if column.name in ("ticket", "sample") and ROW_NUMBER in headers and column.name not in match.constants:
        return ROW_NUMBER
    return _method_column(headers) if column.name == "plot" else None


def usual_constant(column: Column, text: TextTable) -> str:
    """What most likely stands in every row of a table that lacks a needed column; "" where nobody can know."""
    if column.name == "crop_year" and len(years := years_said(text)) == 1:
        return years[0]
    if column.name == "method":
        return said_method(text)
    return (said_method(text) or "whole") if column.name == "plot" else ""


# --- reading by a match


def constant_problem(column: Column, text: str) -> str:
    """What is wrong with a value typed for every row; "" when nothing is."""
    reason = read_column(column, pl.Series([text.strip() or None], dtype=pl.String)).reasons[0]
    return (
        ""
        if reason is None
        else f"{column.name}: {text} given; {reason or 'not one of the words'}. Allowed {column.allowed}."
    )


def as_matched(text: TextTable, match: Match) -> TextTable:
    """The table as one of ours, still as text; rows that hold nothing in the matched columns are left out.

    Raises BadInput when the file lacks a column of the match, or for a unit that a column is not held in.
    """
    if not match.fits(text.cells.columns):
        lacking = sorted(set(match.columns.values()) - set(text.cells.columns))
        raise BadInput(f"{text.label}: no column {', '.join(lacking)}; the match takes it. Choose another column.")
    chosen = {
        column: unit_of(column, match.units.get(column, choices[0].name), FILE_UNITS)
        for column, choices in FILE_UNITS.items()
        if column in match.columns
    }
    taken = pl.DataFrame([text.cells[header].alias(column) for column, header in match.columns.items()])
    is_filled = taken.select(pl.any_horizontal(pl.all().is_not_null())).to_series()
    constants = {column: value.strip() or None for column, value in match.constants.items()}
    return TextTable(
        name=match.table.name,
        label=text.label,
        cells=taken.filter(is_filled).with_columns(
            pl.lit(value, dtype=pl.String).alias(column)
            for column, value in constants.items()
            if column not in match.columns
        ),
        rows=text.rows.filter(is_filled),
        is_whole=text.is_whole,
        date_order=text.date_order,
        # The chosen unit may stand behind the number too; any other is left there, and is refused with the number.
        units={column: CellUnits(usual=unit, named=(unit,)) for column, unit in chosen.items()},
    )


def each_once(text: TextTable, table: Table) -> TextTable:
    """Rows of another table beside that which a file is of: those that say something, each once, blanks filled up.

    A plot that was cut one way has that in the first of its tickets, or in all of them.
    """
    key = [name for name in table.key if name in text.cells.columns]
    rest = [name for name in text.cells.columns if name not in key]
    filled = text.cells.with_columns(
        pl.col(name).fill_null(pl.col(name).drop_nulls().first().over(key)) for name in rest
    )
    says = pl.any_horizontal(pl.col(rest).is_not_null()) if rest else pl.lit(True)
    is_kept = filled.select(says & pl.struct(pl.all()).is_first_distinct()).to_series()
    return replace(text, cells=filled.filter(is_kept), rows=text.rows.filter(is_kept), is_also=True)


def in_words_of_the_file(fault: Fault, match: Match | None) -> Fault:
    """A fault of a matched table with the file's own name of the column, and with both units."""
    column = fault.column or ""
    if match is None or column not in match.columns:
        return fault
    header = match.columns[column]
    named = replace(fault, column=column if header == column else f"{header} ({column})")
    choices = unit_choices(column)
    if not choices or column not in match.units:
        return named
    given = choices[0] if fault.is_doubt else match.units[column]  # a doubt shows the value as it would be kept
    return replace(named, given=f"{fault.given} {given}", allowed=f"{fault.allowed} {choices[0]}")


# --- keeping


def kept_matches(
    connection: duckdb.DuckDBPyConnection, tables: Mapping[str, Table] = TABLES
) -> dict[tuple[str, str], Match]:
    """The matches on record by name and table, in alphabetical order; without constants, which change by the year.

    A column or unit that we do not know (any more) is passed over, and chosen anew.
    tables : those whose matches are wanted, by name
    """
    found: dict[tuple[str, str], Match] = {}
    rows = read_table(connection, COLUMN_MATCHES.name).sort(COLUMN_MATCHES.key)
    for (name, table_name), group in rows.group_by("name", "table_name", maintain_order=True):
        if table := tables.get(str(table_name)):
            known = group.filter(pl.col("column_name").is_in(table.column_names))
            columns = dict(known.select("column_name", "file_column").iter_rows())
            units = {
                column: unit
                for column, unit in known.select("column_name", "unit").iter_rows()
                if unit in unit_choices(column)
            }
            found[str(name), table.name] = Match(table=table, columns=columns, units=units)
    return found


def keep_match(connection: duckdb.DuckDBPyConnection, name: str, match: Match, *, done_by: str) -> int:
    """Keep a match under a name, in the place of one of the same name and table; the number of the act.

    Raises BadInput for a name of no or too many letters, and for a match without a column.
    """
    kept = " ".join(name.split())
    if not 1 <= len(kept) <= LONGEST_NAME:
        raise BadInput(f"name of the match: {kept!r} given; allowed 1 to {LONGEST_NAME} letters.")
    if not match.columns:
        raise BadInput(f"{kept}: no column is matched; allowed a match of one column or more.")
    rows = pl.DataFrame(
        [
            {
                "name": kept,
                "table_name": match.table.name,
                "column_name": column,
                "file_column": header,
                "unit": match.units.get(column),
            }
            for column, header in match.columns.items()
        ],
        schema=COLUMN_MATCHES.polars_schema(),
    )
    before = read_table(connection, COLUMN_MATCHES.name).filter(
        pl.col("name") == kept, pl.col("table_name") == match.table.name
    )
    gone = before.join(rows, on=COLUMN_MATCHES.key, how="anti")
    one = TableSave(table=COLUMN_MATCHES, saved=rows, removed=gone)
    return save(connection, [one], done_by=done_by, source="screen", why=f"columns of {match.table.name} matched")
