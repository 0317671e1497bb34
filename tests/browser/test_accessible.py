"""Every screen of the demo under axe-core, which is the rule book of accessible pages (WCAG) as a program."""

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from tests.browser.at_the_keyboard import entry_screen, first_field, new_farm, type_row
from tests.browser.conftest import WIDTHS
from tests.browser.server import Server, serving

NOT_DRAWN_YET = "[data-testid='stVegaLiteChart']:not(:has(svg))"
# Streamlit's own: its list of pages and its box for files, which no setting of ours reaches.
STREAMLITS_OWN = {"list", "listitem", "presentation-role-conflict"}


def broken_rules(page: Page) -> dict[str, list[object]]:
    """What axe finds on a page, Streamlit's own aside: the rule, and where it is broken."""
    return {
        rule["id"]: [node["target"] for node in rule["nodes"]]
        for rule in Axe().run(page).response["violations"]
        if rule["id"] not in STREAMLITS_OWN
    }


@pytest.mark.parametrize("width", [pytest.param("desk", marks=pytest.mark.slow), "phone"])
def test_axe_finds_nothing_in_the_entry_pad_with_refused_and_unlikely_rows(
    browser: Browser, tmp_path: Path, width: str
) -> None:
    link = {"crop_year": "2026", "field": "North half", "plot": "east", "paper": "loads"}
    records = new_farm(tmp_path / "records.duckdb")
    with (
        serving(records) as server,
        entry_screen(browser, server.address, width=WIDTHS[width]["width"], **link) as page,
    ):
        first_field(page).focus()
        type_row(page, ["1", "14 Sep", "18000", "91", "2", ""], key="Enter")
        type_row(page, ["2", "14 Sep", "75 t", "9", "2"], key="Enter")
        page.keyboard.type("c")  # the list of what weighed it is open
        expect(page.get_by_role("button", name="Row 2: 2, not saved yet ✗ refused")).to_be_visible()
        assert broken_rules(page) == {}
        page.get_by_text("One at a time, in large boxes").click()
        expect(page.locator(".pad table")).to_be_visible()
        expect(page.get_by_text("✗ moisture, %: 91 given")).to_be_visible()
        assert broken_rules(page) == {}
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_axe_finds_nothing_on_any_screen_but_streamlits_own(browser: Browser, server: Server) -> None:
    page = browser.new_context(viewport=WIDTHS["desk"], base_url=server.address).new_page()
    page.set_default_timeout(60_000)
    page.goto("/")
    links = page.get_by_test_id("stSidebar").get_by_role("link")
    expect(links.last).to_be_visible()
    addresses = list(dict.fromkeys(links.evaluate_all("links => links.map(link => link.href)")))
    assert len(addresses) >= 10
    found: dict[str, dict[str, list[object]]] = {}
    for address in addresses:
        page.goto(address)
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        expect(page.locator("[data-testid=stApp][data-test-script-state=notRunning]")).to_be_visible()
        expect(page.locator(NOT_DRAWN_YET)).to_have_count(0)
        found[address] = broken_rules(page)
    page.context.close()
    assert {address: rules for address, rules in found.items() if rules} == {}
