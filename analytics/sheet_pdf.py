"""The sheet as an accessible PDF on letter paper, set by Typst from sheet.typ.

Only fonts that the Typst wheel carries are used and the date in the file is the date of the sheet, so that the same
sheet gives the same bytes. Nothing is written to disk.
"""

import json
from dataclasses import asdict
from datetime import UTC, datetime, time
from pathlib import Path

import typst

from analytics.sheet import Sheet

TEMPLATE = Path(__file__).with_name("sheet.typ")
SIZES = (10.0, 9.5, 9.0, 8.5, 8.0, 7.5)  # points; the largest that fits is taken


def pdf(sheet: Sheet) -> bytes:
    """The sheet, tagged (PDF/UA-1), in the largest type in which it keeps to its pages."""
    content = json.dumps(_as_object(sheet), ensure_ascii=False, allow_nan=False)
    compiler = typst.Compiler(TEMPLATE, ignore_system_fonts=True)
    made_at = datetime.combine(sheet.made_on, time(), tzinfo=UTC)
    for size in SIZES:
        inputs = {"sheet": content, "size": f"{size:g}"}
        if size == SIZES[-1] or _pages(inputs) <= len(sheet.pages):
            break
    made = compiler.compile(format="pdf", sys_inputs=inputs, pdf_standards=["ua-1"], timestamp=int(made_at.timestamp()))
    if not isinstance(made, bytes):
        raise TypeError(f"a PDF is bytes, not {type(made).__name__}")
    return made


def _pages(inputs: dict[str, str]) -> int:
    """On how many pages it comes out at this size."""
    found = typst.query(TEMPLATE, "<pages>", field="value", one=True, sys_inputs=inputs, ignore_system_fonts=True)
    return int(json.loads(found))


def _as_object(sheet: Sheet) -> dict[str, object]:
    """What sheet.typ reads."""
    day = sheet.made_on
    return {
        "title": sheet.title,
        "farm_name": sheet.farm_name,
        "date": [day.year, day.month, day.day],
        "made_on": day.isoformat(),
        "reader": sheet.reader.value,
        "answer": list(sheet.answer),
        "pages": [asdict(page) for page in sheet.pages],
        "usual_words": sheet.usual_words,
    }
