"""One sheet of a workbook, in one pass over its XML: each cell's text at its own place, and what cannot be told.

A cell's place is the one that it names, or the next one where it names none; names of tags count without their prefix.
Source: ECMA-376 part 1, 18.3 (worksheets) and 18.18.11 (kinds of cell).
"""

import re
import unicodedata
from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import IO
from xml.parsers import expat

from analytics.files.number_formats import GENERAL, NotShown, plain_number, shown

PIECE = 1 << 20  # bytes parsed at a time
LETTERS = re.compile(r"([A-Za-z]{1,3})([1-9]\d{0,6})")
RANGE = re.compile(r"([A-Za-z]{1,3}[1-9]\d{0,6}):([A-Za-z]{1,3}[1-9]\d{0,6})")
NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", re.ASCII)
CODED = re.compile(r"_x([0-9A-Fa-f]{4})_")
ERROR = ("a formula that ended in an error", "Type the value, or leave the cell blank.")
NOT_WORKED_OUT = (
    "a formula that the program which wrote the file did not work out",
    "Open the file in a spreadsheet, save it there, and bring it in again.",
)
TRUE, FALSE = "true", "false"


class TooFar(Exception):
    """The sheet reaches further than may be laid out; `row` and `column` from 1."""

    def __init__(self, row: int, column: int) -> None:
        super().__init__(f"row {row}, column {column}")
        self.row, self.column = row, column


@dataclass(frozen=True, slots=True, kw_only=True)
class OddCell:
    """A cell whose text cannot be told. row, column : from 0; given, remedy : in words"""

    row: int
    column: int
    given: str
    remedy: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Styles:
    """What all sheets of a workbook share. formats : the format of a number by the style of its cell"""

    formats: Sequence[str] = ()
    strings: Sequence[str] = ()
    from_1904: bool = False
    is_worked_out: bool = True  # false: what formulas hold is to be worked out when the file is opened


@dataclass(slots=True, kw_only=True)
class Cells:
    """texts : the text of each filled cell by column, then row, both from 0

    odd : cells whose text cannot be told, which are in no other list
    merged : top left and bottom right of cells made one
    """

    texts: dict[int, dict[int, str]] = field(default_factory=dict)
    odd: list[OddCell] = field(default_factory=list)
    merged: list[tuple[tuple[int, int], tuple[int, int]]] = field(default_factory=list)
    hidden_rows: int = 0
    hidden_columns: int = 0
    rows: int = 0


def read_cells(xml: IO[bytes], styles: Styles, *, most_cells: int) -> Cells:
    """Every cell of a sheet.

    most_cells : of the rectangle from the first cell to the last, filled or not
    Raises TooFar beyond it, expat.ExpatError and ValueError for what is no sheet.
    """
    return _Pass(styles, most_cells).read(xml)


def texts_of_strings(xml: IO[bytes]) -> list[str]:
    """The texts that cells of a workbook name by number."""
    return _Strings().read(xml)


def cell_place(name: str) -> tuple[int, int]:
    """Row and column from 0 of a cell's name. ValueError for what is none.

    >>> cell_place("AB12")
    (11, 27)
    """
    found = LETTERS.fullmatch(name)
    if found is None:
        raise ValueError(f"{name!r} is no cell")
    column = 0
    for letter in found[1].upper():
        column = column * 26 + ord(letter) - 64
    return int(found[2]) - 1, column - 1


def _decoded(text: str) -> str:
    """A text with its coded letters (_x000D_) made plain, and accents composed in one way."""
    if "_x" in text:
        text = CODED.sub(lambda code: chr(int(code[1], 16)), text)
    return text if text.isascii() else unicodedata.normalize("NFC", text)


class _Reader(ABC):
    """A parser that calls begin, end and words with names of tags without their namespace."""

    def _parse(self, xml: IO[bytes]) -> None:
        parser = expat.ParserCreate(namespace_separator=" ")
        parser.buffer_text = True
        parser.StartElementHandler = self._begin
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._words
        parser.StartDoctypeDeclHandler = self._refuse  # no sheet has one, and entities can fill the memory
        while piece := xml.read(PIECE):
            parser.Parse(piece, False)
        parser.Parse(b"", True)

    def _refuse(self, *_: object) -> None:
        raise ValueError("a document type")

    @abstractmethod
    def _begin(self, name: str, attributes: dict[str, str]) -> None: ...

    @abstractmethod
    def _end(self, name: str) -> None: ...

    @abstractmethod
    def _words(self, words: str) -> None: ...


class _Strings(_Reader):
    def __init__(self) -> None:
        self._texts: list[str] = []
        self._kept: list[str] = []
        self._is_text = False
        self._in_phonetic = False

    def read(self, xml: IO[bytes]) -> list[str]:
        self._parse(xml)
        return self._texts

    def _begin(self, name: str, attributes: dict[str, str]) -> None:
        tag = name.rpartition(" ")[2]
        if tag == "si":
            self._kept = []
        elif tag == "rPh":
            self._in_phonetic = True
        elif tag == "t":
            self._is_text = not self._in_phonetic

    def _end(self, name: str) -> None:
        tag = name.rpartition(" ")[2]
        if tag == "si":
            self._texts.append(_decoded("".join(self._kept)))
        elif tag == "rPh":
            self._in_phonetic = False
        elif tag == "t":
            self._is_text = False

    def _words(self, words: str) -> None:
        if self._is_text:
            self._kept.append(words)


