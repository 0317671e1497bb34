"""Sheets as people lay them out: column names under a title, lines of totals and remarks among the records.

What is no record is told apart, row by row with the reason, and is seen before it is left out.
Which rows are taken for what is our choice, no source; the tests hold the files that it was made for.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median

import polars as pl

from analytics.files.column_words import NET, is_like_a_heading, is_unit, likeness, words_of
from analytics.files.text_tables import TextTable
from analytics.files.typed_columns import LESS
from analytics.records.columns import METHOD_WORDS, METHODS

MOST_CANDIDATES = 2000  # rows looked at one by one
NARROW = 3  # columns; in a narrower table a row of one cell may be a record
TOTAL = re.compile(r"\W*((grand|sub|field|farm)\W*)?(totals?|sum|averages?|avg|mean)\b", re.IGNORECASE)
ROW_NUMBER = "number of the row"  # a name for loads that have no ticket
PART = "part of the sheet"  # in which the same names hold
ROUNDED = 0.006  # a sum in a sheet may be shown rounded
OFTEN_NAMED_ONCE = ("crop_year", "field", "plot", "method")  # in the first of the rows that they hold for


@dataclass(frozen=True, slots=True, kw_only=True)
class Aside:
    """A row that is taken for no record: its number in the file, what stands in it, and why."""

    row: int
    words: str
    why: str

    def __str__(self) -> str:
        return f"row {self.row}, {self.words}: {self.why}"


def head_at(rows: Sequence[Sequence[str]]) -> int:
    """The place of the row with the column names: most cells are like ours, else it is half full."""
    like = [len({cell for cell in row if is_like_a_heading(cell)}) for row in rows]
    if max(like) >= 2:
        return like.index(max(like))
    filled = [sum(bool(cell.strip()) for cell in row) for row in rows]
    return next(place for place, cells in enumerate(filled) if cells and 2 * cells >= max(filled))


def laid_out(text: TextTable) -> TextTable:
    """The table with a second line of column names taken into the first, net weight worked out, and rows numbered."""
    laid = _with_net(_with_second_head(text))
    return replace(laid, cells=laid.cells.with_columns(laid.rows.cast(pl.String).alias(ROW_NUMBER)))


def _with_second_head(text: TextTable) -> TextTable:
    if text.cells.is_empty():
        return text
    second = text.cells.row(0)
    is_of_numbers = [text.cells[1:].to_series(at).str.contains("[0-9]").any() for at in range(text.cells.width)]
    filled = [cell for cell in second if cell]
    if not any(cell and numbers for cell, numbers in zip(second, is_of_numbers, strict=True)):
        return text
    if any(letter.isdigit() for cell in filled for letter in cell):
        return text
    if not all(is_unit(cell) or is_like_a_heading(cell) for cell in filled):
        return text
    names = [
        f"{name} {' '.join(cell.lower().split())}" if cell else name
        for name, cell in zip(text.cells.columns, second, strict=True)
    ]
    cells = text.cells[1:]
    cells.columns = names
    return replace(text, cells=cells, rows=text.rows[1:])


def _with_net(text: TextTable) -> TextTable:
    """A further column with the net weight where a file has gross and tare, and no net; worked out where it is read."""
    by_word = {word: name for name in reversed(text.cells.columns) for word in words_of(name)}
    gross, tare = by_word.get("gross"), by_word.get("tare", by_word.get("empty"))
    if gross is None or tare is None or {"net", "mass"} & set(by_word):
        return text
    name = " ".join([NET, *(word for word in words_of(gross) if word != "gross" and is_unit(word))])
    return replace(text, cells=text.cells.with_columns((pl.col(gross) + LESS + pl.col(tare)).alias(name)))


# --- rows that are no records


def rows_aside(text: TextTable) -> list[Aside]:
    """The rows of a table that are taken for no records, in their order."""
    cells = text.cells.select(name for name in text.cells.columns if name != ROW_NUMBER and not name.startswith(NET))
    if cells.is_empty() or cells.width < 2:
        return []
    filled = cells.select(pl.sum_horizontal(pl.all().is_not_null().cast(pl.Int64)).alias("filled"))["filled"]
    usual = median(filled)
    names = [name.lower() for name in cells.columns]
    first = cells.to_series(0).str.to_lowercase()
    places = ((filled < usual) | first.is_in([names[0]]).fill_null(False)).arg_true()
    found: list[Aside] = []
    begin = 0
    for place in places.head(MOST_CANDIDATES):
        row = cells.row(place)
        why = _why_aside(text, row, names, usual, cells[begin:place])
        if why:
            begin = place + 1
            words = ", ".join(cell for cell in row if cell)
            found.append(Aside(row=text.rows[place], words=words, why=why))
    return found


def _why_aside(
    text: TextTable, row: Sequence[str | None], names: Sequence[str], usual: float, over: pl.DataFrame
) -> str:
    told = [(name, cell) for name, cell in zip(names, row, strict=True) if cell]
    if sum(cell.lower() == name for name, cell in told) >= max(2, len(told) / 2):
        return "the column names again"
    if len(told) < usual and any(TOTAL.match(cell) for _, cell in told[:2]):
        return "a total or an average"
    if over.width > NARROW and 2 * len(told) <= usual:
        if len(told) == 1 and not any(letter.isdigit() for letter in told[0][1]):
            return "a line of text"
        if any(_is_sum(cell, over.to_series(at)) for at, cell in enumerate(row) if cell):
            return "the sum of the rows above it"
    return ""


def _is_sum(cell: str, above: pl.Series) -> bool:
    """Whether a cell is the sum of two or more numbers above it."""
    value = _number(cell)
    numbers = [number for one in above.drop_nulls() if (number := _number(one)) is not None]
    return value is not None and len(numbers) > 1 and abs(value - sum(numbers)) <= ROUNDED * len(numbers)


def _number(text: str) -> float | None:
    try:
        return float(text.replace(",", "").replace(" ", ""))
    except ValueError:
        return None


def without_rows(text: TextTable, aside: Sequence[Aside]) -> TextTable:
    """The table without the rows that are aside."""
    is_kept = ~text.rows.is_in([one.row for one in aside])
    return replace(text, cells=text.cells.filter(is_kept), rows=text.rows.filter(is_kept))


# --- names that stand once for the rows below them


def named_once(text: TextTable) -> dict[str, int]:
    """Columns of years, fields, plots or methods with blanks below a name, and how many cells would take it."""
    carried = with_names_carried_down(text).cells
    taken = {name: text.cells[name].null_count() - carried[name].null_count() for name in carried.columns}
    return {name: cells for name, cells in taken.items() if cells}


def with_names_carried_down(text: TextTable) -> TextTable:
    """The table with each such blank filled by the name above it, unless a name further left has changed since."""
    cells = text.cells.with_columns(pl.lit(0).alias(PART))
    for name in text.cells.columns:
        if any(likeness(ours, name) >= 1 for ours in OFTEN_NAMED_ONCE):
            cells = cells.with_columns(pl.col(name).forward_fill().over(PART))
            cells = cells.with_columns(pl.struct(PART, name).rle_id().alias(PART))
    return replace(text, cells=cells.drop(PART))


# --- what is said above the rows


def years_said(text: TextTable) -> list[str]:
    """The crop years named by the sheet, else above its rows, else by the file; each once."""
    for words in (text.name, " ".join(text.above), text.label):
        if years := sorted(set(re.findall(r"(?<![0-9])(?:19[89]|20[0-4])[0-9](?![0-9])", words))):
            return years
    return []


def said_method(text: TextTable) -> str:
    """The way of cutting that the name of the sheet or file, or what stands above the rows, speaks of; "" for both."""
    words = f" {' '.join(words_of(' '.join((text.name, *text.above, text.label))))} "
    found = {method for said, method in (*METHOD_WORDS, *((one, one) for one in METHODS)) if f" {said} " in words}
    return found.pop() if len(found) == 1 else ""
