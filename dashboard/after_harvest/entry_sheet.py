"""What the entry screen keeps between runs: the sheet being typed, its draft, and what is done with it."""

import datetime
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import duckdb
import polars as pl
import streamlit as st

from analytics.entry.row_words import understood
from analytics.entry.saving import Entry, read_entry, save_entry
from analytics.entry.typed_rows import WHY, as_typed, label, typed_columns
from analytics.pairs.grading import may_heat
from analytics.records.form import Column, Records, Typed
from analytics.records.last_season import copied_plots, offered_pairs
from analytics.records.papers import Paper
from analytics.storage.acts import last_act
from analytics.storage.database import transaction
from analytics.storage.drafts import Draft, DraftPlace, drop_draft, find_draft, keep_draft
from analytics.storage.tables_now import TablesNow
from analytics.trade.numbers_as_text import capital
from analytics.trade.units import unit_names
from dashboard.frame import shared

SHEET, GO_TO, FOCUS = "entry_sheet", "entry_go_to", "entry_focus"
NEW_ROW = -1  # where the fields are for a row that is not there yet
BLANK_ROWS = 3  # under what is there, so that typing can begin at once
WHY_LABEL = "keep it, because"


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """The typed rows beside the records of one moment, a line for each row that says what it makes, and what could be
    put in at once: the words of a button, a line each, and the rows (none where nothing is offered).

    kept_under : what it is of; while that stays the same, so does the look
    may_heat : whether any of the rows is of canola that may heat in the bin
    """

    kept_under: object
    entry: Entry
    makes: list[str]
    may_heat: bool
    offer_words: str = ""
    offer_lines: Sequence[str] = ()
    offered: Sequence[Typed] = ()


@dataclass(kw_only=True)
class Sheet:
    """The rows of one paper and place in this browser. `number` changes when the grid has to be drawn anew.

    at : place among `rows` of the one that the fields are for, or NEW_ROW
    """

    place: DraftPlace
    number: int
    rows: list[Typed]
    loaded: list[Typed]
    units: dict[str, str]
    typed_at: datetime.datetime | None  # when the draft that came back was typed
    at: int = NEW_ROW
    mine: set[str] = field(default_factory=set)
    kept: tuple[list[Typed], dict[str, str]] | None = None
    look: Look | None = None


def plots_of(crop_year: int) -> list[tuple[str, str]]:
    """Field and plot of each plot of a crop year."""
    return [(field, plot) for year, field, plot in shared.state().plots if year == crop_year]


def open_sheet(paper: Paper, place: DraftPlace) -> Sheet:
    """The sheet of this place: as it stands in this browser, else the draft, else the rows on record."""
    sheet: Sheet | None = st.session_state.get(SHEET)
    if sheet is not None and sheet.place != place and replace(sheet.place, typed_by=place.typed_by) == place:
        _rename(sheet, place)
    if sheet is None or sheet.place != place:
        number = 0 if sheet is None else sheet.number + 1
        sheet = shared.read_records(lambda connection: _read_sheet(connection, paper, place, number))
        sheet.at = _row_to_open(paper, sheet, st.session_state.pop(GO_TO, None))
        st.session_state[SHEET] = sheet
    return sheet


def _row_to_open(paper: Paper, sheet: Sheet, asked: int | str | None) -> int:
    """The row asked for, by its place or its name; else the last one typed and not saved yet, else a new one."""
    if isinstance(asked, int):
        return asked if asked < len(sheet.rows) else NEW_ROW
    names = [_name_of(paper, row, sheet) for row in sheet.rows]
    if asked is not None:
        return names.index(asked) if asked in names else NEW_ROW
    return len(names) - 1 if names and sheet.rows[-1] not in sheet.loaded else NEW_ROW


def _rename(sheet: Sheet, place: DraftPlace) -> None:
    """A name typed in the middle of the work takes the work along, unless there is a draft under that name."""

    def work(connection: duckdb.DuckDBPyConnection) -> None:
        draft = find_draft(connection, sheet.place)
        if find_draft(connection, place) is None:
            if draft is not None:
                drop_draft(connection, sheet.place)
                keep_draft(connection, place, rows=draft.rows, loaded=draft.loaded, units=draft.units)
            sheet.place = place

    if shared.may_write():
        shared.write_records(work)
    else:
        sheet.place = place


