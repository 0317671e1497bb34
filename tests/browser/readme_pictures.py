"""The two pictures at the top of README, of the demo farm: `.venv/bin/python -m tests.browser.readme_pictures`."""

import io
import shutil
import sys
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb
from PIL import Image
from playwright.sync_api import Page, expect, sync_playwright

from analytics.files.importing import bring_in
from analytics.settings import change_settings
from analytics.sheet.content import read_sheet
from analytics.sheet.pdf import pictures
from analytics.sheet.reader import Reader
from analytics.storage.database import open_records
from tests.browser.conftest import CHROMIUM_OPTIONS
from tests.browser.server import serving
from tests.conftest import SAMPLE_RECORDS

FOLDER = Path(__file__).with_name("pictures")
ANSWER, SHEET = FOLDER / "answer.png", FOLDER / "sheet.png"
SCREEN = {"width": 1280, "height": 860}
SHEET_WIDTH = 700  # pixels
COLOURS = 128  # enough for two methods, black, and greys
NAME = "Demo farm (invented)"  # as `standrow demo` names it
DAY = date(2026, 1, 15)


def answer_picture(page: Page) -> bytes:
    """The answer screen as it opens, once its first picture is drawn."""
    page.set_viewport_size(SCREEN)
    page.goto("/")
    expect(page.get_by_role("heading", level=1)).to_have_text("What do these records say?")
    expect(page.locator("canvas, svg.marks").first).to_be_visible(timeout=60_000)
    return small(page.screenshot(animations="disabled"))


def sheet_picture(connection: duckdb.DuckDBPyConnection) -> bytes:
    """The banker's page."""
    return small(pictures(read_sheet(connection, Reader.BANKER, DAY))[0], width=SHEET_WIDTH)


def small(png: bytes, *, width: int | None = None) -> bytes:
    """The same picture in few colours, and as wide as asked."""
    picture = Image.open(io.BytesIO(png)).convert("RGB")
    if width is not None:
        picture = picture.resize((width, round(picture.height * width / picture.width)), Image.Resampling.LANCZOS)
    made = io.BytesIO()
    picture.quantize(COLOURS).save(made, "PNG", optimize=True)
    return made.getvalue()


def main() -> None:
    """Take both anew."""
    FOLDER.mkdir(exist_ok=True)
    with TemporaryDirectory() as folder:
        records = Path(folder) / "records.duckdb"
        with open_records(records, create=True) as connection:
            bring_in(connection, SAMPLE_RECORDS, done_by="demo")
            change_settings(connection, {"farm_name": NAME}, done_by="demo", why=None)
            SHEET.write_bytes(sheet_picture(connection))
        with serving(records) as server, sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=CHROMIUM_OPTIONS)
            page = browser.new_context(base_url=server.address).new_page()
            ANSWER.write_bytes(answer_picture(page))
            browser.close()
    for file in (ANSWER, SHEET):
        sys.stdout.write(f"{file}: {file.stat().st_size} bytes\n")


if __name__ == "__main__":
    main()
