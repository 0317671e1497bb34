"""A file of pairs, without records: columns standing and windrowed, and optionally where, when and how."""

from pathlib import Path

import polars as pl

from analytics.errors import BadInput
from analytics.files.text_tables import TextTable, no_file_words, plain_name, read_path
from analytics.files.typed_columns import has_decimal_commas, read_column
from analytics.records.columns import ALLOCATIONS, LAYOUTS
from analytics.records.faults import Fault, Faults, as_remedy, fault_lines
from analytics.records.form import Column

STANDING = Column(name="standing", kind="number", meaning="value of the standing side")
WINDROWED = Column(name="windrowed", kind="number", meaning="value of the windrowed side")
COLUMNS = (
    STANDING,
    WINDROWED,
    Column(name="crop_year", kind="whole number", meaning="year of harvest"),
    Column(name="farm", kind="text", meaning="farm; equal field names on two farms are two fields"),
    Column(name="field", kind="text", meaning="field; pairs of one field and year are its strips"),
    Column(name="standing_field", kind="text", meaning="field of the standing side, where the two differ"),
    Column(name="windrowed_field", kind="text", meaning="field of the windrowed side"),
    Column(name="pair", kind="text", meaning="name of the pair"),
    Column(name="layout", kind="choice", meaning="how the two lie to each other", choices=LAYOUTS),
    Column(name="allocation", kind="choice", meaning="how it was settled which side stands", choices=ALLOCATIONS),
)
POWER_OF_TEN = r"^[+-]?[0-9]+(\.[0-9]+)?[eE][+-]?[0-9]{1,3}$"  # 4.82e-05, 1e+05
IN_ONE_FIELD, IN_TWO_FIELDS = LAYOUTS[:2], LAYOUTS[2:3]


def read_pairs_file(path: Path) -> pl.DataFrame:
    """The pairs of a CSV file or a workbook's first table: columns of the file among COLUMNS, blanks null.

    Raises BadInput with every fault: no such file, a column that is missing or unknown, a cell that is no number.
    """
    if not path.is_file():
        raise BadInput(f"{no_file_words(path)}. Give a CSV or an .xlsx with the columns standing, windrowed.")
    contents = read_path(path, [plain_name(path.stem)])
    faults = contents.faults
    if faults.total or not contents.tables:
        raise BadInput(fault_lines(faults.listed(), faults.total))
    table = contents.tables[0]
    known = {column.name: column for column in COLUMNS}
    _check_columns(table, known)
    commas = {name for name in ("standing", "windrowed") if has_decimal_commas(table.cells[name])}
    columns = {name: _read(table, known[name], faults, commas_are_decimal=bool(commas)) for name in table.cells.columns}
    frame = pl.DataFrame(columns)
    _check_layouts(table, frame, faults)
    if faults.total:
        raise BadInput(fault_lines(faults.listed(), faults.total))
    return frame


def _check_columns(table: TextTable, known: dict[str, Column]) -> None:
    names = table.cells.columns
    missing = [name for name in ("standing", "windrowed") if name not in names]
    unknown = [name for name in names if name not in known]
    named = [name for name in ("standing_field", "windrowed_field") if name in names]
    problems = [
        f"Missing: {', '.join(missing)}." if missing else "",
        f"Not known: {', '.join(unknown)}." if unknown else "",
        f"Beside {named[0]} belongs the field of the other side." if len(named) == 1 else "",
        f"Leave out field, or {' and '.join(named)}." if named and "field" in names else "",
    ]
    if any(problems):
        given = ", ".join(names) or "no columns"
        raise BadInput(
            f"{table.label}, header: {given} given; allowed standing and windrowed, and if wanted farm, crop_year, "
            "field (or standing_field and windrowed_field), pair, layout, allocation. "
            f"{' '.join(problem for problem in problems if problem)}"
        )


def _check_layouts(table: TextTable, frame: pl.DataFrame, faults: Faults) -> None:
    """A layout that says something else than the names of the two fields is a fault of its row."""
    if not {"layout", "standing_field", "windrowed_field"} <= set(frame.columns):
        return
    is_one = pl.col("standing_field") == pl.col("windrowed_field")
    against = (is_one & pl.col("layout").is_in(IN_TWO_FIELDS)) | (~is_one & pl.col("layout").is_in(IN_ONE_FIELD))

    def word(position: int) -> Fault:
        standing, windrowed, layout = frame.select("standing_field", "windrowed_field", "layout").row(position)
        fields = f"in {standing}" if standing == windrowed else f"in {standing} and {windrowed}"
        return Fault(
            file=table.label,
            row=int(table.rows[position]),
            column="layout",
            given=f"{layout} {fields}",
            allowed=", ".join(IN_ONE_FIELD) + " in one field; " + ", ".join(IN_TWO_FIELDS) + " in two",
            remedy="Correct the layout or the names of the fields.",
        )

    faults.add_rows(frame.select(against.fill_null(False)).to_series().arg_true(), word)


def _read(table: TextTable, column: Column, faults: Faults, *, commas_are_decimal: bool) -> pl.Series:
    texts = table.cells[column.name]
    typed = read_column(column, texts, commas_are_decimal=commas_are_decimal)
    values, reasons = typed.values, typed.reasons
    if column.kind == "number" and reasons.dtype != pl.Null:  # other programs write them so; nobody types them
        powers = texts.cast(pl.Float64, strict=False).set(~texts.str.contains(POWER_OF_TEN).fill_null(False), None)
        powers = powers.set(powers.is_infinite(), None)
        values, reasons = powers.fill_null(values), reasons.cast(pl.String).set(powers.is_not_null(), None)

    def word(position: int) -> Fault:
        return Fault(
            file=table.label,
            row=int(table.rows[position]),
            column=column.name,
            given=str(texts[position]),
            allowed=column.allowed,
            remedy=as_remedy(str(reasons[position])),
        )

    faults.add_rows(reasons.is_not_null().arg_true(), word)
    return values
