"""What an import brings: files to typed rows with every fault named, then what is new, changed or as before.

Nothing is written here.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import polars as pl

from analytics.files import cross_checks, text_tables
from analytics.files.alike_names import alike
from analytics.files.checking import CheckedTable, check_table, name_broken_rules, name_repeated_keys, together
from analytics.records.cell_text import as_text, key_text
from analytics.records.columns import PLOT_KEY
from analytics.records.faults import LISTED, Fault, Faults
from analytics.records.form import Table
from analytics.records.own_tables import SAVED_TABLES
from analytics.records.tables import REQUIRED_FILES
from analytics.trade.days import interval_doubts
from analytics.trade.numbers_as_text import count


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Incoming:
    """What the files hold, table by table, each by itself.

    faults, questions : the first 200 of each; the counts are of all. A question is possible, but unlikely.
    """

    checked: Mapping[str, tuple[CheckedTable, ...]]  # of each table a part for each file or sheet
    unreadable: frozenset[str]  # tables whose file was there but could not be taken apart
    faults: tuple[Fault, ...]
    fault_count: int
    questions: tuple[Fault, ...]
    question_count: int
    remarks: tuple[str, ...]

    @property
    def tables(self) -> dict[str, pl.DataFrame]:
        """Typed rows of each table, columns in the order of the table."""
        return {name: together(parts).frame for name, parts in self.checked.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedRow:
    """One cell of a known row that is to change."""

    table: str
    key: str
    column: str
    old: str
    new: str

    def __str__(self) -> str:
        return f"{self.table}, {self.key}, {self.column}: {self.old} -> {self.new}"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TablePlan:
    """Rows to add, known rows as they will be, the cells of the first 200 of these, and how many rows are as before.

    change_count : of all changed cells
    """

    new: pl.DataFrame
    changed: pl.DataFrame
    changes: tuple[ChangedRow, ...]
    change_count: int
    unchanged_count: int

    @property
    def new_count(self) -> int:
        """Rows to add."""
        return self.new.height

    @property
    def changed_count(self) -> int:
        """Known rows that change."""
        return self.changed.height

    @property
    def saved(self) -> pl.DataFrame:
        """All rows to write."""
        return pl.concat([self.new, self.changed])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ImportPlan:
    """What the import would do to the records. With one fault it may do nothing; rows not in the files stay.

    faults : those of the files and those against the records, the first 200; fault_count is of all
    alike_names : questions about fields, plots and bins that a person would take for one
    """

    tables: Mapping[str, TablePlan]
    faults: tuple[Fault, ...]
    fault_count: int
    alike_names: tuple[str, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Whether nothing is new and nothing changed."""
        return self.new_count + self.changed_count == 0

    @property
    def new_count(self) -> int:
        """Rows to add."""
        return sum(table.new.height for table in self.tables.values())

    @property
    def changed_count(self) -> int:
        """Known rows that change."""
        return sum(table.changed.height for table in self.tables.values())

    @property
    def unchanged_count(self) -> int:
        """Rows that are as before."""
        return sum(table.unchanged_count for table in self.tables.values())

    @property
    def interval_doubts(self) -> tuple[str, ...]:
        """Plots to write that were cut sooner after a product than the label asks, or may have been."""
        plots = self.tables.get("plots")
        return () if plots is None else tuple(doubt.words for doubt in interval_doubts(plots.saved))

    @property
    def changes(self) -> tuple[ChangedRow, ...]:
        """Changed cells, of the first 200 changed rows of each table."""
        return tuple(change for table in self.tables.values() for change in table.changes)

    @property
    def change_count(self) -> int:
        """How many cells change."""
        return sum(table.change_count for table in self.tables.values())


def read_incoming(path: Path, *, comma: str = "") -> Incoming:
    """Read a folder of CSV files, one CSV file named like a table, or one workbook; `comma` as in `check`.

    Raises BadInput when there is nothing to read there, Refused when it may not be read.
    """
    found = text_tables.read_path(path, SAVED_TABLES)
    return check_incoming(found, found.tables, comma=comma)


