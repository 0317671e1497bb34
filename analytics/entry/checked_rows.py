"""Typed rows read and checked, once: what each holds in the unit of the record, what is refused, what is unlikely.

Nothing is written here.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import polars as pl

from analytics.entry.typed_rows import WHY, Row, as_recorded, column_label, typed_columns
from analytics.entry.unlikely import (
    cut_too_soon,
    far_from_the_farm,
    looks_like_another,
    on_another_plot,
    unit_questions,
)
from analytics.errors import BadInput
from analytics.files.checking import check_table
from analytics.files.cross_checks import name_all
from analytics.files.text_tables import CellUnits, TextTable
from analytics.records.cell_text import as_text, key_text, rounded_text
from analytics.records.faults import LISTED, Fault, Faults
from analytics.records.form import Records, Table, Typed
from analytics.trade.units import TYPED_UNITS, unit_of

MOST_ROWS = LISTED  # typed at a time, so that every fault is named; a longer list is a file


def read_rows(
    table: Table,
    typed: Sequence[Typed],
    *,
    fixed: Mapping[str, object],
    units: Mapping[str, str],
    records: Records,
    loaded: Sequence[Typed] = (),
    crop_year: int | None = None,
    comma: str = "",
) -> tuple[Row, ...]:
    """The typed rows as understood; a row without any text is passed over.

    typed : text by column name of the record, and under "why" the word with which an unlikely row is kept
    fixed : values of columns that are not typed, the crop year or plot that was chosen
    units : unit by column name, where it is not the record's own; a unit typed in the cell counts before it
    records : the tables as they are now; only those that the rows touch are asked for
    loaded : rows as as_typed made them; a number that still stands as in one of them is that of the records
    crop_year : for dates without a year, where the table has no crop year of its own
    comma : what the farm said of a comma before three digits
    Raises BadInput for more than 200 rows that are not as loaded; a place may have any number on record.
    """
    shown = typed_columns(table, fixed)
    numbers = [number for number, row in enumerate(typed) if any(row.get(column.name, "").strip() for column in shown)]
    names = [column.name for column in shown]
    on_record = {tuple(row.get(name, "") for name in names) for row in loaded}
    new = sum(tuple(typed[number].get(name, "") for name in names) not in on_record for number in numbers)
    if new > MOST_ROWS:
        raise BadInput(f"{new} rows given; allowed {MOST_ROWS} at a time. Bring a longer list in as a file.")
    if not numbers:
        return ()
    cells = {
        column.name: [typed[number].get(column.name, "").strip() or None for number in numbers] for column in shown
    }
    cells |= {name: [as_text(value)] * len(numbers) for name, value in fixed.items()}
    text = TextTable(
        name=table.name,
        label="",
        cells=pl.DataFrame(cells, schema=dict.fromkeys(table.column_names, pl.String)),
        rows=pl.Series([number + 1 for number in numbers]),
        is_whole=True,
        units=_cell_units(table, units),
        known=_known(table, loaded, fixed),
        crop_year=crop_year,
        comma=comma,
    )
    faults, doubts = Faults(), Faults()
    checked = check_table(table, text, faults, doubts, [], as_a_whole=False)
    name_all({table.name: checked}, records, faults)
    refused, odd = faults.by_row(), doubts.by_row()
    known = _by_key(records[table.name].join(checked.frame, on=table.key, how="semi", nulls_equal=True), table)
    rows = []
    for place, (number, values) in enumerate(zip(text.rows, checked.frame.iter_rows(named=True), strict=True)):
        given = text.cells.row(place, named=True)
        rows.append(
            Row(
                number=number,
                name=_name(table, values, fixed) or f"row {number}",
                values=values,
                before=known.get(tuple(values[name] for name in table.key)),
                refused=tuple(_words(fault, table, given, values, units, fixed) for fault in refused.get(number, ())),
                refused_in=tuple(_columns(fault) for fault in refused.get(number, ())),
                unlikely=tuple(_words(doubt, table, given, values, units, fixed) for doubt in odd.get(number, ())),
                unlikely_in=tuple(_columns(doubt) for doubt in odd.get(number, ())),
                why=typed[number - 1].get(WHY, "").strip(),
            )
        )
    for place, words in cut_too_soon(table, rows):
        rows[place] = doubted(rows[place], words, "preharvest_on", is_first=True)
    for place, words in (
        *looks_like_another(table, rows, records),
        *far_from_the_farm(table, rows, records),
        *on_another_plot(table, rows, records),
    ):
        rows[place] = doubted(rows[place], words, "")
    for place, words in unit_questions(table, rows, records):
        rows[place] = replace(rows[place], asks=(*rows[place].asks, words))
    return tuple(rows)


def doubted(row: Row, words: str, columns: str, *, is_first: bool = False) -> Row:
    """The row with one more doubt, and the columns that it is about."""
    if is_first:
        return replace(row, unlikely=(words, *row.unlikely), unlikely_in=(columns, *row.unlikely_in))
    return replace(row, unlikely=(*row.unlikely, words), unlikely_in=(*row.unlikely_in, columns))


def _columns(fault: Fault) -> str:
    """The names of the columns that a fault is about, spaces between them."""
    return " ".join((fault.column or "").replace(" / ", " ").replace(" and ", " ").split())


def _cell_units(table: Table, units: Mapping[str, str]) -> dict[str, CellUnits]:
    """Any unit of a column may stand behind the number in its cell. Raises BadInput for a chosen one that is none."""
    own = {name: choices for name, choices in TYPED_UNITS.items() if name in table.column_names}
    return {
        name: CellUnits(usual=unit_of(name, units.get(name) or choices[0].name), named=choices)
        for name, choices in own.items()
    }


def _known(table: Table, loaded: Sequence[Typed], fixed: Mapping[str, object]) -> dict[str, dict[str, float]]:
    """Numbers of the records by the text in which they were loaded: beside decimal commas a typed 10.668 could be ten
    thousand, but one from the records cannot.
    """
    known: dict[str, dict[str, float]] = {}
    for texts in loaded:
        for name, value in as_recorded(texts, table, fixed).items():
            if isinstance(value, float):
                known.setdefault(name, {})[texts[name]] = value
    return known


def _words(
    fault: Fault,
    table: Table,
    given: Mapping[str, str | None],
    values: Mapping[str, object],
    units: Mapping[str, str],
    fixed: Mapping[str, object],
) -> str:
    """A fault in a sentence: the label of its column, and the cell as typed and, where that differs, as understood."""
    if " / " in (fault.column or ""):  # a key that is there twice; what the place fixes is not typed and goes unsaid
        typed = [name for name in str(fault.column).split(" / ") if name not in fixed]
        shown = ", ".join(as_text(values[name]) for name in typed)
        what = ", ".join(column_label(table.column(name)) for name in typed)
        return f"{what}: {shown} is typed twice. {fault.remedy}"
    names = (fault.column or "").split(" and ")
    what = " and ".join(
        column_label(table.column(name), units.get(name, "")) if name in table.column_names else name for name in names
    )
    shown, unit = fault.given, ""
    if len(names) == 1 and names[0] in TYPED_UNITS:
        unit = f" {TYPED_UNITS[names[0]][0].name}"
        text, value = given[names[0]], values[names[0]]
        if text is not None:
            shown = text if value is None or text == as_text(value) else f"{text} ({rounded_text(value)}{unit})"
    word = "usual is" if fault.is_doubt else "allowed"
    return f"{what}: {shown} given; {word} {fault.allowed}{unit}. {fault.remedy}".rstrip()


def _by_key(frame: pl.DataFrame, table: Table) -> dict[tuple[object, ...], dict[str, object]]:
    rows = frame.select(table.column_names).iter_rows(named=True)
    return {tuple(row[name] for name in table.key): row for row in rows}


def _name(table: Table, values: Mapping[str, object], fixed: Mapping[str, object]) -> str:
    parts = [values[name] for name in table.key if name not in fixed]
    return key_text([part for part in parts if part is not None])
