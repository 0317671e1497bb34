"""The tables of the records at one moment, for work that looks at some of them and never at all."""

from collections.abc import Iterator, Mapping

import duckdb
import polars as pl

from analytics.records.tables import TABLES
from analytics.storage.database import read_table


class TablesNow(Mapping[str, pl.DataFrame]):
    """The tables of the records as they are now; each is read whole, once, when it is first asked for."""

    def __init__(self, connection: duckdb.DuckDBPyConnection) -> None:
        self._connection = connection
        self._read: dict[str, pl.DataFrame] = {}

    def __getitem__(self, name: str) -> pl.DataFrame:
        if name not in TABLES:
            raise KeyError(name)
        if name not in self._read:
            self._read[name] = read_table(self._connection, name)
        return self._read[name]

    def __iter__(self) -> Iterator[str]:
        return iter(TABLES)

    def __len__(self) -> int:
        return len(TABLES)
