"""Files to tables of text: CSV files, or the sheets of a workbook, cell by cell with their row numbers.

Knows nothing of the farm's rules. Whatever a file contains, the outcome is its text as it stands there, or a Fault
that says where; BadInput is raised when there is nothing that can be opened.
"""

import codecs
import csv
import io
import unicodedata
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import polars as pl

from analytics.errors import BadInput, Refused
from analytics.faults import LISTED, Fault, Faults
from analytics.units import Unit
from analytics.workbook import Sheet, read_sheets
from analytics.zipped import unpacked

LARGEST_BYTES = 200_000_000  # of all files of one import together, unpacked
LONGEST_HEADER = 100_000  # letters
MOST_COLUMNS = 500
LONGEST_LINE = 5_000_000  # bytes, of a line of any file; far beyond MOST_COLUMNS cells of any paper
MOST_LINES = 5_000_000  # five times the loads of a very large farm
SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "upright bars"}
CHUNK = 50_000  # rows turned into columns at a time, so that memory stays bounded
APOSTROPHE_BEFORE = ("=", "+", "-", "@", "'")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TextTable:
    """One table as text; a blank cell is null. `rows` is the row number, as in a spreadsheet, of each row of `cells`.

    Columns have plain names (see plain_name). `is_whole` is false when a row could not be taken apart. `units` are
    those of the columns whose numbers are not in the unit of the record.
    """

    name: str
    label: str  # "loads.csv" or "farm.xlsx, sheet loads"
    cells: pl.DataFrame
    rows: pl.Series
    is_whole: bool
    units: Mapping[str, Unit] = field(default_factory=dict)


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


def guarded(text: pl.Expr) -> pl.Expr:
    """Text for a cell of a file that we write: an apostrophe before what a spreadsheet would take for a formula.

    The one rule, both ways: text that begins with = + - @ or an apostrophe is written with one more apostrophe before
    it; on reading, one apostrophe that stands before any of these is taken away.
    """
    return pl.when(text.str.slice(0, 1).is_in(APOSTROPHE_BEFORE)).then("'" + text).otherwise(text)


def unguarded(text: pl.Expr) -> pl.Expr:
    """Text of a cell without the apostrophe that `guarded` put before it."""
    is_guarded = text.str.starts_with("'") & text.str.slice(1, 1).is_in(APOSTROPHE_BEFORE)
    return pl.when(is_guarded).then(text.str.slice(1)).otherwise(text)


def read_path(path: Path, names: Collection[str]) -> Contents:
    """The tables called `names` in a folder of CSV files, in one CSV file or in one workbook.

    Raises BadInput when there is no such thing, Refused when the computer does not let us read it.
    """
    try:
        if not path.exists():
            raise BadInput(
                f"{path}: there is no such file. Give a folder of CSV files, one CSV, one .xlsx or one .zip."
            )
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
        parts: list[tuple[str, str, Sheet | bytes]]
        if path.suffix.lower() in (".xlsx", ".xls"):
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
            except _Unusable as problem:
                faults.add(problem.fault)
    if not labels:
        raise BadInput(f"No table is among {_few([name for name, _ in files] + others)}; allowed {', '.join(names)}.")
    if others:
        remarks.append(f"Left out, not named like a table: {_few(others)}.")
    unreadable = frozenset(labels) - {table.name for table in tables}
    return Contents(tables=tuple(tables), unreadable=unreadable, faults=faults, remarks=tuple(remarks))


def read_all(files: Sequence[tuple[str, bytes]]) -> Contents:
    """Every table in files given as (file name, content), whatever it is called: text files and sheets that hold rows.

    What is meant for people (README, names that begin with _ or a point) is passed over. Two tables may have one name.
    Raises BadInput when a file is too large, a workbook cannot be opened, or there is no table.
    """
    files = unpacked(files, largest_bytes=LARGEST_BYTES)
    check_size(sum(len(content) for _, content in files))
    faults = Faults()
    remarks: list[str] = []
    parts: list[tuple[str, str, Sheet | bytes]] = []
    for file_name, content in files:
        path = Path(file_name)
        if path.suffix.lower() in (".xlsx", ".xls"):
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
            tables.append(_take_apart(name, label, part, faults, remarks))
        except _Unusable as problem:
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


def _take_apart(name: str, label: str, part: Sheet | bytes, faults: Faults, remarks: list[str]) -> TextTable:
    rough = _from_sheet(label, part) if isinstance(part, Sheet) else _from_csv(label, part, remarks)
    faults.add_all(rough.faults)
    return _tidy(name, label, rough, remarks)


