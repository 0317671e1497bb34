"""What the program makes of the rows typed so far: read, checked, and beside the records of this moment."""

from dataclasses import replace

import duckdb

from analytics.entry.loss_totals import loss_lacks
from analytics.entry.row_words import understood
from analytics.entry.saving import Entry, read_entry
from analytics.pairs.grading import may_heat
from analytics.records.columns import METHODS
from analytics.records.form import Records, Typed
from analytics.records.harvest_tables import LOSS_CHECKS
from analytics.records.last_season import copied_plots, offered_pairs
from analytics.records.papers import Paper
from analytics.storage import drafts
from analytics.storage.drafts import DraftPlace
from analytics.storage.tables_now import TablesNow
from dashboard.after_harvest.entry_sheet import Look, Sheet, fixed_by, keep_sheet, plots_of
from dashboard.frame import on_file


def look_at_rows(paper: Paper, sheet: Sheet) -> Look:
    """The typed rows against the records of this moment; what is typed is kept as a draft before."""
    under = look_key(sheet, on_file.state().last_act)
    if sheet.look is None or sheet.look.kept_under != under:

        def work(connection: duckdb.DuckDBPyConnection) -> Look:
            keep_sheet(connection, sheet)
            return look_now(connection, paper, sheet, under)

        sheet.look = on_file.read_records(work)
    return sheet.look


def look_key(sheet: Sheet, act: str) -> object:
    """What a look rests on beside the records; `act` is the last act on them."""
    settings = on_file.state().settings
    return act, sheet.rows, dict(sheet.units), sorted(sheet.mine), settings.yield_unit, settings.level


def look_now(connection: duckdb.DuckDBPyConnection, paper: Paper, sheet: Sheet, under: object) -> Look:
    """What the program makes of the rows as they are; `under` says what it is of."""
    records = TablesNow(connection)
    entry = entry_of(connection, records, paper, sheet)
    settings = on_file.state().settings
    makes = understood(paper.table, entry.rows, records, yield_unit=settings.yield_unit, level=settings.level)
    sound = [row.values for row in entry.rows if not row.refused]
    following = _next_place(paper, sheet.place)
    waiting = drafts.drafts_at(connection, following) if following else []
    is_named = any(reference.table == "fields" for reference in paper.table.references) or paper.table.name == "pairs"
    return Look(
        kept_under=under,
        entry=entry,
        makes=makes,
        fields=sorted(records["fields"]["field"]) if is_named and "field" not in fixed_by(paper, sheet.place) else [],
        may_heat=may_heat(connection, sound, jurisdiction=settings.grading, crop_year=sheet.place.crop_year),
        next_place=following,
        next_units=waiting[0].units if waiting else sheet.units,
        lacks=loss_lacks(entry.rows, records) if paper.table is LOSS_CHECKS else (),
        offers=_offers(records, paper, sheet),
    )


def _next_place(paper: Paper, place: DraftPlace) -> DraftPlace | None:
    """The plot after this one; None behind the last, and for a paper that is not of one plot."""
    plots = plots_of(place.crop_year)
    here = (place.field or "", place.plot or "")
    if not paper.is_of_a_plot or here not in plots[:-1]:
        return None
    field, plot = plots[plots.index(here) + 1]
    return replace(place, field=field, plot=plot)


def entry_of(connection: duckdb.DuckDBPyConnection, records: Records, paper: Paper, sheet: Sheet) -> Entry:
    """The typed rows read and checked against the records."""
    return read_entry(
        connection,
        paper,
        sheet.rows,
        records=records,
        fixed=fixed_by(paper, sheet.place),
        units=sheet.units,
        loaded=sheet.loaded,
        mine=sheet.mine,
        crop_year=sheet.place.crop_year,
        comma=on_file.state().settings.comma,
    )


def _offers(records: Records, paper: Paper, sheet: Sheet) -> dict[str, list[Typed]]:
    """What could be put in: the words of a button, and its rows. Each pair has its own, as not each may be wanted."""
    if paper.table.name == "plots":
        from_year, copies = copied_plots(records, crop_year=sheet.place.crop_year)
        typed = {(row.get("field"), row.get("plot")) for row in sheet.rows}
        copies = [row for row in copies if (row["field"], row["plot"]) not in typed]
        return {f"Copy {len(copies)} plots of {from_year}": copies} if copies else {}
    if paper.table.name == "pairs":
        put_in = {_sides(row) for row in sheet.rows}
        names = {row.get("pair") for row in sheet.rows}
        offered = offered_pairs(records, crop_year=sheet.place.crop_year)
        return {
            f"Put in as a pair: {offer.words}": [offer.typed]
            for offer in offered
            if _sides(offer.typed) not in put_in and offer.typed["pair"] not in names
        }
    return {}


def _sides(row: Typed) -> tuple[str, ...]:
    return tuple(row.get(f"{method}_{part}", "") for method in METHODS for part in ("field", "plot"))