def check_incoming(
    found: text_tables.Contents,
    tables: Iterable[text_tables.TextTable],
    *,
    step: Callable[[str], None] = lambda _: None,
    comma: str = "",
) -> Incoming:
    """The tables typed and checked, each by itself, with the faults and remarks of the files that they are from.

    tables : named like ours; they may be other ones than those found, once their columns are matched
    step : told what is being checked, once a table
    comma : what the farm said of a comma before three digits, for files whose numbers do not settle it
    """
    faults, doubts = Faults(), Faults()
    faults.add_all(found.faults)
    remarks = list(found.remarks)
    texts: dict[str, list[text_tables.TextTable]] = {}
    for text in tables:
        texts.setdefault(text.name, []).append(replace(text, comma=comma))
    checked: dict[str, tuple[CheckedTable, ...]] = {}
    for name, table in SAVED_TABLES.items():
        if name in texts:
            step(f"checking {name}")
            own_first = sorted(texts[name], key=lambda text: text.is_also)
            begun = [_begun(table, text, remarks) for text in own_first]
            parts = [check_table(table, text, faults, doubts, remarks) for text in begun]
            checked[name] = tuple(_said_once(parts, remarks))
            if len(parts) > 1:
                name_repeated_keys(together(checked[name]), faults)
    return Incoming(
        checked=checked,
        unreadable=found.unreadable,
        faults=faults.listed(),
        fault_count=faults.total,
        questions=doubts.listed(),
        question_count=doubts.total,
        remarks=tuple(remarks),
    )


def _said_once(parts: Sequence[CheckedTable], remarks: list[str]) -> list[CheckedTable]:
    """The parts of a table without rows that say nothing beyond a row of a part before them."""
    kept = list(parts[:1])
    for one in parts[1:]:
        key = list(one.table.key)
        rest = [name for name in one.table.column_names if name not in key]
        before = pl.concat([part.frame for part in kept]).unique(key, keep="first", maintain_order=True)
        old = before.select(*key, *(pl.col(name).alias(f"old {name}") for name in rest), pl.lit(True).alias("is known"))
        both = one.frame.join(old, on=key, how="left", nulls_equal=True, maintain_order="left")
        says_more = pl.any_horizontal(
            pl.lit(False),
            *(pl.col(name).is_not_null() & pl.col(name).ne_missing(pl.col(f"old {name}")) for name in rest),
        )
        is_kept = both.select(pl.col("is known").is_null() | says_more).to_series()
        if again := int((~is_kept).sum()):
            remarks.append(f"{one.label}: {count(again, 'row')} of {one.table.name} said elsewhere too, taken once.")
        bushels = {name: is_bushel.filter(is_kept) for name, is_bushel in one.in_bushels.items()}
        kept.append(replace(one, frame=one.frame.filter(is_kept), rows=one.rows.filter(is_kept), in_bushels=bushels))
    return kept


def _begun(table: Table, text: text_tables.TextTable, remarks: list[str]) -> text_tables.TextTable:
    """The table without rows that name a plot and nothing else, as a filled template has them until they are used."""
    others = [name for name in table.column_names if name not in PLOT_KEY and name in text.cells.columns]
    if not set(PLOT_KEY) < set(table.key) or not others:
        return text
    is_begun = text.cells.select(pl.any_horizontal(pl.col(others).is_not_null())).to_series()
    waiting = int((~is_begun).sum())
    if not waiting:
        return text
    remarks.append(f"{text.label}: {waiting:,} row(s) name a plot and nothing else, and were passed over.")
    return replace(text, cells=text.cells.filter(is_begun), rows=text.rows.filter(is_begun))


