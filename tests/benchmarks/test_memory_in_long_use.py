"""The memory of a server that is used all winter: two people look at every screen, choose, and a third saves."""

import random
import sys
from itertools import islice
from pathlib import Path

import polars as pl
import pytest

from analytics.records.harvest_tables import LOADS
from analytics.storage.database import open_records
from analytics.storage.history import TableSave, save
from tests.benchmarks.at_the_socket import Session, session
from tests.benchmarks.measured import memory_mb
from tests.benchmarks.table import FIRST
from tests.browser.server import running
from tests.prepared import copied

DASHBOARD = Path(__file__).resolve().parents[2] / "dashboard"
SCREENS = sorted(file.stem for file in DASHBOARD.glob("screens/[a-z]*.py"))
COMMAND = [sys.executable, "-c", "from analytics.start import main; main()", "serve", "--records"]  # as it is installed
RERUNS = 2_000
WARM = 100  # by then nearly every screen was shown and its libraries are loaded
EACH_SAVES = 10  # looks between two saves
EACH_LEAVES = 100  # looks after which somebody closes the page and another opens it
MAY_GROW_MB = 50


def save_a_ticket(records: Path, number: int) -> None:
    """As another program on this machine, so that everything that the screens keep is of yesterday."""
    with open_records(records) as connection:
        ((year, field, plot),) = connection.execute("select crop_year, field, plot from plots limit 1").fetchall()
        place = {"crop_year": year, "field": field, "plot": plot}
        ticket = place | {"ticket": f"LONG{number}", "weight_kg": 10_000.0, "moisture_pct": 9.0, "dockage_pct": 1.0}
        rows = pl.DataFrame([ticket], schema=LOADS.polars_schema())
        save(connection, [TableSave(table=LOADS, saved=rows, removed=rows.clear())], done_by="test", source="screen")


def look(page: Session, dice: random.Random) -> None:
    """Any screen anew, or something else chosen on the one that is there."""
    if page.choices and dice.random() < 0.5:
        page.seconds(page.screen, chosen={number: dice.choice(options) for number, options in page.choices.items()})
    else:
        screen = dice.choice(SCREENS)
        page.seconds("" if screen == FIRST else screen)
    assert page.errors == [], page.screen


@pytest.mark.slow
def test_two_thousand_looks_with_two_hundred_saves_let_the_memory_grow_by_less_than_50_mb(demo_records, tmp_path):
    records = copied(demo_records, tmp_path / "records.duckdb")
    dice = random.Random(15)
    at: dict[int, float] = {}
    reruns = iter(range(1, RERUNS + 1))
    with running([*COMMAND, str(records)], tmp_path / "printed.txt") as server, session(server.port) as stays:
        for _ in range(RERUNS // EACH_LEAVES):
            with session(server.port) as comes_and_goes:
                for rerun in islice(reruns, EACH_LEAVES):
                    if rerun % EACH_SAVES == 0:
                        save_a_ticket(records, rerun)
                    look(dice.choice((stays, comes_and_goes)), dice)
                    at[rerun] = memory_mb(server.pid)
    print({rerun: round(at[rerun]) for rerun in (1, WARM, *range(250, RERUNS + 1, 250))})
    assert at[RERUNS] - at[WARM] < MAY_GROW_MB, at
