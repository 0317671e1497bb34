"""A dashboard that other machines can open, in a browser: what arrives before the passphrase, and what is logged."""

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from analytics.serving.passphrases import passphrases_path, set_passphrases
from analytics.settings import change_settings
from analytics.storage.database import open_records, read_table
from tests.browser.server import Server, serving
from tests.prepared import copied

FARM, LOOKING, WRITING = "Hillside", "grey owl on the east gate", "rain again before the lentils"


@pytest.fixture
def records(demo_records: Path, tmp_path: Path) -> Path:
    path = copied(demo_records, tmp_path / "records.duckdb")
    with open_records(path) as connection:
        change_settings(connection, {"farm_name": FARM}, done_by="test", why=None)
    set_passphrases(path, looking=LOOKING, writing=WRITING)
    return path


@pytest.fixture
def server(records: Path) -> Iterator[Server]:
    with serving(records, "--address", "0.0.0.0") as running:
        yield running


def come(page: Page, server: Server, screen: str, width: int) -> list[bytes]:
    """Before the door, as nobody who was let in; all that the server sends from now on."""
    page.context.clear_cookies()
    page.set_viewport_size({"width": width, "height": 900})
    arrived: list[bytes] = []
    page.on(
        "websocket",
        lambda line: line.on(
            "framereceived", lambda sent: arrived.append(sent.encode() if isinstance(sent, str) else sent)
        ),
    )
    page.goto(f"{server.address}/{screen}")
    expect(page.get_by_role("heading", name="What is the passphrase?")).to_be_visible()
    return arrived


def give(page: Page, passphrase: str) -> None:
    page.get_by_label("Passphrase", exact=True).fill(passphrase)
    page.keyboard.press("Enter")


def test_the_passphrase_opens_the_screen_that_was_asked_for_and_nothing_is_logged(
    browser: Browser, server: Server, records: Path
) -> None:
    with open_records(records) as connection:
        fields = read_table(connection, "fields")["field"].to_list()
    page = browser.new_context().new_page()
    page.set_default_timeout(60_000)
    arrived = come(page, server, "enter_records", width=390)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    give(page, "not the passphrase")
    expect(page.get_by_text("You have 4 more tries without waiting.")).to_be_visible()
    assert arrived == []  # no message comes through the gate
    assert not any(word in page.content() for word in (FARM, str(records), *fields))

    give(page, LOOKING)
    expect(page.get_by_role("heading", name="What came in?")).to_be_visible()
    expect(page.get_by_text("You may look; nothing can be changed from here.")).to_have_count(1)
    page.goto(f"{server.address}/gaps")
    expect(page.get_by_role("heading", name="What is missing?")).to_be_visible()
    expect(page.get_by_text(re.compile("|".join(map(re.escape, fields)))).first).to_be_visible()
    assert any(field.encode() in sent for sent in arrived for field in fields)  # so the search above could find it

    come(page, server, "settings", width=1280)
    give(page, WRITING)
    page.get_by_label("Farm name").fill("Lowland")
    page.get_by_role("button", name="Keep these settings").click()
    expect(page.get_by_role("heading", name="Lowland")).to_be_visible()
    page.context.close()

    kept = json.loads(passphrases_path(records).read_text(encoding="utf-8"))
    hashes = [one[part] for one in kept.values() for part in ("salt", "hash")]
    assert "the passphrase is asked for" in server.printed
    for secret in (LOOKING, WRITING, "not the passphrase", *hashes, FARM, "Lowland", "9001", *fields):
        assert secret not in server.printed
