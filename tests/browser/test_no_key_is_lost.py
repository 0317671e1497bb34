"""Typing at 20 keys a second that waits for nothing, on a machine that is busy: every key arrives where it was meant.

The rows, the links and the reloads are those of a person who does not look at the screen while typing.
"""

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.at_the_keyboard import (
    EAST,
    FIELDS,
    WEST,
    entry_screen,
    first_field,
    new_farm,
    put,
    save_by_key,
    stored,
    tab_to,
    type_row,
)
from tests.browser.server import Server, serving

AT_EAST = {"crop_year": "2026", "field": "North half", "plot": "east", "paper": "loads"}
AT_WEST = AT_EAST | {"plot": "west"}
BETWEEN_KEYS = 50  # ms; 20 keys a second
BUSY_FOR_GOOD = "while True: pass"
Hindered = Callable[[Server], AbstractContextManager[None]]


@contextmanager
def busy_machine(_: Server) -> Iterator[None]:
    """Two processes that never rest, beside the browser and the program."""
    busy = [subprocess.Popen([sys.executable, "-c", BUSY_FOR_GOOD]) for _ in range(2)]
    try:
        yield
    finally:
        for process in busy:
            process.kill()
            process.wait()


@contextmanager
def slow_python(server: Server) -> Iterator[None]:
    """The program rests three quarters of the time: as slow as on a busy machine, and costs nothing."""
    is_over = threading.Event()

    def hold() -> None:
        while not is_over.wait(0.05):
            os.kill(server.pid, signal.SIGSTOP)
            is_over.wait(0.15)
            os.kill(server.pid, signal.SIGCONT)

    holding = threading.Thread(target=hold)
    holding.start()
    try:
        yield
    finally:
        is_over.set()
        holding.join()


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    return new_farm(tmp_path / "records.duckdb")


@pytest.fixture
def server(farm: Path, serve: Callable[[Path], Server]) -> Server:
    return serve(farm)


def ticket(number: int) -> tuple[str, ...]:
    return str(4000 + number), "14 Sep", str(18_000 + number), "9.1", "2.5", "cert"


def as_recorded(numbers: range) -> list[tuple[object, ...]]:
    return [(str(4000 + number), 18_000.0 + number, 9.1, 2.5, "certified scale") for number in numbers]


COLUMNS = ("ticket", "weight_kg", "moisture_pct", "dockage_pct", "weighed_by")


@pytest.mark.parametrize(
    ("form", "key", "rows", "hindered"),
    [
        ("fields", "Enter", 3, slow_python),
        pytest.param("fields", "Enter", 10, busy_machine, marks=pytest.mark.slow),
        pytest.param("grid", "Tab", 10, busy_machine, marks=pytest.mark.slow),
    ],
)
def test_rows_typed_at_twenty_keys_a_second_on_a_busy_machine(
    browser: Browser, server: Server, farm: Path, form: str, key: str, rows: int, hindered: Hindered
) -> None:
    with entry_screen(browser, server.address, **AT_EAST) as page, hindered(server):
        if form == "grid":
            page.get_by_text("One at a time, in large boxes").click()
            expect(page.locator(".pad table")).to_be_visible()
        first_field(page).focus()
        for number in range(rows):
            type_row(page, ticket(number), key=key, delay=BETWEEN_KEYS)
        expect(page.get_by_role("button", name=f"Save {rows} tickets for North half, east, 2026")).to_be_visible()
        save_by_key(page, f"{rows} tickets added, 0 changed, 0 left.")
    assert stored(farm, "loads", *COLUMNS) == as_recorded(range(rows))


@contextmanager
def answers_held(page: Page) -> Iterator[None]:
    """What Python says while this lasts reaches the pad at its end, as on a machine that is slow without bounds."""
    pad = page.locator(".pad")
    pad.evaluate("part => { part.held = []; part.pad.hear = data => part.held.push(data); }")
    yield
    pad.evaluate("part => { delete part.pad.hear; part.held.forEach(data => part.pad.hear(data)); }")


def answered(page: Page, what: str) -> None:
    """Wait until Python has said something of which `what`, in JavaScript, holds; the pad has not heard it yet."""
    give_up_at = time.monotonic() + 60
    while not page.locator(".pad").evaluate(f"part => part.held.some(data => {what})"):
        assert time.monotonic() < give_up_at, f"nothing said of which {what}"
        page.wait_for_timeout(50)


