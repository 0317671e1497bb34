"""Records for tests: the demo farm, and tiny ones of a few rows each."""

import gc
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from datetime import date
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import duckdb
import polars as pl
import pytest
from hypothesis import settings
from streamlit import config
from streamlit.components.v2 import manifest_scanner
from streamlit.testing.v1 import local_script_runner

from analytics.answer.review import review_all
from analytics.records.form import Table
from analytics.records.own_tables import SAVED_TABLES
from analytics.records.tables import TABLES
from analytics.serving.server import OPTIONS
from analytics.start import SEARCH_FOR_GARBAGE
from analytics.statistics.results import Comparison
from analytics.storage.database import open_records
from analytics.storage.history import TableSave, save
from tests.prepared import begun

if TYPE_CHECKING:
    from analytics.pool.group_files import GroupRows
    from analytics.pool.group_review import GroupMeasure
    from analytics.sheet.content import PrintedSheet
    from analytics.sheet.reader import Reader

# As in the program: what is loaded stays, so a search for garbage seldom finds any.
gc.set_threshold(*SEARCH_FOR_GARBAGE)

SAMPLE_RECORDS = Path(__file__).resolve().parents[1] / "sample_records"

# Screens run without a server in tests, and ask for no passphrase only where the server is for this machine alone.
config.set_option("server.address", "127.0.0.1")

# As served, and cheaper than the framework's own ways.
for option in ("runner.magicEnabled", "runner.postScriptGC", "browser.gatherUsageStats"):
    config.set_option(option, OPTIONS[option])

# Each run of a screen looks through all installed packages for parts that they bring to screens; once is enough.
manifest_scanner.scan_component_manifests = cache(manifest_scanner.scan_component_manifests)


def _waited_for(runner: local_script_runner.LocalScriptRunner, timeout: float = 3) -> None:
    runner._script_thread.join(timeout)
    assert runner.script_stopped(), f"a run of a screen took more than {timeout} s"


# A run of a screen is waited for by its thread, not by looking a thousand times a second whether it is over.
local_script_runner.require_widgets_deltas = _waited_for

# How long a machine takes is never tested: a busy one is slow, which is no fault. A few random examples in each run;
# the many with --hypothesis-profile many.
settings.register_profile("standrow", deadline=None, max_examples=12)
settings.register_profile("many", deadline=None, max_examples=1_000)
settings.load_profile("standrow")

Rows = list[dict[str, object]]


def write(connection: duckdb.DuckDBPyConnection, tables: dict[str, pl.DataFrame]) -> None:
    saves = [TableSave(table=SAVED_TABLES[name], saved=rows, removed=rows.clear()) for name, rows in tables.items()]
    save(connection, saves, done_by="test", source="import")


@contextmanager
def small_records(path: Path, tables: dict[str, Rows]) -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection to new records of just these rows, {table: [row, ...]}; what a row leaves out is blank."""
    with begun(path, thrown_away=True) as connection:
        write(
            connection,
            {name: pl.DataFrame(rows, schema=SAVED_TABLES[name].polars_schema()) for name, rows in tables.items()},
        )
        yield connection


def read_csv(table: Table, file: Path) -> pl.DataFrame:
    """A file of the demo farm, whose CSV is in ISO form throughout; a column that it does not have is blank."""

    def typed(name: str, kind: type[pl.DataType]) -> pl.Expr:
        if kind == pl.Date:
            return pl.col(name).str.to_date()
        return pl.col(name) == "yes" if kind == pl.Boolean else pl.col(name).cast(kind)

    rows = pl.read_csv(file, infer_schema=False)
    return rows.select(
        typed(name, kind).alias(name) if name in rows.columns else pl.lit(None, dtype=kind).alias(name)
        for name, kind in table.polars_schema().items()
    )


@pytest.fixture(scope="session")
def demo_records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A file with the demo farm; read only, whoever changes it copies it first."""
    path = tmp_path_factory.mktemp("demo") / "records.duckdb"
    with begun(path) as connection:
        write(
            connection,
            {
                name: read_csv(table, SAMPLE_RECORDS / f"{name}.csv")
                for name, table in TABLES.items()
                if (SAMPLE_RECORDS / f"{name}.csv").exists()
            },
        )
    with open_records(path):  # makes the backup of the day, which is copied with it
        return path


@pytest.fixture
def demo(demo_records: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection to the demo farm."""
    with open_records(demo_records) as connection:
        yield connection


@pytest.fixture(scope="session")
def demo_sheets(demo_records: Path, compared: dict[str, Comparison]) -> "dict[Reader, PrintedSheet]":
    """The sheet of the demo farm for each reader, of 2026-01-15."""
    from tests.sheets import both_sheets  # which loads much that most tests do without

    with open_records(demo_records) as connection:
        return both_sheets(connection, date(2026, 1, 15), compared)


@pytest.fixture(scope="session")
def compared(demo_records: Path) -> dict[str, Comparison]:
    """Every measure of the demo farm, compared once for all who look at it."""
    with open_records(demo_records) as connection:
        return review_all(connection)


@pytest.fixture(scope="session")
def reviewed_group() -> "tuple[GroupRows, dict[str, GroupMeasure]]":
    """The generated group of twelve farms, as its share files say, and every measure of it."""
    from analytics.pool.group_files import read_group_uploads  # loads much that most tests do without
    from analytics.pool.group_review import review_group
    from sample_records.make_demo_group import shares

    group = read_group_uploads((f"{code}.csv", rows.write_csv().encode()) for code, rows in shares().items())
    return group, review_group(group)


@pytest.fixture
def connection(tmp_path: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection to records without a row."""
    with begun(tmp_path / "records.duckdb", thrown_away=True) as connection:
        yield connection


@pytest.fixture
def tiny(tmp_path: Path) -> Iterator[Callable[[dict[str, Rows]], duckdb.DuckDBPyConnection]]:
    """Call with {table: [row, ...]} for a connection to records of just these rows, as from small_records."""
    with ExitStack() as stack:
        yield lambda tables: stack.enter_context(small_records(tmp_path / "tiny.duckdb", tables))


@pytest.fixture
def add() -> Callable[..., None]:
    """add(connection, table, row, ...): save rows given as dicts; what a row leaves out is blank."""

    def add_rows(connection: duckdb.DuckDBPyConnection, table: Table, *rows: dict[str, object]) -> None:
        frame = pl.DataFrame(rows, schema=table.polars_schema())
        save(connection, [TableSave(table=table, saved=frame, removed=frame.clear())], done_by="test", source="screen")

    return add_rows
