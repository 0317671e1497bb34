"""The sheet as an accessible PDF on letter paper, set by Typst from sheet.typ.

Its typeface lies beside this file (fonts/, with its licence) and no other is looked for; the date in the file is the
date of the sheet. So the same sheet gives the same bytes everywhere. Nothing is written to disk.
"""

import json
import subprocess
import sys
from base64 import b64decode
from dataclasses import asdict
from pathlib import Path

from analytics.errors import Refused
from analytics.sheet.content import PrintedSheet

TYPESETTER = Path(__file__).with_name("typesetter.py")
PPI = 110.0  # of the pictures: readable on a screen, small to send


def pdf(sheet: PrintedSheet) -> bytes:
    """The sheet, tagged (PDF/UA-1), in the largest type in which it keeps to its pages."""
    (made,) = _typeset(sheet, format="pdf", pdf_standards=["ua-1"])
    return made


def pictures(sheet: PrintedSheet) -> tuple[bytes, ...]:
    """Each page as it prints, as PNG."""
    return _typeset(sheet, format="png", ppi=PPI)


def _typeset(sheet: PrintedSheet, **how: object) -> tuple[bytes, ...]:
    """What the typesetter makes of it, a program of its own. Raises Refused when that comes to no end."""
    content = json.dumps(_as_object(sheet), ensure_ascii=False, allow_nan=False)
    asked = json.dumps({"content": content, "pages": len(sheet.pages), "how": how})
    # -P: its own folder, whose names hide some of Python's, is not looked into
    command = [sys.executable, "-P", str(TYPESETTER)]
    done = subprocess.run(command, input=asked.encode(), capture_output=True, check=False)
    if done.returncode:
        said = done.stderr.decode(errors="replace").strip().splitlines()[-1:]
        raise Refused(f"The sheet could not be set for paper ({''.join(said) or 'the typesetter was ended'}).")
    return tuple(b64decode(page) for page in json.loads(done.stdout))


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
