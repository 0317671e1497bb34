"""The sheet for both readers at once."""

from datetime import date

import duckdb

from analytics.answer.review import review_all
from analytics.pairs.compared_pairs import pair_facts
from analytics.sheet.content import PrintedSheet, read_sheet
from analytics.sheet.reader import Reader
from analytics.statistics.results import Comparison
from analytics.storage.database import read_table
from analytics.trade.measures import MEASURES


def both_sheets(
    connection: duckdb.DuckDBPyConnection, made_on: date, compared: dict[str, Comparison] | None = None
) -> dict[Reader, PrintedSheet]:
    """The sheet for each reader, the pairs read and compared once for both; `compared` where they were already."""
    rows, facts = read_table(connection, "pair_measures").sort("crop_year", "pair"), pair_facts(connection)
    by_measure = {name: rows.filter(measure=name).drop("measure") for name in MEASURES if name in rows["measure"]}
    if compared is None:
        compared = review_all(connection, by_measure, facts)
    return {
        reader: read_sheet(connection, reader, made_on, compared=compared, rows=rows, facts=facts) for reader in Reader
    }
