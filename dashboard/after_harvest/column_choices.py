"""Which column of a file is which of ours: chosen from lists that begin with a guess, or with a match kept before."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from analytics.entry.typed_rows import column_label
from analytics.files.column_matches import Match, constant_problem, guess_match, guess_table, unit_choices
from analytics.files.text_tables import TextTable
from analytics.records.form import Column
from analytics.records.tables import TABLES
from analytics.trade.numbers_as_text import capital

EXAMPLE = 24  # letters of a cell shown beside the name of its column
NOT_IN_FILE, SAME_IN_ALL = -1, -2  # choices beside the columns of the file, which are numbered from 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """How one table of a file is to be read; with problems it cannot be yet.

    match : null where the table is one of ours as it is, or is left out
    """

    text: TextTable
    match: Match | None = None
    is_left_out: bool = False
    problems: tuple[str, ...] = ()

    @property
    def kept_under(self) -> Hashable:
        """What the choices are told apart by."""
        match = self.match
        chosen = (match.columns, match.units, match.constants) if match else ()
        return self.is_left_out, match and match.table.name, *(tuple(part.items()) for part in chosen)


def choose_match(text: TextTable, known: Mapping[tuple[str, str], Match], key: str) -> Chosen:
    """The choices for one table: the table of ours, or a match kept before; then a column for each of ours."""
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
    match = choose_columns(start, text, key)
    problems = (
        [f"Still needed: {', '.join(column_label(column) for column in match.missing)}."] if match.missing else []
    )
    problems += [
        problem
        for name, typed in match.constants.items()
        if (problem := constant_problem(match.table.column(name), typed))
    ]
    return Chosen(text=text, match=match, problems=tuple(problems))


def choose_columns(start: Match, text: TextTable, key: str, *, may_be_typed: bool = True) -> Match:
    """A list for each column of ours that begins with the one in `start`; a unit beside it where there are several.

    may_be_typed : whether a value may be typed that stands in every row
    """
    headers = text.cells.columns
    columns, units, constants = {}, {}, {}
    for column in start.table.columns:
        from_file = start.columns.get(column.name)
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
                f"{name} in every row", key=f"{key}-{column.name}-same", placeholder=column.meaning
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
