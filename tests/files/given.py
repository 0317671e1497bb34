"""Files given as names and contents, checked as an import checks them."""

from collections.abc import Sequence

from analytics.files import text_tables
from analytics.files.import_plan import Incoming, check_incoming
from analytics.records.own_tables import SAVED_TABLES


def incoming_of(files: Sequence[tuple[str, bytes]]) -> Incoming:
    """The tables of CSV files or a workbook, typed and checked."""
    found = text_tables.read_files(files, SAVED_TABLES)
    return check_incoming(found, found.tables)