def test_an_answer_to_a_save_moves_no_key_of_what_is_typed_meanwhile(
    browser: Browser, server: Server, farm: Path
) -> None:
    with entry_screen(browser, server.address, **AT_EAST) as page:
        first_field(page).focus()
        type_row(page, ticket(1), key="Enter")
        expect(page.get_by_role("button", name="Save 1 ticket")).to_be_visible()
        with answers_held(page):
            page.locator(".pad .save").click()
            first_field(page).click()
            type_row(page, ticket(0), key="Enter")  # a smaller number, so that the saved row has another place then
            page.keyboard.type("400")
            answered(page, "data.done && data.rows.length")
        expect(page.get_by_text("1 ticket added, 0 changed, 0 left.")).to_be_visible()
        page.keyboard.type("2")
        expect(first_field(page)).to_have_value("4002")
        type_row(page, ("", *ticket(2)[1:]), key="Enter")
        expect(page.get_by_role("button", name="Save 2 tickets for North half, east, 2026")).to_be_visible()
        save_by_key(page, "2 tickets added, 0 changed, 0 left.")
    assert stored(farm, "loads", *COLUMNS) == as_recorded(range(3))


def test_the_next_plot_is_there_at_the_key_and_what_is_typed_goes_there(
    browser: Browser, server: Server, farm: Path
) -> None:
    put(farm, loads=[WEST | {"ticket": "1187", "weight_kg": 18_000.0}])
    with entry_screen(browser, server.address, **AT_EAST) as page:
        first_field(page).focus()
        type_row(page, ticket(0), key="Enter")
        with answers_held(page):
            tab_to(page, page.locator(".pad .save"))
            page.keyboard.press("Enter")
            page.keyboard.press("Enter")
            type_row(page, ticket(1), key="Enter")
            page.keyboard.type("40")
            answered(page, "data.done && data.rows.length")
        page.keyboard.type("02")
        expect(first_field(page)).to_have_value("4002")
        expect(page.get_by_text("Row 1: 1187")).to_be_visible()
        expect(page.get_by_role("button", name="Save 2 tickets for North half, west, 2026")).to_be_visible()
        save_by_key(page, "2 tickets added, 0 changed, 0 left.")
    loads = [("east", "4000"), ("west", "1187"), ("west", "4001"), ("west", "4002")]
    assert stored(farm, "loads", "plot", "ticket") == loads


@pytest.mark.parametrize(
    ("links", "hindered"),
    [
        (["What is missing?"], slow_python),
        pytest.param(["What is missing?", "Does it pay?"], busy_machine, marks=pytest.mark.slow),
    ],
)
def test_a_link_clicked_in_the_middle_of_a_field_opens_at_once_and_the_text_is_kept(
    browser: Browser, server: Server, links: list[str], hindered: Hindered
) -> None:
    with entry_screen(browser, server.address, **AT_EAST) as page, hindered(server):
        sidebar = page.get_by_test_id("stSidebar")
        for link in links:
            first_field(page).focus()
            page.keyboard.press("End")
            page.keyboard.type("12", delay=BETWEEN_KEYS)
            sidebar.get_by_role("link", name=link).click()
            expect(page.get_by_role("heading", name=link, level=1)).to_be_visible()
            sidebar.get_by_role("link", name="1 ticket for North half, east, 2026 waits to be saved").click()
            expect(page.get_by_role("heading", name="What came in?")).to_be_visible()
            expect(first_field(page)).to_be_visible()
        expect(first_field(page)).to_have_value("12" * len(links))


@pytest.mark.slow
def test_a_page_loaded_anew_in_the_middle_of_a_field_opens_where_it_was_with_the_text(
    browser: Browser, server: Server
) -> None:
    with busy_machine(server), entry_screen(browser, server.address, **AT_WEST) as page:
        first_field(page).focus()
        page.keyboard.type("77", delay=BETWEEN_KEYS)
        for text in ("77", "7788"):
            page.reload()
            expect(first_field(page)).to_have_value(text)
            expect(page.get_by_text("Another window typed here")).to_have_count(0)
            first_field(page).focus()
            page.keyboard.press("End")
            page.keyboard.type("88", delay=BETWEEN_KEYS)
        assert page.locator(".pad").evaluate("part => part.pad.data.place").endswith("North half/west/at the screen")


@pytest.mark.slow
def test_two_windows_at_one_place_never_overwrite_each_other(browser: Browser, server: Server, farm: Path) -> None:
    with (
        entry_screen(browser, server.address, **AT_EAST) as one,
        entry_screen(browser, server.address, **AT_EAST) as other,
    ):
        for page, number in ((one, 0), (other, 1)):
            first_field(page).focus()
            type_row(page, ticket(number), key="Enter")
            expect(page.get_by_role("button", name="Save 1 ticket")).to_be_visible()
        expect(other.get_by_text("Another window typed here as well: 1 ticket")).to_be_visible()
        other.get_by_role("button", name="Take its 1 ticket in here").click()
        expect(other.get_by_role("button", name="Save 2 tickets")).to_be_visible()
        save_by_key(other, "2 tickets added, 0 changed, 0 left.")
    assert stored(farm, "loads", *COLUMNS) == as_recorded(range(2))


