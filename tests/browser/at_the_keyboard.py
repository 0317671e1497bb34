"""Typing into the entry screen as a person does, in a real browser: by keys alone, waiting only for what is seen."""

import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlencode

import polars as pl
from playwright.sync_api import Browser, Locator, Page, expect

from analytics.records.tables import TABLES
from analytics.storage.database import open_records, read_table
from analytics.storage.history import TableSave, save
from tests.browser.server import Server
from tests.browser.window import settled, window
from tests.prepared import begun

EAST = {"crop_year": 2026, "field": "North half", "plot": "east"}
WEST = {"crop_year": 2026, "field": "North half", "plot": "west"}
PAIR = {"crop_year": 2026, "pair": "7", "layout": "split field"} | {
    f"{side}_{part}": plot[part]
    for side, plot in (("standing", EAST), ("windrowed", WEST))
    for part in ("field", "plot")
}
FIELDS = ".pad input[data-column]:not([data-column=why])"
MOST_TABS = 60

Rows = list[dict[str, object]]


def new_farm(path: Path, **more: Rows) -> Path:
    """Records of one field in two halves of 40 acres, cut either way, and paired."""
    plots = [EAST | {"method": "standing", "acres": 40.0}, WEST | {"method": "windrowed", "acres": 40.0}]
    put(path, fields=[{"field": "North half"}], plots=plots, pairs=[PAIR], **more)
    return path


def put(path: Path, **tables: Rows) -> None:
    """Write rows as somebody else would."""
    frames = {name: pl.DataFrame(rows, schema=TABLES[name].polars_schema()) for name, rows in tables.items()}
    saves = [TableSave(table=TABLES[name], saved=frame, removed=frame.clear()) for name, frame in frames.items()]
    with begun(path) as connection:
        save(connection, saves, done_by="Neighbour", source="import")


def stored(path: Path, name: str, *columns: str) -> list[tuple[object, ...]]:
    """Rows of a table, in the order of their values."""
    with open_records(path) as connection:
        return read_table(connection, name).select(columns).sort(columns).rows()


@contextmanager
def entry_screen(browser: Browser, address: str, *, width: int = 1280, **link: str) -> Iterator[Page]:
    """The entry screen in a window of its own, at the place that `link` names."""
    with window(browser, address, width=width) as page:
        page.context.grant_permissions(["clipboard-read", "clipboard-write"])
        page.goto(f"/enter_records?{urlencode(link)}")
        expect(page.get_by_role("heading", name="What came in?")).to_be_visible()
        expect(first_field(page)).to_be_visible()
        settled(page)
        yield page


@contextmanager
def open_screen(browser: Browser, server: Server, path: str, question: str, width: int = 1280) -> Iterator[Page]:
    """A screen by its path, drawn whole under its question."""
    with window(browser, server.address, width=width) as page:
        page.goto(f"/{path}")
        expect(page.get_by_role("heading", name=question)).to_be_visible()
        settled(page)
        yield page


def first_field(page: Page) -> Locator:
    return page.locator(FIELDS).first


def tab_to(page: Page, wanted: Locator, *, key: str = "Tab") -> None:
    """Press Tab, or Shift+Tab, until `wanted` has the focus."""
    expect(wanted).to_be_enabled()
    for _ in range(MOST_TABS):
        if wanted.evaluate("part => part === part.getRootNode().activeElement"):
            return
        page.keyboard.press(key)
    raise AssertionError(f"{MOST_TABS} times {key} do not lead to {wanted}")


def choose(page: Page, label: str, words: str) -> None:
    """Another line of a list above the fields, by typing how it begins; the fields are then drawn anew."""
    box = page.get_by_role("combobox", name=label).first  # a field of the pad may have the same name
    if words in box.evaluate("box => box.value + box.closest('[data-testid=stSelectbox]').innerText"):
        return
    before = typed_at(page)
    tab_to(page, box, key="Shift+Tab")
    page.keyboard.type(words)
    expect(page.get_by_role("option").first).to_contain_text(words)
    page.keyboard.press("Enter")
    give_up_at = time.monotonic() + 60
    while typed_at(page) == before:
        assert time.monotonic() < give_up_at, f"the fields are still those of {before}"
        page.wait_for_timeout(50)
    settled(page)


def typed_at(page: Page) -> str:
    """The paper and place that the fields are for."""
    return str(page.locator(".pad").evaluate("part => part.pad.data.place"))


def type_row(page: Page, cells: Sequence[str], *, key: str = "Tab", delay: float = 0) -> None:
    """One row from its first field on, never waiting; of a list only the beginning of a line need be typed.

    delay : milliseconds between two keys
    """
    for text in cells:
        page.keyboard.type(text, delay=delay)
        page.keyboard.press(key)
        page.wait_for_timeout(delay)


def correct(page: Page, label: str, text: str) -> None:
    """Another text in a field, by keys."""
    field = page.get_by_label(label, exact=True)
    tab_to(page, field, key="Shift+Tab")
    page.keyboard.press("Control+A")
    page.keyboard.type(text)
    page.keyboard.press("Tab")


def next_row(page: Page, noun: str) -> None:
    """The button under the fields; the focus is back in the first of them, which is empty."""
    tab_to(page, page.get_by_role("button", name=f"Next {noun}"))
    page.keyboard.press("Enter")
    expect(first_field(page)).to_have_value("")
    expect(first_field(page)).to_be_focused()


def save_by_key(page: Page, words: str) -> None:
    """The save button by Tab and Enter; `words` is what the line after it says."""
    tab_to(page, page.locator(".pad .save"))
    page.keyboard.press("Enter")
    expect(page.get_by_text(words)).to_be_visible()
    settled(page)


def address_of(page: Page) -> Mapping[str, str]:
    """What the address names."""
    return dict(page.evaluate("Object.fromEntries(new URLSearchParams(location.search))"))
