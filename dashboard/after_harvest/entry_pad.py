"""The pad in which rows are typed: its own piece of the page (entry_pad.js), what it is given, and what it tells.

Rows, fields and the focus live in the browser, so that nothing done here rebuilds a field under the person who types.
Whatever the pad tells is text from outside: only rows of texts under names of our columns are taken from it.
"""

import re
from collections.abc import Mapping, Sequence
from pathlib import Path

import streamlit as st

from analytics.entry.saving import save_button_words
from analytics.entry.typed_rows import column_label, typed_columns
from analytics.records.form import LONGEST_NOTE, Column, Typed
from analytics.records.papers import Paper
from analytics.storage.drafts import DraftPlace
from analytics.trade.numbers_as_text import capital
from analytics.trade.units import unit_names
from dashboard.after_harvest import entry_sheet
from dashboard.after_harvest.entry_sheet import Look, Sheet
from dashboard.frame import on_file

HINT_LETTERS = 34  # in the narrowest field of the pad
KEY, HANDLED = "entry_pad", "entry_pad_handled"
HERE = Path(__file__).parent
PAD = st.components.v2.component(
    "entry_pad",
    html="<div class='pad'></div>",
    css=(HERE / "entry_pad.css").read_text(encoding="utf-8"),
    js=(HERE / "entry_pad.js").read_text(encoding="utf-8"),
)
# What is often the same on paper after paper, and can be carried over when asked.
REPEATS = (
    "delivered_on",
    "weighed_by",
    "taken_on",
    "graded_by",
    "checked_on",
    "place",
    "area_m2",
    "cut_width_m",
    "discharge_width_m",
    "windrowed_on",
    "done_on",
    "operation",
    "dollars_per_acre",
    "happened_on",
)


def show_pad(paper: Paper, sheet: Sheet, look: Look, *, one_by_one: bool) -> None:
    """The pad with the rows of the sheet, and beside them what the look found."""
    PAD(
        key=KEY,
        # In a list, since the framework searches a mapping for frames, for which it loads a library of 50 MB.
        data=[_data(paper, sheet, look, one_by_one=one_by_one)],
        on_draft_change=lambda: None,
    )


def _data(paper: Paper, sheet: Sheet, look: Look, *, one_by_one: bool) -> dict[str, object]:
    fixed = entry_sheet.fixed_by(paper, sheet.place)
    place = sheet.place
    return {
        "sheet": sheet.number,
        "place": _place(place),
        "where": _where(place),
        "form": "one" if one_by_one else "grid",
        "noun": paper.noun,
        "key": [name for name in paper.table.key if name not in fixed],
        "columns": [_column(column, sheet, look) for column in typed_columns(paper.table, fixed)],
        "units": sheet.units,
        "rows": sheet.rows,
        "at": sheet.at,
        "heard": {"pad": sheet.window, "seq": sheet.typed},
        "handled": dict(zip(("pad", "number"), st.session_state.get(HANDLED, ("", 0)), strict=True)),
        "mark": sheet.draft.mark if sheet.draft else "",
        "answers": _answers(sheet, look),
        "save": {
            "words": save_button_words(look.entry, entry_sheet.place_words(paper, place)),
            "isOff": look.entry.touches == 0 or not on_file.may_write(),
        },
        "onward": _onward(look),
        "done": sheet.done,
        "mayWrite": on_file.may_write(),
    }


def _column(column: Column, sheet: Sheet, look: Look) -> dict[str, object]:
    words = column_label(column, sheet.units.get(column.name, ""))
    options: Sequence[str] = column.choices or (("yes", "no") if column.kind == "yes/no" else ())
    if column.name.endswith("field"):
        options = look.fields
    elif column.name.endswith("plot"):
        options = sorted({plot for _, plot in entry_sheet.plots_of(sheet.place.crop_year)})
    return {
        "name": column.name,
        "label": capital(words),
        "short": capital(words.partition(",")[0]),
        "meaning": column.meaning,
        "hint": _hint(column.meaning),
        "kind": column.kind,
        "options": list(options),
        "isChoice": bool(column.choices) or column.kind == "yes/no",
        "units": list(unit_names(column.name)),
        "repeats": column.name in REPEATS,
    }


