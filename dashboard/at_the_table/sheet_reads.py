"""The sheet made once for a state of the records, a reader and a date: its files, and how it will look on paper."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache, partial

import polars as pl
import streamlit as st

from analytics.money.buying import TriedPurchase
from analytics.sheet.content import PrintedSheet, read_sheet
from analytics.sheet.parts import Section
from analytics.sheet.pdf import pictures
from analytics.sheet.reader import Reader
from analytics.sheet.written import FORMATS
from dashboard.frame import on_file
from dashboard.winter import money_reads

KINDS = (
    (".pdf", "Take it as PDF", "application/pdf"),
    (".html", "As HTML page", "text/html"),
    (".xlsx", "Numbers as XLSX", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetFiles:
    """The sentences on top, how each file is made once it is taken, by its ending, a picture (PNG) of every page, and
    what stands under each heading, for those who cannot see the pictures.
    """

    answer: tuple[str, ...]
    words: tuple[tuple[str, tuple[str, ...]], ...]
    files: Mapping[str, Callable[[], bytes]]
    pictures: tuple[bytes, ...]


@st.cache_resource(max_entries=4, show_spinner="Making the sheet")
def _sheet_files(path: str, last_act: str, reader: str, day: date, tried: TriedPurchase | None) -> SheetFiles:
    compared, (pairs, facts) = on_file.recorded(), on_file.pairs()
    named = [frame.with_columns(pl.lit(name).alias("measure")) for name, frame in pairs.items()]
    rows, money = pl.concat(named) if named else None, money_reads.read_money()
    sheet = on_file.read_records(
        lambda connection: read_sheet(
            connection, Reader(reader), day, tried=tried, compared=compared, rows=rows, facts=facts, money=money
        )
    )
    files = {ending: cache(partial(make, sheet)) for ending, make in FORMATS.items()}
    return SheetFiles(answer=sheet.answer, files=files, pictures=pictures(sheet), words=_words(sheet))


def _words(sheet: PrintedSheet) -> tuple[tuple[str, tuple[str, ...]], ...]:
    sections = (part for page in sheet.pages for part in (*page.top, *page.left, *page.right, *page.bottom))
    return tuple((section.heading, _lines(section)) for section in sections)


def _lines(section: Section) -> tuple[str, ...]:
    drawn = (section.picture.alt,) if section.picture else ()
    rows = section.table.rows if section.table else ()
    return (*drawn, *(", ".join(cell for cell in row if cell) for row in rows), *section.lines, *section.bullets)


def sheet_files(reader: Reader, day: date, tried: TriedPurchase | None) -> SheetFiles:
    """The sheet of the records as they are now; tried : a purchase typed on the screen for money in this session."""
    return _sheet_files(*on_file.kept_under(), reader.value, day, tried)
