"""Which column of a file is which of ours: chosen from lists that begin with a guess, or with a match kept before."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from analytics.entry.typed_rows import column_label
from analytics.files.column_matches import (
    TOLD_TOO,
    Match,
    as_matched,
    constant_problem,
    each_once,
    guess_match,
    guess_others,
    guess_table,
    left_by,
    other_match,
    usual_column,
    usual_constant,
)
from analytics.files.column_words import unit_choices
from analytics.files.near_names import respelt
from analytics.files.table_columns import dates_of_numbers
from analytics.files.text_tables import TextTable
from analytics.files.untidy import (
    OFTEN_NAMED_ONCE,
    named_once,
    rows_aside,
    with_names_carried_down,
    without_rows,
)
from analytics.records.form import Column
from analytics.records.tables import TABLES
from analytics.trade.numbers_as_text import capital, count
from analytics.trade.typed_text import DAY_FIRST, MONTH_FIRST, order_of_days
from dashboard.frame import shown_words

EXAMPLE = 24  # letters of a cell shown beside the name of its column
ASIDE_SHOWN = 8
NO_NAMES: Mapping[Any, str] = {}
NOT_IN_FILE, SAME_IN_ALL = -1, -2  # choices beside the columns of the file, which are numbered from 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """How one table of a file is to be read; with problems it cannot be yet.

    match : null where the table is one of ours as it is, or is left out
    is_also : whether the rows are of another table first, and say this one too
    """

    text: TextTable
    match: Match | None = None
    is_left_out: bool = False
    is_also: bool = False
    problems: tuple[str, ...] = ()

    @property
    def kept_under(self) -> Hashable:
        """What the choices are told apart by."""
        match = self.match
        chosen = (match.columns, match.units, match.constants) if match else ()
        blanks = self.text.cells.null_count().row(0)  # fewer where names are carried down
        rows = (self.text.rows.len(), self.text.date_order, blanks)
        return self.is_left_out, match and match.table.name, *rows, *(tuple(part.items()) for part in chosen)

    def as_ours(
        self, fields: Mapping[str, str] = NO_NAMES, plots: Mapping[tuple[str, str], str] = NO_NAMES
    ) -> TextTable:
        """The rows as one of our tables, still as text; fields, plots : names that stand for others."""
        text = respelt(self.text if self.match is None else as_matched(self.text, self.match), fields, plots)
        return each_once(text, self.match.table) if self.match and self.is_also else text


def leave_rows_out(text: TextTable, key: str) -> TextTable:
    """The rows that are taken for no records are shown, and left out unless that is taken back."""
    if text.above:
        st.caption(shown_words.plain(f"Above the column names, passed over: {'; '.join(text.above)}."))
    aside = rows_aside(text)
    if not aside:
        return text
    words = f"Leave out {count(len(aside), 'row')} that {'is' if len(aside) == 1 else 'are'} no record"
    is_out = st.checkbox(words, value=True, key=f"{key}-aside")
    shown_words.bullets([*map(str, aside[:ASIDE_SHOWN]), *(["..."] if aside[ASIDE_SHOWN:] else [])])
    return without_rows(text, aside) if is_out else text


def carry_names_down(text: TextTable, key: str) -> TextTable:
    """Blanks below a field, plot or method that is named once take its name, unless that is taken back.

    Where a blank means something of its own, as weather of the whole farm, they take it only when that is asked for.
    """
    blanks = named_once(text)
    if not blanks:
        return text
    guessed = guess_table(text.name, text.cells.columns)
    needed = guessed is None or all(column.required for column in guessed.columns if column.name in OFTEN_NAMED_ONCE)
    each = ", ".join(f"{count(cells, 'cell')} of {name}" for name, cells in blanks.items())
    words = f"Fill blanks with the name above them: {each}"
    is_carried = st.checkbox(shown_words.plain(words), value=needed, key=f"{key}-carried")
    return with_names_carried_down(text) if is_carried else text


def choose_matches(text: TextTable, known: Mapping[tuple[str, str], Match], key: str) -> list[Chosen]:
    """The choices for one table of a file: which of ours it is, column by column, and which others its rows say too."""
    main = _choose_main(text, known, key)
    if main.match is None:
        return [main]
    guessed = {match.table.name: match for match in guess_others(main.match, text)}
    others = [name for name in TOLD_TOO if name != main.match.table.name]
    picked = st.multiselect(
        "The same rows say too",
        others,
        default=list(guessed),
        format_func=lambda name: f"{name}: {TABLES[name].meaning}",
        key=f"{key}-{main.match.table.name}-too",
        help="A sheet of tickets may say how each plot was cut, or the grade of each load.",
    )
    found = [main]
    free = left_by(main.match, text.cells.columns)
    for name in picked:
        start = guessed.get(name) or other_match(TABLES[name], main.match, free)
        with st.expander(f"What they say for {name}"):
            match = choose_columns(start, text, f"{key}-{main.match.table.name}-{name}")
        found.append(_chosen(text, match, is_also=True))
    return _in_order(found, key)


def _in_order(found: list[Chosen], key: str) -> list[Chosen]:
    """The tables with what stands first in dates such as 10/3/24, asked once a file where none of them settles it."""
    taken = [(one.match.table, as_matched(one.text, one.match).cells) for one in found if one.match]
    dates = sorted({date for table, cells in taken for date in dates_of_numbers(table, cells)})
    order = order_of_days(dates)
    if dates and not order:
        order = st.radio(
            f"In {dates[0]}, which stands first?",
            ["", MONTH_FIRST, DAY_FIRST],
            format_func=lambda one: {MONTH_FIRST: "the month", DAY_FIRST: "the day"}.get(one, "not said yet"),
            horizontal=True,
            key=f"{key}-order",
        )
    return [replace(one, text=replace(one.text, date_order=order)) for one in found]


def _choose_main(text: TextTable, known: Mapping[tuple[str, str], Match], key: str) -> Chosen:
    """The table of ours that the rows are, or a match kept before; then a column for each of ours."""
    headers = text.cells.columns
    fitting = [name for name, match in known.items() if match.fits(headers)]
    fitting.sort(key=lambda name: -len(known[name].columns))
    picked = None
    if fitting:
        picked = st.selectbox(
            "As kept before",
            [*fitting, None],
            format_func=lambda name: "No, choose anew" if name is None else f"{name[0]} ({name[1]})",
            key=f"{key}-kept",
        )
    if picked is not None:
        start, key = known[picked], f"{key}-{picked[0]}-{picked[1]}"
    else:
        guessed = guess_table(text.name, headers)
        tables = [*TABLES, None]
        named = st.selectbox(
            "These rows are",
            tables,
            index=tables.index(guessed.name if guessed else None),
            format_func=lambda name: "left out" if name is None else f"{name}: {TABLES[name].meaning}",
            key=f"{key}-table",
        )
        if named is None:
            return Chosen(text=text, is_left_out=True)
        start, key = guess_match(TABLES[named], headers), f"{key}-{named}"
    return _chosen(text, choose_columns(start, text, key))


def _chosen(text: TextTable, match: Match, *, is_also: bool = False) -> Chosen:
    problems = []
    if match.missing:
        lacking = ", ".join(column_label(column) for column in match.missing)
        problems.append(f"Still needed{f' for {match.table.name}' if is_also else ''}: {lacking}.")
    problems += [
        problem
        for name, typed in match.constants.items()
        if (problem := constant_problem(match.table.column(name), typed))
    ]
    return Chosen(text=text, match=match, is_also=is_also, problems=tuple(problems))


def choose_columns(start: Match, text: TextTable, key: str, *, may_be_typed: bool = True) -> Match:
    """A list for each column of ours that begins with the one in `start`; a unit beside it where there are several.

    may_be_typed : whether a value may be typed that stands in every row
    """
    headers = text.cells.columns
    columns, units, constants = {}, {}, {}
    for column in start.table.columns:
        from_file = start.columns.get(column.name) or usual_column(start, column, headers)
        where, beside = st.columns([3, 2])
        usual = SAME_IN_ALL if column.required else NOT_IN_FILE
        options = [*range(len(headers)), *([SAME_IN_ALL] if may_be_typed else []), NOT_IN_FILE]
        name = capital(column_label(column))
        if unit_choices(column.name):
            name = name.partition(",")[0]  # its unit is chosen beside it
        with where:
            place = st.selectbox(
                f"{name} (needed)" if column.required else name,
                options,
                index=options.index(headers.index(from_file) if from_file else usual),
                format_func=lambda place: _choice_words(text, place),
                key=f"{key}-{column.name}",
                help=f"{column.meaning}; {column.allowed}",
            )
        if place >= 0:
            columns[column.name] = headers[place]
            if unit := _choose_unit(column, start, beside, key):
                units[column.name] = unit
        elif place == SAME_IN_ALL:
            constants[column.name] = beside.text_input(
                f"{name} in every row",
                start.constants.get(column.name) or usual_constant(column, text),
                key=f"{key}-{column.name}-same",
            )
    return Match(table=start.table, columns=columns, units=units, constants=constants)


def _choice_words(text: TextTable, place: int) -> str:
    """A column of the file with its first cell that is not blank, so that one sees what stands there."""
    if place < 0:
        return "the same in every row" if place == SAME_IN_ALL else "not in the file"
    cells = text.cells.to_series(place)
    first = cells.drop_nulls().head(1).to_list()
    return f"{cells.name} ({first[0][:EXAMPLE]} ...)" if first else f"{cells.name} (blank)"


def _choose_unit(column: Column, start: Match, beside: DeltaGenerator, key: str) -> str:
    """The unit of the file's numbers; "" where it is the record's own."""
    choices = unit_choices(column.name)
    if not choices:
        return ""
    unit = beside.selectbox(
        f"{capital(column_label(column).partition(',')[0])} in",
        choices,
        index=choices.index(start.units.get(column.name, choices[0])),
        key=f"{key}-{column.name}-unit",
        help="The unit of the numbers in the file.",
    )
    return "" if unit == choices[0] else unit
