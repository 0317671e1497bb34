"""Everything on record as CSV files, loose or in one ZIP, and as one workbook; they import again to the same records.

The same records give the same files, byte for byte. Backups alone hold the history and drafts that are not saved yet.
"""

import io
from datetime import datetime
from decimal import Decimal
from pathlib import Path

import duckdb
import polars as pl
import xlsxwriter

from analytics.files import zipped
from analytics.files.new_files import write_new
from analytics.files.text_tables import guarded_text
from analytics.records.form import Table
from analytics.records.own_tables import SAVED_TABLES
from analytics.storage.database import read_table
from analytics.storage.transactions import transaction

WORKBOOK = "records.xlsx"
NO_DATE = datetime(2000, 1, 1)  # a workbook holds when it was made, which would make each one different
MOST_ROWS = 1_048_575  # that a sheet has below its header, ECMA-376 part 1


def export(connection: duckdb.DuckDBPyConnection, folder: Path) -> tuple[Path, ...]:
    """Write every table into the folder; the files written. Raises BadInput and Refused as write_new does."""
    return write_new(folder, {**csv_files(connection), WORKBOOK: export_workbook(connection)})


def csv_files(connection: duckdb.DuckDBPyConnection) -> dict[str, bytes]:
    """Every table as a CSV file: content by file name."""
    return {f"{name}.csv": rows.write_csv().encode() for name, rows in _tables(connection).items()}


def export_zip(connection: duckdb.DuckDBPyConnection) -> bytes:
    """The CSV files in one ZIP."""
    return zipped.as_zip(csv_files(connection))


def export_workbook(connection: duckdb.DuckDBPyConnection) -> bytes:
    """Every table as a sheet of one .xlsx workbook; a table too long for a sheet is in its CSV file alone.

    A number that would come back from a spreadsheet as another one stands there as text.
    """
    whole = io.BytesIO()
    with xlsxwriter.Workbook(whole, {"in_memory": True}) as book:  # else it needs room in the folder of the system too
        book.set_properties({"created": NO_DATE})
        bold = book.add_format({"bold": True})
        as_text = book.add_format({"num_format": "@"})
        for name, rows in _tables(connection).items():
            if rows.height > MOST_ROWS:
                continue
            sheet = book.add_worksheet(name)
            sheet.write_row(0, 0, rows.columns, bold)
            sheet.freeze_panes(1, 0)
            numbers = {column.name for column in SAVED_TABLES[name].columns if "number" in column.kind}
            for place, column in enumerate(rows.columns):
                for row, text in enumerate(rows[column], 1):
                    if text is None:
                        continue
                    if column in numbers and _survives_a_spreadsheet(text):
                        sheet.write_number(row, place, float(text))
                    else:
                        sheet.write_string(row, place, text, as_text)
    return whole.getvalue()


def _survives_a_spreadsheet(number: str) -> bool:
    """Whether 15 digits tell the number, as a spreadsheet shows them."""
    return float(f"{float(number):.15g}") == float(number)


def _tables(connection: duckdb.DuckDBPyConnection) -> dict[str, pl.DataFrame]:
    with transaction(connection):  # writers wait for their turn, so that all tables are of one moment
        return {name: _as_text(read_table(connection, name), table) for name, table in SAVED_TABLES.items()}


def _as_text(rows: pl.DataFrame, table: Table) -> pl.DataFrame:
    """Rows in the order of their key, each cell as text that reads back to the very same value."""
    cells = [_cell_text(pl.col(column.name), column.kind) for column in table.columns]
    return rows.sort(table.key, nulls_last=False).select(cells)


def _cell_text(cell: pl.Expr, kind: str) -> pl.Expr:
    if kind == "date":
        return cell.dt.strftime("%Y-%m-%d")
    if kind == "yes/no":
        return cell.replace_strict({True: "yes", False: "no"}, return_dtype=pl.String)
    if kind == "number":
        return cell.map_elements(_number_text, return_dtype=pl.String)
    if kind == "whole number":
        return cell.cast(pl.String)
    return guarded_text(cell).name.keep()


def _number_text(value: float) -> str:
    """The shortest text without an exponent that means this very number."""
    text = repr(value)
    if "e" in text:
        return format(Decimal(text), "f")
    return text.removesuffix(".0")
