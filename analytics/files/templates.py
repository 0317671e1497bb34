"""Files to fill in: one CSV per table, one workbook with a sheet per table, and what every column means.

Empty, or with the farm's fields and the plots of a crop year in them.
"""

import io
from collections.abc import Mapping, Sequence
from pathlib import Path

import polars as pl
import xlsxwriter

from analytics.files import zipped
from analytics.files.checking import usual
from analytics.files.new_files import write_new
from analytics.files.text_tables import guarded_text
from analytics.records.cell_text import as_text
from analytics.records.columns import PLOT_KEY
from analytics.records.form import Column, Table
from analytics.records.harvest_tables import LOADS, LOSS_CHECKS, SAMPLES
from analytics.records.last_season import copied_plots
from analytics.records.tables import REQUIRED_FILES, TABLES

WORKBOOK = "records.xlsx"
EXPLANATION = "README"  # passed over by the import, as file and as sheet
MEANING_HEADER = ("table", "column", "needed", "meaning", "allowed", "usual")
ROWS_WITH_A_LIST = 5000  # rows in which a cell offers its choices
CELL_FORMATS = {"text": "@", "note": "@", "choice": "@", "date": "yyyy-mm-dd"}  # "@" keeps the zeros of ticket 00417

Rows = Mapping[str, Sequence[Mapping[str, str]]]


def write_templates(folder: Path) -> tuple[Path, ...]:
    """Write the empty templates into the folder; the files written. Raises BadInput and Refused as write_new does."""
    return write_new(folder, template_files())


def template_files(rows: Rows | None = None) -> dict[str, bytes]:
    """The templates by file name: a CSV per table, what every column means, and the workbook.

    rows : what stands in them already, by table; none in empty ones
    """
    filled = {
        table.name: pl.DataFrame(list((rows or {}).get(table.name, ())), schema=dict.fromkeys(names, pl.String))
        .with_columns(
            guarded_text(pl.col(column.name)).alias(column.name) for column in table.columns if _is_words(column)
        )
        .with_columns(pl.all().replace("", None))
        for table in TABLES.values()
        for names in (table.column_names,)
    }
    files = {f"{name}.csv": frame.write_csv().encode() for name, frame in filled.items()}
    files[f"{EXPLANATION}.txt"] = explanation().encode()
    files[WORKBOOK] = _workbook(filled)
    return files


def templates_zip(files: Mapping[str, bytes]) -> bytes:
    """The files in one ZIP, without the workbook, which is taken by itself."""
    return zipped.as_zip({name: content for name, content in files.items() if name != WORKBOOK})


def season_rows(records: Mapping[str, pl.DataFrame], *, crop_year: int) -> dict[str, list[dict[str, str]]]:
    """What the templates of a crop year begin with, as text: the fields, the plots (those of the last year before where
    this one has none yet), and a row for each plot in loads, samples and loss checks.

    records : all tables as they are now
    """
    plots: Sequence[Mapping[str, str]] = _texts(records["plots"].filter(pl.col("crop_year") == crop_year))
    if not plots:
        _, plots = copied_plots(records, crop_year=crop_year)
    year = str(crop_year)
    of_plots = [{"crop_year": year, "field": plot["field"], "plot": plot["plot"]} for plot in plots]
    return {
        "fields": _texts(records["fields"]),
        "plots": [{"crop_year": year, **plot} for plot in plots],
        **{table.name: [dict(row) for row in of_plots] for table in (LOADS, SAMPLES, LOSS_CHECKS)},
    }


def _texts(rows: pl.DataFrame) -> list[dict[str, str]]:
    order = [name for name in PLOT_KEY if name in rows.columns]
    return [
        {name: "" if value is None else as_text(value) for name, value in row.items()}
        for row in rows.sort(order).iter_rows(named=True)
    ]


def _is_words(column: Column) -> bool:
    return column.kind in ("text", "note", "choice")


def explanation() -> str:
    """What every table and column means, as text."""
    lines = [
        "How to fill in these files",
        "",
        "One file, or one sheet of the workbook, for each table; the first line holds the names of the columns.",
        "A blank cell means unknown, never zero. Dates are year-month-day. Decimal point or decimal comma both do.",
        f"Only {', '.join(REQUIRED_FILES)} are needed to begin; every other file may be left out.",
        "What is allowed and what is usual is this program's own choice, without a source; it only catches slips.",
    ]
    for table in TABLES.values():
        lines += ["", f"{table.name}: {table.meaning}. A row is known by {', '.join(table.key)}."]
        if table.caution:
            lines.append(f"  {table.caution}")
        for column in table.columns:
            needed = ", needed" if column.required else ""
            often = f" (usual: {usual(column)})" if usual(column) else ""
            lines.append(f"  {column.name}{needed}: {column.meaning}; {column.allowed}{often}")
    return "\n".join(lines) + "\n"


def _workbook(filled: Mapping[str, pl.DataFrame]) -> bytes:
    whole = io.BytesIO()
    with xlsxwriter.Workbook(whole, {"in_memory": True}) as book:
        bold = book.add_format({"bold": True})
        kinds = {kind: book.add_format({"num_format": text}) for kind, text in CELL_FORMATS.items()}
        for table in TABLES.values():
            sheet = book.add_worksheet(table.name)
            sheet.write_row(0, 0, table.column_names, bold)
            sheet.freeze_panes(1, 0)
            for place, column in enumerate(table.columns):
                sheet.set_column(place, place, max(12, len(column.name) + 2), kinds.get(column.kind))
                _offer_choices(sheet, place, column)
                for below, text in enumerate(filled[table.name][column.name], 1):
                    if text is not None and "number" in column.kind:
                        sheet.write_number(below, place, float(text))
                    elif text is not None:
                        sheet.write_string(below, place, text, kinds.get(column.kind))
        sheet = book.add_worksheet(EXPLANATION)
        sheet.write_row(0, 0, MEANING_HEADER, bold)
        rows = [row for table in TABLES.values() for row in _meanings(table)]
        for number, row in enumerate(rows, 1):
            sheet.write_row(number, 0, row)
        for place, name in enumerate(MEANING_HEADER):
            sheet.set_column(
                place, place, min(70, max(len(text) for text in [name, *(row[place] for row in rows)]) + 2)
            )
        sheet.freeze_panes(1, 0)
    return whole.getvalue()


def _offer_choices(sheet: xlsxwriter.worksheet.Worksheet, place: int, column: Column) -> None:
    choices = list(column.choices) or (["yes", "no"] if column.kind == "yes/no" else [])
    if choices:
        sheet.data_validation(1, place, ROWS_WITH_A_LIST, place, {"validate": "list", "source": choices})


def _meanings(table: Table) -> list[tuple[str, ...]]:
    columns: list[tuple[str, ...]] = [
        (table.name, column.name, "yes" if column.required else "", column.meaning, column.allowed, usual(column))
        for column in table.columns
    ]
    return [(table.name, "", "", table.caution, "", ""), *columns] if table.caution else columns