def plan_import(
    incoming: Incoming, existing: Mapping[str, pl.DataFrame], *, needs_all: bool = True, reason: str = ""
) -> ImportPlan:
    """Compare with the records. A row of the files replaces the row of the same key, blanks included; a column that
    a file does not have is left as it is.

    existing : rows on record by table name; a table that is not there is empty
    needs_all : fields, plots and loads have to come together where the records hold none of them yet; false where a
        farm is begun one paper at a time
    reason : why a setting that is fixed before looking changes; without one such a row is a fault
    """
    before = {
        name: existing[name].select(table.column_names).cast(pl.Schema(table.polars_schema()))
        if name in existing
        else table.empty()
        for name, table in SAVED_TABLES.items()
    }
    faults = Faults()
    checked = {
        name: together([_with_absent(one, before[name], faults) for one in parts])
        for name, parts in incoming.checked.items()
    }
    if needs_all:
        _name_absent_files(incoming, before, faults)
    cross_checks.name_all(checked, before, faults, unreadable=incoming.unreadable)
    if "settings" in checked and not reason.strip():
        cross_checks.name_settings_without_reason(checked["settings"], before["settings"], faults)
    return ImportPlan(
        tables={name: _compare(one.table, one.frame, before[name]) for name, one in checked.items()},
        faults=(incoming.faults + faults.listed())[:LISTED],
        fault_count=incoming.fault_count + faults.total,
        alike_names=tuple(
            question
            for name, one in checked.items()
            for question in alike(one.table, one.frame.iter_rows(named=True), before[name].iter_rows(named=True))
        ),
    )


def _with_absent(one: CheckedTable, before: pl.DataFrame, faults: Faults) -> CheckedTable:
    """The rows with what the records hold in the columns that the file does not have; then their rules hold or not."""
    key = list(one.table.key)  # without a column of the key, as weather without a field, it is blank in every key
    absent = [name for name in one.absent if name not in key and not one.table.column(name).required]
    if not absent:
        return one
    filled = one
    if not before.is_empty():
        kept = one.frame.drop(absent).join(
            before.select(*key, *absent), on=key, how="left", nulls_equal=True, maintain_order="left"
        )
        filled = replace(one, frame=kept.select(one.table.column_names))
    name_broken_rules(filled, faults, about_absent=True)
    return filled


def _name_absent_files(incoming: Incoming, before: Mapping[str, pl.DataFrame], faults: Faults) -> None:
    for name in REQUIRED_FILES:
        if name not in incoming.checked and name not in incoming.unreadable and before[name].is_empty():
            faults.add(
                Fault(
                    file=f"{name}.csv",
                    given="no file or sheet of that name",
                    allowed=f"{', '.join(REQUIRED_FILES)} together, until the records hold rows of each",
                    remedy=f"Add {name}.csv; a header alone will do.",
                )
            )


def _compare(table: Table, frame: pl.DataFrame, before: pl.DataFrame) -> TablePlan:
    key, names = list(table.key), list(table.column_names)
    rest = [name for name in names if name not in key]
    if before.is_empty():
        return TablePlan(new=frame, changed=frame.clear(), changes=(), change_count=0, unchanged_count=0)
    old = before.select(*key, *(pl.col(name).alias(f"old {name}") for name in rest), pl.lit(True).alias("is known"))
    both = frame.join(old, on=key, how="left", nulls_equal=True, maintain_order="left")
    differ = [pl.col(name).ne_missing(pl.col(f"old {name}")) for name in rest]
    known = both.filter(pl.col("is known"))
    changed = known.filter(pl.any_horizontal(differ))
    return TablePlan(
        new=both.filter(pl.col("is known").is_null()).select(names),
        changed=changed.select(names),
        changes=tuple(_changes(table, changed.head(LISTED), rest)),
        change_count=sum(changed.select(cells.sum() for cells in differ).row(0)),
        unchanged_count=known.height - changed.height,
    )


def _changes(table: Table, changed: pl.DataFrame, rest: Sequence[str]) -> list[ChangedRow]:
    return [
        ChangedRow(
            table=table.name,
            key=key_text([row[name] for name in table.key]),
            column=name,
            old=as_text(row[f"old {name}"]),
            new=as_text(row[name]),
        )
        for row in changed.iter_rows(named=True)
        for name in rest
        if row[name] != row[f"old {name}"]
    ]
