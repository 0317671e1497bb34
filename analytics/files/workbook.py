"""The sheets of a workbook (.xlsx, .xlsm) as text, opened with care: a small file may unpack to more than memory holds.

A cell's text is what a person reads in it, with all its digits: see number_formats. What cannot be told is a fault.
"""

import io
import lzma
import posixpath
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import IO
from xml.etree import ElementTree
from xml.parsers import expat

import polars as pl

from analytics.errors import BadInput
from analytics.files.number_formats import BUILT_IN, GENERAL
from analytics.files.sheet_cells import Cells, OddCell, Styles, TooFar, read_cells, texts_of_strings

SUFFIXES = (".xlsx", ".xlsm")
MOST_CELLS = 20_000_000  # from the first cell up to the last one used, blank or not
LARGEST_RATIO = 500  # unpacked to packed; sheets of records reach 5 to 30, and no more than about 1000 is possible
NOT_A_WORKBOOK = (
    zipfile.BadZipFile,
    zlib.error,
    lzma.LZMAError,
    ElementTree.ParseError,
    expat.ExpatError,
    EOFError,
    LookupError,
    OSError,
    OverflowError,
    RuntimeError,
    ValueError,
)
OLD_OR_LOCKED = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # the container of .xls files and of encrypted workbooks
SMALL = 100_000  # bytes; below it no ratio is absurd


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Worksheet:
    """A sheet from its first row and column on; all text, an empty cell is null.

    odd : cells whose text cannot be told
    merged : top left and bottom right (row, column) from 0, of cells made one
    hidden : what of the sheet is hidden, in words; "" for nothing
    """

    name: str
    cells: pl.DataFrame
    odd: tuple[OddCell, ...]
    merged: tuple[tuple[tuple[int, int], tuple[int, int]], ...]
    hidden: str


def read_sheets(
    file_name: str, data: bytes, *, largest_bytes: int, is_wanted: Callable[[str], bool]
) -> tuple[list[Worksheet], list[str]]:
    """The wanted sheets, and the names of the others. Raises BadInput when it is not a workbook that can be opened.

    Numbers come as the shortest text that means the same number, to 15 digits as a spreadsheet shows them; dates come
    as year-month-day; a cell shown as percent as it is seen, "1.2%" where the file holds 0.012.
    """
    if data.startswith(OLD_OR_LOCKED):
        raise BadInput(
            f"{file_name} is an old .xls file or is locked with a password. "
            "Open it, take the password off, and save it as .xlsx."
        )
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            _check_size(file_name, packed, len(data), largest_bytes)
            book = _Book(packed)
            wanted = [sheet for sheet in book.sheets() if is_wanted(sheet.name)]
            others = [sheet.name for sheet in book.sheets() if not is_wanted(sheet.name)]
            styles = book.styles() if wanted else Styles()
            return [_sheet(file_name, book, entry, styles) for entry in wanted], others
    except NOT_A_WORKBOOK as problem:
        raise BadInput(f"{file_name} is not a .xlsx workbook, or is damaged. Save it as .xlsx again.") from problem


def _check_size(file_name: str, packed: zipfile.ZipFile, size: int, largest_bytes: int) -> None:
    unpacked = sum(part.file_size for part in packed.infolist())
    if unpacked > min(largest_bytes, LARGEST_RATIO * max(size, SMALL)):
        raise BadInput(
            f"{file_name} would unpack to {unpacked / 1e6:,.0f} MB; allowed {largest_bytes / 1e6:,.0f} MB "
            f"and at most {LARGEST_RATIO} times its own size. Save the sheets as CSV files."
        )
    damaged = packed.testzip()  # unpacks no more than was announced, and finds parts that are larger
    if damaged is not None:
        raise BadInput(f"{file_name} is damaged ({damaged}). Open it in a spreadsheet and save it again.")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Entry:
    name: str
    part: str
    is_hidden: bool


