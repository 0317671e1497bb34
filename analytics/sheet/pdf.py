"""The sheet as an accessible PDF on letter paper, set by Typst from sheet.typ.

Its typeface lies beside this file (fonts/, with its licence) and no other is looked for; the date in the file is the
date of the sheet. So the same sheet gives the same bytes everywhere. Nothing is written to disk.
"""

import json
from bisect import bisect_left
from dataclasses import asdict
from datetime import UTC, datetime, time
from pathlib import Path
from typing import Any

import typst

from analytics.sheet.content import PrintedSheet

TEMPLATE = Path(__file__).with_name("sheet.typ")
FONTS = Path(__file__).with_name("fonts")
PPI = 110.0  # of the pictures: readable on a screen, small to send
# The typesetter keeps what it worked out, 50 MB for a sheet, until this many others were set (seen with 0.15.2).
KEEPS = 10
SIZES = (10.0, 9.5, 9.0, 8.5, 8.0, 7.5, 7.0)  # points; the largest that fits is taken


def pdf(sheet: PrintedSheet) -> bytes:
    """The sheet, tagged (PDF/UA-1), in the largest type in which it keeps to its pages."""
    made_at = datetime.combine(sheet.made_on, time(), tzinfo=UTC)
    made = _set(
        sheet,
        format="pdf",
        pdf_standards=["ua-1"],
        timestamp=int(made_at.timestamp()),
    )
    if not isinstance(made, bytes):
        raise TypeError(f"a PDF is bytes, not {type(made).__name__}")
    return made


def pictures(sheet: PrintedSheet) -> tuple[bytes, ...]:
    """Each page as it prints, as PNG."""
    made = _set(sheet, format="png", ppi=PPI)
    pages = made if isinstance(made, list) else [made]
    return tuple(page for page in pages if isinstance(page, bytes))


def _set(sheet: PrintedSheet, **how: Any) -> bytes | list[bytes] | None:
    """The sheet in the largest type that fits; afterwards the typesetter's memory is given back."""
    made: bytes | list[bytes] | None
    try:
        made = typst.compile(TEMPLATE, sys_inputs=_inputs(sheet), ignore_system_fonts=True, font_paths=[FONTS], **how)
    finally:
        for _ in range(KEEPS):
            typst.compile(b"", ignore_system_fonts=True)
    return made


def _inputs(sheet: PrintedSheet) -> dict[str, str]:
    """What sheet.typ is given: the content, and the largest size that fits, the smallest if none does."""
    content = json.dumps(_as_object(sheet), ensure_ascii=False, allow_nan=False)
    inputs = [{"sheet": content, "size": f"{size:g}"} for size in SIZES]
    # What fits in a size fits in every smaller one, so half of them are ruled out at each look.
    fits = bisect_left(inputs[:-1], True, key=lambda one: _pages(one) <= len(sheet.pages))
    return inputs[fits]


def _pages(inputs: dict[str, str]) -> int:
    """On how many pages it comes out at this size."""
    found = typst.query(
        TEMPLATE, "<pages>", field="value", one=True, sys_inputs=inputs, ignore_system_fonts=True, font_paths=[FONTS]
    )
    return int(json.loads(found))


def _as_object(sheet: PrintedSheet) -> dict[str, object]:
    """What sheet.typ reads."""
    day = sheet.made_on
    return {
        "title": sheet.title,
        "farm_name": sheet.farm_name,
        "date": [day.year, day.month, day.day],
        "made_on": day.isoformat(),
        "reader": str(sheet.reader),
        "answer": list(sheet.answer),
        "pages": [asdict(page) for page in sheet.pages],
        "usual_words": sheet.usual_words,
    }
