"""The sheets of a workbook (.xlsx) as text, opened with care: a small file may unpack to more than the memory holds."""

import io
import re
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import TypeVar
from xml.etree import ElementTree

import fastexcel
import polars as pl

from analytics.errors import BadInput

MOST_CELLS = 20_000_000  # the library lays out every cell up to the last one used, blank or not
LARGEST_RATIO = 500  # unpacked to packed; sheets of records reach 5 to 30, and no more than about 1000 is possible
NOT_A_WORKBOOK = (
    zipfile.BadZipFile,
    zlib.error,
    ElementTree.ParseError,
    EOFError,
    KeyError,
    OSError,
    RuntimeError,
    ValueError,
)
OLD_OR_LOCKED = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # the container of .xls files and of encrypted workbooks
Outcome = TypeVar("Outcome")
SMALL = 100_000  # bytes; below it no ratio is absurd
RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
CELL = re.compile(rb"<c(\s[^>]*)>")
CELL_NAME = re.compile(rb"""\sr\s*=\s*["']([A-Za-z]*)(\d+)["']""")
CELL_STYLE = re.compile(rb"""\ss\s*=\s*["'](\d+)["']""")
CELL_TYPE = re.compile(rb"""\st\s*=\s*["'](\w+)["']""")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sheet:
    """A sheet from its first row and column on; all text, an empty cell is null."""

    name: str
    cells: pl.DataFrame
    broken_cells: tuple[tuple[int, int], ...]  # (row, column) from 0: formulas that ended in an error


def read_sheets(
    file_name: str, data: bytes, *, largest_bytes: int, is_wanted: Callable[[str], bool]
) -> tuple[list[Sheet], list[str]]:
    """The wanted sheets, and the names of the others. Raises BadInput when it is not a workbook that can be opened.

    Numbers come as the shortest text that means the same number, to 15 digits as a spreadsheet shows them and to 9
    decimals; dates come as year-month-day; a cell shown as percent as it is seen, "1.2%" where the file holds 0.012.
    """
    percents = _look_inside(file_name, data, largest_bytes)
    book = _opened(file_name, lambda: fastexcel.read_excel(data))
    wanted = [name for name in book.sheet_names if is_wanted(name)]
    others = [name for name in book.sheet_names if name not in wanted]
    return [_opened(file_name, partial(_sheet, book, name, percents.get(name, []))) for name in wanted], others


def _sheet(book: fastexcel.ExcelReader, name: str, percents: list[tuple[int, int]]) -> Sheet:
    # skip_rows=0 keeps empty rows at the top, so that row numbers stay those of the spreadsheet.
    loaded = book.load_sheet(name, header_row=None, skip_rows=0, dtypes="string")
    batch, errors = loaded.to_arrow_with_errors()
    cells = pl.DataFrame(pl.from_arrow(batch))
    broken = () if errors is None else tuple((error.position[0], error.position[1]) for error in errors.errors)
    midnight = pl.all().str.replace(r"^(\d{4}-\d{2}-\d{2}) 00:00:00$", "${1}")
    return Sheet(name=name, cells=_with_percents(cells.select(midnight), percents), broken_cells=broken)


def _with_percents(cells: pl.DataFrame, percents: list[tuple[int, int]]) -> pl.DataFrame:
    """Cells shown as percent hold a hundredth of what is seen; they become the text that is seen, 8.5%."""
    for place in sorted({column for _, column in percents if column < cells.width}):
        texts = cells.to_series(place).to_list()
        for row, column in percents:
            if column == place and row < len(texts) and texts[row] is not None:
                texts[row] = f"{float(texts[row]) * 100:.15g}%"
        cells = cells.with_columns(pl.Series(cells.columns[place], texts, dtype=pl.String))
    return cells


