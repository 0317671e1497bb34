"""What is done with the sheet being typed: saved, thrown away, brought back, joined with what another window typed."""

from collections.abc import Callable, Mapping, Sequence
from uuid import uuid4

import duckdb
import streamlit as st

from analytics.entry.saving import save_entry
from analytics.entry.typed_rows import as_typed
from analytics.records.form import Typed
from analytics.records.papers import Paper
from analytics.storage import drafts
from analytics.storage.acts import last_act
from analytics.storage.drafts import Draft
from analytics.storage.tables_now import TablesNow
from analytics.storage.transactions import transaction
from dashboard.after_harvest.entry_look import entry_of, look_key, look_now
from dashboard.after_harvest.entry_sheet import (
    NEW_ROW,
    SHEET,
    Sheet,
    fixed_by,
    forget_sheet,
    keep_sheet,
    name_of,
    on_record,
    row_to_open,
    see_drafts,
    sheet_of,
    without_blanks,
)
from dashboard.frame import on_file, shown_words


def save_sheet(paper: Paper, sheet: Sheet) -> None:
    """Save what is ready, keep the rest as a draft, and take the sheet anew, which says what was done."""

    def work(connection: duckdb.DuckDBPyConnection) -> Sheet:
        with transaction(connection):  # so that nobody writes between the look for conflicts and the save
            entry = entry_of(connection, TablesNow(connection), paper, sheet)
            done = save_entry(connection, entry, done_by=sheet.place.typed_by)
        now = on_record(TablesNow(connection), paper, sheet.place)
        left = [sheet.rows[row.number - 1] for row in entry.left]
        before = {sheet.draft.mark} if sheet.draft else set()
        if left:  # the draft as it was stays until the new one takes its place
            names = {row.name for row in entry.left if row.before is not None}
            waiting = [row for row in now if name_of(paper, row, sheet) not in names]
            rows = without_blanks([*waiting, *left])
            # Of a row that somebody else changed the one that was loaded stays, or nobody would be asked any more.
            asked = {conflict.name for conflict in entry.conflicts}
            loaded = [row for row in now if name_of(paper, row, sheet) not in asked]
            loaded += [row for row in sheet.loaded if name_of(paper, row, sheet) in asked]
            drafts.keep_draft(
                connection, sheet.place, rows=rows, loaded=loaded, units=sheet.units, mark=sheet.mark, onto=before
            )
        else:  # a run that was broken off may have kept one that the sheet does not know of
            drafts.drop_drafts(connection, sheet.place, {sheet.mark, *before, *sheet.onto})
        after = sheet_of(connection, sheet.place, now)
        after.done, after.window, after.typed = done, sheet.window, sheet.typed
        after.look = look_now(connection, paper, after, look_key(after, last_act(connection)))
        return after

    after = on_file.write_records(work)
    after.at = row_to_open(paper, after, None)
    st.session_state[SHEET] = after


def throw_sheet_away(sheet: Sheet) -> None:
    """Put the draft out of sight; the records stay as they are, and it can be brought back."""
    if sheet.draft is not None:
        draft = sheet.draft
        on_file.write_records(lambda connection: drafts.throw_away(connection, draft))
    forget_sheet()


def bring_sheet_back(thrown: Draft) -> None:
    """The draft that was thrown away here last, beside one that was begun since."""
    on_file.write_records(lambda connection: drafts.bring_back(connection, thrown))
    forget_sheet()


def take_in(sheet: Sheet, other: Draft) -> None:
    """The rows of another window's draft that are not here yet, under those that are; the two become one draft."""
    rows = [row for row in other.rows if row not in sheet.rows and row not in other.loaded]

    def work(connection: duckdb.DuckDBPyConnection) -> None:
        sheet.rows = [*without_blanks(sheet.rows), *rows]
        keep_sheet(connection, sheet)
        drafts.drop_draft(connection, other)

    on_file.write_records(work)
    forget_sheet()


def keep_stray(sheet: Sheet, rows: Sequence[Typed]) -> None:
    """Rows that this browser held and never told, beside a draft that another window wrote meanwhile."""
    on_file.write_records(
        lambda connection: drafts.keep_draft(
            connection,
            sheet.place,
            rows=without_blanks(rows),
            loaded=sheet.loaded,
            units={},
            mark=f"{uuid4().hex}:0",
            onto=(),
        )
    )
    see_drafts(sheet)


def take_theirs(paper: Paper, sheet: Sheet, number: int, theirs: Mapping[str, object]) -> None:
    """Put the row of the records in the place of the typed one."""
    row = as_typed(theirs, paper.table, fixed_by(paper, sheet.place))
    _put(sheet, [*sheet.rows[: number - 1], row, *sheet.rows[number:]])


def put_in(sheet: Sheet, more: Sequence[Typed]) -> None:
    """Add rows to the sheet, to be looked at and saved."""
    _put(sheet, [*without_blanks(sheet.rows), *more])


def _put(sheet: Sheet, rows: list[Typed]) -> None:
    """Other rows in the sheet than the pad has; it takes them anew."""
    sheet.rows, sheet.number, sheet.at = rows, uuid4().hex, NEW_ROW


def press(words: str, done: Callable[[], None], *, key: str) -> None:
    """A button whose work is done before the screen is drawn again."""
    if st.button(shown_words.plain(words), key=key, disabled=not on_file.may_write()):
        done()
        st.rerun()