class _Book:
    """The parts of a workbook, found by the links between them as ECMA-376 part 2 has it, not by their names."""

    def __init__(self, packed: zipfile.ZipFile) -> None:
        self._packed = packed
        self._parts = {name.lower(): name for name in packed.namelist()}
        (self._main,) = [target for kind, _, target in self._links("") if kind == "officeDocument"]
        self._links_of_main = list(self._links(self._main))
        self._tree = self._xml(self._main)

    def sheets(self) -> Iterator[_Entry]:
        targets = {key: target for kind, key, target in self._links_of_main if kind == "worksheet"}
        for sheet in self._tree.iterfind("{*}sheets/{*}sheet"):
            key = next((value for name, value in sheet.attrib.items() if name.endswith("}id")), "")
            if key in targets:  # else it is a chart by itself
                is_hidden = sheet.get("state", "visible") != "visible"
                yield _Entry(name=sheet.get("name", ""), part=targets[key], is_hidden=is_hidden)

    def styles(self) -> Styles:
        properties, reckoning = self._tree.find("{*}workbookPr"), self._tree.find("{*}calcPr")
        return Styles(
            formats=self._formats(),
            strings=self._strings(),
            from_1904=properties is not None and properties.get("date1904") in ("1", "true"),
            is_worked_out=reckoning is None or reckoning.get("fullCalcOnLoad") not in ("1", "true"),
        )

    def open(self, part: str) -> IO[bytes]:
        return self._packed.open(self._parts[part.lower()])

    def _formats(self) -> list[str]:
        part = self._linked("styles")
        if part is None:
            return []
        tree = self._xml(part)
        own = {one.get("numFmtId"): one.get("formatCode", "") for one in tree.iterfind("{*}numFmts/{*}numFmt")}
        numbers = [style.get("numFmtId", "0") for style in tree.iterfind("{*}cellXfs/{*}xf")]
        return [own.get(number) or BUILT_IN.get(int(number), GENERAL) for number in numbers]

    def _strings(self) -> list[str]:
        part = self._linked("sharedStrings")
        if part is None:
            return []
        with self.open(part) as xml:
            return texts_of_strings(xml)

    def _linked(self, wanted: str) -> str | None:
        return next((target for kind, _, target in self._links_of_main if kind == wanted), None)

    def _links(self, part: str) -> Iterator[tuple[str, str, str]]:
        """What a part (or, as "", the whole) links to: kind, key and name of the part."""
        folder, name = posixpath.split(part)
        for link in self._xml(posixpath.join(folder, "_rels", f"{name}.rels")):
            target = posixpath.normpath(posixpath.join("/", folder, link.get("Target", ""))).lstrip("/")
            if link.get("TargetMode") != "External":
                yield link.get("Type", "").rpartition("/")[2], link.get("Id", ""), target

    def _xml(self, part: str) -> ElementTree.Element:
        with self.open(part) as xml:
            text = xml.read()
        if b"<!DOCTYPE" in text:  # no workbook has one, and entities can fill the memory
            raise ValueError("a document type")
        return ElementTree.fromstring(text)


def _sheet(file_name: str, book: _Book, entry: _Entry, styles: Styles) -> Worksheet:
    try:
        with book.open(entry.part) as xml:
            found = read_cells(xml, styles, most_cells=MOST_CELLS)
    except TooFar as far:
        raise BadInput(
            f"{file_name} has a sheet that reaches to row {far.row:,}, column {far.column:,}; "
            f"allowed {MOST_CELLS:,} cells. Delete the empty rows and columns around the records."
        ) from far
    hidden = [
        "the sheet" if entry.is_hidden else "",
        f"{found.hidden_rows:,} row(s)" if found.hidden_rows else "",
        "columns" if found.hidden_columns else "",
    ]
    return Worksheet(
        name=entry.name,
        cells=_laid_out(found),
        odd=tuple(found.odd),
        merged=tuple(found.merged),
        hidden=", ".join(filter(None, hidden)),
    )


def _laid_out(found: Cells) -> pl.DataFrame:
    """Columns from A to the last one used, rows from 1 to the last one used."""
    width = max([*found.texts, *(cell.column for cell in found.odd)], default=-1) + 1
    columns = []
    for column in range(width):
        texts = found.texts.get(column, {})
        columns.append(pl.Series(f"column_{column}", map(texts.get, range(found.rows)), dtype=pl.String))
    return pl.DataFrame(columns)
