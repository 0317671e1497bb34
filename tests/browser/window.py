"""A page of the browser for a test, as if nobody had used it before."""

from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Browser, Locator, Page, expect

MOST_KEPT = 2  # one for the demo's server, one for the server that all farms share
_kept: dict[tuple[Browser, str], Page] = {}


@contextmanager
def window(browser: Browser, address: str, *, width: int = 1280, height: int = 1000) -> Iterator[Page]:
    """A page for the program at an address, with nothing in it of the test before.

    To load the program takes the browser 2.2 s of processor time in a new page, and 0.7 s in one that has shown it
    before. So an address keeps one page; who opens a second beside it gets a new one. A script that is added to a page
    cannot be taken out of it again: a test that adds one makes a page of its own.
    """
    page = _kept.pop((browser, address), None) or browser.new_context(base_url=address).new_page()
    page.set_default_timeout(60_000)
    page.set_viewport_size({"width": width, "height": height})
    try:
        yield page
    except BaseException:
        page.context.close()
        raise
    if page.url.startswith(address):
        settled(page)  # so that no run of a screen meets the records of the next test
        page.evaluate("sessionStorage.clear(); localStorage.clear()")
    page.context.clear_cookies()
    page.goto("about:blank")
    if (browser, address) in _kept:
        page.context.close()
        return
    _kept[browser, address] = page
    while len(_kept) > MOST_KEPT:
        _kept.pop(next(iter(_kept))).context.close()


def follow(page: Page, link: Locator) -> None:
    """Follow a link to another screen, which takes the browser half of what loading it does."""
    heading = page.get_by_role("heading", level=1)
    before = heading.text_content() or ""
    link.dispatch_event("click")  # no mouse rests on it, which would open its help
    expect(heading).not_to_have_text(before)
    settled(page)


def settled(page: Page) -> None:
    """Wait until the screen answers no more."""
    expect(page.locator("[data-testid=stApp][data-test-script-state=notRunning]")).to_be_visible()
