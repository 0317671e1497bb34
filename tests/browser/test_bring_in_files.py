"""Files in a real browser: uploaded with a fault, put right, brought in; a block whose match is kept and used again."""

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, FilePayload, Page, expect

from tests.browser.at_the_keyboard import new_farm, open_screen, settled, stored
from tests.browser.server import Server
from tests.prepared import begun

FARM = {
    "fields.csv": "field,acres\nNorth half,80\n",
    "plots.csv": "crop_year,field,plot,method,acres\n2026,North half,east,standing,40\n",
    "loads.csv": "crop_year,field,plot,ticket,weight_kg,moisture_pct\n2026,North half,east,1187,18620,89\n",
}
BLOCK = "Scale ticket\tStrip\tNet lb\tMoisture\n1187\teast\t41050\t8,9\n1188\twest\t39000\t9,4\n"


@pytest.fixture
def records(tmp_path: Path) -> Path:
    return tmp_path / "records.duckdb"


@pytest.fixture
def first_use(records: Path, serve: Callable[[Path], Server]) -> Server:
    """Records without a row, as the program begins them where there are none."""
    with begun(records):
        return serve(records)


@pytest.fixture
def farm(records: Path, serve: Callable[[Path], Server]) -> Server:
    return serve(new_farm(records))


def upload(page: Page, **files: str) -> None:
    given: list[FilePayload] = [
        {"name": f"{name}.csv", "mimeType": "text/csv", "buffer": text.encode()} for name, text in files.items()
    ]
    settled(page)
    expect(page.locator("input[type=file]")).to_have_count(1)  # the one that was there before is gone
    page.locator("input[type=file]").set_input_files(given)


def fill(page: Page, label: str, text: str) -> None:
    page.get_by_label(label, exact=True).fill(text)
    page.keyboard.press("Tab")
    settled(page)


def test_a_first_farm_with_a_fault_is_put_right_and_brought_in(
    browser: Browser, first_use: Server, records: Path
) -> None:
    with open_screen(browser, first_use, "bring_in_files", "What is in this file?") as page:
        upload(page, **{name.removesuffix(".csv"): text for name, text in FARM.items()})
        expect(page.get_by_text("1 fault to put right first. Of the other rows: 2 rows are new")).to_be_visible()
        expect(
            page.get_by_text("loads.csv, row 2, moisture_pct: 89 given; allowed a number from 2 to 30.")
        ).to_be_visible()
        expect(page.get_by_role("button", name="Nothing can be brought in yet")).to_be_disabled()
        upload(page, loads=FARM["loads.csv"].replace("89", "8.9"))
        page.get_by_role("button", name="Add 3 rows and change 0").click()
        expect(page.get_by_text("3 rows added, 0 changed, 0 as before.")).to_be_visible()
        expect(page.get_by_text("loads: 1 row added, 0 changed, 0 as before.")).to_be_visible()
        upload(page, loads=FARM["loads.csv"].replace("89", "9.1").replace("18620", "18640"))
        expect(page.get_by_text("0 rows are new, 1 changes, 0 are as before.")).to_be_visible()
        page.get_by_role("button", name="Add 0 rows and change 1").click()
        expect(page.get_by_text("0 rows added, 1 changed, 0 as before.")).to_be_visible()
    assert stored(records, "loads", "ticket", "weight_kg", "moisture_pct") == [("1187", 18640.0, 9.1)]


def test_a_pasted_block_is_matched_on_a_phone_and_the_match_serves_the_next_file(
    browser: Browser, farm: Server, records: Path
) -> None:
    with open_screen(browser, farm, "bring_in_files", "What is in this file?", width=390) as page:
        page.get_by_text("Or paste a block copied from a spreadsheet").click()
        page.get_by_label("Rows, with the names of the columns on top").fill(BLOCK)
        page.keyboard.press("Control+Enter")
        expect(page.get_by_text("Still needed: crop year, field.")).to_be_visible()
        fill(page, "Crop year in every row", "2026")
        fill(page, "Field in every row", "North half")
        expect(page.get_by_role("button", name="Add 2 rows and change 0")).to_be_visible()
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        assert page.locator("[data-testid=stMain]").evaluate("part => part.scrollWidth <= part.clientWidth")
        fill(page, "Keep this match for next year as", "buyer")
        page.get_by_role("button", name="Keep this match").click()
        expect(page.get_by_text("The match is kept as buyer.")).to_be_visible()
        settled(page)  # the button is of rows that were shown whole
        page.get_by_role("button", name="Add 2 rows and change 0").click()
        expect(page.get_by_text("2 rows added, 0 changed, 0 as before.")).to_be_visible()
        upload(page, list="Strip,Truck,Moisture,Scale ticket,Net lb\neast,red,9.0,1189,40000\n")
        expect(page.get_by_role("combobox", name="As kept before")).to_have_value("buyer (loads)")
        expect(page.get_by_text("Not read: truck.")).to_be_visible()
        fill(page, "Crop year in every row", "2026")
        fill(page, "Field in every row", "North half")
        page.get_by_role("button", name="Add 1 row and change 0").click()
        expect(page.get_by_text("1 row added, 0 changed, 0 as before.")).to_be_visible()
    tickets = stored(records, "loads", "ticket", "plot", "weight_kg")
    assert [(ticket, plot, round(weight, 1)) for ticket, plot, weight in tickets] == [
        ("1187", "east", 18620.0),
        ("1188", "west", 17690.1),
        ("1189", "east", 18143.7),
    ]
