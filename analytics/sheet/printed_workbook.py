"""The numbers behind the sheet as a workbook, one sheet a table; the first says whose they are and from when."""

import io
from datetime import datetime, time

import polars as pl
import xlsxwriter

from analytics.files.text_tables import guarded_text
from analytics.sheet.content import PrintedSheet

ABOUT = "about"


def xlsx(sheet: PrintedSheet) -> bytes:
    """The workbook. Text that a spreadsheet would take for a formula has an apostrophe before it; blank is unknown."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}) as book:
        book.set_properties(
            {"title": sheet.title, "author": sheet.farm_name, "created": datetime.combine(sheet.made_on, time())}
        )
        for name, frame in {ABOUT: _about(sheet), **sheet.tables}.items():
            texts = frame.select(pl.col(pl.String)).columns
            safe = frame.with_columns(guarded_text(pl.col(text)).alias(text) for text in texts)
            safe.write_excel(book, worksheet=name, autofit=True, freeze_panes=(1, 0), float_precision=4)
    return out.getvalue()


def _about(sheet: PrintedSheet) -> pl.DataFrame:
    """What the sheet says in words: what, text."""
    rows = [
        ("title", sheet.title),
        ("farm", sheet.farm_name),
        ("date", sheet.made_on.isoformat()),
        *(("answer", sentence) for sentence in sheet.answer),
        ("direction", "every difference is standing minus windrowed; a blank cell is unknown, not zero"),
        ("please note", sheet.usual_words),
    ]
    return pl.DataFrame(rows, schema={"what": pl.String, "text": pl.String}, orient="row")