def reload_sheet() -> None:
    """Forget what this browser holds; the next run reads the draft and the records."""
    sheet: Sheet = st.session_state[SHEET]
    empty = DraftPlace(paper="", crop_year=0, field=None, plot=None, typed_by="")
    st.session_state[SHEET] = Sheet(
        place=empty, number=sheet.number, rows=[], loaded=[], units={}, typed_at=None, mine=sheet.mine
    )


def _read_sheet(connection: duckdb.DuckDBPyConnection, paper: Paper, place: DraftPlace, number: int) -> Sheet:
    return _sheet_of(place, number, _on_record(TablesNow(connection), paper, place), find_draft(connection, place))


def _sheet_of(place: DraftPlace, number: int, on_record: list[Typed], draft: Draft | None) -> Sheet:
    if draft is None:
        return Sheet(place=place, number=number, rows=on_record, loaded=on_record, units={}, typed_at=None)
    return Sheet(
        place=place,
        number=number,
        rows=list(draft.rows),
        loaded=list(draft.loaded),
        units=dict(draft.units),
        typed_at=draft.typed_at,
    )


def fixed_by(paper: Paper, place: DraftPlace) -> dict[str, object]:
    """What the place fixes in every row of the paper."""
    return paper.place(place.crop_year, place.field, place.plot)


def _on_record(records: Records, paper: Paper, place: DraftPlace) -> list[Typed]:
    fixed = fixed_by(paper, place)
    rows = records[paper.table.name].sort(paper.table.key)
    if fixed:
        rows = rows.filter(pl.all_horizontal(pl.col(name) == pl.lit(value) for name, value in fixed.items()))
    if "happened_on" in paper.table.key:
        rows = rows.filter(pl.col("happened_on").dt.year() == place.crop_year)
    return [as_typed(row, paper.table, fixed) for row in rows.iter_rows(named=True)]


# --- the grid and the large fields


def columns_of(paper: Paper, sheet: Sheet) -> list[tuple[Column, str]]:
    """The columns that are typed, each with its label in the chosen unit."""
    columns = typed_columns(paper.table, fixed_by(paper, sheet.place))
    return [(column, label(column, sheet.units.get(column.name, ""))) for column in columns]


def choose_units(paper: Paper, sheet: Sheet) -> None:
    """A choice of unit for each column that has one."""
    chosen = [column for column, _ in columns_of(paper, sheet) if unit_names(column.name)]
    for column, spot in zip(chosen, st.columns(len(chosen)) if chosen else [], strict=True):
        choices = unit_names(column.name)
        now = sheet.units.get(column.name, choices[0])
        unit = spot.selectbox(
            f"{capital(label(column).partition(',')[0])} in",
            choices,
            index=choices.index(now),
            key=f"unit-{sheet.number}-{column.name}",
            help="For cells without a unit of their own; 18.62 t in a cell is tonnes whatever is chosen here.",
        )
        sheet.units.pop(column.name, None)
        if unit != choices[0]:
            sheet.units[column.name] = unit


def grid(paper: Paper, sheet: Sheet) -> list[Typed]:
    """The rows as they stand in the grid. Text throughout: a grid's number cells change what was typed."""
    names = [column.name for column, _ in columns_of(paper, sheet)] + [WHY]
    rows = [[row.get(name, "") for name in names] for row in sheet.rows] + [[""] * len(names)] * BLANK_ROWS
    config = {
        column.name: st.column_config.TextColumn(words, help=f"{column.meaning}; {column.allowed}")
        for column, words in columns_of(paper, sheet)
    }
    config[WHY] = st.column_config.TextColumn(
        WHY_LABEL, help="For an odd value that is right: say why, in a word or two."
    )
    edited = st.data_editor(
        pl.DataFrame(rows, schema=dict.fromkeys(names, pl.String), orient="row"),
        key=f"grid-{sheet.number}",
        num_rows="dynamic",
        hide_index=True,
        column_config=config,
        width="stretch",
    )
    return _without_blanks([{name: text or "" for name, text in row.items()} for row in edited.iter_rows(named=True)])


def choose_row(paper: Paper, sheet: Sheet) -> int:
    """Which row the fields are for: a new one, or any that was typed or is on record."""
    if not sheet.rows:
        return NEW_ROW

    def words(at: int) -> str:
        if at == NEW_ROW:
            return f"A new {paper.noun}"
        name = _name_of(paper, sheet.rows[at], sheet) or f"row {at + 1}"
        return name if sheet.rows[at] in sheet.loaded else f"{name}, not saved yet"

    places = [NEW_ROW, *reversed(range(len(sheet.rows)))]
    return st.selectbox(
        f"Which {paper.noun}", places, places.index(sheet.at), format_func=words, key=f"row-{sheet.number}"
    )


