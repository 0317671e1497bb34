"""Columns of text to columns of numbers, dates and choices: what is plainly written all at once, the rest cell by cell.

The meaning of a cell is that of trade/typed_text; a text that cannot be read becomes null and its reason is
kept beside it.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from difflib import get_close_matches

import polars as pl

from analytics.files.text_tables import CellUnits
from analytics.records.form import POLARS_TYPES, Column
from analytics.trade.typed_text import (
    COMMA_OR_DECIMALS,
    FIRST_YEAR,
    LAST_YEAR,
    LONGEST,
    NotReadable,
    read_date,
    read_number,
    read_whole_number,
)

PLAIN_NUMBER = r"^-?[0-9]{1,12}(\.[0-9]{1,15})?$"
PLAIN_WHOLE_NUMBER = r"^-?[0-9]{1,12}$"
PLAIN_DATE = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$"
DECIMAL_COMMA = r"^[^,]*[0-9],([0-9]{1,2}|[0-9]{4,})$|^[+-]?0?,[0-9]+$"
DECIMAL_POINT = r"^[^.]*[0-9]\.([0-9]{1,2}|[0-9]{4,})$|^[+-]?0?\.[0-9]+$"
THOUSANDS_COMMA = r"^[+-]?[1-9][0-9]{0,2}((,[0-9]{3}){2,}|(,[0-9]{3})+\.[0-9]*)$"  # nothing else can be meant
THOUSANDS_POINT = r"^[+-]?[1-9][0-9]{0,2}((\.[0-9]{3}){2,}|(\.[0-9]{3})+,[0-9]*)$"
THOUSANDS_OR_DECIMALS = r"^[+-]?[1-9][0-9]{0,2}\.[0-9]{3}$"
EXPONENT = re.compile(r"[+-]?\d+(\.\d+)?[eE][+-]?\d{1,3}", re.ASCII)
WORDS_APART = r"[\s_-]+"
LESS = " less "  # a weight may be given as gross less tare
NOT_AVAILABLE = "NA"  # as statistics programs write what they do not have
MOST_SEARCHED = 1000  # unknown words for which a near one is searched
TEXT = pl.col("text")
YES_NO = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TypedColumn:
    """`values` in the type of the column, null where blank or unreadable; `reasons` says why it was unreadable."""

    values: pl.Series
    reasons: pl.Series
    years_assumed: int = 0  # dates typed without a year, read as in their crop year


def is_blank(texts: pl.Series) -> bool:
    """Whether there is nothing in the column to read, as in most columns of most tables."""
    return texts.null_count() == texts.len()


def texts_with_a_mark(texts: pl.Series) -> pl.Series:
    """The different texts of a column that hold a comma or a point; only those say what either means."""
    said = texts.unique()
    return said.filter(said.str.contains("[.,]")).drop_nulls()


def has_decimal_commas(texts: pl.Series) -> bool:
    """Whether a number in the column can only have a comma as its decimal mark."""
    return _any(texts, ",", DECIMAL_COMMA)


def has_decimal_points(texts: pl.Series) -> bool:
    """Whether a number in the column can only have a point as its decimal mark."""
    return _any(texts, ".", DECIMAL_POINT)


def thousands_mark(texts: pl.Series, *, commas_are_decimal: bool, points_are_decimal: bool) -> str:
    """The mark that sets thousands apart in a column, where the column settles it or the file does: "," or "."; or "".

    22,910 alone could be either. It is thousands beside 1,234,567 or 1,234.5 in its column, or where the numbers of
    the file have decimal points; and never where one of them has a decimal comma.
    commas_are_decimal, points_are_decimal : as in read_column, of every column of numbers of the file
    """
    commas, points = _any(texts, ",", THOUSANDS_COMMA), _any(texts, ".", THOUSANDS_POINT)
    if points and not commas and not has_decimal_points(texts):
        return "."
    if commas_are_decimal:
        return ""
    return "," if commas or (not points and points_are_decimal) else ""


def could_be_thousands(texts: pl.Series, mark: str) -> pl.Series:
    """The texts that only the settled mark makes thousands."""
    return texts.filter(
        texts.str.contains(f"^{COMMA_OR_DECIMALS}$" if mark == "," else THOUSANDS_OR_DECIMALS)
    ).drop_nulls()


def without_units(texts: pl.Series, units: CellUnits | None) -> tuple[pl.Series, pl.Series | None]:
    """The texts without the unit behind the number, and the factor of each cell that makes it the record's unit.

    The factors are None where every number is in the unit of the record already.
    """
    if units is None:
        return texts, None
    bare, factor = TEXT, pl.lit(units.usual.factor)
    for unit in units.named:
        behind = rf"(?i)([0-9][.,]?)\s*{re.escape(unit.name)}$"
        is_named = TEXT.str.contains(behind).fill_null(False)
        bare = pl.when(is_named).then(TEXT.str.replace(behind, "${1}")).otherwise(bare)
        factor = pl.when(is_named).then(unit.factor).otherwise(factor)
    cells = pl.DataFrame({"text": texts}).select(bare=bare, factor=factor)
    is_own = units.usual.factor == 1.0 and bool((cells["factor"] == 1.0).all())
    return cells["bare"], None if is_own else cells["factor"]


def read_column(
    column: Column,
    texts: pl.Series,
    *,
    crop_years: pl.Series | None = None,
    commas_are_decimal: bool = False,
    points_are_decimal: bool = False,
    thousands: str = "",
    comma: str = "",
    date_order: str = "",
) -> TypedColumn:
    """The column as its kind says. `texts` has no blanks but nulls.

    crop_years : the rows' crop years, for dates typed without a year
    commas_are_decimal : the file has decimal commas, so 18.620 in it could be eighteen thousand and is refused
    points_are_decimal : the file has decimal points and no decimal commas, so 2.000 seeds are two
    thousands : the mark that is settled to set them apart, see thousands_mark
    comma : what the farm said of a comma before three digits, where the file does not say otherwise
    date_order : whether day or month stands first in dates of numbers alone, where that is known
    """
    if is_blank(texts):
        return TypedColumn(values=_blank(POLARS_TYPES[column.kind], texts), reasons=_no_reasons(texts))
    if column.kind in ("text", "note"):
        return TypedColumn(values=texts, reasons=_no_reasons(texts))
    if column.kind == "choice":
        return _read_words(texts, dict(column.other_words) | {one.lower(): one for one in column.choices}, pl.String)
    if column.kind == "yes/no":
        return _read_words(texts, YES_NO, pl.Boolean)
    if column.kind == "date":
        return _read_dates(texts, crop_years, date_order)
    is_whole = column.kind == "whole number"
    is_doubtful = not thousands and (commas_are_decimal or (is_whole and not points_are_decimal))
    is_plain = TEXT.str.contains(PLAIN_WHOLE_NUMBER if is_whole else PLAIN_NUMBER)
    if not is_whole and (is_doubtful or thousands == "."):  # a plain whole number has no mark
        is_plain &= ~TEXT.str.contains(THOUSANDS_OR_DECIMALS)

    def read(text: str) -> float:
        if LESS in text and not is_whole:
            gross, tare = text.split(LESS, 1)
            return float(f"{read(gross) - read(tare):.12g}")
        if is_doubtful and re.fullmatch(THOUSANDS_OR_DECIMALS, text.strip()):
            because = "as this file has decimal commas" if commas_are_decimal else "as only whole numbers stand here"
            raise NotReadable(f"could be {text.replace('.', '')} or {text}, {because}")
        if EXPONENT.fullmatch(text):
            text = format(Decimal(text), "f")
        return (read_whole_number if is_whole else read_number)(text, thousands=thousands, comma=comma)

    all_at_once = TEXT.cast(pl.Int64 if is_whole else pl.Float64, strict=False)
    return _read_cells(pl.DataFrame({"text": texts}), all_at_once, is_plain, read)


def _read_dates(texts: pl.Series, crop_years: pl.Series | None, order: str) -> TypedColumn:
    years = _blank(pl.Int64, texts) if crop_years is None else crop_years
    cells = pl.DataFrame({"text": texts, "crop_year": years})
    dates = TEXT.str.to_date("%Y-%m-%d", strict=False)
    is_plain = TEXT.str.contains(PLAIN_DATE) & dates.dt.year().is_between(FIRST_YEAR, LAST_YEAR)
    typed = _read_cells(cells, dates, is_plain, lambda text, year: read_date(text, crop_year=year, order=order))
    if typed.reasons.dtype == pl.Null:  # every date is plain, with its year
        return typed
    assumed = typed.values.is_not_null() & ~texts.str.contains(r"[0-9]{4}|[0-9][-/.][0-9]+[-/.][0-9]")
    return TypedColumn(values=typed.values, reasons=typed.reasons, years_assumed=int(assumed.sum()))


def _read_cells(
    cells: pl.DataFrame, all_at_once: pl.Expr, is_plain: pl.Expr, read: Callable[..., float | date]
) -> TypedColumn:
    """Plain texts by `all_at_once`; each other text, as often as it occurs, once by `read`."""
    values = cells.select(pl.when(is_plain).then(all_at_once).alias("value"))["value"]
    if values.null_count() == cells["text"].null_count():
        return TypedColumn(values=values, reasons=_no_reasons(values))
    odd = cells.filter(cells["text"].is_not_null() & values.is_null()).unique(maintain_order=True)
    read_values: list[float | date | None] = []
    reasons: list[str | None] = []
    for cell in odd.iter_rows():
        try:
            read_values.append(read(*cell))
            reasons.append(None)
        except NotReadable as problem:
            read_values.append(None)
            reasons.append(str(problem))
    odd = odd.with_columns(odd=pl.Series(read_values, dtype=values.dtype), reason=pl.Series(reasons, dtype=pl.String))
    joined = cells.with_columns(value=values).join(
        odd, on=cells.columns, how="left", nulls_equal=True, maintain_order="left"
    )
    return TypedColumn(values=joined["value"].fill_null(joined["odd"]), reasons=joined["reason"])


def _read_words(texts: pl.Series, meanings: Mapping[str, str | bool], type_: type[pl.DataType]) -> TypedColumn:
    """What the words mean, each read once; hyphens, underlines and spaces between them are one."""
    meanings = {re.sub(WORDS_APART, " ", words): meaning for words, meaning in meanings.items()}
    said = texts.unique()
    words = said.str.to_lowercase().str.replace_all(WORDS_APART, " ")
    meant = words.replace_strict(meanings, default=None, return_dtype=type_)
    values = texts.replace_strict(said, meant, default=None, return_dtype=type_)
    if values.null_count() == texts.null_count():
        return TypedColumn(values=values, reasons=_no_reasons(values))
    is_unknown = values.is_null() & texts.is_not_null()
    nearest = {text: _nearest(text, meanings) for text in texts.filter(is_unknown).unique().head(MOST_SEARCHED)}
    reasons = pl.when(is_unknown).then(TEXT.replace_strict(nearest, default="", return_dtype=pl.String))
    return TypedColumn(values=values, reasons=pl.DataFrame({"text": texts}).select(text=reasons)["text"])


def _nearest(text: str, meanings: Mapping[str, str | bool]) -> str:
    near = get_close_matches(text.lower()[:LONGEST], meanings, n=1, cutoff=0.6)
    return f"is {near[0]} meant?" if near else ""


def _any(texts: pl.Series, mark: str, pattern: str) -> bool:
    """Whether a text is as the pattern says, each of which has this mark; to find none of it takes a tenth as long."""
    if texts.is_empty():
        return False
    return bool(texts.str.contains(mark, literal=True).any()) and bool(texts.str.contains(pattern).any())


def _no_reasons(values: pl.Series) -> pl.Series:
    """Null for each; of no type, as a million blank texts take 16 MB."""
    return _blank(pl.Null, values)


def _blank(kind: type[pl.DataType], beside: pl.Series) -> pl.Series:
    """Null for each cell of the column beside it."""
    return pl.Series(beside.name, [None], dtype=kind).new_from_index(0, beside.len())
