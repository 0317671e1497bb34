"""Views that others are made of, worked out once for all that is read in a unit of work, or in a run of a screen.

The engine plans a view together with all views in it, each as often as it is named: 0.2 s for the measures of all
pairs, on a farm of 17 as of 1,200. So a reader works out the views of sql/worked_out into temporary tables of the same
names, one by one, and the views that are made of them read those: the engine looks for a name among a connection's own
tables first. Were it not so, a view would be worked out in one go, with the same rows.
"""

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import duckdb
import polars as pl

from analytics.storage.checkpoints import log_of
from analytics.storage.sql_texts import view_files, worked_out_files
from analytics.storage.transactions import writers_turn


class ViewReader:
    """Reads the records at `path` beside a connection, which sees none of its tables; for one thread.

    What was worked out holds until anybody saves. Nothing is saved without the log growing, and nothing moves it into
    the file while a connection is open.
    """

    def __init__(self, connection: duckdb.DuckDBPyConnection, path: Path) -> None:
        self._connection, self._path = connection, path
        self._tables: duckdb.DuckDBPyConnection | None = None
        self._worked_out: set[Path] = set()
        self._as_of: int | None = None  # length of the log; None where somebody was saving just then

    def frame(self, text: str, ask: Callable[[duckdb.DuckDBPyConnection], duckdb.DuckDBPyRelation]) -> pl.DataFrame:
        """The rows that `ask` finds, all of one moment; `text` names the views that it asks for."""
        asked = frozenset(_made_of().keys() & re.findall(r"\w+", text))
        needed = _needed(asked)
        if not needed and asked.isdisjoint(map(_view, self._worked_out)):
            return found_rows(ask(self._connection.cursor()))
        tables = self._of_one_moment()
        try:
            for file in needed:
                if file not in self._worked_out:
                    tables.execute(file.read_text(encoding="utf-8"), {"most": None})
                    self._worked_out.add(file)
            rows = found_rows(ask(tables))
            tables.execute("commit")
        except BaseException:
            self._forget()
            raise
        return rows

    def _of_one_moment(self) -> duckdb.DuckDBPyConnection:
        """A connection in a transaction, with what was worked out of that same state."""
        if self._tables is not None:
            self._tables.execute("begin")
            if self._as_of == self._length_of_log():  # looked at after the state was taken
                return self._tables
            self._forget()
        is_quiet = writers_turn.acquire(blocking=False)  # else the log may hold what cannot be seen yet
        try:
            self._as_of = self._length_of_log() if is_quiet else None
            self._tables = self._connection.cursor()
            self._tables.execute("begin")
        finally:
            if is_quiet:
                writers_turn.release()
        return self._tables

    def _forget(self) -> None:
        if self._tables is not None:
            self._tables.close()
        self._tables = None
        self._worked_out.clear()

    def _length_of_log(self) -> int:
        log = log_of(self._path)
        return log.stat().st_size if log.exists() else 0


def found_rows(relation: duckdb.DuckDBPyRelation) -> pl.DataFrame:
    """What a question finds."""
    rows: pl.DataFrame = relation.pl()
    return rows


@cache
def _made_of() -> dict[str, frozenset[str]]:
    """The views by name, in an order in which each stands after those that it reads, with all of those."""
    found: dict[str, frozenset[str]] = {}
    for file in view_files():
        read = found.keys() & re.findall(r"\w+", re.sub(r"--.*", "", file.read_text(encoding="utf-8")))
        found[_view(file)] = frozenset(read).union(*(found[name] for name in read))
    return found


@cache
def _needed(asked: frozenset[str]) -> tuple[Path, ...]:
    """What is worked out before these views are asked for: those among them that others of them read."""
    read = frozenset().union(*(_made_of()[name] for name in asked))
    return tuple(file for file in worked_out_files() if _view(file) in read)


def _view(file: Path) -> str:
    return file.stem.partition("_")[2]
