"""Eight browsers look at a pair while a ninth types and saves its tickets: every one shows what was just saved."""

from contextlib import ExitStack
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from analytics.pairs.one_pair import one_pair
from analytics.storage.database import failed_checks, open_records, read_table
from tests.browser.at_the_keyboard import WEST, entry_screen, first_field, new_farm, tab_to, type_row
from tests.browser.server import serving

READERS = 8
SAVES = 30


def finding(records: Path) -> str:
    """What every screen must say of the pair now, worked out from the file by this process."""
    with open_records(records) as connection:
        return one_pair(connection, 2026, "7").sentence


def look_at_the_pair(browser: Browser, address: str) -> Page:
    page = browser.new_context(viewport={"width": 1000, "height": 800}).new_page()
    page.set_default_timeout(60_000)
    page.goto(f"{address}/one_pair")
    expect(page.get_by_role("heading", name="Pair 7, 2026: what was different?")).to_be_visible()
    return page


def look_again(page: Page) -> None:
    """Run the screen anew, as any click does."""
    page.locator("body").press("r")


def save_one_ticket(page: Page, number: int) -> None:
    """Type it, read how it was understood, press the button; it is acknowledged later."""
    tab_to(page, first_field(page))
    type_row(page, [f"E{number}", "", f"{1000 + number}", "9", "1"])
    expect(page.get_by_text(f"E{number}, not saved yet = ")).to_be_visible()
    page.get_by_role("button", name="Save 1 ticket for North half, east, 2026").click()


@pytest.mark.slow
def test_eight_browsers_show_what_a_ninth_has_saved(browser: Browser, tmp_path: Path) -> None:
    ticket = WEST | {"ticket": "1", "weight_kg": 36_000.0, "moisture_pct": 9.0, "dockage_pct": 1.0}
    records = new_farm(tmp_path / "records.duckdb", loads=[ticket])
    with ExitStack() as opened:
        address = opened.enter_context(serving(records)).address
        readers = [look_at_the_pair(browser, address) for _ in range(READERS)]
        for page in readers:
            opened.callback(page.context.close)
        writer = opened.enter_context(entry_screen(browser, address, plot="east", field="North half", paper="loads"))
        for number in range(SAVES):
            save_one_ticket(writer, number)
            for page in readers:  # they look while it is being saved ...
                look_again(page)
            expect(writer.get_by_text(f"E{number} = ")).to_be_visible()  # no longer "not saved yet"
            expect(writer.get_by_text("1 ticket added, 0 changed, 0 left.")).to_be_visible()
            expect(writer.get_by_label("Ticket", exact=True)).to_have_count(1)
            said = finding(records)
            for page in readers:  # ... and when it was acknowledged
                look_again(page)
            for page in readers:
                expect(page.locator(".st-key-finding")).to_have_text(said)
                assert page.get_by_test_id("stException").count() == 0
                assert page.get_by_role("alert").count() == 0
    with open_records(records) as connection:
        tickets = read_table(connection, "loads")["ticket"].to_list()
        assert sorted(tickets) == sorted(["1", *(f"E{number}" for number in range(SAVES))])
        assert failed_checks(connection) == []
