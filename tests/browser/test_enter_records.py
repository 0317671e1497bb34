"""The entry screen in a real browser: refused and unlikely, two who type the same row, a killed server, a phone."""

import os
import signal
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.at_the_keyboard import (
    EAST,
    FIELDS,
    correct,
    entry_screen,
    first_field,
    new_farm,
    next_row,
    save_by_key,
    settled,
    stored,
    tab_to,
    type_row,
)
from tests.browser.server import Server, serving

AT_EAST = {"crop_year": "2026", "field": "North half", "plot": "east", "paper": "loads"}
AT_WEST = AT_EAST | {"plot": "west"}


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A farm with one ticket on record, for tests that each work on a paper and plot of their own."""
    ticket = EAST | {"ticket": "1187", "weight_kg": 18_000.0, "moisture_pct": 9.0, "dockage_pct": 2.0}
    return new_farm(tmp_path_factory.mktemp("farm") / "records.duckdb", loads=[ticket])


@pytest.fixture
def server(records: Path, serve: Callable[[Path], Server]) -> Server:
    return serve(records)


def test_commas_an_unclear_date_a_refused_and_an_unlikely_value(
    browser: Browser, server: Server, records: Path
) -> None:
    with entry_screen(browser, server.address, **AT_WEST, who="Cal") as page:
        tab_to(page, first_field(page))
        type_row(page, ["2051", "14 Sep", "18620", "9,1", "2,5"], key="Enter")
        expect(page.get_by_text("= 18.15 t clean, 20.01 bu/ac so far").first).to_be_visible()
        next_row(page, "ticket")
        type_row(page, ["2052", "04/05/2026", "75 t", "91", "2"])
        expect(page.get_by_text("Could be 2026-04-05 or 2026-05-04; type year-month-day")).to_be_visible()
        expect(page.get_by_text("moisture, %: 91 given; allowed a number from 2 to 30")).to_be_visible()
        correct(page, "Moisture, %", "9,1")
        correct(page, "Delivered on", "15 Sep")
        expect(page.get_by_text("? weight, kg: 75 t (75000 kg) given")).to_be_visible()
        expect(page.get_by_role("button", name="Save 1 ticket for North half, west, 2026")).to_be_enabled()
        tab_to(page, page.get_by_label("Keep it, because"))
        page.keyboard.type("two trailers")
        page.keyboard.press("Tab")
        expect(page.get_by_role("button", name="Save 2 tickets for North half, west, 2026")).to_be_enabled()
        save_by_key(page, "2 tickets added, 0 changed, 0 left.")
    found = [
        row for row in stored(records, "loads", "ticket", "delivered_on", "weight_kg", "moisture_pct") if row[0] > "2"
    ]
    assert found == [("2051", date(2026, 9, 14), 18_620.0, 9.1), ("2052", date(2026, 9, 15), 75_000.0, 9.1)]
    assert ("Cal", "2052: two trailers") in stored(records, "acts", "done_by", "why")


def test_of_two_at_the_same_ticket_the_second_sees_both_values_and_chooses(
    browser: Browser, server: Server, records: Path
) -> None:
    link = AT_EAST | {"row": "1187"}
    with (
        entry_screen(browser, server.address, **link, who="Ann") as first,
        entry_screen(browser, server.address, **link, who="Ben") as second,
    ):
        for page, weight in ((first, "19000"), (second, "17000")):
            expect(page.get_by_label("Weight, kg")).to_have_value("18000 kg")
            page.get_by_label("Weight, kg").fill(weight)
            page.get_by_label("Weight, kg").press("Tab")
            expect(page.get_by_role("button", name="Save 1 ticket")).to_be_enabled()
        save_by_key(first, "0 tickets added, 1 changed, 0 left.")
        second.get_by_role("button", name="Save 1 ticket").click()
        both = "1187 was typed by Ann as well. weight, kg: 17000 here, 19000 by Ann."
        expect(second.get_by_text(both)).to_be_visible()
        expect(second.get_by_role("button", name="Take what Ann typed")).to_be_visible()
        assert (19_000.0,) in stored(records, "loads", "weight_kg")  # nothing was written over
        second.get_by_role("button", name="Keep mine for 1187").click()
        expect(second.get_by_text(both)).to_be_hidden()
        second.get_by_role("button", name="Save 1 ticket").click()
        expect(second.get_by_text("0 tickets added, 1 changed, 0 left.")).to_be_visible()
    assert ("1187", 17_000.0) in stored(records, "loads", "ticket", "weight_kg")


def test_a_pan_check_is_typed_on_a_phone_field_by_field(browser: Browser, server: Server, records: Path) -> None:
    with entry_screen(browser, server.address, width=390, **AT_WEST | {"paper": "loss_checks"}, who="Dot") as page:
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        assert page.locator("[data-testid=stMain]").evaluate("part => part.scrollWidth <= part.clientWidth")
        labels = page.locator(FIELDS).evaluate_all("fields => fields.map(field => field.labels[0].textContent)")
        modes = page.locator(FIELDS).evaluate_all("fields => fields.map(field => field.inputMode)")
        assert dict(zip(labels, modes, strict=True))["Seeds"] == "numeric"
        assert dict(zip(labels, modes, strict=True))["Seed, g"] == "decimal"
        assert labels[:4] == ["Checked on", "Place", "Spot", "Seeds"]
        tab_to(page, first_field(page))
        focused = []
        texts = ["14 Sep", "pan", "1", "", "3,2", "1", "10,7", "1,5"]
        for text in (*texts, *[""] * (len(labels) - len(texts))):
            focused.append(page.locator(".pad input:focus").evaluate("field => field.labels[0].textContent"))
            type_row(page, [text], key="Tab")
        assert focused == labels  # the focus goes down the screen
        expect(
            page.get_by_text("7.1 times concentrated (cut over discharge), 3.2 g, 0.08 bu/ac lost").first
        ).to_be_visible()
        save_by_key(page, "1 loss check added, 0 changed, 0 left.")
    columns = ("plot", "checked_on", "place", "spot", "grams", "cut_width_m", "discharge_width_m")
    assert stored(records, "loss_checks", *columns) == [
        ("west", date(2026, 9, 14), "pan behind combine", "1", 3.2, 10.7, 1.5)
    ]


def test_a_draft_outlives_the_browser_and_a_killed_server(
    browser: Browser, serve: Callable[[Path], Server], tmp_path: Path
) -> None:
    records = new_farm(tmp_path / "records.duckdb")
    with serving(records) as server:
        with entry_screen(browser, server.address) as page:
            tab_to(page, first_field(page))
            type_row(page, ["1187", "14 Sep", "18,62 t", "9,1", "2,5"])
            expect(page.get_by_text("1187, not saved yet = 18.15 t clean")).to_be_visible()
            settled(page)
        os.kill(server.pid, signal.SIGKILL)
    with entry_screen(browser, serve(records).address) as page:
        expect(page.get_by_text("This is your draft of")).to_be_visible()
        expect(page.get_by_label("Ticket", exact=True)).to_have_value("1187")
        expect(page.get_by_text("1187, not saved yet = 18.15 t clean")).to_be_visible()
    assert stored(records, "loads", "ticket") == []


@pytest.mark.slow
def test_enter_pressed_twice_on_the_save_button_still_says_what_was_saved(
    browser: Browser, server: Server, records: Path
) -> None:
    with entry_screen(browser, server.address, **AT_WEST | {"paper": "samples"}) as page:
        tab_to(page, first_field(page))
        type_row(page, ["twice", "20 Sep"], key="Enter")
        tab_to(page, page.locator(".pad .save"))
        page.keyboard.press("Enter")
        page.keyboard.press("Enter")
        expect(page.get_by_role("button", name="Save 0 samples")).to_be_visible()
        settled(page)
        expect(page.get_by_text("1 sample added, 0 changed, 0 left.")).to_be_visible()
    assert stored(records, "samples", "sample") == [("twice",)]
