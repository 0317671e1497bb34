"""Empty files to fill in: one CSV per table, one workbook with a sheet per table, and what every column means."""

from pathlib import Path

import xlsxwriter

from analytics.checking import usual
from analytics.errors import BadInput, Refused
from analytics.records import REQUIRED_FILES, TABLES, Column, Table

WORKBOOK = "records.xlsx"
EXPLANATION = "README"  # passed over by the import, as file and as sheet
MEANING_HEADER = ("table", "column", "needed", "meaning", "allowed", "usual")
ROWS_WITH_A_LIST = 5000  # rows in which a cell offers its choices
CELL_FORMATS = {"text": "@", "note": "@", "choice": "@", "date": "yyyy-mm-dd"}  # "@" keeps the zeros of ticket 00417


def write_templates(folder: Path) -> tuple[Path, ...]:
    """Write the templates into the folder, which is made if need be; the files written.

    Raises BadInput when one of the files is there already (nothing is written then), Refused when the computer does
    not let us write.
    """
    texts = {f"{table.name}.csv": ",".join(table.column_names) + "\n" for table in TABLES.values()}
    texts[f"{EXPLANATION}.txt"] = explanation()
    paths = [folder / name for name in (*texts, WORKBOOK)]
    there = [path.name for path in paths if path.exists()]
    if there:
        raise BadInput(
            f"{folder} holds {', '.join(there)} already; allowed a folder without them. Nothing was written."
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in texts.items():
            (folder / name).write_text(text, encoding="utf-8", newline="\n")
        _write_workbook(folder / WORKBOOK)
    except (OSError, xlsxwriter.exceptions.XlsxWriterException) as problem:
        raise Refused(f"{folder} cannot be written to: {problem}. Give a folder of your own.") from problem
    return tuple(paths)


def explanation() -> str:
    """What every table and column means, as text."""
    lines = [
        "How to fill in these files",
        "",
        "One file, or one sheet of the workbook, for each table; the first line holds the names of the columns.",
        "A blank cell means unknown, never zero. Dates are year-month-day. Decimal point or decimal comma both do.",
        f"Only {', '.join(REQUIRED_FILES)} are needed to begin; every other file may be left out.",
    ]
    for table in TABLES.values():
        lines += ["", f"{table.name}: {table.meaning}. A row is known by {', '.join(table.key)}."]
        for column in table.columns:
            needed = ", needed" if column.required else ""
            often = f" (usual: {usual(column)})" if usual(column) else ""
            lines.append(f"  {column.name}{needed}: {column.meaning}; {column.allowed}{often}")
    return "\n".join(lines) + "\n"


def _write_workbook(path: Path) -> None:
    with xlsxwriter.Workbook(str(path)) as book:
        bold = book.add_format({"bold": True})
        kinds = {kind: book.add_format({"num_format": text}) for kind, text in CELL_FORMATS.items()}
        for table in TABLES.values():
            sheet = book.add_worksheet(table.name)
            sheet.write_row(0, 0, table.column_names, bold)
            sheet.freeze_panes(1, 0)
            for place, column in enumerate(table.columns):
                sheet.set_column(place, place, max(12, len(column.name) + 2), kinds.get(column.kind))
                _offer_choices(sheet, place, column)
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


def _offer_choices(sheet: xlsxwriter.worksheet.Worksheet, place: int, column: Column) -> None:
    choices = list(column.choices) or (["yes", "no"] if column.kind == "yes/no" else [])
    if choices:
        sheet.data_validation(1, place, ROWS_WITH_A_LIST, place, {"validate": "list", "source": choices})


def _meanings(table: Table) -> list[tuple[str, ...]]:
    return [
        (table.name, column.name, "yes" if column.required else "", column.meaning, column.allowed, usual(column))
        for column in table.columns
    ]
