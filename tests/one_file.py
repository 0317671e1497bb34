"""One file for all who look at views or try a rule: its rows are laid in without an act, and taken out again."""

from collections.abc import Iterator

import duckdb
import pytest

from analytics.records.own_tables import SAVED_TABLES
from tests.prepared import begun
from tests.sql.two_halves import Tables, Tiny, lay_in


@pytest.fixture(scope="session")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection to records without a row."""
    with begun(tmp_path_factory.mktemp("views") / "records.duckdb", thrown_away=True) as connection:
        yield connection


@pytest.fixture
def tiny(shared: duckdb.DuckDBPyConnection) -> Iterator[Tiny]:
    """Call with {table: [row, ...]} for a connection to records of just these rows; what a row leaves out is blank.

    What the test itself saves goes too; its acts stay in the history.
    """

    def make(tables: Tables) -> duckdb.DuckDBPyConnection:
        lay_in(shared, tables)
        return shared

    yield make
    filled = "select table_name from duckdb_tables() where estimated_size > 0"
    for (name,) in shared.execute(filled).fetchall():
        if name in SAVED_TABLES:
            shared.execute(f"delete from {name}")  # noqa: S608 - names of our own
