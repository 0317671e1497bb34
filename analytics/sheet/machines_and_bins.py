"""The agronomist's last page, where there is something for it: machine hours, and the bins of the newest crop year that
has any.
"""

from collections.abc import Mapping
from datetime import date

import duckdb

from analytics.answer import wording
from analytics.answer.machine_wording import combine_line, windrower_free_words
from analytics.bins.watched_bins import bin_alarms, read_bins
from analytics.money.combine_capacity import HOURS_A_DAY, MachinesOnRecord, machines_on_record
from analytics.sheet import printed_tables
from analytics.sheet.parts import Page, Section
from analytics.statistics.results import Comparison
from analytics.trade import cautions
from analytics.trade.measures import IF_NOTED


def machines_and_bins_page(
    connection: duckdb.DuckDBPyConnection, known: Mapping[str, Comparison], made_on: date
) -> tuple[Page, ...]:
    """The page, or none. known : every measure with a pair, in the shown unit"""
    sections = (*_machines(connection, known), *_bins(connection, made_on))
    return (Page(top=sections, left=(), right=(), bottom=()),) if sections else ()


def _machines(connection: duckdb.DuckDBPyConnection, known: Mapping[str, Comparison]) -> tuple[Section, ...]:
    noted = {name: known[name] for name in IF_NOTED if name in known}
    if not noted:
        return ()
    return (
        Section(
            heading="Machines and volunteers, standing less windrowed",
            table=printed_tables.measures(noted),
            lines=tuple(wording.these_fields_sentence(comparison) for comparison in noted.values()),
        ),
        *_combine(machines_on_record(connection)),
    )


def _combine(found: MachinesOnRecord) -> tuple[Section, ...]:
    if not found.paces:
        return ()
    taken = [combine_line(one, hours_a_day=HOURS_A_DAY, days=one.first_days) for one in found.paces]
    said = f"{cautions.LONG_DAYS} {cautions.LEFT_STANDING}"
    free = windrower_free_words(found)
    return (
        Section(heading="How many acres one combine can take", lines=(said,), bullets=(*taken, *filter(None, [free]))),
    )


def _bins(connection: duckdb.DuckDBPyConnection, made_on: date) -> tuple[Section, ...]:
    watched = read_bins(connection, max(made_on, date.today()))  # a sheet of an earlier day is made of all there is
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
