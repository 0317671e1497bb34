"""Money and next season in a browser: the first line, the pictures, typing, and the width of a phone."""

import re

import pytest
from playwright.sync_api import expect


@pytest.mark.at_both_widths
def test_money_answers_first_draws_its_pictures_and_fits(page):
    page.goto("/money")
    expect(page.get_by_role("heading", name="Does it pay?")).to_be_visible()
    expect(page.get_by_text(re.compile("^Whether it pays is not settled")).first).to_be_visible()
    expect(page.get_by_role("heading", name="Where does the difference come from?")).to_be_visible()
    for picture in ("What standing gains or loses", "Net difference over price"):
        drawn = page.get_by_label(re.compile(picture)).first
        drawn.scroll_into_view_if_needed()
        expect(drawn).to_be_visible()
    assert fits(page)


@pytest.mark.slow
def test_a_price_per_bushel_is_questioned_by_keyboard_alone(page):
    page.goto("/money")
    box = page.get_by_role("textbox", name="Price, $ a tonne")
    box.fill("14.5")
    box.press("Enter")
    expect(page.get_by_text("Is it a price per bushel?")).to_be_visible()


@pytest.mark.at_both_widths
def test_next_season_says_what_a_plan_could_show_and_fits(page):
    page.goto("/next_season")
    expect(page.get_by_role("heading", name="How should next year's fields be cut?")).to_be_visible()
    expect(page.get_by_text(re.compile("^For 20")).first).to_be_visible()
    expect(page.get_by_text(re.compile("in 8 of 10 such trials")).first).to_be_visible()
    expect(page.get_by_role("button", name=re.compile("^Draw now and keep"))).to_be_visible()
    assert fits(page)


def fits(page):
    """Whether nothing has to be scrolled sideways."""
    return page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
