"""From a missing cell to the place where it is typed, and back: complete. At a phone's width."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

from playwright.sync_api import Browser, expect

from tests.browser.at_the_keyboard import EAST, WEST, address_of, entry_screen, new_farm, save_by_key, stored, tab_to
from tests.browser.server import Server


def test_a_missing_cell_is_clicked_typed_saved_and_then_complete(
    browser: Browser, serve: Callable[[Path], Server], tmp_path: Path
) -> None:
    ticket = {"delivered_on": date(2026, 9, 14), "weight_kg": 18_000.0, "dockage_pct": 2.0}
    loads = [EAST | ticket | {"ticket": "1187"}, WEST | ticket | {"ticket": "1190", "moisture_pct": 9.0}]
    records = new_farm(tmp_path / "records.duckdb", loads=loads)
    with entry_screen(browser, serve(records).address, width=390) as page:
        page.goto("/gaps")
        expect(
            page.get_by_text("The one pair is not complete for yield; one ticket would complete it.")
        ).to_be_visible()
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        main = page.locator("[data-testid=stMain]")
        assert main.evaluate("part => part.scrollWidth <= part.clientWidth")
        cell = page.get_by_role("link", name="Pair 7, 2026, yield: one side. Look for Tickets: moisture on ticket 1187")
        cell.click()
        expect(page.get_by_label("Ticket", exact=True)).to_have_value("1187")
        assert address_of(page)["plot"] == "east"
        tab_to(page, page.get_by_label("Moisture, %"))
        page.keyboard.type("9,1")
        page.keyboard.press("Tab")
        expect(page.get_by_role("button", name="Save 1 ticket for North half, east, 2026")).to_be_enabled()
        save_by_key(page, "0 tickets added, 1 changed, 0 left.")
        page.get_by_role("link", name="What is missing in 2026?").click()
        expect(page.get_by_text("The one pair is complete for yield.")).to_be_visible()
    assert stored(records, "loads", "ticket", "moisture_pct") == [("1187", 9.1), ("1190", 9.0)]
