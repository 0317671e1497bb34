"""One CSV file cut into cells: its text, its separator, and a fault for every row that has another length."""

import codecs
import csv
import io
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import polars as pl

from analytics.records.faults import Fault, Faults

LONGEST_HEADER = 100_000  # letters
MOST_COLUMNS = 500
LONGEST_LINE = 5_000_000  # bytes, of a line of any file; far beyond MOST_COLUMNS cells of any paper
MOST_LINES = 5_000_000  # five times the loads of a very large farm
SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "upright bars"}
SEPARATOR_SAID = b"sep="  # begins a line over the header that spreadsheets write for one another
LOOKED_THROUGH = 40  # rows among which the column names are looked for; our choice, no source
CHUNK = 50_000  # rows turned into columns at a time, so that memory stays bounded


# Which of the first rows holds the column names; where nobody asks, the first one does.
HeadAt = Callable[[Sequence[Sequence[str]]], int]


class Unusable(Exception):
    """Nothing of a table can be used."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(str(fault))
        self.fault = fault


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rough:
    """A table cut into cells, header apart; the columns of `cells` are in the order of the header.

    above : what stands in each row over the header
    """

    header: list[str]
    cells: pl.DataFrame
    rows: pl.Series
    faults: Faults
    above: tuple[str, ...] = ()


def from_csv(label: str, content: bytes, remarks: list[str], head_at: HeadAt | None = None) -> Rough:
    """The cells of a file; what the reader should know is added to `remarks`. Raises Unusable.

    head_at : finds the header below rows of another kind. Then a row of few cells, as a total is, is filled with blanks
        instead of being a fault.
    """
    data = _as_utf8(label, content, remarks)
    above: tuple[str, ...] = ()
    if head_at is not None:
        data, above = _from_the_head_on(data, head_at)
    elif data[: len(SEPARATOR_SAID)].lower() == SEPARATOR_SAID:
        data, above = _from_the_head_on(data, lambda rows: len(rows) > 1)
    first_line = data[:LONGEST_HEADER].lstrip().partition(b"\n")[0].decode(errors="replace")
    if len(first_line) > LONGEST_HEADER - 10 and b"\n" not in data[:LONGEST_HEADER]:
        raise Unusable(
            Fault(file=label, row=1, given="a line without end", allowed=f"up to {LONGEST_HEADER:,} letters of header")
        )
    _check_lines(label, data)
    if first_line.count('"') == 0 and max(map(first_line.count, SEPARATORS)) >= MOST_COLUMNS:
        raise too_many_columns(label, max(map(first_line.count, SEPARATORS)) + 1)
    # A block copied from a spreadsheet has tabs, and its headings may hold commas: "weight, kg".
    separator = "\t" if "\t" in first_line else max(SEPARATORS, key=first_line.count)
    if separator != "," and separator in first_line:
        remarks.append(f"{label}: cells are set apart by {SEPARATORS[separator]}.")
    rough = _cut_plainly(data, separator, len(above)) or _cut_carefully(
        label, data, separator, len(above), may_be_short=head_at is not None
    )
    return replace(rough, above=above)


def _from_the_head_on(data: bytes, head_at: HeadAt) -> tuple[bytes, tuple[str, ...]]:
    """The file from its column names on, and the text of each row above them."""
    beginning = data[:LONGEST_HEADER].decode(errors="ignore")
    best: tuple[list[list[str]], list[int]] = ([], [])
    for separator in SEPARATORS:
        reader = csv.reader(io.StringIO(beginning, newline=""), delimiter=separator, skipinitialspace=True)
        rows, ends = [], [0]
        try:
            for row in reader:
                rows.append(row)
                ends.append(reader.line_num)
                if len(rows) == LOOKED_THROUGH:
                    break
        except csv.Error:  # said by the one who cuts the whole file
            continue
        if sum(map(len, rows)) > sum(map(len, best[0])):
            best = rows, ends
    rows, ends = best
    if not rows or not (place := head_at(rows)):
        return data, ()
    lines = data.split(b"\n", ends[place])
    if len(lines) <= ends[place]:
        return data, ()
    return lines[-1], tuple(" ".join(cell.strip() for cell in row if cell.strip()) for row in rows[:place])


def _check_lines(label: str, data: bytes) -> None:
    """Refuse lines that, cut into cells, would take many times the memory of the file."""
    end = b"\n" if b"\n" in data else b"\r"
    if (lines := data.count(end)) > MOST_LINES:
        remedy = "Bring them in year by year."
        raise Unusable(Fault(file=label, given=f"{lines:,} lines", allowed=f"up to {MOST_LINES:,}", remedy=remedy))
    start = 0
    while len(data) - start > LONGEST_LINE:
        last = data.rfind(end, start, start + LONGEST_LINE)
        if last < 0:
            row = data.count(end, 0, start) + 1
            allowed = f"up to {LONGEST_LINE:,} letters in a line"
            raise Unusable(Fault(file=label, row=row, given="a line without end", allowed=allowed))
        start = last + 1


def _as_utf8(label: str, content: bytes, remarks: list[str]) -> bytes:
    content = _from_utf_16(label, content, remarks).removeprefix(codecs.BOM_UTF8)
    if not content or content.isspace():
        raise Unusable(nothing_in(label))
    if (nul := content.find(b"\0")) >= 0:
        raise Unusable(
            Fault(
                file=label,
                row=content.count(b"\n", 0, nul) + 1,
                given="a NUL byte",
                allowed="text in UTF-8, UTF-16 or Windows-1252",
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
            raise Unusable(
                Fault(
                    file=label,
                    row=content.count(b"\n", 0, problem.start) + 1,
                    given=f"the byte {content[problem.start]:#x}",
                    allowed="text in UTF-8, UTF-16 or Windows-1252",
                    remedy="Save it again as CSV UTF-8.",
                )
            ) from problem
        remarks.append(f"{label}: read as Windows-1252 text; check names with accents.")
    return unicodedata.normalize("NFC", text).encode()  # an accent typed in two ways is one name


def _from_utf_16(label: str, content: bytes, remarks: list[str]) -> bytes:
    """Text of two bytes a letter, as spreadsheets save "Unicode text", as UTF-8; any other content as it is."""
    if not content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return content
    try:
        text = content.decode("utf-16").encode()
    except UnicodeError as problem:
        raise Unusable(
            Fault(
                file=label,
                given="text in UTF-16 that is cut short or damaged",
                allowed="text in UTF-8, UTF-16 or Windows-1252",
                remedy="Save it again as CSV UTF-8.",
            )
        ) from problem
    remarks.append(f"{label}: read as UTF-16 text.")
    return text


def _cut_plainly(data: bytes, separator: str, above: int) -> Rough | None:
    """The quick way for a file without quotation marks in which every line has as many cells as the header.

    Null for any other file. The library fills short lines with blanks without a word, so the separators are counted
    first: as many as there should be, and no line with too many, means no line with too few.
    """
    if b"\r" in data:
        data = data.replace(b"\r\n", b"\n")
    if b'"' in data or b"\r" in data:
        return None
    if data.endswith(b"\n\n"):
        data = data.rstrip(b"\n")
    header = data[: data.find(b"\n") + 1 or None].decode().rstrip("\n").split(separator)
    lines = data.count(b"\n") - data.endswith(b"\n")
    if len(header) < 2 or not lines or data.count(separator.encode()) != (lines + 1) * (len(header) - 1):
        return None
    try:
        cells = pl.read_csv(
            data, has_header=False, skip_lines=1, separator=separator, quote_char=None, infer_schema=False
        )
    except pl.exceptions.PolarsError:
        return None
    if cells.shape != (lines, len(header)):
        return None
    return Rough(
        header=header, cells=cells, rows=pl.int_range(above + 2, above + lines + 2, eager=True), faults=Faults()
    )


def _cut_carefully(label: str, data: bytes, separator: str, above: int, *, may_be_short: bool) -> Rough:
    """Row by row, for every other file; a row of another length than the header is a fault.

    above : rows over the header; may_be_short : whether a row filled by half or less is filled up with blanks
    """
    faults = Faults()
    chunks: list[pl.DataFrame] = []
    numbers: list[int] = []
    uneven: list[tuple[int, int]] = []
    header: list[str] = []
    lines = io.TextIOWrapper(io.BytesIO(data), encoding="utf-8", newline="")
    records = enumerate(csv.reader(lines, delimiter=separator, strict=True, skipinitialspace=True), above + 1)
    number = above
    try:
        for number, header in records:  # noqa: B007 - both are used below; blank lines may come first
            if any(cell.strip() for cell in header):
                break
        width = len(header)
        kept: list[list[str]] = []
        for number, record in records:
            if len(record) > width and not any(cell.strip() for cell in record[width:]):
                record = record[:width]  # blanks beyond the header say nothing
            if may_be_short and 2 * len(record) <= width and any(cell.strip() for cell in record):
                record += [""] * (width - len(record))
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
        raise Unusable(
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
    return Rough(header=header, cells=cells, rows=pl.Series(numbers, dtype=pl.Int64), faults=faults)


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


def too_many_columns(label: str, columns: int) -> Unusable:
    """To be raised for a table wider than is read."""
    return Unusable(Fault(file=label, row=1, given=f"{columns:,} columns", allowed=f"up to {MOST_COLUMNS}"))


def nothing_in(label: str) -> Fault:
    """The fault of a file or sheet without a header."""
    return Fault(file=label, given="an empty file or sheet", allowed="a header line, and rows below it")