class _Unusable(Exception):
    """Nothing of a table can be used."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(str(fault))
        self.fault = fault


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Rough:
    """A table cut into cells, header apart; the columns of `cells` are in the order of the header."""

    header: list[str]
    cells: pl.DataFrame
    rows: pl.Series
    faults: Faults


def _from_sheet(label: str, sheet: Sheet) -> _Rough:
    filled = sheet.cells.select(pl.any_horizontal(pl.all().is_not_null()).arg_true()) if sheet.cells.width else None
    if filled is None or filled.is_empty():
        raise _Unusable(_empty(label))
    first = filled.item(0, 0)
    header = [text or "" for text in sheet.cells.row(first)]
    faults = Faults()
    for row, column in sheet.broken_cells[:LISTED]:
        faults.add(
            Fault(
                file=label,
                row=row + 1,
                column=header[column],
                given="a formula that ended in an error",
                allowed="a value",
                remedy="Type the value, or leave the cell blank.",
            )
        )
    faults.total += max(0, len(sheet.broken_cells) - LISTED)
    cells = sheet.cells.slice(first + 1)
    rows = pl.int_range(first + 2, first + 2 + cells.height, eager=True)
    return _Rough(header=header, cells=cells, rows=rows, faults=faults)


def _from_csv(label: str, content: bytes, remarks: list[str]) -> _Rough:
    data = _as_utf8(label, content, remarks)
    first_line = data[:LONGEST_HEADER].lstrip().partition(b"\n")[0].decode(errors="replace")
    if len(first_line) > LONGEST_HEADER - 10 and b"\n" not in data[:LONGEST_HEADER]:
        raise _Unusable(
            Fault(file=label, row=1, given="a line without end", allowed=f"up to {LONGEST_HEADER:,} letters of header")
        )
    _check_lines(label, data)
    if first_line.count('"') == 0 and max(map(first_line.count, SEPARATORS)) >= MOST_COLUMNS:
        raise _too_many_columns(label, max(map(first_line.count, SEPARATORS)) + 1)
    # A block copied from a spreadsheet has tabs, and its headings may hold commas: "weight, kg".
    separator = "\t" if "\t" in first_line else max(SEPARATORS, key=first_line.count)
    if separator != "," and separator in first_line:
        remarks.append(f"{label}: cells are set apart by {SEPARATORS[separator]}.")
    return _cut_plainly(data, separator) or _cut_carefully(label, data, separator)


def _check_lines(label: str, data: bytes) -> None:
    """Refuse lines that, cut into cells, would take many times the memory of the file."""
    end = b"\n" if b"\n" in data else b"\r"
    if (lines := data.count(end)) > MOST_LINES:
        remedy = "Bring them in year by year."
        raise _Unusable(Fault(file=label, given=f"{lines:,} lines", allowed=f"up to {MOST_LINES:,}", remedy=remedy))
    start = 0
    while len(data) - start > LONGEST_LINE:
        last = data.rfind(end, start, start + LONGEST_LINE)
        if last < 0:
            row = data.count(end, 0, start) + 1
            allowed = f"up to {LONGEST_LINE:,} letters in a line"
            raise _Unusable(Fault(file=label, row=row, given="a line without end", allowed=allowed))
        start = last + 1


def _as_utf8(label: str, content: bytes, remarks: list[str]) -> bytes:
    content = content.removeprefix(codecs.BOM_UTF8)
    if not content.strip():
        raise _Unusable(_empty(label))
    if (nul := content.find(b"\0")) >= 0:
        raise _Unusable(
            Fault(
                file=label,
                row=content.count(b"\n", 0, nul) + 1,
                given="a NUL byte",
                allowed="text in UTF-8 or Windows-1252",
                remedy="Save it again as CSV UTF-8.",
            )
        )
    if content.isascii():
        return content
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError:
        try:
            text = content.decode("cp1252")
        except UnicodeDecodeError as problem:
            raise _Unusable(
                Fault(
                    file=label,
                    row=content.count(b"\n", 0, problem.start) + 1,
                    given=f"the byte {content[problem.start]:#x}",
                    allowed="text in UTF-8 or Windows-1252",
                    remedy="Save it again as CSV UTF-8.",
                )
            ) from problem
        remarks.append(f"{label}: read as Windows-1252 text; check names with accents.")
    return unicodedata.normalize("NFC", text).encode()  # an accent typed in two ways is one name


def _cut_plainly(data: bytes, separator: str) -> _Rough | None:
    """The quick way for a file without quotation marks in which every line has as many cells as the header.

    Null for any other file. The library fills short lines with blanks without a word, so the separators are counted
    first: as many as there should be, and no line with too many, means no line with too few.
    """
    data = data.replace(b"\r\n", b"\n").rstrip(b"\n")
    if b'"' in data or b"\r" in data:
        return None
    first_line, _, body = data.partition(b"\n")
    header = first_line.decode().split(separator)
    lines = body.count(b"\n") + 1
    if len(header) < 2 or not body or body.count(separator.encode()) != lines * (len(header) - 1):
        return None
    try:
        cells = pl.read_csv(body, has_header=False, separator=separator, quote_char=None, infer_schema=False)
    except pl.exceptions.PolarsError:
        return None
    if cells.shape != (lines, len(header)):
        return None
    return _Rough(header=header, cells=cells, rows=pl.int_range(2, lines + 2, eager=True), faults=Faults())


def _cut_carefully(label: str, data: bytes, separator: str) -> _Rough:
    """Row by row, for every other file; a row of another length than the header is a fault."""
    faults = Faults()
    chunks: list[pl.DataFrame] = []
    numbers: list[int] = []
    uneven: list[tuple[int, int]] = []
    header: list[str] = []
    lines = io.TextIOWrapper(io.BytesIO(data), encoding="utf-8", newline="")
    records = enumerate(csv.reader(lines, delimiter=separator, strict=True, skipinitialspace=True), 1)
    number = 0
    try:
        for number, header in records:  # noqa: B007 - both are used below; blank lines may come first
            if any(cell.strip() for cell in header):
                break
        width = len(header)
        kept: list[list[str]] = []
        for number, record in records:
            if len(record) > width and not any(cell.strip() for cell in record[width:]):
                record = record[:width]  # blanks beyond the header say nothing
            if len(record) == width:
                kept.append(record)
                numbers.append(number)
            elif any(cell.strip() for cell in record):
                uneven.append((number, len(record)))
            if len(kept) == CHUNK:
                chunks.append(_frame(kept, width))
                kept = []
        chunks.append(_frame(kept, width))
    except csv.Error as problem:
        raise _Unusable(
            Fault(
                file=label,
                row=number + 1,
                given=f"text that cannot be cut into cells ({problem})",
                allowed="cells in quotation marks that are opened and closed",
                remedy="Look for a quotation mark too many, here or in the rows after it.",
            )
        ) from problem
    faults.add_rows(range(len(uneven)), lambda place: _uneven(label, *uneven[place], len(header), separator))
    cells = pl.concat([_frame([], len(header)), *chunks])
    return _Rough(header=header, cells=cells, rows=pl.Series(numbers, dtype=pl.Int64), faults=faults)


def _frame(records: list[list[str]], width: int) -> pl.DataFrame:
    columns = list(zip(*records, strict=True)) if records else [()] * width
    return pl.DataFrame([pl.Series(f"{place}", column, dtype=pl.String) for place, column in enumerate(columns)])


def _uneven(label: str, row: int, given: int, expected: int, separator: str) -> Fault:
    reason = f"Is a cell missing, or does a cell hold one of the {SEPARATORS[separator]} that set cells apart?"
    return Fault(
        file=label,
        row=row,
        given=f"{given:,} cell{'s' if given > 1 else ''}",
        allowed=f"{expected}, as in the header",
        remedy=f"{reason} Such a cell goes in quotation marks.",
    )


def _tidy(name: str, label: str, rough: _Rough, remarks: list[str]) -> TextTable:
    """Plain column names, cells without outer spaces and guarding apostrophes, no blank rows."""
    if len(rough.header) > MOST_COLUMNS:
        raise _too_many_columns(label, len(rough.header))
    header = [plain_name(text) for text in rough.header]
    if not any(header):
        raise _Unusable(_empty(label))
    for column in header:
        if column and header.count(column) > 1:
            remedy = "Keep one of them."
            raise _Unusable(
                Fault(file=label, row=1, column=column, given="two columns of that name", allowed="one", remedy=remedy)
            )
    respelled = [text for text, column in zip(rough.header, header, strict=True) if text != column]
    if respelled:
        remarks.append(f"{label}: column names read without regard to capitals and spaces: {_few(respelled)}.")
    cells = rough.cells.select(
        pl.col(old).str.strip_chars().replace("", None).alias(column or f"{place} ")
        for place, (old, column) in enumerate(zip(rough.cells.columns, header, strict=True), 1)
    )
    if cells.select(pl.any_horizontal(pl.all().str.starts_with("'").any())).item():  # few files have one to take away
        cells = cells.select(unguarded(pl.all()))
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
    )


def _too_many_columns(label: str, columns: int) -> _Unusable:
    return _Unusable(Fault(file=label, row=1, given=f"{columns:,} columns", allowed=f"up to {MOST_COLUMNS}"))


def _empty(label: str) -> Fault:
    return Fault(file=label, given="an empty file or sheet", allowed="a header line, and rows below it")


def _is_table(file: Path, names: Collection[str]) -> bool:
    return file.suffix.lower() == ".csv" and plain_name(file.stem) in names


def _is_for_people(name: str) -> bool:
    return name.lower().startswith(("readme", ".", "_"))


def _few(names: Sequence[str]) -> str:
    return ", ".join(names[:10]) + (f" and {len(names) - 10} more" if len(names) > 10 else "")