class _Pass(_Reader):
    def __init__(self, styles: Styles, most_cells: int) -> None:
        self._styles, self._most_cells = styles, most_cells
        self._found = Cells()
        self._row, self._column, self._last_column = -1, -1, 0
        self._kind, self._style = "n", 0
        self._kept: list[str] = []
        self._is_kept = self._has_formula = self._in_phonetic = False
        self._value_tag = ""  # of the value that the cell has: v, or t for a text of its own
        self._tags: dict[str, str] = {}
        self._by_style: dict[tuple[int, str], str] = {}

    def read(self, xml: IO[bytes]) -> Cells:
        self._parse(xml)
        return self._found

    def _begin(self, name: str, attributes: dict[str, str]) -> None:
        tag = self._tags.get(name) or self._tags.setdefault(name, name.rpartition(" ")[2])
        if tag == "c":
            self._begin_cell(attributes)
        elif tag == "v":
            self._begin_value(tag)
        elif tag == "f":
            self._has_formula = True
        elif tag == "t" and not self._in_phonetic:
            self._begin_value(tag)
        elif tag == "rPh":
            self._in_phonetic = True
        elif tag == "row":
            self._row = int(attributes["r"]) - 1 if "r" in attributes else self._row + 1
            if self._row < 0:
                raise ValueError(f"there is no row {attributes['r']}")
            self._column = -1
            self._found.hidden_rows += _is_true(attributes.get("hidden"))
        elif tag == "col" and _is_true(attributes.get("hidden")):
            self._found.hidden_columns += 1
        elif tag == "mergeCell" and (corners := RANGE.fullmatch(attributes.get("ref", ""))):
            self._found.merged.append((cell_place(corners[1]), cell_place(corners[2])))

    def _begin_cell(self, attributes: dict[str, str]) -> None:
        if (named := attributes.get("r")) is None:
            self._column += 1
        else:
            self._row, self._column = cell_place(named)
        self._kind = attributes.get("t", "n")
        self._style = int(attributes.get("s", 0))
        self._kept = []
        self._has_formula, self._value_tag = False, ""

    def _begin_value(self, tag: str) -> None:
        """A text may come in pieces of its own; any other cell has one value, and two must not be read as one."""
        if self._value_tag and (tag, self._value_tag) != ("t", "t"):
            raise ValueError("two values in a cell")
        self._value_tag, self._is_kept = tag, True

    def _words(self, words: str) -> None:
        if self._is_kept:
            self._kept.append(words)

    def _end(self, name: str) -> None:
        tag = self._tags.get(name, "")
        if tag in ("v", "t"):
            self._is_kept = False
        elif tag == "rPh":
            self._in_phonetic = False
        elif tag == "c":
            self._end_cell()

    def _end_cell(self) -> None:
        if self._has_formula and self._kind != "e" and not (self._value_tag and self._styles.is_worked_out):
            self._add_odd(*NOT_WORKED_OUT)
            return
        if not self._value_tag:
            return
        try:
            text = self._text("".join(self._kept))
        except NotShown as problem:
            self._add_odd(problem.given, problem.remedy)
            return
        if text.strip():
            self._reach()
            column = self._found.texts.setdefault(self._column, {})
            if self._row in column:
                raise ValueError("one cell twice")
            column[self._row] = text

    def _text(self, raw: str) -> str:
        kind = self._kind
        if kind in ("s", "str", "inlineStr", "d"):
            text = self._styles.strings[_index(raw)] if kind == "s" else _decoded(raw)
            if "\0" in text:
                raise NotShown("text with a letter of number 0, which cannot be shown,", "Type the text anew.")
            return text
        if kind == "b":
            return TRUE if raw.strip() == "1" else FALSE
        if kind == "e":
            raise NotShown(*ERROR)
        if kind != "n":
            raise ValueError(f"{kind!r} is no kind of cell")
        if not raw.strip():
            return ""
        known = self._by_style.get((self._style, raw))
        if known is None:
            if not NUMBER.fullmatch(raw.strip()):  # Python's own reading takes 1_0 and letters of other scripts too
                raise ValueError(f"{raw!r} is no number")
            known = self._number(float(raw))
            if len(self._by_style) < 100_000:
                self._by_style[self._style, raw] = known
        return known

    def _number(self, value: float) -> str:
        formats = self._styles.formats
        if not 0 <= self._style < max(len(formats), 1):
            raise ValueError(f"{self._style} is no style")
        code = formats[self._style] if formats else GENERAL
        if code == GENERAL and abs(value) < 1e15:
            return plain_number(value)
        return shown(value, code, from_1904=self._styles.from_1904)

    def _add_odd(self, given: str, remedy: str) -> None:
        self._reach()
        self._found.odd.append(OddCell(row=self._row, column=self._column, given=given, remedy=remedy))

    def _reach(self) -> None:
        self._last_column = max(self._last_column, self._column + 1)
        self._found.rows = max(self._found.rows, self._row + 1)
        if self._last_column * self._found.rows > self._most_cells:
            raise TooFar(self._found.rows, self._last_column)


def _index(raw: str) -> int:
    if not raw.strip().isdecimal():
        raise ValueError(f"{raw!r} is no place in a list")
    return int(raw)


def _is_true(value: str | None) -> bool:
    return value in ("1", "true")
