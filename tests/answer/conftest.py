"""The demo farm is opened once for all tests of a file here, which only look at it."""

from collections.abc import Iterator
from pathlib import Path

import duckdb
import pytest

from analytics.storage.database import open_records


@pytest.fixture(scope="module")
def demo(demo_records: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection to the demo farm; what is worked out for one test serves the next."""
    with open_records(demo_records) as connection:
        yield connection
