"""One transaction helper: all of a block is saved or nothing of it, one writer at a time."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager

import duckdb

# Writers of one process take turns, so that a key checked in a transaction is still free when it commits.
writers_turn = threading.RLock()
_in_transaction: list[duckdb.DuckDBPyConnection] = []  # of the thread whose turn it is


@contextmanager
def transaction(connection: duckdb.DuckDBPyConnection) -> Iterator[None]:
    """All of the block or nothing of it.

    After an error inside a transaction DuckDB's commit saves nothing and says nothing, so any exception rolls back
    and goes on to the caller. Inside another transaction of the same connection the block becomes part of that one.
    read and read_table see what was committed before the outermost block, not what it has written.
    """
    with writers_turn:
        if any(one is connection for one in _in_transaction):
            yield
            return
        connection.execute("begin")
        _in_transaction.append(connection)
        try:
            yield
        except BaseException:
            connection.execute("rollback")
            raise
        else:
            connection.execute("commit")
        finally:
            _in_transaction.pop()
