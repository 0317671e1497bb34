"""A monitor's points in a real browser: the invented file goes in, and comes out as the pairs that were put in."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, FilePayload, Page, expect

from analytics.points.simulated import POINTS_FILE, SEED, STRIPS_FILE, simulate
from tests.browser.at_the_keyboard import open_screen, settled, stored
from tests.browser.conftest import WIDTHS
from tests.browser.server import Server
from tests.browser.test_accessible import broken_rules
from tests.prepared import begun

QUESTION = "What does the monitor say?"


@pytest.fixture
def records(tmp_path: Path) -> Path:
    with begun(tmp_path / "records.duckdb"):
        return tmp_path / "records.duckdb"


def upload(page: Page, place: int, name: str, text: str) -> None:
    settled(page)
    given: FilePayload = {"name": name, "mimeType": "text/csv", "buffer": text.encode()}
    page.locator("input[type=file]").nth(place).set_input_files(given)


def test_the_invented_file_goes_in_and_its_pairs_come_out(
    browser: Browser, serve: Callable[[Path], Server], records: Path
) -> None:
    field = simulate(SEED)
    with open_screen(browser, serve(records), "monitor_points", QUESTION) as page:
        upload(page, 0, POINTS_FILE, field.points_csv)
        expect(page.get_by_text("7,492 points read. Now say where the strips are.")).to_be_visible()
        upload(page, 1, STRIPS_FILE, field.strips_csv)
        expect(page.get_by_text("Unscaled: no certified weight stands behind these yields").first).to_be_visible()
        page.get_by_role("textbox", name="What a certified scale says the whole field brought, kg").fill(
            str(field.certified_kg)
        )
        page.keyboard.press("Tab")
        expect(page.get_by_text(re.compile(r"Standing plots yielded 1\.6 bu/ac more \(0\.3 to 2\.8\)"))).to_be_visible()
        expect(page.locator("canvas, svg.marks").first).to_be_visible()
        page.get_by_role("heading", name=QUESTION).click()  # a help that is open lies outside of Streamlit's landmarks
        for width in ("desk", "phone"):
            page.set_viewport_size(WIDTHS[width])
            settled(page)
            # On a phone wide tables scroll. The browser lets keys reach such a box; axe does not know of that.
            assert broken_rules(page).keys() <= ({"scrollable-region-focusable"} if width == "phone" else set())
        page.get_by_role("button", name="Keep 12 strips and 6 pairs").click()
        expect(page.get_by_text("Kept for Creek flat, 2025: 12 strips and 6 pairs, as act 1.")).to_be_visible()
        expect(page.get_by_role("heading", name="Strips on record")).to_be_visible()
        expect(page.locator("[data-testid=stVegaLiteChart]").last).to_be_visible()
    assert len(stored(records, "pairs", "pair")) == 6