def _look_inside(file_name: str, data: bytes, largest_bytes: int) -> dict[str, list[tuple[int, int]]]:
    """Refuse what would unpack to too much; else the cells shown as percent by sheet, (row, column) from 0."""
    if data.startswith(OLD_OR_LOCKED):
        raise BadInput(
            f"{file_name} is an old .xls file or is locked with a password. "
            "Open it, take the password off, and save it as .xlsx."
        )
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            unpacked = sum(part.file_size for part in packed.infolist())
            if unpacked > min(largest_bytes, LARGEST_RATIO * max(len(data), SMALL)):
                raise BadInput(
                    f"{file_name} would unpack to {unpacked / 1e6:,.0f} MB; allowed {largest_bytes / 1e6:,.0f} MB "
                    f"and at most {LARGEST_RATIO} times its own size. Save the sheets as CSV files."
                )
            damaged = packed.testzip()  # unpacks no more than was announced, and finds parts that are larger
            if damaged is not None:
                raise BadInput(f"{file_name} is damaged ({damaged}). Open it in a spreadsheet and save it again.")
            for part in packed.namelist():
                if part.startswith("xl/worksheets/") and part.endswith(".xml"):
                    _check_extent(file_name, packed.read(part))
            return _percent_cells(packed)
    except NOT_A_WORKBOOK as problem:
        raise BadInput(f"{file_name} is not a .xlsx workbook, or is cut short. Save it as .xlsx again.") from problem


def _percent_cells(packed: zipfile.ZipFile) -> dict[str, list[tuple[int, int]]]:
    if "xl/styles.xml" not in packed.namelist():
        return {}
    styles = ElementTree.fromstring(packed.read("xl/styles.xml"))
    codes = {code.get("numFmtId"): code.get("formatCode", "") for code in styles.iterfind("{*}numFmts/{*}numFmt")}
    codes |= {"9": "0%", "10": "0.00%"}  # built in, ECMA-376 part 1, 18.8.30
    formats = [style.get("numFmtId") for style in styles.iterfind("{*}cellXfs/{*}xf")]
    percents = {f"{place}".encode() for place, format_ in enumerate(formats) if "%" in codes.get(format_, "")}
    if not percents:
        return {}
    targets = {
        link.get("Id"): link.get("Target", "")
        for link in ElementTree.fromstring(packed.read("xl/_rels/workbook.xml.rels"))
    }
    found: dict[str, list[tuple[int, int]]] = {}
    for sheet in ElementTree.fromstring(packed.read("xl/workbook.xml")).iterfind("{*}sheets/{*}sheet"):
        target = targets.get(sheet.get(f"{{{RELATIONS}}}id"), "")
        part = target.removeprefix("/") if target.startswith("/") else f"xl/{target}"
        if part in packed.namelist():
            found[sheet.get("name", "")] = [
                (int(cell["row"]) - 1, _column_number(cell["column"]) - 1)
                for cell in _numbers_with_style(packed.read(part))
                if cell["style"] in percents
            ]
    return found


def _numbers_with_style(xml: bytes) -> Iterator[dict[str, bytes]]:
    for cell in CELL.finditer(xml):
        name, style, type_ = (pattern.search(cell[1]) for pattern in (CELL_NAME, CELL_STYLE, CELL_TYPE))
        if name and style and (type_ is None or type_[1] == b"n"):
            yield {"column": name[1], "row": name[2], "style": style[1]}


def _check_extent(file_name: str, xml: bytes) -> None:
    letters: set[bytes] = set()
    last_row = 0
    for name in CELL_NAME.finditer(xml):
        letters.add(name[1])
        last_row = max(last_row, int(name[2]) if len(name[2]) < 9 else MOST_CELLS)
    last_column = max((_column_number(name) for name in letters), default=0)
    if last_column * last_row > MOST_CELLS:
        raise BadInput(
            f"{file_name} has a sheet that reaches to row {last_row:,}, column {last_column:,}; "
            f"allowed {MOST_CELLS:,} cells. Delete the empty rows and columns around the records."
        )


def _column_number(letters: bytes) -> int:
    number = 0
    for letter in letters.upper()[:6]:
        number = number * 26 + letter - 64
    return number


def _opened(file_name: str, work: Callable[[], Outcome]) -> Outcome:
    try:
        return work()
    except BaseException as problem:
        # A panic inside the library is no Exception; everything else that is none (Ctrl-C) goes on its way.
        if isinstance(problem, Exception) or type(problem).__name__ == "PanicException":
            raise BadInput(f"{file_name} cannot be read as a workbook. Save it as .xlsx again, or as CSV.") from problem
        raise
