"""What a table of the records is made of: columns, rules within a row, references to other tables."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

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
    """One column. `low` and `high` bound what is allowed; `usual_low` and `usual_high` what is believed unasked.

    other_words : what people write for a choice, and the choice
    """

    name: str
    kind: str  # a key of POLARS_TYPES
    meaning: str
    required: bool = False
    low: float | None = None
    high: float | None = None
    usual_low: float | None = None
    usual_high: float | None = None
    choices: tuple[str, ...] = ()
    other_words: tuple[tuple[str, str], ...] = ()
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Breach:
    """The places of a frame's rows in which one column, or one rule between columns, does not hold."""

    columns: tuple[str, ...]
    rule: Rule | None  # None: what is said of the column itself
    places: pl.Series


def breaches(
    table: Table, frame: pl.DataFrame, is_asked: Callable[[tuple[str, ...]], bool] = lambda _: True
) -> list[Breach]:
    """What rows of the table break: of its columns in their order, then of its rules. `frame` has its columns.

    is_asked : which columns, alone or in a rule, are looked at
    """
    said: list[tuple[tuple[str, ...], Rule | None, pl.Expr]]
    said = [((column.name,), None, _may_stand(column)) for column in table.columns if is_asked((column.name,))]
    said += [(rule.columns, rule, rule.holds.fill_null(True)) for rule in table.rules if is_asked(rule.columns)]
    answers = frame.select(holds.alias(str(place)) for place, (_, _, holds) in enumerate(said))
    return [
        Breach(columns=columns, rule=rule, places=(~holds).arg_true())
        for (columns, rule, _), holds in zip(said, answers, strict=True)
        if not holds.all()
    ]


def _may_stand(column: Column) -> pl.Expr:
    cell = pl.col(column.name)
    if column.choices:
        fits = cell.is_in(column.choices)
    elif column.kind in ("text", "note"):
        fits = cell.str.len_chars().is_between(1, LONGEST_NOTE if column.kind == "note" else LONGEST_NAME)
    elif column.low is not None and column.high is not None:
        fits = cell.is_between(column.low, column.high)
    else:
        fits = cell.is_not_null()
    return fits.fill_null(False) if column.required else cell.is_null() | fits


Typed = Mapping[str, str]
Records = Mapping[str, pl.DataFrame]
