"""The agronomist's last page, where there is something for it: the bins of the newest crop year that has any."""

from datetime import date

import duckdb

from analytics.bins.watched_bins import bin_alarms, read_bins
from analytics.sheet import printed_tables
from analytics.sheet.parts import Page, Section
from analytics.trade import cautions


def page(connection: duckdb.DuckDBPyConnection, made_on: date) -> tuple[Page, ...]:
    """The page, or none."""
    bins = _bins(connection, made_on)
    return (Page(top=bins, left=(), right=(), bottom=()),) if bins else ()


def _bins(connection: duckdb.DuckDBPyConnection, made_on: date) -> tuple[Section, ...]:
    watched = read_bins(connection)
    newest = [one for one in watched if one.crop_year == watched[0].crop_year]
    if not newest:
        return ()
    return (
        Section(
            heading=f"Bins of {newest[0].crop_year}",
            table=printed_tables.bins(newest),
            lines=(cautions.BINS,),
            bullets=(
                *bin_alarms(newest, made_on),
                *(f"{one.name} holds {one.holds_words}. {one.sentence_words}" for one in newest),
            ),
        ),
    )
