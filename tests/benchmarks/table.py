"""Every speed and size that is promised, beside its yardstick in the same run:

    python -m tests.benchmarks.table
    python -m tests.benchmarks.table server browser     (only these parts)

Prints a table and fails when a line is past its limit. The limits leave room for a machine that does other things too;
what is aimed at stands beside each.
"""

import random
import shutil
import sys
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from urllib.parse import urlencode

import numpy as np
from playwright.sync_api import Browser, sync_playwright

from analytics.statistics.crossed import crossed_mean
from analytics.storage.database import open_records
from tests.benchmarks.at_the_socket import sessions
from tests.benchmarks.large_farm import keep, large_farm
from tests.benchmarks.measured import STANDROW, Measured, call_ms, memory_mb, program_cost, program_ms
from tests.browser.conftest import CHROMIUM_OPTIONS
from tests.browser.server import Server, running

SCREENS = (
    "enter_records",
    "bring_in_files",
    "gaps",
    "answer",
    "one_measure",
    "one_pair",
    "money",
    "next_season",
    "summary_sheet",
    "record_keeping",
    "settings",
)
FIRST = "answer"  # its address is the server's own
LOADS = 1_000_000
FILL_A_TABLE = """
import duckdb, sys
with duckdb.connect(sys.argv[1]) as plain:
    plain.execute("create table loads as select * from read_csv($file)", {"file": sys.argv[2]})
"""
LOADS_OF_A_SCREEN = 7
RERUNS = 100
TYPED = 8  # weights; the first is not counted
PARTS = ("start", "statistics", "import", "paper", "server", "browser")
DRAWN = """() => {
    const app = document.querySelector('[data-testid="stApp"]')
    const pictures = [...document.querySelectorAll('[data-testid="stVegaLiteChart"]')]
    return app && app.getAttribute('data-test-script-state') === 'notRunning'
        && document.querySelector('[data-testid="stMain"] h1')
        && !document.querySelector('[data-testid="stSkeleton"]')  // grey, where the part itself is still to come
        && pictures.every(one => one.querySelector('canvas, svg'))
        && !(document.querySelector('.st-key-rest')?.getBoundingClientRect().top < innerHeight)  // the window is full
}"""
WHOLE = "() => !document.querySelector('.st-key-rest')"
LONGEST = "one_measure"  # the screen with the most below the window

# Of a part of the page: when Tab was pressed last, and when the text of a line in it last became another.
WATCHED = """(part, line) => {
    const text = () => [...part.querySelectorAll(line)].map(one => one.textContent).join()
    let before = text()
    window.leftAt = window.toldAt = 0
    document.addEventListener('keydown', event => { if (event.key === 'Tab') window.leftAt = performance.now() }, true)
    new MutationObserver(() => {
        if (text() === before) return
        before = text()
        window.toldAt = performance.now()
    }).observe(part, {subtree: true, childList: true, characterData: true})
}"""


def start(folder: Path) -> Iterator[Measured]:
    """The command before it does anything, and one comparison."""
    standrow = str(Path(sys.executable).parent / "standrow")
    pairs = folder / "pairs.csv"
    noise = random.Random(3)
    rows = (f"{noise.gauss(40.5, 6):.2f},{noise.gauss(40, 6):.2f},{2010 + n % 10},F{n // 10}" for n in range(1000))
    pairs.write_text("\n".join(["standing,windrowed,crop_year,field", *rows]))
    imports = "import numpy, polars, scipy.special"
    plain, needed, shown, refused, compared = program_ms(
        [
            [sys.executable, "-c", "import typer, rich"],
            [sys.executable, "-c", imports],
            [standrow, "--help"],
            [standrow, "plan", "--nonsense"],
            [standrow, "compare", "--pairs", str(pairs)],
        ],
        repeats=5,
    )
    named = "importing typer and rich"
    yield Measured(
        what="standrow --help, processor time",
        yardstick_name=named,
        ours=shown,
        yardstick=plain,
        unit="ms",
        target="2 x",
        limit=2.5 * plain,
    )
    yield Measured(
        what="a wrong option, processor time",
        yardstick_name=named,
        ours=refused,
        yardstick=plain,
        unit="ms",
        target="2 x",
        limit=2.5 * plain,
    )
    yield Measured(
        what="compare --pairs of 1,000 rows, processor time",
        yardstick_name=imports.replace("import ", "importing "),
        ours=compared,
        yardstick=needed,
        unit="ms",
        target="1.5 x",
        limit=2 * needed,
    )


def paper(records: Path, folder: Path) -> Iterator[Measured]:
    """The banker's page from the command."""
    imports = "import numpy, polars, duckdb, scipy.special, typst"
    command = [str(Path(sys.executable).parent / "standrow"), "report", "-o", str(folder / "sheet.pdf")]
    needed, ours = program_ms(
        [[sys.executable, "-c", imports], [*command, "--for", "banker", "--records", str(records)]], repeats=3
    )
    yield Measured(
        what="banker's PDF of the farm of 20 seasons, processor time",
        yardstick_name=imports.replace("import ", "importing "),
        ours=ours,
        yardstick=needed,
        unit="ms",
        target="2 s",
        limit=8 * needed,
    )


