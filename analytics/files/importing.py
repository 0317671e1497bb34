"""Bringing files into the records: read, compared with what is there, saved as one act."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import duckdb

from analytics.files import import_plan
from analytics.files.checking import CheckedTable
from analytics.records.columns import PLOT_KEY
from analytics.records.faults import LISTED, fault_lines
from analytics.records.own_tables import SAVED_TABLES
from analytics.settings import read_settings
from analytics.storage.backups import make_backup
from analytics.storage.database import read_table
from analytics.storage.history import TableSave, save
from analytics.trade import days
from analytics.trade.cautions import LABEL
from analytics.trade.numbers_as_text import count, number


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LookAtFiles:
    """What files would do to the records, looked at before anything is written.

    plan : of all rows; with one fault it may not be written
    sound : the plan of the rows without a fault of their own, so that they can be told apart all the same
    faulty : numbers of the faulty rows by label of the file, as far as the faults are listed
    """

    incoming: import_plan.Incoming
    plan: import_plan.ImportPlan
    sound: import_plan.ImportPlan
    faulty: Mapping[str, frozenset[int]]

    @property
    def is_told_apart(self) -> bool:
        """Whether every fault is listed, and so each row without one known to be sound."""
        return len(self.plan.faults) == self.plan.fault_count


def look_at(
    connection: duckdb.DuckDBPyConnection,
    incoming: import_plan.Incoming,
    *,
    reason: str = "",
    step: Callable[[str], None] = lambda _: None,
) -> LookAtFiles:
    """Compare files that are read already with the records. Nothing is written.

    A farm may be begun one paper at a time: fields, plots and loads need not come together.
    """
    step("comparing with the records")
    existing = {name: read_table(connection, name) for name in SAVED_TABLES}
    plan = import_plan.plan_import(incoming, existing, needs_all=False, reason=reason)
    if not plan.faults:
        return LookAtFiles(incoming=incoming, plan=plan, sound=plan, faulty={})
    step("telling sound rows from faulty ones")
    faulty = {
        label: frozenset(fault.row for fault in plan.faults if fault.file == label and fault.row is not None)
        for label in dict.fromkeys(fault.file for fault in plan.faults)
    }
    checked = {
        name: tuple(_without(one, faulty.get(one.label, frozenset())) for one in parts)
        for name, parts in incoming.checked.items()
    }
    sound = import_plan.plan_import(replace(incoming, checked=checked), existing, needs_all=False, reason=reason)
    return LookAtFiles(incoming=incoming, plan=plan, sound=sound, faulty=faulty)


def _without(one: CheckedTable, rows: frozenset[int]) -> CheckedTable:
    is_sound = ~one.rows.is_in(sorted(rows))
    return replace(one, frame=one.frame.filter(is_sound), rows=one.rows.filter(is_sound))


@dataclass(frozen=True, slots=True, kw_only=True)
class BroughtIn:
    """What an import found and did. Nothing was written when there are faults or when nothing differs.

    plots : keys of the plots whose loads, samples or loss checks were saved, for questions that take a whole plot
    work : names of the field work that was saved, for a question about names
    """

    incoming: import_plan.Incoming
    plan: import_plan.ImportPlan
    act_id: int | None
    plots: frozenset[tuple[object, ...]]
    work: frozenset[str]


def bring_in(
    connection: duckdb.DuckDBPyConnection,
    path: Path,
    *,
    done_by: str,
    reason: str = "",
    step: Callable[[str], None] = lambda _: None,
) -> BroughtIn:
    """Read the files at `path` and save what is new or changed, or nothing if there is one fault.

    A backup is made before, unless there are no records yet.

    reason : why settings that are fixed before looking change, where the files hold any
    step : told in a word or two what is being done, for a progress bar of four steps
    """
    step("reading")
    incoming = import_plan.read_incoming(path, comma=read_settings(connection).comma)
    return bring_in_read(connection, incoming, done_by=done_by, why=f"from {path.name}", reason=reason, step=step)


def bring_in_read(
    connection: duckdb.DuckDBPyConnection,
    incoming: import_plan.Incoming,
    *,
    done_by: str,
    why: str,
    reason: str = "",
    step: Callable[[str], None] = lambda _: None,
    needs_all: bool = True,
) -> BroughtIn:
    """Save what is new or changed in files that are read already; as bring_in, without the step of reading.

    why : where the rows come from; reason : why settings change, kept behind it
    needs_all : as in import_plan.plan_import
    """
    step("comparing")
    existing = {name: read_table(connection, name) for name in SAVED_TABLES}
    plan = import_plan.plan_import(incoming, existing, needs_all=needs_all, reason=reason)
    why = f"{why}; {reason.strip()}" if reason.strip() else why
    act_id = None
    if not plan.faults and not plan.is_empty:
        step("saving")
        if any(rows.height for rows in existing.values()):
            make_backup(connection, "before import")
        act_id = save(connection, table_saves(plan), done_by=done_by, source="import", why=why)
    step("done")
    if act_id is None:
        return BroughtIn(incoming=incoming, plan=plan, act_id=None, plots=frozenset(), work=frozenset())
    return BroughtIn(incoming=incoming, plan=plan, act_id=act_id, plots=_plots_touched(plan), work=_work_named(plan))


def _plots_touched(plan: import_plan.ImportPlan) -> frozenset[tuple[object, ...]]:
    saved = [plan.tables[name].saved for name in ("loads", "samples", "loss_checks") if name in plan.tables]
    return frozenset(plot for rows in saved for plot in rows.select(PLOT_KEY).unique().rows())


def _work_named(plan: import_plan.ImportPlan) -> frozenset[str]:
    saved = plan.tables.get("operations")
    return frozenset() if saved is None else frozenset(saved.saved["operation"].drop_nulls())


def table_saves(plan: import_plan.ImportPlan) -> list[TableSave]:
    """The rows of a plan as what history.save takes."""
    return [
        TableSave(table=SAVED_TABLES[name], saved=table.saved, removed=table.saved.clear())
        for name, table in plan.tables.items()
        if table.saved.height
    ]


def import_lines(brought: BroughtIn, about_plots: Sequence[str] = (), about_work: Sequence[str] = ()) -> list[str]:
    """What an import found and did, a line each: remarks, questions, changes old -> new, and what was written.

    about_plots : what in the plots just saved is possible but unlikely, as a caller found who looked at whole plots
    about_work : what to ask about names of field work, as a caller found who knows the cost items
    """
    incoming, plan = brought.incoming, brought.plan
    found = []
    if doubts := plan.interval_doubts:
        found = [f"{days.HEADING}:", *(f"  {line}" for line in (*doubts, LABEL))]
    found += incoming.remarks
    if incoming.questions:
        found.append("Possible, but worth a look:")
        found += [f"  {line}" for line in fault_lines(incoming.questions, incoming.question_count).splitlines()]
    if plan.alike_names:
        found += ["Names that look alike:", *(f"  {line}" for line in plan.alike_names)]
    if about_plots:
        found += ["Losses worth a look:", *(f"  {line}" for line in about_plots)]
    if about_work:
        found += ["Field work that may be charged twice:", *(f"  {line}" for line in about_work)]
    if plan.faults:
        return found
    if plan.is_empty:
        return [
            *found,
            f"Nothing differs from the records ({plan.unchanged_count} rows as before). Nothing was written.",
        ]
    found += [f"  {change}" for change in plan.changes[:LISTED]]
    if (more := plan.change_count - LISTED) > 0:
        found.append(f"  ... and {more:,} more changes.")
    return [*found, f"{counts_words(plan)}."]


def counts_words(plan: import_plan.ImportPlan | import_plan.TablePlan) -> str:
    """What was done with the rows: "12 rows added, 3 changed, 200 as before"."""
    changed, unchanged = number(plan.changed_count, 0), number(plan.unchanged_count, 0)
    return f"{count(plan.new_count, 'row')} added, {changed} changed, {unchanged} as before"


def faults_text(brought: BroughtIn) -> str:
    """Every fault, a line each, and that nothing was written; "" when there is none."""
    plan = brought.plan
    if not plan.faults:
        return ""
    count = "1 fault" if plan.fault_count == 1 else f"{plan.fault_count} faults"
    return f"{fault_lines(plan.faults, plan.fault_count)}\n{count}; nothing was written."
