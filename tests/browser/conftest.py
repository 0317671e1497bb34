"""The program started as README says, and a browser to look at it.

Where there is no browser these tests are skipped with the reason; with CI set they fail instead.
"""

import os
import re
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Error, Page, expect, sync_playwright

from tests.browser.server import Server, running
from tests.browser.window import window

# Chromium's own connections to the outside are none of ours; without these it would try them.
CHROMIUM_OPTIONS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
expect.set_options(timeout=30_000)  # the first picture waits for every comparison, on a busy machine too
REST = ".st-key-rest"  # stands for what lies below the window until the page asks for it, after a second at the most
WIDTHS = {"desk": {"width": 1280, "height": 900}, "phone": {"width": 390, "height": 844}}


def cannot(reason: str) -> None:
    """A browser test that cannot run fails in CI and is skipped elsewhere."""
    if os.environ.get("CI"):
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """`standrow demo`, on a free port, stopped at the end."""
    command = shutil.which("standrow", path=str(Path(sys.executable).parent))
    if command is None:
        cannot("the command standrow is not installed beside this Python")
    log = tmp_path_factory.mktemp("server") / "printed.txt"
    with running([str(command), "demo"], log) as demo:
        yield demo


@pytest.fixture(scope="session")
def farms_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Server, Path]]:
    """The server that shows the farms of all tests, one after the other, and the folder where it looks for records."""
    folder = tmp_path_factory.mktemp("farms")
    (folder / "shown").mkdir()
    command = [sys.executable, "-m", "analytics.cli", "serve", "--records", str(folder / "shown" / "records.duckdb")]
    with running(command, folder / "printed.txt") as server:
        yield server, folder / "shown"


@pytest.fixture
def serve(farms_server: tuple[Server, Path]) -> Callable[[Path], Server]:
    """serve(records): the server that all farms share shows these from now on."""
    server, shown = farms_server

    def show(records: Path) -> Server:
        if shown.is_symlink():
            shown.unlink()
        else:
            shutil.rmtree(shown)
        shown.symlink_to(records.parent)
        return server

    return show


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The system's Chromium."""
    found = shutil.which("chromium")
    if found is None:
        cannot("there is no chromium on this machine; install it from the system's packages")
    with sync_playwright() as playwright:
        try:
            launched = playwright.chromium.launch(executable_path=found, args=CHROMIUM_OPTIONS)
        except Error as problem:
            cannot(f"chromium does not start: {problem}")
        yield launched
        launched.close()


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """A test marked at_both_widths runs as on a phone, the narrower; in the long form as on a desk too."""
    if metafunc.definition.get_closest_marker("at_both_widths"):
        metafunc.parametrize("page", ["phone", pytest.param("desk", marks=pytest.mark.slow)], indirect=True)


@pytest.fixture
def page(request: pytest.FixtureRequest, browser: Browser, server: Server) -> Iterator[Page]:
    """A page on the demo as wide as a desk's screen, or as a phone's where a test asks for both."""
    with window(browser, server.address, **WIDTHS[getattr(request, "param", "desk")]) as page:
        yield page


@pytest.fixture(scope="module")
def own_page(browser: Browser, server: Server) -> Iterator[Page]:
    """A page that keeps nothing of the program yet, and may be left with a script in it by the last who asks for it."""
    context = browser.new_context(viewport=WIDTHS["desk"], base_url=server.address)
    yield context.new_page()
    context.close()


@pytest.fixture
def demo_sentence(server: Server) -> str:
    """The answer that the demo printed in the terminal."""
    found = re.search(r"^(.+)\nWhat carries it", server.printed, flags=re.MULTILINE)
    assert found, f"the demo printed no answer:\n{server.printed}"
    return found[1].strip()


@pytest.fixture
def server_port(server: Server) -> int:
    """The port that the demo was told to use."""
    return server.port
