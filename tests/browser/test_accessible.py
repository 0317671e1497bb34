"""Every screen of the demo under axe-core, which is the rule book of accessible pages (WCAG) as a program."""

import re
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, FilePayload, Page, expect

from analytics.points.simulated import POINTS_FILE, SEED, simulate
from analytics.sheet.content import read_sheet
from analytics.sheet.reader import Reader
from analytics.sheet.written import write_sheet
from analytics.storage.database import open_records
from tests.browser.at_the_keyboard import entry_screen, first_field, new_farm, settled, type_row
from tests.browser.conftest import REST, WIDTHS
from tests.browser.server import Server, serving
from tests.browser.window import follow, window

NOT_DRAWN_YET = "[data-testid='stVegaLiteChart']:not(:has(svg))"
STANDS_IN = "[data-testid='stSkeleton']"  # grey, where the part itself is still to come
SIDE_BAR_ON_ITS_WAY = "[data-testid='stSidebarContent']:not(:has(a))"
# Streamlit's own: its list of pages and its box for files, which no setting of ours reaches.
STREAMLITS_OWN = {"list", "listitem", "presentation-role-conflict"}


def broken_rules(page: Page) -> dict[str, list[object]]:
    """What axe finds on a page, Streamlit's own aside: the rule, and where it is broken."""
    if not page.evaluate("'axe' in window"):  # it stays while links lead from screen to screen
        page.evaluate(Axe().axe_script)
    rules = page.evaluate("axe.run({resultTypes: ['violations']})")["violations"]
    return {
        rule["id"]: [node["target"] for node in rule["nodes"]] for rule in rules if rule["id"] not in STREAMLITS_OWN
    }


@pytest.mark.parametrize("width", [pytest.param("desk", marks=pytest.mark.slow), "phone"])
def test_axe_finds_nothing_in_the_entry_pad_with_refused_and_unlikely_rows(
    browser: Browser, serve: Callable[[Path], Server], tmp_path: Path, width: str
) -> None:
    link = {"crop_year": "2026", "field": "North half", "plot": "east", "paper": "loads"}
    records = new_farm(tmp_path / "records.duckdb")
    with entry_screen(browser, serve(records).address, width=WIDTHS[width]["width"], **link) as page:
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
    with window(browser, server.address, **WIDTHS["desk"]) as page:
        page.goto("/")
        links = page.get_by_test_id("stSidebar").get_by_role("link")
        expect(links.last).to_be_visible()
        found: dict[str, dict[str, list[object]]] = {}
        for link in links.all():
            follow(page, link)
            drawn(page)
            found[page.url] = broken_rules(page)
        assert len(found) == len(SCREENS)
    assert {address: rules for address, rules in found.items() if rules} == {}


UNTIDY = """Harvest 2024
Field,Side,Method,Tkt,Date,Gross kg,Tare kg
Home,e,straight,1,10/3/24,"38,100",19500
Total,,,,,38100,
"""
SCREENS = (
    "",
    "enter_records",
    "bring_in_files",
    "monitor_points",
    "gaps",
    "bins",
    "one_measure",
    "one_pair",
    "money",
    "next_season",
    "others_fields",
    "summary_sheet",
    "record_keeping",
    "sharing",
    "settings",
)


def found_on(page: Page, address: str) -> dict[str, list[object]]:
    page.goto(address)
    drawn(page)
    return broken_rules(page)


def drawn(page: Page) -> None:
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    settled(page)
    expect(page.get_by_role("link", name="Link to heading")).to_have_count(0)
    # A side bar whose links are on their way is a box that scrolls and that no key reaches.
    expect(page.locator(SIDE_BAR_ON_ITS_WAY)).to_have_count(0)
    expect(page.locator(STANDS_IN)).to_have_count(0)
    expect(page.locator(REST)).to_have_count(0)
    expect(page.locator(NOT_DRAWN_YET)).to_have_count(0)


@pytest.mark.slow
@pytest.mark.parametrize("width", ["desk", "phone"])
def test_axe_finds_nothing_on_an_empty_farm_and_its_dialogs(browser: Browser, tmp_path: Path, width: str) -> None:
    found: dict[str, dict[str, list[object]]] = {}
    with serving(tmp_path / "records.duckdb") as server:
        page = browser.new_context(viewport=WIDTHS[width], base_url=server.address).new_page()
        page.set_default_timeout(60_000)
        found["no records yet"] = found_on(page, "/")
        for screen in SCREENS:
            found[screen] = found_on(page, f"/{screen}")
        page.goto("/bring_in_files")
        drawn(page)
        untidy: FilePayload = {"name": "tickets.csv", "mimeType": "text/csv", "buffer": UNTIDY.encode()}
        page.get_by_test_id("stFileUploaderDropzoneInput").set_input_files(untidy)
        expect(page.get_by_text("Put these right first")).to_be_visible()
        settled(page)
        found["a file with a title, a total and faults"] = broken_rules(page)
        page.goto("/monitor_points")
        drawn(page)
        points: FilePayload = {
            "name": POINTS_FILE,
            "mimeType": "text/csv",
            "buffer": simulate(SEED).points_csv.encode(),
        }
        page.locator("input[type=file]").first.set_input_files(points)
        expect(page.get_by_text("points read. Now say where the strips are.")).to_be_visible()
        settled(page)
        found["points of a monitor"] = broken_rules(page)
        page.context.close()
    assert {name: rules for name, rules in found.items() if rules} == {}


@pytest.mark.slow
@pytest.mark.parametrize("width", ["desk", "phone"])
def test_axe_finds_nothing_in_what_is_asked_before_and_in_the_sheets(
    browser: Browser, server: Server, demo_records: Path, tmp_path: Path, width: str
) -> None:
    with window(browser, server.address, **WIDTHS[width]) as page:
        found: dict[str, dict[str, list[object]]] = {}
        page.goto("/enter_records?paper=loads&crop_year=2025")
        expect(first_field(page)).to_be_visible()
        first_field(page).focus()
        type_row(page, ["9001", "14 Sep", "22,910", "9"], key="Enter")
        page.get_by_role("button", name="Throw this draft away").click()
        expect(page.get_by_role("button", name="No, keep the draft")).to_be_visible()
        found["a draft to be thrown away, and a comma asked about"] = broken_rules(page)
        page.get_by_role("button", name=re.compile("Yes, throw")).click()
        expect(page.get_by_role("button", name=re.compile("Bring .* back"))).to_be_visible()
        found["a draft thrown away"] = broken_rules(page)
        with open_records(demo_records) as connection:
            sheets = {reader: read_sheet(connection, reader, date(2026, 11, 27)) for reader in Reader}
        for reader, sheet in sheets.items():
            write_sheet(sheet, tmp_path / "sheet.html")
            page.goto((tmp_path / "sheet.html").as_uri())
            found[f"the sheet for the {reader}"] = broken_rules(page)
    assert {name: rules for name, rules in found.items() if rules} == {}
