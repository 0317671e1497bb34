"""One pair in a browser, at a desk's width and a phone's: reached by a click, opened to its tickets, and back."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.at_the_keyboard import settled

PICTURE = "[data-testid='stVegaLiteChart'] svg.marks"
FACTS = ".pair-facts"


def fits(page: Page) -> bool:
    """Whether nothing has to be scrolled sideways."""
    return bool(page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"))


def test_answer_leads_to_a_pair_and_back(page: Page) -> None:
    page.goto("/")
    page.get_by_role("link", name=re.compile(r"^\w+, 20\d\d: ")).first.click()
    expect(page.get_by_role("heading", level=1)).to_have_text(re.compile(r"^Pair \w+, 20\d\d: what was different\?$"))
    expect(page.locator(FACTS).first).to_be_visible()
    assert fits(page)
    page.get_by_role("link", name="Back to what these records say").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("What do these records say?")


def test_one_measure_leads_to_a_pair_and_back(page: Page) -> None:
    page.goto("/one_measure")
    expect(page.locator(PICTURE).nth(1)).to_be_visible()  # above the fold that is opened
    page.get_by_text("Open a pair: both sides and their tickets").click()
    expect(page.get_by_role("link", name=re.compile(", 2020: ")).last).to_be_visible()  # links still move till then
    settled(page)
    page.get_by_role("link", name="H2, 2025: Willow quarter").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Pair H2, 2025: what was different?")
    page.get_by_role("link", name="Back to one measure").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("is there a difference?")


def test_what_differs_is_marked_both_pictures_are_there_and_a_number_opens_to_its_tickets(page: Page) -> None:
    page.goto("/one_pair?pair=H2%2C+2025%3A+Willow+quarter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Pair H2, 2025: what was different?")
    marked = page.locator(f"{FACTS} .marked")
    expect(marked.filter(has_text="The loads were weighed in different ways")).to_be_visible()
    expect(marked.filter(has_text="only 12 days from the product to the first cut")).to_be_visible()
    expect(page.locator("[data-testid=stVegaLiteChart]")).to_have_count(2)
    assert fits(page)
    ticket = page.locator(f"{FACTS} td", has_text="monitor 4634")
    row = page.locator(f"{FACTS} details", has_text="yield at 10.0\u202f% moisture")
    expect(ticket.first).to_be_hidden()
    row.locator("summary").click()
    expect(row.locator("td", has_text="monitor 4634")).to_be_visible()
    assert fits(page)


@pytest.mark.at_both_widths
def test_standing_stands_beside_windrowed_on_a_phone_too(page: Page) -> None:
    page.goto("/one_pair")
    row = page.locator(f"{FACTS} .fact .row").first
    expect(row).to_be_visible()
    standing, windrowed = row.evaluate(
        "row => [1, 2].map(place => { const box = row.children[place].getBoundingClientRect(); return [box.x, box.y] })"
    )
    assert standing[1] == windrowed[1]
    assert standing[0] < windrowed[0]
