"""A file of pairs, without records: columns standing and windrowed, and optionally crop_year, field and pair."""

from pathlib import Path

import polars as pl

from analytics.errors import BadInput
from analytics.files.text_tables import TextTable, plain_name, read_path
from analytics.files.typed_columns import has_decimal_commas, read_column
from analytics.records.faults import Fault, Faults, sentences
from analytics.records.form import Column

STANDING = Column(name="standing", kind="number", meaning="value of the standing side")
WINDROWED = Column(name="windrowed", kind="number", meaning="value of the windrowed side")
COLUMNS = (
    STANDING,
    WINDROWED,
    Column(name="crop_year", kind="whole number", meaning="year of harvest"),
    Column(name="field", kind="text", meaning="field; pairs of one field and year are its strips"),
    Column(name="pair", kind="text", meaning="name of the pair"),
)


def read_pairs_file(path: Path) -> pl.DataFrame:
    """The pairs of a CSV file or a workbook's first table: columns of the file among COLUMNS, blanks null.

    Raises BadInput with every fault: a column that is missing or unknown, a cell that is no number.
    """
    contents = read_path(path, [plain_name(path.stem)])
    faults = contents.faults
    if faults.total or not contents.tables:
        raise BadInput(sentences(faults.listed(), faults.total))
    table = contents.tables[0]
    known = {column.name: column for column in COLUMNS}
    _check_columns(table, known)
    commas = {name for name in ("standing", "windrowed") if has_decimal_commas(table.cells[name])}
    columns = {name: _read(table, known[name], faults, commas_are_decimal=bool(commas)) for name in table.cells.columns}
    if faults.total:
        raise BadInput(sentences(faults.listed(), faults.total))
    return pl.DataFrame(columns)


def _check_columns(table: TextTable, known: dict[str, Column]) -> None:
    missing = [name for name in ("standing", "windrowed") if name not in table.cells.columns]
    unknown = [name for name in table.cells.columns if name not in known]
    if missing or unknown:
        given = ", ".join(table.cells.columns) or "no columns"
        raise BadInput(
            f"{table.label}, header: {given} given; allowed standing and windrowed, and if wanted crop_year, field, "
            f"pair. {'Missing: ' + ', '.join(missing) + '. ' if missing else ''}"
            f"{'Not known: ' + ', '.join(unknown) + '.' if unknown else ''}".rstrip()
        )


def _read(table: TextTable, column: Column, faults: Faults, *, commas_are_decimal: bool) -> pl.Series:
    texts = table.cells[column.name]
    typed = read_column(column, texts, commas_are_decimal=commas_are_decimal)

    def word(position: int) -> Fault:
        return Fault(
            file=table.label,
            row=int(table.rows[position]),
            column=column.name,
            given=str(texts[position]),
            allowed=column.allowed,
            remedy=f"{typed.reasons[position].capitalize()}.",
        )

    faults.add_rows(typed.reasons.is_not_null().arg_true(), word)
    return typed.values
