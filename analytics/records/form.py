"""What a table of the records is made of: columns, rules within a row, references to other tables."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import pandera.polars as pa
import polars as pl

LONGEST_NAME = 100
LONGEST_NOTE = 2000

POLARS_TYPES = {
    "text": pl.String,
    "note": pl.String,
    "choice": pl.String,
    "number": pl.Float64,
    "whole number": pl.Int64,
    "date": pl.Date,
    "yes/no": pl.Boolean,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column. `low` and `high` bound what is allowed; `usual_low` and `usual_high` what is believed unasked."""

    name: str
    kind: str  # a key of POLARS_TYPES
    meaning: str
    required: bool = False
    low: float | None = None
    high: float | None = None
    usual_low: float | None = None
    usual_high: float | None = None
    choices: tuple[str, ...] = ()
    remedy: str = ""

    @property
    def allowed(self) -> str:
        """What may stand in the column, in words."""
        if self.choices:
            return ", ".join(self.choices)
        if self.kind == "yes/no":
            return "yes, no"
        if self.kind == "date":
            return "a date, year-month-day"
        if self.kind in ("text", "note"):
            return f"up to {LONGEST_NOTE if self.kind == 'note' else LONGEST_NAME} letters"
        kind = "a whole number" if self.kind == "whole number" else "a number"
        if self.low is not None and self.high is not None:
            return f"{kind} from {self.low:.10g} to {self.high:.10g}"
        return kind


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)  # an expression cannot be compared or hashed
class Rule:
    """Something that holds between the columns of one row. `holds` is true or null (unknown) where all is well."""

    name: str
    columns: tuple[str, ...]
    holds: pl.Expr
    allowed: str
    remedy: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """Columns of this table that must name a row of another."""

    columns: tuple[str, ...]
    table: str
    target: tuple[str, ...]
    method: str | None = None  # for pairs: the plot must have been harvested this way


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table of the records."""

    name: str
    meaning: str
    key: tuple[str, ...]
    columns: tuple[Column, ...]
    rules: tuple[Rule, ...] = ()
    questions: tuple[Rule, ...] = ()  # possible, but worth a look
    references: tuple[Reference, ...] = ()
    caution: str = ""  # said wherever a row is typed

    @property
    def column_names(self) -> tuple[str, ...]:
        """Names in the order of the file."""
        return tuple(column.name for column in self.columns)

    def column(self, name: str) -> Column:
        """The column of that name; KeyError if there is none."""
        for column in self.columns:
            if column.name == name:
                return column
        raise KeyError(name)

    def polars_schema(self) -> dict[str, type[pl.DataType]]:
        """Column types of a frame of this table."""
        return {column.name: POLARS_TYPES[column.kind] for column in self.columns}

    def empty(self) -> pl.DataFrame:
        """A frame of this table without rows."""
        return pl.DataFrame(schema=self.polars_schema())


@cache
def rules_schema(table: Table) -> pa.DataFrameSchema:
    """The table's columns and rules as a pandera schema; the name of each check is the name of what it broke."""
    return pa.DataFrameSchema(
        {
            column.name: pa.Column(POLARS_TYPES[column.kind], _checks(column), nullable=not column.required)
            for column in table.columns
        },
        checks=[_row_check(rule) for rule in table.rules],
        strict=True,
    )


def _checks(column: Column) -> list[pa.Check]:
    if column.choices:
        return [pa.Check.isin(column.choices)]
    if column.kind in ("text", "note"):
        longest = LONGEST_NOTE if column.kind == "note" else LONGEST_NAME
        return [pa.Check.str_length(min_value=1, max_value=longest)]
    if column.low is not None and column.high is not None:
        return [pa.Check.in_range(column.low, column.high)]
    return []


def _row_check(rule: Rule) -> pa.Check:
    holds = rule.holds.fill_null(True)
    return pa.Check(lambda data: data.lazyframe.select(holds), name=rule.name, error=rule.name)


Typed = Mapping[str, str]


Records = Mapping[str, pl.DataFrame]