def statistics() -> Iterator[Measured]:
    """Places that come back in years that differ, by Kenward and Roger."""
    random_ = np.random.default_rng(300)
    place, year = np.arange(300) % 60, np.arange(300) // 60
    values = random_.normal(1, 3, 300) + random_.normal(0, 2, 60)[place] + random_.normal(0, 2, 5)[year]
    square = random_.normal(size=(300, 300))
    whole = square @ square.T
    ours, yardstick = call_ms(
        [lambda: crossed_mean(values, year=year, place=place), lambda: np.linalg.eigh(whole)], repeats=5
    )
    yield Measured(
        what="Kenward and Roger for 300 field-years",
        yardstick_name="eigenvectors of a matrix of 300 x 300",
        ours=ours,
        yardstick=yardstick,
        unit="ms",
        target="100 ms",
        limit=10 * yardstick,
    )


def imports(folder: Path) -> Iterator[Measured]:
    """A million loads, read, checked, compared and saved with their history."""
    papers = folder / "papers"
    papers.mkdir()
    for name, rows in large_farm(seasons=20, fields=60, loads=LOADS // 2400).items():
        rows.write_csv(papers / f"{name}.csv")

    records, loads = str(folder / "imported.duckdb"), str(papers / "loads.csv")
    reading = program_cost([sys.executable, "-c", FILL_A_TABLE, str(folder / "plain.duckdb"), loads])
    ours = program_cost([*STANDROW, "import", str(papers), "--records", records])
    yield Measured(
        what=f"import of {LOADS:,} loads, processor time",
        yardstick_name="DuckDB's own reading of the file into a table",
        ours=ours.processor_ms,
        yardstick=reading.processor_ms,
        unit="ms",
        target="3 x",
        limit=7 * reading.processor_ms,
    )
    yield Measured(
        what="memory of that import at its highest",
        yardstick_name="that reading",
        ours=ours.memory_mb,
        yardstick=reading.memory_mb,
        unit="MB",
        target="700 MB",
        limit=800,
    )


def at_the_server(farm: Server, empty: Server) -> Iterator[Measured]:
    """A screen asked for again (as by a control), the memory after all of them, and its growth."""
    with sessions(farm.port, 2) as opened, sessions(empty.port, 1) as (nothing,):
        for screen in SCREENS:
            for one in opened:
                one.seconds("" if screen == FIRST else screen)
        after_all = memory_mb(farm.pid)
        plain = median(nothing.seconds() for _ in range(5)) * 1000
        for screen, queries in (
            ("one_measure", ("measure=yield", "measure=moisture")),
            ("money", ("",)),
            ("enter_records", ("",)),
        ):
            times = [opened[0].seconds(screen, query) for _ in range(4) for query in queries]
            yield _asked_again(f"{screen} after a control", times, plain)
        noise = random.Random(500)
        for _ in range(RERUNS):
            noise.choice(opened).seconds(noise.choice([screen for screen in SCREENS if screen != FIRST]))
        grown = memory_mb(farm.pid)
        errors = [error for one in opened for error in one.errors]
        if errors:
            raise SystemExit(f"a screen showed an error: {errors[0]}")
        yield Measured(
            what="server after every screen in two sessions",
            yardstick_name="server of the empty page",
            ours=after_all,
            yardstick=memory_mb(empty.pid),
            unit="MB",
            target="350 MB",
            limit=420,
        )
        yield Measured(
            what=f"server after {RERUNS} more",
            yardstick_name="before them",
            ours=grown,
            yardstick=after_all,
            unit="MB",
            target="no growth",
            limit=after_all + 50,
        )
        opened[0].seconds("one_measure")
        unit = next(number for number, options in opened[0].choices.items() if "kg/ha" in options)
        times = [opened[0].seconds("one_measure", "", {unit: chosen}) for chosen in ("kg/ha", "t/ha", "kg/ha", "bu/ac")]
        yield _asked_again("one_measure in another yield unit", times, plain)


def _asked_again(what: str, seconds: Sequence[float], plain: float) -> Measured:
    return Measured(
        what=what,
        yardstick_name="the empty page again",
        ours=median(seconds) * 1000,
        yardstick=plain,
        unit="ms",
        target="300 ms more",
        limit=1200,
    )


def in_the_browser(browser: Browser, farm: Server, empty: Server) -> Iterator[Measured]:
    """Each screen loaded anew until all is drawn that the window shows; the server has shown all of them before.

    Of the longest screen also how long the rest takes once somebody scrolls.
    """
    page = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()

    def load(address: str) -> None:
        page.goto(address)
        page.wait_for_function(DRAWN, timeout=120_000)

    load(empty.address)
    screens = [farm.address if screen == FIRST else f"{farm.address}/{screen}" for screen in SCREENS]
    plain, *times = call_ms(
        [partial(load, address) for address in (empty.address, *screens)], repeats=LOADS_OF_A_SCREEN
    )
    for screen, took in zip(SCREENS, times, strict=True):
        yield Measured(
            what=f"{screen} loaded anew",
            yardstick_name="the empty page",
            ours=took,
            yardstick=plain,
            unit="ms",
            target="1.5 x + 100 ms",
            limit=12 * plain,
        )

    def scroll() -> None:
        page.mouse.wheel(0, 100)
        page.wait_for_function(WHOLE, timeout=120_000)
        page.wait_for_function(DRAWN, timeout=120_000)

    page.mouse.move(700, 500)
    rest = []
    for _ in range(3):
        load(f"{farm.address}/{LONGEST}")
        rest += call_ms([scroll], repeats=1)
    yield Measured(
        what=f"{LONGEST} scrolled until all of it is drawn",
        yardstick_name="the empty page",
        ours=median(rest),
        yardstick=plain,
        unit="ms",
        target="what it was before, not more",
        limit=12 * plain,
    )


def typing(browser: Browser, farm: Server, empty: Server) -> Iterator[Measured]:
    """From the key that ends a field until the screen says what it understood."""

    def milliseconds(address: str, box: str, line: str, around: str, **beside: str) -> float:
        page = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
        page.goto(address)
        field = page.locator(box)
        field.wait_for(timeout=120_000)
        page.wait_for_function(DRAWN, timeout=120_000)
        for column, text in beside.items():
            page.locator(f".pad input[data-column={column}]").fill(text)
        page.locator(around).first.evaluate(WATCHED, line)
        took = []
        for number in range(TYPED):
            field.click()
            page.keyboard.press("Control+A")
            page.keyboard.type(str(5_000 + 10 * number))
            page.keyboard.press("Tab")
            page.wait_for_function("() => window.toldAt > window.leftAt", timeout=120_000)
            took.append(page.evaluate("() => window.toldAt - window.leftAt"))
            page.wait_for_timeout(500)  # nothing of the last one is under way
        page.context.close()
        return median(took[1:])

    place = urlencode({"paper": "loads", "crop_year": 2025, "field": "Field 01", "plot": "standing"})
    echo = milliseconds(f"{empty.address}/?echo=1", "input", "[data-testid=stMain] p", "[data-testid=stMain]")
    ours = milliseconds(
        f"{farm.address}/enter_records?{place}",
        ".pad input[data-column=weight_kg]",
        ".understood",
        ".pad",
        ticket="T1",
        moisture_pct="8",
        dockage_pct="1",
    )
    yield Measured(
        what="a weight typed in enter_records until it is understood",
        yardstick_name="a box of the empty page until it says the same",
        ours=ours,
        yardstick=echo,
        unit="ms",
        target="150 ms more",
        limit=echo + 1000,
    )


def told(lines: Iterator[Measured], past: list[str]) -> None:
    """Print each line as it is measured, and remember those past their limit."""
    for line in lines:
        print(line.words, flush=True)
        if line.ours > line.limit:
            past.append(f"{line.what}: {line.ours:,.0f} {line.unit}, at most {line.limit:,.0f}")


def main(parts: Sequence[str]) -> int:
    """The whole table, or the named parts of it; 1 when a line is past its limit."""
    if unknown := set(parts) - set(PARTS):
        raise SystemExit(f"{', '.join(sorted(unknown))} given; allowed any of {', '.join(PARTS)}, or none for all")
    asked, past = set(parts or PARTS), list[str]()
    print("| what | ours | yardstick in the same run | ratio | aimed at |\n| --- | --- | --- | --- | --- |")
    with TemporaryDirectory(prefix="standrow-benchmark-") as name:
        folder = Path(name)
        if "start" in asked:
            told(start(folder), past)
        if "statistics" in asked:
            told(statistics(), past)
        if "import" in asked:
            told(imports(folder), past)
        records = folder / "records.duckdb"
        with open_records(records, create=True) as connection:
            keep(connection, large_farm(seasons=20, fields=60, loads=12))
        if "paper" in asked:
            told(paper(records, folder), past)
        nothing = running([sys.executable, "-m", "tests.benchmarks.empty_page"], folder / "empty.txt")
        if asked & {"server", "browser"}:
            served = running(
                [*STANDROW, "serve", "--records", str(records)], folder / "served.txt"
            )  # as it is installed
            with served as farm, nothing as empty:
                told(at_the_server(farm, empty), past)
                if "browser" in asked:
                    with sync_playwright() as playwright:
                        browser = playwright.chromium.launch(executable_path=_chromium(), args=CHROMIUM_OPTIONS)
                        told(in_the_browser(browser, farm, empty), past)
                        told(typing(browser, farm, empty), past)
                        browser.close()
    for line in past:
        print(f"past its limit: {line}", file=sys.stderr)
    return 1 if past else 0


def _chromium() -> str:
    found = shutil.which("chromium")
    if found is None:
        raise SystemExit("there is no chromium on this machine; install it from the system's packages")
    return found


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
