"""What the entry screen keeps between runs: the sheet being typed, its draft, and how it is opened and left."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from uuid import uuid4

import duckdb
import polars as pl
import streamlit as st

from analytics.entry.saving import Entry
from analytics.entry.typed_rows import as_typed
from analytics.records.form import Records, Typed
from analytics.records.papers import Paper
from analytics.storage import drafts
from analytics.storage.drafts import Draft, DraftPlace
from analytics.storage.tables_now import TablesNow
from dashboard.frame import on_file

SHEET, GO_TO = "entry_sheet", "entry_go_to"
NEW_ROW = -1  # where the fields are for a row that is not there yet


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """The typed rows beside the records of one moment, a line for each row that says what it makes, names on record
    for columns that take one, and what could be put in at once: rows under the words of a button.

    kept_under : what it is of; while that stays the same, so does the look
    may_heat : whether any of the rows is of canola that may heat in the bin
    lacks : what the typed papers lack to say anything, while the pans are still at hand
    next_place, next_units : the plot after this one, None behind the last, and the units in which it will be typed
    """

    kept_under: object
    entry: Entry
    makes: list[str]
    fields: list[str]
    may_heat: bool
    next_place: DraftPlace | None
    next_units: Mapping[str, str]
    lacks: Sequence[str] = ()
    offers: Mapping[str, Sequence[Typed]] = field(default_factory=dict)


@dataclass(kw_only=True)
class Sheet:
    """The rows of one paper and place as typed so far. A new `number` tells the pad to take them anew.

    at : place among `rows` of the one to open, or NEW_ROW
    window, typed : which load of the page types here, and how far it was when Python last heard of it
    onto : marks of drafts that this typing goes on from
    draft : what is kept of it; `others` are those of other windows at the same place, `thrown` can be brought back
    done : what the save before this sheet did
    """

    place: DraftPlace
    rows: list[Typed]
    loaded: list[Typed]
    units: dict[str, str]
    draft: Draft | None
    others: list[Draft]
    thrown: Draft | None
    number: str = field(default_factory=lambda: uuid4().hex)
    at: int = NEW_ROW
    window: str = ""
    typed: int = 0
    onto: set[str] = field(default_factory=set)
    mine: set[str] = field(default_factory=set)
    done: str = ""
    look: Look | None = None

    @property
    def mark(self) -> str:
        """How far the typing of this window is, as a draft keeps it."""
        return f"{self.window}:{self.typed}" if self.window else f"{self.number}:0"


def plots_of(crop_year: int) -> list[tuple[str, str]]:
    """Field and plot of each plot of a crop year."""
    return [(field, plot) for year, field, plot in on_file.state().plots if year == crop_year]


def now() -> Sheet | None:
    """The sheet that this browser types on, if any."""
    sheet: Sheet | None = st.session_state.get(SHEET)
    return sheet


def open_sheet(paper: Paper, place: DraftPlace) -> Sheet:
    """The sheet of this place: as it stands in this browser, else the newest draft, else the rows on record."""
    sheet = now()
    if sheet is not None and sheet.place != place and replace(sheet.place, typed_by=place.typed_by) == place:
        _rename(sheet, place)
    if sheet is None or sheet.place != place:
        before = sheet

        def work(connection: duckdb.DuckDBPyConnection) -> Sheet:
            if before is not None:
                keep_sheet(connection, before)
            return sheet_of(connection, place, on_record(TablesNow(connection), paper, place))

        sheet = on_file.read_records(work)
        if before is not None and before.place.paper == place.paper and sheet.draft is None:
            sheet.units = dict(before.units)  # a farm has one scale; rows on record name their own unit
        sheet.at = row_to_open(paper, sheet, st.session_state.pop(GO_TO, None))
        st.session_state[SHEET] = sheet
    return sheet


def row_to_open(paper: Paper, sheet: Sheet, asked: str | None) -> int:
    """The row asked for by its name; else the last one typed and not saved yet, else a new one."""
    if asked is not None:
        names = [name_of(paper, row, sheet) for row in sheet.rows]
        return names.index(asked) if asked in names else NEW_ROW
    return len(sheet.rows) - 1 if sheet.rows and sheet.rows[-1] not in sheet.loaded else NEW_ROW


def _rename(sheet: Sheet, place: DraftPlace) -> None:
    """A name typed in the middle of the work takes the work along; drafts under that name stay beside it."""
    before, sheet.place = sheet.place, place
    if on_file.may_write():
        on_file.write_records(lambda connection: drafts.move_drafts(connection, before, place))
        see_drafts(sheet)


def see_drafts(sheet: Sheet) -> None:
    """Take note of the drafts at this place as they are now."""

    def work(connection: duckdb.DuckDBPyConnection) -> None:
        _note_drafts(connection, sheet)

    on_file.read_records(work)


def _note_drafts(connection: duckdb.DuckDBPyConnection, sheet: Sheet) -> None:
    mark = sheet.draft.mark if sheet.draft else None
    here = drafts.drafts_at(connection, sheet.place)
    sheet.draft = next((draft for draft in here if draft.mark == mark), None)
    sheet.others = [draft for draft in here if draft.mark != mark and draft.waiting]
    sheet.thrown = drafts.thrown_away(connection, sheet.place)


def leave_sheet() -> None:
    """Keep what was typed, and forget what this browser holds."""
    sheet = now()
    if sheet is not None:
        on_file.read_records(lambda connection: keep_sheet(connection, sheet))
        forget_sheet()


def forget_sheet() -> None:
    """Forget what this browser holds; the next run reads the draft and the records."""
    st.session_state.pop(SHEET, None)


def sheet_of(connection: duckdb.DuckDBPyConnection, place: DraftPlace, loaded: list[Typed]) -> Sheet:
    """The sheet of a place anew: the newest draft there, else the rows on record."""
    here = drafts.drafts_at(connection, place)
    draft = here[0] if here else None
    window, _, typed = draft.mark.partition(":") if draft else ("", "", "")
    return Sheet(
        place=place,
        rows=without_blanks(draft.rows) if draft else loaded,
        loaded=without_blanks(draft.loaded) if draft else loaded,
        units=dict(draft.units) if draft else {},
        draft=draft,
        others=[other for other in here[1:] if other.waiting],
        thrown=drafts.thrown_away(connection, place),
        window=window,
        typed=int(typed) if typed.isdecimal() else 0,
    )


def fixed_by(paper: Paper, place: DraftPlace) -> dict[str, object]:
    """What the place fixes in every row of the paper."""
    return paper.place(place.crop_year, place.field, place.plot)


def on_record(records: Records, paper: Paper, place: DraftPlace) -> list[Typed]:
    """The rows on record at a place, as they would be typed."""
    fixed = fixed_by(paper, place)
    rows = records[paper.table.name].sort(paper.table.key)
    if fixed:
        rows = rows.filter(pl.all_horizontal(pl.col(name) == pl.lit(value) for name, value in fixed.items()))
    if "happened_on" in paper.table.key:
        rows = rows.filter(pl.col("happened_on").dt.year() == place.crop_year)
    return without_blanks([as_typed(row, paper.table, fixed) for row in rows.iter_rows(named=True)])


def without_blanks(rows: Sequence[Typed]) -> list[Typed]:
    """The rows with anything typed, and of each the cells with a text, so that rows of one content are equal."""
    texts = [{name: text for name, text in row.items() if text.strip()} for row in rows]
    return [row for row in texts if row]


def keep_sheet(connection: duckdb.DuckDBPyConnection, sheet: Sheet) -> None:
    """Keep what is typed as a draft, when it is something else than what is kept or on record."""
    rows = without_blanks(sheet.rows)
    kept = (list(sheet.draft.rows), dict(sheet.draft.units)) if sheet.draft else (sheet.loaded, {})
    if not on_file.may_write() or (rows, sheet.units) == kept or (sheet.draft is None and rows == sheet.loaded):
        return
    onto = {sheet.draft.mark} if sheet.draft else set()
    drafts.keep_draft(
        connection,
        sheet.place,
        rows=rows,
        loaded=sheet.loaded,
        units=sheet.units,
        mark=sheet.mark,
        onto=onto | sheet.onto,
    )
    here = drafts.drafts_at(connection, sheet.place)
    sheet.draft = next(draft for draft in here if draft.mark == sheet.mark)
    sheet.others = [draft for draft in here if draft.mark != sheet.mark and draft.waiting]
    if rows == sheet.loaded:  # all taken back; a draft of nothing would be a riddle
        drafts.drop_draft(connection, sheet.draft)
        sheet.draft = None


def name_of(paper: Paper, row: Typed, sheet: Sheet) -> str:
    """The key of a row as it is typed, without what the place fixes."""
    fixed = fixed_by(paper, sheet.place)
    parts = [row.get(name, "") for name in paper.table.key if name not in fixed]
    return " / ".join(part for part in parts if part)


def needs_plots(paper: Paper, crop_year: int) -> bool:
    """Whether the paper is of plots and the crop year has none yet."""
    return paper.is_of_a_plot and not plots_of(crop_year)


def place_words(paper: Paper, place: DraftPlace) -> str:
    """The place as it is said: "North half, east, 2026"."""
    fixed = fixed_by(paper, place)
    return ", ".join(str(fixed[name]) for name in ("field", "plot", "crop_year") if name in fixed) or "this farm"
