"""Eight browsers look at a pair while a ninth types and saves its tickets: every one shows what was just saved."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from analytics.database import failed_checks, open_records, read_table
from analytics.one_pair import one_pair
from tests.browser.test_enter_records import FARM, Program, open_screen, program, type_ticket

__all__ = ["program"]  # the fixture: a server of its own on a small farm

READERS = 8
PLOTS = "crop_year,field,plot,method,acres\n2026,North half,east,standing,40\n2026,North half,west,windrowed,40\n"
PAIRS = (
    "crop_year,pair,standing_field,standing_plot,windrowed_field,windrowed_plot,layout\n"
    "2026,A,North half,east,North half,west,split field\n"
)
LOADS = "crop_year,field,plot,ticket,weight_kg,moisture_pct,dockage_pct\n2026,North half,west,1,36000,9,1\n"


@pytest.fixture(autouse=True)
def farm(monkeypatch: pytest.MonkeyPatch) -> None:
    """A pair; only its windrowed side has a ticket."""
    for name, text in {"plots.csv": PLOTS, "pairs.csv": PAIRS, "loads.csv": LOADS}.items():
        monkeypatch.setitem(FARM, name, text)


def finding(records: Path) -> str:
    """What every screen must say of the pair now, worked out from the file by this process."""
    with open_records(records) as connection:
        return one_pair(connection, 2026, "A").sentence


def look_at_the_pair(browser: Browser, program: Program) -> Page:
    page = browser.new_context(viewport={"width": 1000, "height": 800}).new_page()
    page.set_default_timeout(60_000)
    page.goto(f"{program.address}/one_pair")
    expect(page.get_by_role("heading", name="Pair A, 2026: what was different?")).to_be_visible()
    return page


def look_again(page: Page) -> None:
    """Run the screen anew, as any click does."""
    page.locator("body").press("r")


def save_one_ticket(page: Page, number: int) -> None:
    """Type it, read how it was understood, press the button; it is acknowledged later."""
    type_ticket(page, ticket=f"E{number}", weight=f"{1000 + number}", moisture="9", dockage="1")
    expect(page.get_by_text(f"E{number} = ")).to_be_visible()
    page.get_by_role("button", name="Save 1 ticket for North half, east, 2026").click()


@pytest.mark.parametrize("operations", [18, pytest.param(270, marks=pytest.mark.slow)])
def test_eight_browsers_show_what_a_ninth_has_saved(browser: Browser, program: Program, operations: int) -> None:
    """An operation is a save, or a look that must show the finding of all that was saved."""
    saves = operations // (READERS + 1)
    readers = [look_at_the_pair(browser, program) for _ in range(READERS)]
    writer = open_screen(browser, program)
    try:
        for number in range(saves):
            save_one_ticket(writer, number)
            for page in readers:  # they look while it is being saved ...
                look_again(page)
            expect(writer.locator(f"input[aria-label=Ticket][value=E{number}]")).to_have_count(0)  # taken away: saved
            expect(writer.get_by_text("1 ticket added, 0 changed, 0 left.")).to_be_visible()
            expect(writer.get_by_label("Ticket", exact=True)).to_have_count(1)
            said = finding(program.records)
            for page in readers:  # ... and when it was acknowledged
                look_again(page)
            for page in readers:
                expect(page.locator(".st-key-finding")).to_have_text(said)
                assert page.get_by_test_id("stException").count() == 0
                assert page.get_by_role("alert").count() == 0
    finally:
        for page in (*readers, writer):
            page.context.close()
    with open_records(program.records) as connection:
        tickets = read_table(connection, "loads")["ticket"].to_list()
        assert sorted(tickets) == sorted(["1", *(f"E{number}" for number in range(saves))])
        assert failed_checks(connection) == []
