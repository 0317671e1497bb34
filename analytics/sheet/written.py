"""The sheet as a file: the ending says which kind."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

from analytics.errors import BadInput
from analytics.files.new_files import write_whole
from analytics.sheet.content import PrintedSheet

WORKBOOK = ".xlsx"


def _pdf(sheet: PrintedSheet) -> bytes:
    from analytics.sheet.pdf import pdf

    return pdf(sheet)


def _html(sheet: PrintedSheet) -> bytes:
    from analytics.sheet.html_page import html

    return html(sheet).encode()


def _xlsx(sheet: PrintedSheet) -> bytes:
    from analytics.sheet.printed_workbook import xlsx

    return xlsx(sheet)


# How each kind is made; it imports what it needs only then.
FORMATS: dict[str, Callable[[PrintedSheet], bytes]] = {".pdf": _pdf, ".html": _html, WORKBOOK: _xlsx}


def checked_ending(path: Path) -> str:
    """The ending of a file that a sheet can be written to. Raises BadInput with the allowed ones."""
    ending = path.suffix.lower()
    if ending not in FORMATS:
        raise BadInput(f'file: "{path.name}" given; allowed a name that ends in {", ".join(FORMATS)}.')
    return ending


def checked_date(text: str) -> date:
    """The date of the sheet. Raises BadInput for anything but YYYY-MM-DD."""
    try:
        return date.fromisoformat(text)
    except ValueError as problem:
        raise BadInput(f'date: "{text}" given; allowed a day as YYYY-MM-DD, such as 2026-01-15.') from problem


def write_sheet(sheet: PrintedSheet, path: Path) -> None:
    """Write the sheet over what may be there. Raises BadInput for its ending, Refused when it cannot be written."""
    write_whole(path, FORMATS[checked_ending(path)](sheet))