def _hint(meaning: str) -> str:
    """As much of the meaning, clause by clause, as a field shows; "" where not even the first one fits."""
    clauses = re.split(r"(?=[,;:] | \()", meaning)
    ends = [end for end in range(1, len(clauses) + 1) if len("".join(clauses[:end])) <= HINT_LETTERS]
    return "".join(clauses[: ends[-1]]) if ends else ""


def _answers(sheet: Sheet, look: Look) -> list[dict[str, object] | None]:
    """What was understood of each row of the sheet, by its place; None for a blank one."""
    answers: list[dict[str, object] | None] = [None] * len(sheet.rows)
    for row, makes in zip(look.entry.rows, look.makes, strict=True):
        answers[row.number - 1] = {
            "makes": makes,
            "refused": list(zip(row.refused_in, row.refused, strict=True)),
            "unlikely": [] if row.is_as_before else list(zip(row.unlikely_in, row.unlikely, strict=True)),
            "asks": list(row.asks),
            "isSaved": row.is_as_before,
        }
    return answers


def _place(place: DraftPlace) -> str:
    """Under which name the browser keeps what is typed here."""
    return f"{_where(place)}/{place.typed_by}"


def _where(place: DraftPlace) -> str:
    return "/".join(map(str, (place.paper, place.crop_year, place.field, place.plot)))


def _onward(look: Look) -> dict[str, object] | None:
    """The plot after this one, as far as the pad has to know it to go there by itself."""
    place = look.next_place
    if place is None:
        return None
    words = f"{place.field}, {place.plot}"
    return {
        "words": f"Next plot: {words}",
        "says": f"Now typing for {words}, {place.crop_year}.",
        "place": _place(place),
        "where": _where(place),
        "units": look.next_units,
    }


# --- what the pad tells


def hear() -> None:
    """Take what was typed since the last run into the sheet that it was typed on."""
    sheet, message = entry_sheet.now(), _message()
    if sheet is None or message.get("sheet") != sheet.number:
        return
    window, typed = str(message.get("pad", "")), _whole(message.get("seq"))
    if window == sheet.window and typed < sheet.typed:
        return
    sheet.rows = _rows(message.get("rows"))
    sheet.units = {str(name): str(unit) for name, unit in _mapping(message.get("units")).items()}
    sheet.window, sheet.typed = window, typed
    if message.get("after"):
        sheet.onto.add(str(message["after"]))


def leave_pad() -> None:
    """Another screen is shown: what was typed last is kept with the rest."""
    if entry_sheet.now() is not None:
        hear()
        entry_sheet.leave_sheet()


def pressed(sheet: Sheet) -> str:
    """Which button of the pad was pressed and is not handled yet: "save", "onward", "stray", or "" for none.

    The pad says it with every message until it is told that it was handled, so that none is lost on the way.
    """
    message = _message()
    press, window = _mapping(message.get("press")), str(message.get("pad", ""))
    number = _whole(press.get("number"))
    if message.get("sheet") != sheet.number or not number or (window, number) == st.session_state.get(HANDLED):
        return ""
    st.session_state[HANDLED] = (window, number)
    return str(press.get("what", ""))


def stray_rows() -> list[Typed]:
    """The rows that came with "stray": held by the browser, and not those of the draft that is open."""
    return _rows(_mapping(_message().get("press")).get("rows"))


def _message() -> Mapping[str, object]:
    return _mapping(_mapping(st.session_state.get(KEY)).get("draft"))


def _mapping(given: object) -> Mapping[str, object]:
    return given if isinstance(given, Mapping) else {}


def _whole(given: object) -> int:
    return int(given) if isinstance(given, int | float) else 0


def _rows(given: object) -> list[Typed]:
    """Rows of texts; names that no column has are passed over where the rows are read."""
    rows = given if isinstance(given, list) else []
    return [{str(name): str(text)[: LONGEST_NOTE + 1] for name, text in _mapping(row).items() if text} for row in rows]