def large_fields(paper: Paper, sheet: Sheet) -> list[Typed]:
    """All rows, one of them typed in labelled fields: the safe way to type, and the one for a phone."""
    now = {} if sheet.at == NEW_ROW else sheet.rows[sheet.at]
    typed = {}
    for column, words in columns_of(paper, sheet):
        key = f"one-{sheet.number}-{column.name}"
        text = now.get(column.name, "")
        if column.choices and text in ("", *column.choices):
            options = ["", *column.choices]
            typed[column.name] = st.selectbox(
                capital(words),
                options,
                index=options.index(text),
                key=key,
                accept_new_options=True,
                placeholder="Choose one, or type it",
            )
        else:
            typed[column.name] = st.text_input(capital(words), text, key=key, placeholder=column.meaning)
    typed[WHY] = st.text_input(capital(WHY_LABEL), now.get(WHY, ""), key=f"one-{sheet.number}-{WHY}")
    if sheet.at == NEW_ROW:
        return _without_blanks([*sheet.rows, typed])
    return _without_blanks([*sheet.rows[: sheet.at], typed, *sheet.rows[sheet.at + 1 :]])


def _without_blanks(rows: Sequence[Typed]) -> list[Typed]:
    """The rows with anything typed, without an empty word why, so that a row of the records looks as it was read."""
    rows = [{name: text for name, text in row.items() if name != WHY or text.strip()} for row in rows]
    return [row for row in rows if any(text.strip() for text in row.values())]


# --- what is done with the typed rows


def look(paper: Paper, sheet: Sheet, rows: list[Typed]) -> Look:
    """The typed rows against the records of this moment."""
    under = _kept_under(sheet, rows, shared.state().last_act)
    if sheet.look is None or sheet.look.kept_under != under:
        sheet.look = shared.read_records(
            lambda connection: _look(connection, TablesNow(connection), paper, sheet, rows, under)
        )
    return sheet.look


def _kept_under(sheet: Sheet, rows: list[Typed], last_act: str) -> object:
    settings = shared.state().settings
    return last_act, rows, dict(sheet.units), sorted(sheet.mine), settings.yield_unit, settings.level


def _look(
    connection: duckdb.DuckDBPyConnection,
    records: Records,
    paper: Paper,
    sheet: Sheet,
    rows: Sequence[Typed],
    under: object,
) -> Look:
    entry = _entry(connection, records, paper, sheet, rows)
    settings = shared.state().settings
    makes = understood(paper.table, entry.rows, records, yield_unit=settings.yield_unit, level=settings.level)
    sound = [row.values for row in entry.rows if not row.refused]
    words, lines, offered = _offers(records, paper, sheet, rows)
    return Look(
        kept_under=under,
        entry=entry,
        makes=makes,
        may_heat=may_heat(connection, sound, jurisdiction=settings.grading, crop_year=sheet.place.crop_year),
        offer_words=words,
        offer_lines=lines,
        offered=offered,
    )


def _entry(
    connection: duckdb.DuckDBPyConnection, records: Records, paper: Paper, sheet: Sheet, rows: Sequence[Typed]
) -> Entry:
    return read_entry(
        connection,
        paper,
        rows,
        records=records,
        fixed=fixed_by(paper, sheet.place),
        units=sheet.units,
        loaded=sheet.loaded,
        mine=sheet.mine,
    )


def keep(sheet: Sheet, rows: list[Typed]) -> None:
    """Keep what is typed as a draft, when it is something else than what is kept or on record."""
    now = (rows, dict(sheet.units))
    if not shared.may_write() or sheet.kept == now or (sheet.kept is None and rows == _without_blanks(sheet.rows)):
        return
    _write_draft(sheet, rows)
    sheet.kept = now


def _write_draft(sheet: Sheet, rows: Sequence[Typed]) -> None:
    if not shared.may_write():  # what is typed stays in this browser; the screen has said that nothing is kept
        return
    shared.write_records(
        lambda connection: keep_draft(connection, sheet.place, rows=rows, loaded=sheet.loaded, units=sheet.units)
    )


