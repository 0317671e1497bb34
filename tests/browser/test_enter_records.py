"""Tickets typed by keyboard in a real browser, against a server of its own that is stopped and started again."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from analytics.database import open_records, read_table

FARM = {
    "fields.csv": "field\nNorth half\n",
    "plots.csv": "crop_year,field,plot,method,acres\n2026,North half,east,standing,40\n",
    "loads.csv": "crop_year,field,plot,ticket\n",
}
STANDROW = str(Path(sys.executable).parent / "standrow")


class Program:
    """`standrow serve` on one farm; stopped by its process number."""

    def __init__(self, records: Path) -> None:
        with socket.socket() as free:  # any free port, so that two test runs do not meet on one
            free.bind(("127.0.0.1", 0))
            self.records, self.port = records, free.getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}"
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        environment = os.environ | {"STANDROW_RECORDS": str(self.records)}
        command = [STANDROW, "serve", "--port", str(self.port)]
        self.process = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        give_up_at = time.monotonic() + 90
        while time.monotonic() < give_up_at:
            try:
                with urllib.request.urlopen(f"{self.address}/_stcore/health", timeout=2) as answer:
                    if answer.read() == b"ok":
                        return
            except OSError:
                time.sleep(0.1)
        pytest.fail("standrow serve did not answer")

    def kill(self) -> None:
        if self.process is not None:
            os.kill(self.process.pid, signal.SIGKILL)
            self.process.wait(timeout=20)
            self.process = None


@pytest.fixture
def program(tmp_path: Path) -> Iterator[Program]:
    if not Path(STANDROW).exists():
        pytest.skip("the command standrow is not installed beside this Python")
    folder = tmp_path / "farm"
    folder.mkdir()
    for name, text in FARM.items():
        (folder / name).write_text(text, encoding="utf-8")
    records = tmp_path / "records.duckdb"
    environment = os.environ | {"STANDROW_RECORDS": str(records)}
    subprocess.run([STANDROW, "import", str(folder)], env=environment, check=True, capture_output=True)
    running = Program(records)
    running.start()
    yield running
    running.kill()


def open_screen(browser: Browser, program: Program, width: int = 1280) -> Page:
    page = browser.new_context(viewport={"width": width, "height": 1000}).new_page()
    page.set_default_timeout(60_000)
    page.goto(f"{program.address}/enter_records")
    expect(page.get_by_role("heading", name="What came in?")).to_be_visible()
    return page


def type_ticket(page: Page, **cells: str) -> None:
    """By keyboard alone: from the first field on, Tab by Tab."""
    page.get_by_label("Ticket", exact=True).focus()
    for name in ("ticket", "delivered", "weight", "moisture", "dockage"):
        page.keyboard.type(cells.get(name, ""))
        page.keyboard.press("Tab")


def test_two_tickets_by_keyboard_one_of_them_refused(browser: Browser, program: Program) -> None:
    page = open_screen(browser, program)
    type_ticket(page, ticket="1187", delivered="14 Sep", weight="18620", moisture="9,1", dockage="2,5")
    expect(page.get_by_text("1187 = 18.15 t clean, 20.01 bu/ac so far")).to_be_visible()
    page.get_by_role("button", name="Next ticket").click()
    expect(page.locator("input[aria-label=Ticket][value='1187']")).to_have_count(0)  # the old field is gone
    expect(page.get_by_label("Ticket", exact=True)).to_have_value("")
    type_ticket(page, ticket="1188", weight="18,2 t", moisture="91", dockage="2")
    expect(page.get_by_text("moisture, %: 91 given; allowed a number from 2 to 30")).to_be_visible()
    page.get_by_role("button", name="Save 1 ticket for North half, east, 2026").click()
    expect(page.get_by_text("1 ticket added, 0 changed, 1 left (1188).")).to_be_visible()
    page.context.close()
    with open_records(program.records) as connection:
        saved = read_table(connection, "loads").select("ticket", "weight_kg", "moisture_pct", "dockage_pct").rows()
    assert saved == [("1187", 18620.0, 9.1, 2.5)]


def test_a_draft_outlives_the_browser_and_a_killed_server(browser: Browser, program: Program) -> None:
    page = open_screen(browser, program)
    type_ticket(page, ticket="1187", delivered="14 Sep", weight="18,62 t", moisture="9,1", dockage="2,5")
    expect(page.get_by_text("1187 = 18.15 t clean")).to_be_visible()
    page.context.close()
    program.kill()
    program.start()
    page = open_screen(browser, program)
    expect(page.get_by_text("This is your draft of")).to_be_visible()
    expect(page.get_by_label("Ticket", exact=True)).to_have_value("1187")
    expect(page.get_by_text("1187 = 18.15 t clean")).to_be_visible()
    page.context.close()


def test_on_a_phone_a_ticket_is_typed_without_sideways_scroll(browser: Browser, program: Program) -> None:
    page = open_screen(browser, program, width=390)
    type_ticket(page, ticket="1187", weight="18620 kg")
    expect(page.get_by_text("1187 = 18.62 t, dockage unknown, 20.53 bu/ac so far")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert page.locator("[data-testid=stMain]").evaluate("part => part.scrollWidth <= part.clientWidth")
    page.get_by_role("button", name="Save 1 ticket").click()
    expect(page.get_by_text("1 ticket added, 0 changed, 0 left.")).to_be_visible()
    page.context.close()