@pytest.mark.slow
def test_a_draft_is_thrown_away_only_when_asked_twice_and_can_be_brought_back(browser: Browser, server: Server) -> None:
    with entry_screen(browser, server.address, **AT_EAST) as page:
        first_field(page).focus()
        type_row(page, ticket(0), key="Enter")
        page.get_by_role("button", name="Throw this draft away").click()
        expect(page.get_by_text("Throw away 1 ticket typed here and not saved?")).to_be_visible()
        page.get_by_role("button", name="Yes, throw 1 ticket away").click()
        expect(page.get_by_role("button", name="Save 0 tickets")).to_be_visible()
        page.get_by_role("button", name="Bring 1 ticket back").click()
        expect(page.get_by_role("button", name="Save 1 ticket")).to_be_visible()


@pytest.mark.slow
def test_after_a_save_the_next_plot_is_one_key_away(browser: Browser, server: Server) -> None:
    with entry_screen(browser, server.address, **AT_EAST) as page:
        first_field(page).focus()
        type_row(page, ticket(0), key="Enter")
        expect(page.get_by_role("button", name="Save 1 ticket")).to_be_visible()
        save_by_key(page, "1 ticket added, 0 changed, 0 left.")
        page.keyboard.press("Enter")
        expect(page.get_by_text("No tickets on record for North half, west, 2026")).to_be_visible()
        expect(page.locator(f"{FIELDS}:focus")).to_have_count(1)


def test_a_refused_row_is_shown_after_the_save_and_a_button_leads_to_it(
    browser: Browser, server: Server, farm: Path
) -> None:
    with entry_screen(browser, server.address, **AT_EAST) as page:
        first_field(page).focus()
        type_row(page, ("1", "14 Sep", "18000", "91", "2", ""), key="Enter")
        type_row(page, ticket(1), key="Enter")
        expect(page.get_by_role("button", name="Save 1 ticket")).to_be_visible()
        save_by_key(page, "1 ticket added, 0 changed, 1 left (1).")
        refused = page.locator(".pad input[aria-invalid=true]")
        expect(refused).to_have_value("91")
        tab_to(page, page.get_by_role("button", name="Row 2 is refused: open it"))
        page.keyboard.press("Enter")
        expect(refused).to_be_focused()


@pytest.mark.slow
def test_what_repeats_is_carried_over_when_asked(browser: Browser, server: Server, farm: Path) -> None:
    with entry_screen(browser, server.address, **AT_EAST) as page:
        page.get_by_label("Carry over delivered on, weighed by").check()
        first_field(page).focus()
        type_row(page, ticket(0), key="Enter")
        type_row(page, ("4001", "", "18001", "9.1", "2.5", ""), key="Enter")
        expect(page.get_by_role("combobox", name="Weighed by")).to_have_value("certified scale")
        expect(page.get_by_role("button", name="Save 2 tickets")).to_be_visible()
        save_by_key(page, "2 tickets added, 0 changed, 0 left.")
    assert stored(farm, "loads", *COLUMNS) == as_recorded(range(2))


def test_a_ticket_number_typed_twice_opens_the_right_row(browser: Browser, server: Server) -> None:
    with entry_screen(browser, server.address, **AT_EAST) as page:
        first_field(page).focus()
        type_row(page, ("5", "", "18001", "", "", ""), key="Enter")
        type_row(page, ("5", "", "18002", "", "", ""), key="Enter")
        page.get_by_role("button", name="Row 2: 5").click()
        expect(page.get_by_label("Weight, kg")).to_have_value("18002")
        page.get_by_role("button", name="Row 1: 5").click()
        expect(page.get_by_label("Weight, kg")).to_have_value("18001")


@pytest.mark.slow
def test_a_thousand_rows_on_five_plots_without_waiting_for_anything(browser: Browser, tmp_path: Path) -> None:
    """Twenty keys a second on a busy machine, a quarter of an hour; saved and on to the next plot by two keys."""
    farm = new_farm(tmp_path / "records.duckdb")
    added = ("west, far end", "west, hill", "west, slough")
    put(farm, plots=[EAST | {"plot": plot, "method": "windrowed", "acres": 1200.0} for plot in added])
    plots = ("east", "west", *added)
    rows_of_a_plot = 200
    expected = []
    with serving(farm) as server, busy_machine(server), entry_screen(browser, server.address, **AT_EAST) as page:
        first_field(page).focus()
        for plot in plots:
            for number in range(len(expected), len(expected) + rows_of_a_plot):
                type_row(
                    page, (f"{4000 + number}", "", f"{18_000 + number}", "", "", ""), key="Enter", delay=BETWEEN_KEYS
                )
                expected.append((plot, str(4000 + number), 18_000.0 + number))
            tab_to(page, page.locator(".pad .save"))
            page.keyboard.press("Enter")  # saves, and the next plot is under the next key
            if plot != plots[-1]:
                page.keyboard.press("Enter")
        said = f"{rows_of_a_plot} tickets added, 0 changed, 0 left."
        expect(page.get_by_text(said)).to_be_visible(timeout=300_000)
    assert stored(farm, "loads", "plot", "ticket", "weight_kg") == expected
