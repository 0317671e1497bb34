"""The typesetter: a program of its own, given a sheet as JSON and giving back its pages as they print.

It keeps what it worked out in its memory, 65 MB for the fonts and a sheet (seen with typst 0.15.2), and so is ended
after each; it starts in 20 ms. pdf.py runs it as a file, so nothing of ours may be imported here.
"""

import json
import sys
from base64 import b64encode
from bisect import bisect_left
from functools import cache
from pathlib import Path
from typing import Any

import typst

TEMPLATE = Path(__file__).with_name("sheet.typ")
FONTS = Path(__file__).with_name("fonts")
SIZES = (10.0, 9.5, 9.0, 8.5, 8.0, 7.5, 7.0)  # points; the largest that fits is taken


def typeset(content: str, pages: int, how: dict[str, Any]) -> list[bytes]:
    """The PDF, or a picture of each page, in the largest type in which it keeps to so many pages; else the smallest.

    content : what sheet.typ reads, as JSON; how : the format and what belongs to it
    """

    @cache
    def in_size(size: float) -> typst.Compiler:
        inputs = {"sheet": content, "size": f"{size:g}"}
        return typst.Compiler(TEMPLATE, sys_inputs=inputs, ignore_system_fonts=True, font_paths=[FONTS])

    def fits(size: float) -> bool:
        return int(json.loads(in_size(size).query("<pages>", field="value", one=True))) <= pages

    # What fits in a size fits in every smaller one, so half of them are ruled out at each look.
    size = SIZES[bisect_left(SIZES[:-1], True, key=fits)]
    made = in_size(size).compile(**how)
    return [page for page in (made if isinstance(made, list) else [made]) if isinstance(page, bytes)]


if __name__ == "__main__":
    json.dump([b64encode(page).decode() for page in typeset(**json.load(sys.stdin.buffer))], sys.stdout)
