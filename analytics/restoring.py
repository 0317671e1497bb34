"""Restoring a backup: what would change is shown first, a backup is made before, and nothing is lost by it.

Sound records are brought to the state of the backup as one act, so the history stays and the act can be undone. A
damaged file is kept aside under a name of its own and the backup takes its place.
"""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb
import polars as pl

from analytics.backups import NAME_FORM, Backup, contents, make_backup
from analytics.database import open_records, read_table
from analytics.errors import Damaged, Refused
from analytics.history import SAVED_TABLES, TableSave, save
from analytics.records import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class TableDifference:
    """Rows of one table that a restore would add, change and remove."""

    table: str
    added: int
    changed: int
    removed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Restore:
    """What restoring a backup would do. `damage` says what is wrong with the present file, null when it is sound;
    then `differences` holds the tables that would change.
    """

    backup: Backup
    differences: tuple[TableDifference, ...]
    damage: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """What a restore did: the number of its act, null when nothing differed or the whole file was replaced; where the
    damaged file was put, null when there was none.
    """

    act_id: int | None
    kept_aside: Path | None


def plan_restore(records: Path, backup: Backup) -> Restore:
    """What restoring the backup would change. Nothing is written.

    Raises Refused when the backup or the records are in use, newer or foreign, or when the backup itself is damaged.
    """
    with _opened_copy(backup) as wanted:
        try:
            with open_records(records) as connection:
                contents(connection)  # damage shows only where it is read
                saves = _saves(connection, wanted)
        except Damaged as problem:
            return Restore(backup=backup, differences=(), damage=str(problem))
    return Restore(backup=backup, differences=tuple(_difference(*one) for one in saves), damage=None)


def restore(records: Path, planned: Restore, *, done_by: str) -> Restored:
    """Bring the records to the state of the backup.

    Raises Refused as plan_restore does, and when the records changed since the plan was shown. All is done or nothing.
    """
    if plan_restore(records, planned.backup) != planned:
        raise Refused(
            f"{records}: the records changed since the comparison was shown. Nothing was restored. Look again."
        )
    if planned.damage is not None:
        return Restored(act_id=None, kept_aside=_replace(records, planned.backup))
    with _opened_copy(planned.backup) as wanted, open_records(records) as connection:
        saves = [one for one, _ in _saves(connection, wanted)]
        if not saves:
            return Restored(act_id=None, kept_aside=None)
        make_backup(connection, "before restore")
        act_id = save(
            connection,
            saves,
            done_by=done_by,
            source="restore",
            why=f"backup {planned.backup.name}",
            must_pass_checks=True,
        )
    return Restored(act_id=act_id, kept_aside=None)


@contextmanager
def _opened_copy(backup: Backup) -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection to a throw-away copy, so that bringing an old backup up to date leaves the backup as it is."""
    with TemporaryDirectory(prefix="standrow-restore-") as folder:
        copy = _copied(backup, Path(folder) / "backup.duckdb")
        try:
            with open_records(copy) as connection:
                contents(connection)
        except Damaged as problem:
            raise Refused(
                f"{backup.path}: this backup is damaged itself and was not restored. Choose another: standrow restore"
            ) from problem
        with open_records(copy) as connection:
            yield connection


def _copied(backup: Backup, to: Path) -> Path:
    try:
        shutil.copyfile(backup.path, to)
        to.chmod(0o600)
        with to.open("rb+") as file:
            os.fsync(file.fileno())
    except OSError as problem:
        raise Refused(
            f"{backup.path}: the backup cannot be copied ({problem.strerror}). Nothing was restored; the records are "
            "as they were. Make room, or see that the folder is yours, and try again."
        ) from problem
    return to


def _saves(
    connection: duckdb.DuckDBPyConnection, wanted: duckdb.DuckDBPyConnection
) -> list[tuple[TableSave, pl.DataFrame]]:
    """For each table that differs: what to save and remove, and the rows as they are now."""
    found = []
    for name, table in SAVED_TABLES.items():
        columns = table.column_names
        now, then = (read_table(side, name).select(columns) for side in (connection, wanted))
        saved = then.join(now, on=columns, how="anti", nulls_equal=True)
        removed = now.join(then, on=table.key, how="anti", nulls_equal=True)
        if saved.height or removed.height:
            found.append((TableSave(table=table, saved=saved, removed=removed), now))
    return found


def _difference(one: TableSave, now: pl.DataFrame) -> TableDifference:
    added = _without(one.saved, now, one.table).height
    return TableDifference(
        table=one.table.name, added=added, changed=one.saved.height - added, removed=one.removed.height
    )


def _without(rows: pl.DataFrame, others: pl.DataFrame, table: Table) -> pl.DataFrame:
    return rows.join(others, on=table.key, how="anti", nulls_equal=True)


def _replace(records: Path, backup: Backup) -> Path | None:
    """Put the backup in the place of a damaged or missing file, which is kept aside with the log file beside it."""
    aside = records.with_name(f"{records.name}.damaged-{datetime.now().strftime(NAME_FORM)}")
    log = records.with_name(f"{records.name}.wal")
    try:
        with TemporaryDirectory(prefix="restored-", dir=records.parent) as folder:
            new = _copied(backup, Path(folder) / records.name)
            with open_records(new):  # an old backup is brought up to date before it counts
                pass
            was_there = records.exists()
            if was_there:
                shutil.copyfile(records, aside)
                aside.chmod(0o600)
            if log.exists():
                log.replace(aside.with_name(f"{aside.name}.wal"))
            new.replace(records)
    except OSError as problem:
        raise Refused(
            f"{records}: the backup could not be put in its place ({problem.strerror}). The backup is as it was. "
            "Make room, or see that the folder is yours, and try again."
        ) from problem
    return aside if was_there else None
