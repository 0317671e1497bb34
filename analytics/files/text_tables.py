"""Files to tables of text: CSV files, or the sheets of a workbook, cell by cell with their row numbers.

Knows nothing of the farm's rules. Whatever a file contains, the outcome is its text as it stands there, or a Fault
that says where; BadInput is raised when there is nothing that can be opened.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import polars as pl

from analytics.errors import BadInput, Refused
from analytics.files.csv_cells import (
    LOOKED_THROUGH,
    MOST_COLUMNS,
    HeadAt,
    Rough,
    Unusable,
    from_csv,
    nothing_in,
    too_many_columns,
)
from analytics.files.sheet_cells import OddCell
from analytics.files.workbook import SUFFIXES, Worksheet, read_sheets
from analytics.files.zipped import unpacked
from analytics.records.faults import Fault, Faults
from analytics.trade.units import Unit

LARGEST_BYTES = 200_000_000  # of all files of one import together, unpacked
NOT_READ = (".ods", ".fods", ".numbers", ".xlsb", ".wk1", ".wks", ".gnumeric")  # of spreadsheet programs
APOSTROPHE_BEFORE = ("=", "+", "-", "@", "'")
ENOUGH_TO_TELL = 1_000  # cells, whether many of a column are alike; our choice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class CellUnits:
    """The unit of the numbers of a column: `usual`, or the one of `named` that stands behind the number in a cell."""

    usual: Unit
    named: tuple[Unit, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TextTable:
    """One table as text; a blank cell is null. `rows` is the row number, as in a spreadsheet, of each row of `cells`.

    Columns have plain names (see plain_name). `is_whole` is false when a row could not be taken apart. `units` are
    those of the columns that may be in another unit than the record's. `known` are numbers by their text, column by
    column, where the program wrote the text itself: they are taken as they are, and never read as a person's.
    `crop_year` is that of dates without a year, where the table has no such column. `comma` is what the farm said of a
    comma before three digits, "" while nobody did; `date_order` what of day and month stands first in its 10/3/24, ""
    while nobody said so. `above` is what stands in the rows over the column names. `is_also` is true where the rows of
    another table say these too.
    """

    name: str
    label: str  # "loads.csv" or "farm.xlsx, sheet loads"
    cells: pl.DataFrame
    rows: pl.Series
    is_whole: bool
    units: Mapping[str, CellUnits] = field(default_factory=dict)
    known: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    crop_year: int | None = None
    comma: str = ""
    date_order: str = ""
    above: tuple[str, ...] = ()
    is_also: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contents:
    """What the files held. `unreadable` names the tables that were there but could not be taken apart at all."""

    tables: tuple[TextTable, ...]
    unreadable: frozenset[str]
    faults: Faults
    remarks: tuple[str, ...]


def plain_name(text: str) -> str:
    """A name of a table or column without regard to letter case and outer spaces."""
    return " ".join(text.split()).lower()


def guarded_text(text: pl.Expr) -> pl.Expr:
    """Text for a cell of a file that we write: an apostrophe before what a spreadsheet would take for a formula.

    The one rule, both ways: text that begins with = + - @ or an apostrophe is written with one more apostrophe before
    it; on reading, one apostrophe that stands before any of these is taken away.
    """
    return pl.when(text.str.slice(0, 1).is_in(APOSTROPHE_BEFORE)).then("'" + text).otherwise(text)


def unguarded(text: pl.Expr) -> pl.Expr:
    """Text of a cell without the apostrophe that `guarded` put before it."""
    is_guarded = text.str.starts_with("'") & text.str.slice(1, 1).is_in(APOSTROPHE_BEFORE)
    return pl.when(is_guarded).then(text.str.slice(1)).otherwise(text)


def no_file_words(path: Path) -> str:
    """What stands in the place of a file that was named; a pipe or a device may never end."""
    if path.is_dir():
        return f"{path} is a folder"
    return f"{path} is a pipe or a device, not a file" if path.exists() else f"{path}: there is no such file"


def read_path(path: Path, names: Collection[str]) -> Contents:
    """The tables called `names` in a folder of CSV files, in one CSV file or in one workbook.

    Raises BadInput when there is no such thing, Refused when the computer does not let us read it.
    """
    try:
        if not path.is_file() and not path.is_dir():
            raise BadInput(f"{no_file_words(path)}. Give a folder of CSV files, one CSV, one .xlsx or one .zip.")
        entries = [entry for entry in sorted(path.iterdir()) if entry.is_file()] if path.is_dir() else [path]
        wanted = [entry for entry in entries if entry == path or _is_table(entry, names)]
        files, size = [], 0
        for file in wanted:
            size += file.stat().st_size
            check_size(size)
            files.append((file.name, file.read_bytes()))
    except OSError as problem:
        raise Refused(f"{path} cannot be read: {problem.strerror}. Check that you may open it.") from problem
    return read_files(files, names, left_out=[entry.name for entry in entries if entry not in wanted])


def read_files(files: Sequence[tuple[str, bytes]], names: Collection[str], *, left_out: Iterable[str] = ()) -> Contents:
    """The tables called `names` in files given as (file name, content); `left_out` are names of other files.

    Raises BadInput when a file is too large, a workbook cannot be opened, or no table is among them.
    """
    files = unpacked(files, largest_bytes=LARGEST_BYTES)
    check_size(sum(len(content) for _, content in files))
    faults = Faults()
    remarks: list[str] = []
    labels: dict[str, str] = {}
    others = [name for name in left_out if not _is_for_people(name)]
    tables: list[TextTable] = []
    for file_name, content in files:
        path = Path(file_name)
        parts: list[tuple[str, str, Worksheet | bytes]]
        if path.suffix.lower() in (*SUFFIXES, ".xls"):
            sheets, other_sheets = read_sheets(
                path.name, content, largest_bytes=LARGEST_BYTES, is_wanted=lambda name: plain_name(name) in names
            )
            others += [f"{path.name}, sheet {name}" for name in other_sheets if not _is_for_people(name)]
            parts = [(f"{path.name}, sheet {sheet.name}", plain_name(sheet.name), sheet) for sheet in sheets]
        elif _is_table(path, names):
            parts = [(path.name, plain_name(path.stem), content)]
        else:
            others += [] if _is_for_people(path.name) else [path.name]
            continue
        for label, name, part in parts:
            if name in labels:
                faults.add(Fault(file=label, given="a second table of that name", allowed=f"one, as {labels[name]} is"))
                continue
            labels[name] = label
            try:
                tables.append(_take_apart(name, label, part, faults, remarks))
            except Unusable as problem:
                faults.add(problem.fault)
    if not labels:
        given = list(dict.fromkeys([name for name, _ in files] + others))
        raise BadInput(f"No table is among {_few(given)}; allowed {', '.join(names)}.{_how_to_save(given)}")
    if others:
        remarks.append(f"Left out, not named like a table: {_few(others)}.")
    unreadable = frozenset(labels) - {table.name for table in tables}
    return Contents(tables=tuple(tables), unreadable=unreadable, faults=faults, remarks=tuple(remarks))


def read_all(files: Sequence[tuple[str, bytes]], *, head_at: HeadAt | None = None) -> Contents:
    """Every table in files given as (file name, content), whatever it is called: text files and sheets that hold rows.

    head_at : which of the first rows of a table holds its column names; without it, the first that is not blank
    What is meant for people (README, names that begin with _ or a point) is passed over. Two tables may have one name.
    Raises BadInput when a file is too large, a workbook cannot be opened, or there is no table.
    """
    files = unpacked(files, largest_bytes=LARGEST_BYTES)
    check_size(sum(len(content) for _, content in files))
    faults = Faults()
    remarks: list[str] = []
    parts: list[tuple[str, str, Worksheet | bytes]] = []
    for file_name, content in files:
        path = Path(file_name)
        if how := _how_to_save([path.name]):
            raise BadInput(f"{path.name} is not read; allowed CSV files and .xlsx workbooks.{how}")
        if path.suffix.lower() in (*SUFFIXES, ".xls"):
            sheets, _ = read_sheets(
                path.name, content, largest_bytes=LARGEST_BYTES, is_wanted=lambda name: not _is_for_people(name)
            )
            filled = [sheet for sheet in sheets if sheet.cells.height]
            parts += [(f"{path.name}, sheet {sheet.name}", plain_name(sheet.name), sheet) for sheet in filled]
        elif not _is_for_people(path.name):
            parts.append((path.name, plain_name(path.stem), content))
    if not parts:
        raise BadInput(f"No table is in {_few([name for name, _ in files])}; allowed CSV files and .xlsx workbooks.")
    tables = []
    for label, name, part in parts:
        try:
            tables.append(_take_apart(name, label, part, faults, remarks, head_at))
        except Unusable as problem:
            faults.add(problem.fault)
    unreadable = frozenset(name for _, name, _ in parts) - {table.name for table in tables}
    return Contents(tables=tuple(tables), unreadable=unreadable, faults=faults, remarks=tuple(remarks))


def check_size(size: int) -> None:
    """Raises BadInput when files of so many bytes together are more than may be read at a time."""
    if size > LARGEST_BYTES:
        raise BadInput(
            f"The files are larger than {LARGEST_BYTES / 1e6:,.0f} MB together; allowed is that much at a time. "
            "Bring them in year by year."
        )


def _take_apart(
    name: str,
    label: str,
    part: Worksheet | bytes,
    faults: Faults,
    remarks: list[str],
    head_at: HeadAt | None = None,
) -> TextTable:
    if isinstance(part, Worksheet):
        rough = _from_sheet(label, part, remarks, head_at)
    else:
        rough = from_csv(label, part, remarks, head_at)
    faults.add_all(rough.faults)
    if head_at is not None:
        rough = replace(rough, header=_told_apart(rough.header))
    return _tidy(name, label, rough, remarks)


def _told_apart(header: list[str]) -> list[str]:
    """Column names of which the second one alike has a number behind it."""
    plain = [plain_name(text) for text in header]
    again = [plain[:place].count(name) for place, name in enumerate(plain)]
    return [f"{text} {more + 1}" if more and text else text for text, more in zip(header, again, strict=True)]


def _from_sheet(label: str, sheet: Worksheet, remarks: list[str], head_at: HeadAt | None) -> Rough:
    filled = sheet.cells.select(pl.any_horizontal(pl.all().is_not_null()).arg_true()) if sheet.cells.width else None
    if filled is None or filled.is_empty():
        raise Unusable(nothing_in(label))
    first = filled.item(0, 0)
    begin = [[text or "" for text in row] for row in sheet.cells.slice(first, LOOKED_THROUGH).iter_rows()]
    if head_at is not None:
        first += head_at(begin)
    header = [text or "" for text in sheet.cells.row(first)]
    if sheet.hidden:
        remarks.append(f"{label}: {sheet.hidden} hidden in it, and read like the rest.")
    faults = Faults()
    # What has no heading is left out, whatever it holds.
    is_over = [cell.row < first and head_at is not None for cell in sheet.odd]
    odd = [
        cell
        for cell, is_title in zip(sheet.odd, is_over, strict=True)
        if not is_title and (cell.row <= first or header[cell.column])
    ]
    faults.add_rows(range(len(odd)), lambda place: _odd_cell(label, header, odd[place]))
    merged = [_merged_cell(sheet, header, *corners) for corners in sheet.merged if corners[1][0] > first]
    found = [cell for cell in merged if cell is not None]
    faults.add_rows(range(len(found)), lambda place: _odd_cell(label, header, found[place]))
    cells = sheet.cells.slice(first + 1)
    rows = pl.int_range(first + 2, first + 2 + cells.height, eager=True)
    above = tuple(" ".join(cell for cell in row if cell) for row in sheet.cells.head(first).iter_rows())
    return Rough(header=header, cells=cells, rows=rows, faults=faults, above=above)


def _odd_cell(label: str, header: list[str], cell: OddCell) -> Fault:
    column = header[cell.column] or f"column {cell.column + 1}"
    return Fault(file=label, row=cell.row + 1, column=column, given=cell.given, allowed="a value", remedy=cell.remedy)


def _merged_cell(
    sheet: Worksheet, header: list[str], top_left: tuple[int, int], bottom_right: tuple[int, int]
) -> OddCell | None:
    """Cells made one that are seen as the value of more than one row or column, though only the first holds it."""
    (row, column), (last_row, last_column) = top_left, bottom_right
    if row >= sheet.cells.height or column >= sheet.cells.width or sheet.cells[row, column] is None:
        return None
    if last_row == row and sum(map(bool, header[column : last_column + 1])) < 2:
        return None
    given = f"{sheet.cells[row, column]} in cells that are merged"
    return OddCell(row=row, column=column, given=given, remedy="Take the merged cells apart, and fill in each of them.")


def _tidy(name: str, label: str, rough: Rough, remarks: list[str]) -> TextTable:
    """Plain column names, cells without outer spaces and guarding apostrophes, no blank rows."""
    if len(rough.header) > MOST_COLUMNS:
        raise too_many_columns(label, len(rough.header))
    header = [plain_name(text) for text in rough.header]
    if not any(header):
        raise Unusable(nothing_in(label))
    for column in header:
        if column and header.count(column) > 1:
            remedy = "Keep one of them."
            raise Unusable(
                Fault(file=label, row=1, column=column, given="two columns of that name", allowed="one", remedy=remedy)
            )
    respelled = [text for text, column in zip(rough.header, header, strict=True) if text != column]
    if respelled:
        remarks.append(f"{label}: column names read without regard to capitals and spaces: {_few(respelled)}.")
    # Column by column, each given up as it is read, so that a large table is not in memory twice.
    cells = pl.DataFrame(
        [
            _bare(rough.cells.drop_in_place(old)).alias(column or f"{place} ")
            for place, (old, column) in enumerate(zip(rough.cells.columns, header, strict=True), 1)
        ]
    )
    for column in [column for column in cells.columns if column.endswith(" ")]:
        if cells[column].null_count() < cells.height:
            remarks.append(f"{label}: column {column.strip()} has no name and was left out.")
        cells = cells.drop(column)
    is_filled = cells.select(pl.any_horizontal(pl.all().is_not_null())).to_series()
    blank_rows = is_filled.len() - is_filled.sum()
    if blank_rows:
        remarks.append(f"{label}: {blank_rows:,} blank row{'s' if blank_rows > 1 else ''} skipped.")
    return TextTable(
        name=name,
        label=label,
        cells=cells.filter(is_filled) if blank_rows else cells,
        rows=rough.rows.filter(is_filled) if blank_rows else rough.rows,
        is_whole=rough.faults.total == 0,
        above=tuple(text for text in rough.above if text),
    )


def _bare(cells: pl.Series) -> pl.Series:
    """The cells without outer spaces and guarding apostrophes, blank ones null.

    Few columns have any of these, and their different texts tell so in less than half the time, where there are fewer.
    """
    if cells.null_count() == cells.len():
        return cells
    begin = cells.head(ENOUGH_TO_TELL)
    said = cells.unique() if cells.len() > ENOUGH_TO_TELL and begin.n_unique() < begin.len() / 2 else cells
    stripped = said.str.strip_chars()
    if (stripped != said).any() or (said == "").any():
        cells = cells.str.strip_chars().replace("", None)
    if stripped.str.starts_with("'").any():
        cells = cells.to_frame("text").select(unguarded(pl.col("text"))).to_series()
    return cells


def _is_table(file: Path, names: Collection[str]) -> bool:
    return file.suffix.lower() == ".csv" and plain_name(file.stem) in names


def _is_for_people(name: str) -> bool:
    return name.lower().startswith(("readme", ".", "_"))


def _how_to_save(names: Sequence[str]) -> str:
    """What to do with files of spreadsheet programs that are not read; nothing where there are none."""
    if not any(name.lower().endswith(NOT_READ) for name in names):
        return ""
    return " Open it in the program that wrote it, and save it as .xlsx (a workbook) or as CSV, one sheet a file."


def _few(names: Sequence[str]) -> str:
    return ", ".join(names[:10]) + (f" and {len(names) - 10} more" if len(names) > 10 else "")
