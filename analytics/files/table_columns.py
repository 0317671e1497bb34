"""The columns of one table of text, read together: comma, order of dates and the sign for a blank are one in all.

A single column is read by typed_columns.
"""

from dataclasses import replace

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
from analytics.records.form import Table
from analytics.trade.typed_text import NUMBERS_YEAR_LAST, THOUSANDS, order_of_days
from analytics.trade.units import BUSHELS_PER_TONNE, KG_PER_BUSHEL


def read_columns(
    table: Table, text: TextTable, remarks: list[str], *, as_a_whole: bool
) -> tuple[dict[str, TypedColumn], dict[str, pl.Series]]:
    """Each column as its kind says, and for those that were given in bushels which numbers were.

    remarks : what the reader should know is added to them
    as_a_whole : the numbers of a file may settle which mark sets its thousands apart, and its dates in which order they
        are; typed ones are asked about instead
    """
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
