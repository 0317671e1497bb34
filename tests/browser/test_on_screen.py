"""The program as README starts it, read off the screen at a desk's and at a phone's width."""

import re
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import REST

PICTURE = "[data-testid='stVegaLiteChart'] svg.marks"
ALL_MEASURES = ".st-key-all_measures svg.marks"  # the second picture of the answer; the first says what carries it
NOTHING_BY_ITSELF = "const wait = setTimeout; setTimeout = (act, ms, ...of) => ms === 1000 ? 0 : wait(act, ms, ...of)"
LISTENING = "0A"  # the state of a listening socket in /proc/net/tcp


def open_answer(page: Page) -> None:
    page.goto("/")
    expect(page.get_by_role("heading", name="What do these records say?")).to_be_visible()
    expect(page.locator(ALL_MEASURES)).to_be_visible()


def width_of_content(page: Page) -> int:
    """How wide the page would have to be to show everything without scrolling sideways."""
    return int(
        page.evaluate(
            "Math.max(document.documentElement.scrollWidth,"
            " ...[...document.querySelectorAll('[data-testid=stMain], [data-testid=stMainBlockContainer]')]"
            ".map(part => part.getBoundingClientRect().left + part.scrollWidth))"
        )
    )


def looks_right(page: Page) -> None:
    """Nothing runs over the side, no error is told, and nothing would send the program elsewhere."""
    assert page.viewport_size
    assert width_of_content(page) <= page.viewport_size["width"]
    for nothing in (page.get_by_test_id("stException"), page.get_by_test_id("stAlert"), page.get_by_text("Deploy")):
        expect(nothing).to_have_count(0)


@pytest.mark.at_both_widths
def test_the_answer_of_the_terminal_and_the_picture_are_seen_without_scrolling(page: Page, demo_sentence: str) -> None:
    open_answer(page)
    expect(page.locator(".st-key-finding")).to_have_text(demo_sentence)
    expect(page.locator(".st-key-finding")).to_be_in_viewport(ratio=1)
    expect(page.locator(PICTURE).first).to_be_in_viewport()
    for words in ("Yield, bu/ac", "Green seed, points", "Loss, bu/ac", "Net return, $/ac"):
        expect(page.locator(ALL_MEASURES).get_by_text(words, exact=True)).to_be_visible()
    expect(page.locator(ALL_MEASURES).get_by_text("← better")).to_be_visible()
    looks_right(page)


def test_a_link_under_the_picture_opens_the_measure_and_back_returns(page: Page) -> None:
    open_answer(page)
    for measure in ("Yield", "Green seed", "Days to harvest"):
        page.get_by_role("link", name=measure, exact=True).click()
        expect(page.get_by_role("heading", name=f"{measure}: is there a difference?")).to_be_visible()
        page.go_back()
        expect(page.get_by_role("heading", name="What do these records say?")).to_be_visible()


@pytest.mark.at_both_widths
def test_a_click_on_a_row_of_the_picture_opens_its_measure(page: Page) -> None:
    open_answer(page)
    label = page.locator(ALL_MEASURES).get_by_text("Loss, bu/ac", exact=True)
    label.scroll_into_view_if_needed()
    row, picture = label.bounding_box(), page.locator(ALL_MEASURES).bounding_box()
    assert row
    assert picture
    page.mouse.click(picture["x"] + picture["width"] * 0.9, row["y"] + row["height"] / 2)
    expect(page.get_by_role("heading", name="Loss: is there a difference?")).to_be_visible()


def test_no_request_leaves_this_machine_or_asks_for_what_is_not_there(own_page: Page) -> None:
    """A page that looks for its server where it is not waits a tenth of a second before it looks again."""
    page = own_page  # which keeps nothing yet that it need not ask for
    hosts, not_there = set(), []
    page.on("request", lambda request: hosts.add(urlsplit(request.url).hostname))
    page.on("websocket", lambda socket: hosts.add(urlsplit(socket.url).hostname))
    page.on("response", lambda response: not_there.append(response.url) if response.status >= 400 else None)
    open_answer(page)
    page.goto("/one_measure")
    expect(page.locator(PICTURE).nth(1)).to_be_visible()
    assert hosts - {None} == {"127.0.0.1"}
    assert not_there == []


