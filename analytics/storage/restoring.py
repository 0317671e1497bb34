"""Restoring a backup: what would change is shown first, a backup is made before, and nothing is lost by it.

Sound records are brought to the state of the backup as one act, so the history stays and the act can be undone. A
damaged file is kept aside under a name of its own and the backup takes its place.
"""

import os
import shutil
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb
import polars as pl

from analytics.errors import Damaged, Refused
from analytics.records.faults import LISTED
from analytics.records.form import Table
from analytics.records.own_tables import SAVED_TABLES
from analytics.storage.acts import change_words
from analytics.storage.backups import (
    LOOKED_AT,
    NAME_FORM,
    UNFINISHED,
    Backup,
    backups_folder,
    contents,
    make_backup,
    path_of,
    sync,
    sync_folder,
)
from analytics.storage.checkpoints import CONNECTION_SETTINGS, log_of
from analytics.storage.database import closed_everywhere, open_records, read_table
from analytics.storage.history import TableSave, row_texts, save
from analytics.storage.what_happened import begun, done
from analytics.trade.numbers_as_text import count


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
    then `differences` holds the tables that would change, and `lines` the first records that would, in words.
    """

    backup: Backup
    differences: tuple[TableDifference, ...]
    lines: tuple[str, ...]
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
                return _plan(backup, _saves(connection, wanted))
        except Damaged as problem:
            return Restore(backup=backup, differences=(), lines=(), damage=str(problem))


def restore(records: Path, planned: Restore, *, done_by: str) -> Restored:
    """Bring the records to the state of the backup, or put the backup in the place of a damaged file.

    Raises Refused as plan_restore does, when the records changed since the plan was shown, and when a damaged file is
    open elsewhere in this process. All is done or nothing.
    """
    if planned.damage is None:
        with open_records(records) as connection:
            return Restored(act_id=bring_backup_back(connection, planned, done_by=done_by), kept_aside=None)
    if plan_restore(records, planned.backup) != planned:
        raise _overtaken(records)
    return Restored(act_id=None, kept_aside=_replace(records, planned.backup))


def bring_backup_back(connection: duckdb.DuckDBPyConnection, planned: Restore, *, done_by: str) -> int | None:
    """Bring sound records to the state of the backup as one act, after a backup of what is there now; its number.

    None when nothing differed. Raises Refused when the records changed since the plan was shown, when they are damaged,
    or when the backup cannot be opened.
    """
    with _opened_copy(planned.backup) as wanted:
        saves = _saves(connection, wanted)
        if _plan(planned.backup, saves) != planned:
            raise _overtaken(path_of(connection))
        if not saves:
            return None
        make_backup(connection, "before restore")
        return save(
            connection,
            [one for one, _ in saves],
            done_by=done_by,
            source="restore",
            why=f"backup {planned.backup.name}",
            must_pass_checks=True,
        )


def is_sound(backup: Backup) -> bool:
    """Whether every row of the backup can be read. The backup is not touched."""
    try:
        with duckdb.connect(backup.path, read_only=True, config=CONNECTION_SETTINGS) as connection:
            contents(connection)
    except duckdb.Error:
        return False
    return True


def _overtaken(records: Path) -> Refused:
    return Refused(f"{records}: the records changed since the comparison was shown. Nothing was restored. Look again.")


def _plan(backup: Backup, saves: list[tuple[TableSave, pl.DataFrame]]) -> Restore:
    lines = islice((line for one, now in saves for line in _lines(one, now)), LISTED)
    more = sum(one.saved.height + one.removed.height for one, _ in saves) - LISTED
    return Restore(
        backup=backup,
        differences=tuple(_difference(*one) for one in saves),
        lines=(*lines, *([f"... and {count(more, 'record')} more."] if more > 0 else [])),
        damage=None,
    )


@contextmanager
def _opened_copy(backup: Backup) -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection to a throw-away copy, so that bringing an old backup up to date leaves the backup as it is."""
    with TemporaryDirectory(prefix=LOOKED_AT, dir=backup.path.parent) as folder, ExitStack() as opened:
        copy = _copied(backup, Path(folder) / "backup.duckdb")
        try:
            wanted = opened.enter_context(open_records(copy, leaves_log=True, is_copy=True))
            with open_records(copy, leaves_log=True, is_copy=True) as connection:
                contents(connection)
        except Damaged as problem:
            raise Refused(
                f"{backup.path}: this backup is damaged itself and was not restored. Choose another: standrow restore"
            ) from problem
        yield wanted


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
    all_now, all_then = contents(connection), contents(wanted)  # of every table, as damage shows only where it is read
    found = []
    for name, table in SAVED_TABLES.items():
        if all_now[name] == all_then[name]:
            continue
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


def _lines(one: TableSave, now: pl.DataFrame) -> Iterator[str]:
    """Each record that would change, in words."""
    touched = pl.concat([one.saved.select(one.table.key), one.removed.select(one.table.key)])
    before = row_texts(now.join(touched, on=one.table.key, how="semi", nulls_equal=True), one.table)
    after = row_texts(one.saved, one.table)
    both = before.rename({"row": "before"}).join(
        after.rename({"row": "after"}), on="row_key", how="full", coalesce=True
    )
    for row in both.sort("row_key").iter_rows():
        yield change_words(one.table.name, *row)


def _replace(records: Path, backup: Backup) -> Path | None:
    """Put the backup in the place of a damaged or missing file, which is kept aside with the log file beside it."""
    aside = records.with_name(f"{records.name}.damaged-{datetime.now().strftime(NAME_FORM)}")
    log = log_of(records)
    try:
        with closed_everywhere(records), TemporaryDirectory(prefix=UNFINISHED, dir=backups_folder(records)) as folder:
            new = _copied(backup, Path(folder) / records.name)
            with open_records(new, is_copy=True):  # an old backup is brought up to date before it counts
                pass
            sync(new)
            was_there = records.exists()
            if was_there:
                shutil.copyfile(records, aside)
                aside.chmod(0o600)
                sync(aside)
            if log.exists():
                log.replace(log_of(aside))
            begun()
            new.replace(records)
            sync_folder(records.parent)  # before anyone is told
            done("The backup was put in the place of the file")
    except OSError as problem:
        raise Refused(
            f"{records}: the backup could not be put in its place ({problem.strerror}). The backup is as it was. "
            "Make room, or see that the folder is yours, and try again."
        ) from problem
    return aside if was_there else None
