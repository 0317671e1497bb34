"""Workbooks for tests by three writers: a library, an office program from the system's packages, and plain XML."""

import datetime as dt
import io
import os
import shutil
import subprocess
import zipfile
from collections.abc import Sequence
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

import pytest
import xlsxwriter
from xlsxwriter.utility import xl_rowcol_to_cell

NAMESPACE = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
LINKS = "http://schemas.openxmlformats.org/package/2006/relationships"
KINDS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
Row = Sequence[object]  # None leaves a cell empty, a pair is (number or day, format)


def by_library(rows: Sequence[Row], *, at: tuple[int, int] = (0, 0), from_1904: bool = False) -> bytes:
    """A workbook with the sheet loads, its rows from the cell `at` on."""
    stream = io.BytesIO()
    with xlsxwriter.Workbook(stream, {"in_memory": True, "date_1904": from_1904, "strings_to_formulas": False}) as book:
        sheet = book.add_worksheet("loads")
        for row, values in enumerate(rows, at[0]):
            for column, value in enumerate(values, at[1]):
                if isinstance(value, tuple):
                    sheet.write(row, column, value[0], book.add_format({"num_format": value[1]}))
                elif value is not None:
                    sheet.write(row, column, value)
    return stream.getvalue()


def with_sheets(*sheets: tuple[str, Sequence[Row]]) -> bytes:
    """A workbook of several sheets by name, each with its rows from A1."""
    stream = io.BytesIO()
    with xlsxwriter.Workbook(stream, {"in_memory": True}) as book:
        for name, rows in sheets:
            sheet = book.add_worksheet(name)
            for row, values in enumerate(rows):
                for column, value in enumerate(values):
                    if isinstance(value, tuple):
                        sheet.write(row, column, value[0], book.add_format({"num_format": value[1]}))
                    elif value is not None:
                        sheet.write(row, column, value)
    return stream.getvalue()


def by_office_program(rows: Sequence[Row], folder: Path, *, to: str = "xlsx", **how: object) -> bytes:
    """The same, opened and saved by a spreadsheet program; as .csv, what its cells show,
    from the first filled cell on.
    """
    if shutil.which("ssconvert") is None:
        if "CI" in os.environ:
            pytest.fail("ssconvert is missing; install gnumeric from the system's packages")
        pytest.skip("no office program: install gnumeric from the system's packages")
    given, made = folder / "given.xlsx", folder / f"made.{to}"
    given.write_bytes(by_library(rows, **how))
    shown_text = ["-T", "Gnumeric_stf:stf_assistant", "-O", "format=preserve separator=,"] if to == "csv" else []
    subprocess.run(["ssconvert", *shown_text, given, made], check=True, capture_output=True, timeout=60)
    return made.read_bytes()


def by_hand(
    rows: Sequence[Row],
    *,
    at: tuple[int, int] = (0, 0),
    from_1904: bool = False,
    prefix: str = "",
    has_places: bool = True,
    rows_xml: str = "",
    after_rows: str = "",
    before_rows: str = "",
    calculation: str = "",
) -> bytes:
    """The same in plain XML; tags may have a prefix, and cells no place of their own (then at must be the corner)."""
    assert has_places or at == (0, 0)
    p = f"{prefix}:" if prefix else ""
    space = f"xmlns{':' if prefix else ''}{prefix}={quoteattr(NAMESPACE)} xmlns:r={quoteattr(KINDS)}"
    codes: list[str] = ["General"]
    lines = []
    for number, values in enumerate(rows, at[0]):
        cells = []
        for column, given in enumerate(values, at[1]):
            value, code = given if isinstance(given, tuple) else (given, "General")
            if code not in codes:
                codes.append(code)
            place = f' r="{xl_rowcol_to_cell(number, column)}"' if has_places else ""
            style = f' s="{codes.index(code)}"' if code != "General" else ""
            if isinstance(value, dt.date):
                value = (value - dt.date(1904, 1, 1) if from_1904 else value - dt.date(1899, 12, 30)).days
            if isinstance(value, str):
                text = f"<{p}is><{p}t>{escape(value)}</{p}t></{p}is>"
                cells.append(f'<{p}c{place}{style} t="inlineStr">{text}</{p}c>')
            elif value is not None or not has_places:
                cells.append(f"<{p}c{place}{style}>{'' if value is None else f'<{p}v>{value!r}</{p}v>'}</{p}c>")
        lines.append(f"<{p}row{f' r={quoteattr(str(number + 1))}' if has_places else ''}>{''.join(cells)}</{p}row>")
    formats = "".join(
        f'<{p}numFmt numFmtId="{place + 164}" formatCode={quoteattr(code)}/>' for place, code in enumerate(codes)
    )
    styles = "".join(f'<{p}xf numFmtId="{place + 164}"/>' for place in range(len(codes)))
    parts = {
        "_rels/.rels": _links(("officeDocument", "xl/book.xml")),
        "xl/_rels/book.xml.rels": _links(("worksheet", "sheets/one.xml"), ("styles", "/xl/styles.xml")),
        "xl/book.xml": f'<{p}workbook {space}><{p}workbookPr date1904="{int(from_1904)}"/>'
        f'<{p}sheets><{p}sheet name="loads" sheetId="1" r:id="r0"/></{p}sheets>{calculation}</{p}workbook>',
        "xl/styles.xml": f"<{p}styleSheet {space}><{p}numFmts>{formats}</{p}numFmts><{p}cellXfs>{styles}</{p}cellXfs>"
        f"</{p}styleSheet>",
        "xl/sheets/one.xml": f"<{p}worksheet {space}>{before_rows}<{p}sheetData>{''.join(lines)}{rows_xml}"
        f"</{p}sheetData>{after_rows}</{p}worksheet>",
    }
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as packed:
        for name, text in parts.items():
            packed.writestr(name, text)
    return stream.getvalue()


def _links(*links: tuple[str, str]) -> str:
    kept = "".join(
        f'<Relationship Id="r{place}" Type="{KINDS}/{kind}" Target="{target}"/>'
        for place, (kind, target) in enumerate(links)
    )
    return f'<Relationships xmlns="{LINKS}">{kept}</Relationships>'
