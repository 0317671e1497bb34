"""The sheets of a workbook (.xlsx) as text, opened with care: a small file may unpack to more than the memory holds."""

import io
import re
import zipfile
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TypeVar

import fastexcel
import polars as pl

from analytics.errors import BadInput

MOST_CELLS = 20_000_000  # the library lays out every cell up to the last one used, blank or not
LARGEST_RATIO = 500  # unpacked to packed; sheets of records reach 5 to 30, and no more than about 1000 is possible
NOT_A_ZIP = (zipfile.BadZipFile, zlib.error, EOFError, RuntimeError, ValueError, OSError)
OLD_OR_LOCKED = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # the container of .xls files and of encrypted workbooks
Outcome = TypeVar("Outcome")
CELL_NAME = re.compile(rb"""\sr\s*=\s*["']([A-Za-z]*)(\d+)["']""")


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

    Numbers come as the shortest text that means the same number, to 15 digits as a spreadsheet shows them;
    dates come as year-month-day.
    """
    _check_size(file_name, data, largest_bytes)
    book = _opened(file_name, lambda: fastexcel.read_excel(data))
    wanted = [name for name in book.sheet_names if is_wanted(name)]
    others = [name for name in book.sheet_names if name not in wanted]
    return [_opened(file_name, partial(_sheet, book, name)) for name in wanted], others


def _sheet(book: fastexcel.ExcelReader, name: str) -> Sheet:
    # skip_rows=0 keeps empty rows at the top, so that row numbers stay those of the spreadsheet.
    loaded = book.load_sheet(name, header_row=None, skip_rows=0, dtypes="string")
    batch, errors = loaded.to_arrow_with_errors()
    cells = pl.DataFrame(pl.from_arrow(batch))
    broken = () if errors is None else tuple((error.position[0], error.position[1]) for error in errors.errors)
    midnight = pl.all().str.replace(r"^(\d{4}-\d{2}-\d{2}) 00:00:00$", "${1}")
    return Sheet(name=name, cells=cells.select(midnight), broken_cells=broken)


def _check_size(file_name: str, data: bytes, largest_bytes: int) -> None:
    if data.startswith(OLD_OR_LOCKED):
        raise BadInput(
            f"{file_name} is an old .xls file or is locked with a password. "
            "Open it, take the password off, and save it as .xlsx."
        )
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            unpacked = sum(part.file_size for part in packed.infolist())
            if unpacked > largest_bytes or unpacked > LARGEST_RATIO * max(len(data), 20_000):
                raise BadInput(
                    f"{file_name} would unpack to {unpacked / 1e6:,.0f} MB; allowed {largest_bytes / 1e6:,.0f} MB "
                    f"and at most {LARGEST_RATIO} times its own size. Save the sheets as CSV files."
                )
            damaged = packed.testzip()  # unpacks no more than was announced, and finds parts that are larger
            if damaged is not None:
                raise BadInput(f"{file_name} is damaged ({damaged}). Open it in a spreadsheet and save it again.")
            for part in packed.infolist():
                if part.filename.startswith("xl/worksheets/") and part.filename.endswith(".xml"):
                    _check_extent(file_name, packed.read(part))
    except NOT_A_ZIP as problem:
        raise BadInput(f"{file_name} is not a .xlsx workbook, or is cut short. Save it as .xlsx again.") from problem


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
