"""One table of text to typed rows, by the columns and rules of the tables; every fault and every doubt is named."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches

import polars as pl

from analytics.files.table_columns import read_columns
from analytics.files.text_tables import TextTable
from analytics.files.typed_columns import (
    is_blank,
)
from analytics.records.cell_text import as_text, key_text
from analytics.records.faults import Fault, Faults, as_remedy
from analytics.records.form import Column, Rule, Table, breaches

PLACE = "position of the row"  # in its frame; no column of ours may have this name


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CheckedTable:
    """A table typed and checked by itself. `rows` is the row number in the file of each row of `frame`.

    `absent` are columns that the file does not have; their cells are null. `is_whole` is false when a row was lost or
    its key could not be read, so that a row which seems missing may only be misspelt. `in_bushels` says for a column
    which of its numbers were given in bushels of canola. `labels` says of each row which file it is from, where there
    are several.
    """

    table: Table
    label: str
    frame: pl.DataFrame
    rows: pl.Series
    absent: tuple[str, ...]
    is_whole: bool
    in_bushels: Mapping[str, pl.Series] = field(default_factory=dict)
    labels: pl.Series | None = None

    def fault(
        self, place: int, column: str, *, given: str, allowed: str, remedy: str = "", is_doubt: bool = False
    ) -> Fault:
        """A fault of the row at a place of `frame`."""
        return Fault(
            file=self.label if self.labels is None else self.labels[place],
            row=self.rows[place],
            column=column,
            given=given,
            allowed=allowed,
            remedy=remedy,
            is_doubt=is_doubt,
        )

    def where(self, place: int) -> str:
        """Which row it is, in words."""
        return f"Row {self.rows[place]}{'' if self.labels is None else f' of {self.labels[place]}'}"


def together(parts: Sequence[CheckedTable]) -> CheckedTable:
    """The rows of several files of one table, one after the other; each keeps its file and its row."""
    if len(parts) == 1:
        return parts[0]
    first, heights = parts[0], [part.frame.height for part in parts]
    no_bushels = [pl.repeat(False, height, dtype=pl.Boolean, eager=True) for height in heights]
    bushels = {name for part in parts for name in part.in_bushels}
    return CheckedTable(
        table=first.table,
        label=first.label,
        frame=pl.concat([part.frame for part in parts]),
        rows=pl.concat([part.rows.cast(pl.Int64) for part in parts]),
        absent=tuple(name for name in first.absent if all(name in part.absent for part in parts)),
        is_whole=all(part.is_whole for part in parts),
        in_bushels={
            name: pl.concat([part.in_bushels.get(name, none) for part, none in zip(parts, no_bushels, strict=True)])
            for name in bushels
        },
        labels=pl.concat(
            [pl.Series([part.label] * height, dtype=pl.String) for part, height in zip(parts, heights, strict=True)]
        ),
    )


def check_table(
    table: Table,
    text: TextTable,
    faults: Faults,
    doubts: Faults,
    remarks: list[str],
    *,
    as_a_whole: bool = True,
) -> CheckedTable:
    """The rows of the table as far as they can be read. What is wrong is added to `faults`, what is unlikely to
    `doubts`, what the reader should know to `remarks`.

    as_a_whole : the numbers of a file may settle which mark sets its thousands apart; typed ones are asked for instead
    """
    absent = _compare_headers(table, text, faults, remarks)
    typed, in_bushels = read_columns(table, text, remarks, as_a_whole=as_a_whole)
    frame = pl.DataFrame({name: column.values for name, column in typed.items()}, schema=table.polars_schema())
    reasons = {name: column.reasons for name, column in typed.items()}
    checked = CheckedTable(
        table=table,
        label=text.label,
        frame=frame,
        rows=text.rows,
        absent=absent,
        is_whole=text.is_whole and not _has_broken_keys(table, frame),
        in_bushels=in_bushels,
    )
    for column in table.columns:
        _name_unreadable(checked, column, text, reasons[column.name], faults)
    name_broken_rules(checked, faults, texts=text.cells, reasons=reasons)
    name_repeated_keys(checked, faults)
    _name_doubts(checked, doubts)
    return checked


def usual(column: Column) -> str:
    """The values of a column that nobody would question, in words; nothing where none are known."""
    low, high = (None if bound is None else as_text(float(bound)) for bound in (column.usual_low, column.usual_high))
    if low is None:
        return f"up to {high}" if high else ""
    return f"{low} to {high}" if high else f"{low} or more"


def name_broken_rules(
    checked: CheckedTable,
    faults: Faults,
    *,
    texts: pl.DataFrame | None = None,
    reasons: dict[str, pl.Series] | None = None,
    about_absent: bool = False,
) -> None:
    """Add a fault for each cell and row that breaks the table's rules.

    texts : cells as given; without them the typed values are shown
    reasons : cells that could not be read (not null) are passed over, for they are named already
    about_absent : take the rules that need a column which the file does not have, rather than the others
    """
    reasons = reasons or {}

    def is_asked(columns: tuple[str, ...]) -> bool:
        return any(column in checked.absent for column in columns) is about_absent

    for found in breaches(checked.table, checked.frame, is_asked):
        places = found.places
        for column in found.columns:
            if column in reasons:
                places = places.filter(reasons[column].gather(places).is_null())
        if found.rule is not None:
            _name_broken_rule(checked, found.rule, places, faults, is_doubt=False)
        else:
            _name_bad_cells(checked, checked.table.column(found.columns[0]), places, texts, faults)


def _compare_headers(table: Table, text: TextTable, faults: Faults, remarks: list[str]) -> tuple[str, ...]:
    absent = tuple(name for name in table.column_names if name not in text.cells.columns)
    for name in text.cells.columns:
        if name not in table.column_names:
            near = get_close_matches(name, absent, n=1)
            meant = f"; is {near[0]} meant?" if near else "."
            remarks.append(f"{text.label}: column {name} is not one of {table.name} and was left out{meant}")
    for name in absent:
        if table.column(name).required:
            remedy = f"Add the column; its meaning: {table.column(name).meaning}."
            faults.add(
                Fault(
                    file=text.label,
                    row=1,
                    column=name,
                    given="no such column",
                    allowed="a file that has it",
                    remedy=remedy,
                )
            )
    optional = [name for name in absent if not table.column(name).required]
    if optional:
        remarks.append(f"{text.label} has no {', '.join(optional)}: blank in new rows, as it was in known ones.")
    return absent


def _has_broken_keys(table: Table, frame: pl.DataFrame) -> bool:
    return any(frame[name].null_count() for name in _required_key(table))


def _required_key(table: Table) -> list[str]:
    return [name for name in table.key if table.column(name).required]


def _name_unreadable(
    checked: CheckedTable, column: Column, text: TextTable, reasons: pl.Series, faults: Faults
) -> None:
    def word(place: int) -> Fault:
        return checked.fault(
            place,
            column.name,
            given=text.cells[column.name][place],
            allowed=column.allowed,
            remedy=as_remedy(str(reasons[place])),
        )

    if reasons.dtype != pl.Null:  # else every cell can be read
        faults.add_rows(reasons.is_not_null().arg_true(), word)


def _name_bad_cells(
    checked: CheckedTable, column: Column, places: pl.Series, texts: pl.DataFrame | None, faults: Faults
) -> None:
    def word(place: int) -> Fault:
        value = checked.frame[column.name][place]
        given = texts[column.name][place] if texts is not None else as_text(value)
        return checked.fault(
            place,
            column.name,
            given="nothing" if value is None else given,
            allowed=column.allowed,
            remedy=_how_to_mend(column, value),
        )

    faults.add_rows(places, word)


def _how_to_mend(column: Column, value: object) -> str:
    if value is None:
        return "Fill it in."
    if value == 0 and not column.required:  # as people write what was never weighed or counted
        return "If it is not known, leave it blank."
    return column.remedy


def _name_broken_rule(checked: CheckedTable, rule: Rule, places: pl.Series, faults: Faults, *, is_doubt: bool) -> None:
    def word(place: int) -> Fault:
        return checked.fault(
            place,
            " and ".join(rule.columns),
            given=" and ".join(as_text(checked.frame[name][place]) for name in rule.columns),
            allowed=rule.allowed,
            remedy=rule.remedy,
            is_doubt=is_doubt,
        )

    faults.add_rows(places, word)


def name_repeated_keys(checked: CheckedTable, faults: Faults) -> None:
    """Rows of a key that stands there already; of several files, only where it stands in another of them."""
    key = list(checked.table.key)
    known = checked.frame.select(key).with_row_index(PLACE).drop_nulls(_required_key(checked.table))
    if known.select(key).hash_rows().n_unique() == known.height:  # quick and small; equal keys would have one hash
        return
    is_first = known.select(pl.struct(key).is_first_distinct()).to_series()
    if is_first.all():
        return
    first = known.filter(is_first).rename({PLACE: "first"})
    again = known.filter(~is_first).join(first, on=key, how="left", nulls_equal=True, maintain_order="left")
    if checked.labels is not None:
        again = again.filter(checked.labels.gather(again[PLACE]) != checked.labels.gather(again["first"]))
    first_rows = dict(zip(again[PLACE], again["first"], strict=True))

    def word(place: int) -> Fault:
        return checked.fault(
            place,
            " / ".join(key),
            given=key_text(checked.frame.select(key).row(place)),
            allowed="each once",
            remedy=f"{checked.where(first_rows[place])} has the same; keep one, or give it a name of its own.",
        )

    faults.add_rows(again[PLACE], word)


def _name_doubts(checked: CheckedTable, doubts: Faults) -> None:
    doubted = [one for one in checked.table.columns if usual(one) and not is_blank(checked.frame[one.name])]
    odd = checked.frame.select(_is_odd(column) for column in doubted)
    for column in doubted:

        def word(place: int, column: Column = column) -> Fault:
            return checked.fault(
                place,
                column.name,
                given=as_text(checked.frame[column.name][place]),
                allowed=usual(column),
                remedy=column.remedy,
                is_doubt=True,
            )

        doubts.add_rows(odd[column.name].arg_true(), word)
    for rule in checked.table.questions:
        holds = checked.frame.select(rule.holds.fill_null(True)).to_series()
        _name_broken_rule(checked, rule, (~holds).arg_true(), doubts, is_doubt=True)


def _is_odd(column: Column) -> pl.Expr:
    """Whether a number may stand in the column, and is none of the usual ones."""
    cell, low, high = pl.col(column.name), column.usual_low, column.usual_high
    is_allowed = cell.is_between(column.low, column.high) if column.low is not None else cell.is_not_null()
    return is_allowed & ~cell.is_between(low if low is not None else cell, high if high is not None else cell)
