"""One table of text to typed rows, by the columns and rules of the tables; every fault and every doubt is named."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from difflib import get_close_matches

import polars as pl

from analytics.files.text_tables import TextTable
from analytics.files.typed_columns import (
    NOT_AVAILABLE,
    TypedColumn,
    could_be_thousands,
    has_decimal_commas,
    has_decimal_points,
    is_blank,
    read_column,
    texts_with_a_mark,
    thousands_mark,
    without_units,
)
from analytics.records.cell_text import as_text, key_text
from analytics.records.faults import Fault, Faults, as_remedy
from analytics.records.form import Column, Rule, Table, breaches
from analytics.trade.typed_text import NUMBERS_YEAR_LAST, THOUSANDS, order_of_days
from analytics.trade.units import BUSHELS_PER_TONNE, KG_PER_BUSHEL

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
    typed, in_bushels = _read_columns(table, text, remarks, as_a_whole=as_a_whole)
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


def _read_columns(
    table: Table, text: TextTable, remarks: list[str], *, as_a_whole: bool
) -> tuple[dict[str, TypedColumn], dict[str, pl.Series]]:
    """Each column as its kind says, and for those that were given in bushels which numbers were."""
    cells = _bare_texts(table, text, remarks)
    filled = [column for column in table.columns if not is_blank(cells[column.name])]
    bare = {column.name: cells[column.name] for column in filled if "number" in column.kind}
    factors = {}
    for name in [column.name for column in filled if column.kind == "number"]:
        texts = cells[name].replace(dict.fromkeys(text.known[name])) if name in text.known else cells[name]
        bare[name], factors[name] = without_units(texts, text.units.get(name))
    said = {name: texts_with_a_mark(texts) for name, texts in bare.items()}
    decimals = [said[name] for name in factors]
    commas_are_decimal = any(map(has_decimal_commas, decimals))
    points_are_decimal = not commas_are_decimal and any(map(has_decimal_points, decimals))
    # Where the numbers of the file say otherwise, what the farm said once does not count, and the file is asked about.
    is_other = commas_are_decimal if text.comma == THOUSANDS else points_are_decimal
    comma = "" if is_other else text.comma
    date_order = text.date_order or (_date_order(table, cells, text.label, remarks) if as_a_whole else "")
    typed: dict[str, TypedColumn] = {}
    for column in table.columns:
        mark = ""
        if as_a_whole and column.name in bare:
            mark = thousands_mark(
                said[column.name], commas_are_decimal=commas_are_decimal, points_are_decimal=points_are_decimal
            )
        one = read_column(
            column,
            bare.get(column.name, cells[column.name]),
            crop_years=typed["crop_year"].values if "crop_year" in typed else _crop_years(text),
            commas_are_decimal=commas_are_decimal,
            points_are_decimal=points_are_decimal,
            thousands=mark,
            comma=comma,
            date_order=date_order,
        )
        if mark and (settled := could_be_thousands(bare[column.name], mark)).len():
            remarks.append(
                f"{text.label}: {settled.len():,} number(s) in {column.name}, {settled[0]} the first, were read as "
                "thousands, as the other numbers say."
            )
        if (factor := factors.get(column.name)) is not None:
            one = replace(one, values=_times(one.values, factor))
        if known := text.known.get(column.name):
            ours = cells[column.name].replace_strict(known, default=None, return_dtype=pl.Float64)
            one = replace(one, values=one.values.fill_null(ours))
        typed[column.name] = one
    assumed = sum(column.years_assumed for column in typed.values())
    if assumed:
        remarks.append(f"{text.label}: {assumed:,} date(s) without a year were read as in the crop year of the row.")
    in_bushels = {
        name: is_bushel
        for name, factor in factors.items()
        if factor is not None and (is_bushel := factor.is_in([KG_PER_BUSHEL, BUSHELS_PER_TONNE])).any()
    }
    return typed, in_bushels


def dates_of_numbers(table: Table, cells: pl.DataFrame) -> list[str]:
    """The dates of the table that are written as 10/3/24 is, each once."""
    dates = [column.name for column in table.columns if column.kind == "date" and column.name in cells.columns]
    names = [name for name in dates if not is_blank(cells[name])]
    if not names:
        return []
    found = [
        cells[name].filter(cells[name].str.contains(rf"^{NUMBERS_YEAR_LAST.pattern}\b").fill_null(False))
        for name in names
    ]
    return pl.concat([pl.Series("text", [], dtype=pl.String), *(one.alias("text") for one in found)]).unique().to_list()


def _date_order(table: Table, cells: pl.DataFrame, label: str, remarks: list[str]) -> str:
    dates = dates_of_numbers(table, cells)
    order = order_of_days(dates)
    if order:
        remarks.append(f"{label}: dates such as {min(dates)} were read {order}, as others of the file have to be.")
    return order


def _crop_years(text: TextTable) -> pl.Series | None:
    if text.crop_year is None:
        return None
    return pl.Series([text.crop_year], dtype=pl.Int64).new_from_index(0, text.cells.height)


def _bare_texts(table: Table, text: TextTable, remarks: list[str]) -> pl.DataFrame:
    """The columns of the table as text, without what says no more than the column: % and $, and NA for a blank.

    NA is a blank where a number, date or choice should stand; and in every column of a file that has it there, since
    a program wrote it. Else a text may be NA.
    """
    blank = pl.Series([None], dtype=pl.String).new_from_index(0, text.cells.height)
    is_na = pl.all() == NOT_AVAILABLE
    cells = text.cells.select(
        (text.cells[column.name] if column.name in text.cells.columns else blank).alias(column.name)
        for column in table.columns
    )
    values = [column.name for column in table.columns if column.kind not in ("text", "note")]
    if cells.select(pl.any_horizontal(pl.col(values) == NOT_AVAILABLE).any()).item():
        count = sum(cells.select(is_na.sum()).row(0))
        remarks.append(f"{text.label}: {NOT_AVAILABLE} was read as blank in {count:,} cell(s).")
        cells = cells.select(pl.all().replace(NOT_AVAILABLE, None))
    signed = {
        name: pl.col(name).str.ends_with("%") if name.endswith("_pct") else pl.col(name).str.starts_with("$")
        for name in cells.columns
        if name.endswith("_pct") or name.startswith("dollars_")
    }
    if not signed or not any(cells.select(is_signed.any().alias(name) for name, is_signed in signed.items()).row(0)):
        return cells
    return cells.with_columns(
        pl.col(name).str.strip_suffix("%") if name.endswith("_pct") else pl.col(name).str.strip_prefix("$")
        for name in signed
    )


def _times(values: pl.Series, factors: pl.Series) -> pl.Series:
    """Numbers in the unit of the record, to the 15 digits that are shown, so that what is shown can be typed again."""
    converted = [
        None if value is None else float(f"{value * factor:.15g}")
        for value, factor in zip(values, factors, strict=True)
    ]
    return pl.Series(values.name, converted, dtype=pl.Float64)


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
