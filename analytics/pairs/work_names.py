"""Field work on record under a name that sounds like a job with a cost rate, which would then be charged twice."""

from collections.abc import Iterable

import duckdb

from analytics.storage.database import read_table
from analytics.trade.field_work import work_question


def work_questions(connection: duckdb.DuckDBPyConnection, names: Iterable[str] | None = None) -> tuple[str, ...]:
    """What to ask about field work of these names, each once, in order; without names, of all on record."""
    if names is None:
        names = read_table(connection, "operations")["operation"].drop_nulls().to_list()
    items = dict(read_table(connection, "operation_items").iter_rows())
    asked = (work_question(name, items) for name in sorted({*names}))
    return tuple(question for question in asked if question is not None)