def test_what_lies_below_the_window_comes_when_somebody_scrolls_and_stays_after_a_control(own_page: Page) -> None:
    page = own_page
    page.add_init_script(NOTHING_BY_ITSELF)
    page.goto("/one_measure")
    expect(page.locator(PICTURE)).to_have_count(1)
    expect(page.get_by_role("button", name="Show the rest of this screen")).not_to_be_in_viewport()
    page.mouse.move(700, 500)
    page.mouse.wheel(0, 200)
    expect(page.locator(PICTURE).nth(4)).to_be_visible()
    expect(page.locator(REST)).to_have_count(0)
    page.mouse.wheel(0, -200)
    expect(page.get_by_role("heading", level=1)).to_be_in_viewport()
    page.get_by_role("combobox", name="Measure").click()
    page.get_by_role("option", name="Moisture").click()
    expect(page.get_by_role("heading", name="Moisture: is there a difference?")).to_be_visible()
    expect(page.get_by_role("heading", name="Which pairs differ, and which way?")).to_be_visible()
    expect(page.locator(REST)).to_have_count(0)


def test_going_back_leaves_a_measure_that_was_picked_from_the_list(page: Page) -> None:
    open_answer(page)
    page.get_by_role("link", name="Loss", exact=True).click()
    expect(page.get_by_role("heading", name="Loss: is there a difference?")).to_be_visible()
    page.get_by_role("combobox", name="Measure").click()
    page.get_by_role("option", name="Moisture").click()
    expect(page.get_by_role("heading", name="Moisture: is there a difference?")).to_be_visible()
    page.go_back()
    expect(page.get_by_role("heading", name="Loss: is there a difference?")).to_be_visible()
    page.go_back()
    expect(page.get_by_role("heading", name="What do these records say?")).to_be_visible()


def test_a_measure_has_an_address_of_its_own(page: Page) -> None:
    page.goto("/one_measure?measure=moisture")
    expect(page.get_by_role("heading", name="Moisture: is there a difference?")).to_be_visible()


@pytest.mark.at_both_widths
def test_the_names_of_every_pair_can_be_read_and_the_settings_fit(page: Page) -> None:
    page.goto("/one_measure")
    expect(page.locator(PICTURE).nth(1)).to_be_visible()
    labels = [text for text in page.locator(f"{PICTURE} text").all_text_contents() if text]
    assert any(label.startswith("North half") for label in labels)
    assert not [label for label in labels if "…" in label]
    looks_right(page)
    page.goto("/settings")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    looks_right(page)


@pytest.mark.slow
def test_a_level_is_changed_with_a_reason_and_then_changed_back(page: Page) -> None:
    for level in ("90", "95"):
        page.goto("/settings")
        page.get_by_role("combobox", name=re.compile("How often a range must be right")).click()
        page.get_by_role("option", name=re.compile(level)).click()
        page.get_by_label(re.compile("^Why")).fill(f"Trying {level}")
        page.get_by_role("button", name="Keep these settings").click()
        expect(page.get_by_text(f": Trying {level}).").first).to_be_visible()


@pytest.mark.skipif(not Path("/proc/net/tcp").exists(), reason="only Linux tells what a process listens on this way")
def test_the_program_listens_on_this_machine_alone(server_port: int) -> None:
    addresses = set()
    for table in ("tcp", "tcp6"):
        for line in Path(f"/proc/net/{table}").read_text().splitlines()[1:]:
            _, local, _, state, *_ = line.split()
            address, port = local.split(":")
            if state == LISTENING and int(port, 16) == server_port:
                addresses.add(address)
    assert addresses == {"0100007F"}  # 127.0.0.1, lowest byte first
