"""Every screen of the demo under axe-core, which is the rule book of accessible pages (WCAG) as a program."""

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect

from tests.browser.conftest import WIDTHS
from tests.browser.server import Server

NOT_DRAWN_YET = "[data-testid='stVegaLiteChart']:not(:has(svg))"
# Streamlit's own: its list of pages and its box for files, which no setting of ours reaches.
STREAMLITS_OWN = {"list", "listitem", "presentation-role-conflict"}


def test_axe_finds_nothing_on_any_screen_but_streamlits_own(browser: Browser, server: Server) -> None:
    page = browser.new_context(viewport=WIDTHS["desk"], base_url=server.address).new_page()
    page.set_default_timeout(60_000)
    page.goto("/")
    links = page.get_by_test_id("stSidebar").get_by_role("link")
    expect(links.last).to_be_visible()
    addresses = list(dict.fromkeys(links.evaluate_all("links => links.map(link => link.href)")))
    assert len(addresses) >= 10
    found: dict[str, dict[str, object]] = {}
    for address in addresses:
        page.goto(address)
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        expect(page.locator("[data-testid=stApp][data-test-script-state=notRunning]")).to_be_visible()
        expect(page.locator(NOT_DRAWN_YET)).to_have_count(0)
        broken = Axe().run(page).response["violations"]
        found[address] = {
            rule["id"]: [node["target"] for node in rule["nodes"]]
            for rule in broken
            if rule["id"] not in STREAMLITS_OWN
        }
    page.context.close()
    assert {address: rules for address, rules in found.items() if rules} == {}