def save(paper: Paper, sheet: Sheet, rows: list[Typed]) -> str:
    """Save what is ready, keep the rest as a draft, and take the sheet anew; the line that says what was done."""

    def work(connection: duckdb.DuckDBPyConnection) -> tuple[str, Sheet]:
        with transaction(connection):  # so that nobody writes between the look for conflicts and the save
            entry = _entry(connection, TablesNow(connection), paper, sheet, rows)
            done = save_entry(connection, entry, done_by=sheet.place.typed_by)
        records = TablesNow(connection)
        now, left = _on_record(records, paper, sheet.place), [rows[row.number - 1] for row in entry.left]
        if left:  # the draft as it was stays until the new one takes its place
            names = {row.name for row in entry.left if row.before is not None}
            waiting = [row for row in now if _name_of(paper, row, sheet) not in names]
            keep_draft(connection, sheet.place, rows=[*waiting, *left], loaded=now, units=sheet.units)
        else:
            drop_draft(connection, sheet.place)
        draft = find_draft(connection, sheet.place)
        after = _sheet_of(sheet.place, sheet.number + 1, now, draft)
        under = _kept_under(after, after.rows, last_act(connection))
        after.look = _look(connection, records, paper, after, after.rows, under)
        return done, after

    done, after = shared.write_records(work)
    after.at = _row_to_open(paper, after, None)
    st.session_state[SHEET] = after
    return done


def _name_of(paper: Paper, row: Typed, sheet: Sheet) -> str:
    fixed = fixed_by(paper, sheet.place)
    parts = [row.get(name, "") for name in paper.table.key if name not in fixed]
    return " / ".join(part for part in parts if part)


def throw_away(sheet: Sheet) -> None:
    """Drop the draft; the records stay as they are."""
    shared.write_records(lambda connection: drop_draft(connection, sheet.place))
    reload_sheet()


def take_theirs(paper: Paper, sheet: Sheet, rows: list[Typed], number: int, theirs: Mapping[str, object]) -> None:
    """Put the row of the records in the place of the typed one."""
    rows[number - 1] = as_typed(theirs, paper.table, fixed_by(paper, sheet.place))
    _write_draft(sheet, rows)
    reload_sheet()


def go_to_row(sheet: Sheet, rows: list[Typed], at: int) -> None:
    """Keep what is typed and turn the fields to another row of the sheet, or empty them for a new one."""
    is_emptied = sheet.at != NEW_ROW and len(rows) < len(sheet.rows)
    put_in(sheet, rows, [])
    st.session_state[GO_TO] = at - 1 if is_emptied and at > sheet.at else at
    st.session_state[FOCUS] = True


def put_in(sheet: Sheet, rows: list[Typed], more: Sequence[Typed]) -> None:
    """Add rows to the sheet, to be looked at and saved."""
    _write_draft(sheet, [*rows, *more])
    reload_sheet()


def _offers(records: Records, paper: Paper, sheet: Sheet, rows: Sequence[Typed]) -> tuple[str, list[str], list[Typed]]:
    if paper.table.name == "plots":
        from_year, copies = copied_plots(records, crop_year=sheet.place.crop_year)
        typed = {(row.get("field"), row.get("plot")) for row in rows}
        copies = [row for row in copies if (row["field"], row["plot"]) not in typed]
        return f"Copy {len(copies)} plots of {from_year}", [], copies
    if paper.table.name == "pairs" and len(rows) == len(sheet.loaded):
        offered = offered_pairs(records, crop_year=sheet.place.crop_year)
        return "Put these pairs in", [offer.words for offer in offered], [offer.typed for offer in offered]
    return "", [], []


def needs_plots(paper: Paper, crop_year: int) -> bool:
    """Whether the paper is of plots and the crop year has none yet."""
    return paper.is_of_a_plot and not plots_of(crop_year)


def press(words: str, done: Callable[[], None], *, key: str) -> None:
    """A button whose work is done before the screen is drawn again."""
    if st.button(shared.plain(words), key=key, disabled=not shared.may_write()):
        done()
        st.rerun()


def place_words(paper: Paper, place: DraftPlace) -> str:
    """The place as it is said: "North half, east, 2026"."""
    fixed = fixed_by(paper, place)
    return ", ".join(str(fixed[name]) for name in ("field", "plot", "crop_year") if name in fixed) or "this farm"
