"""Dated backups beside the records: made inside a connection, verified by reading them whole, numbered as made.

Kept are the newest 20, the last of each of thirty days, and the last of each season; our choice, no source. Their
numbers tell which are newer, since a clock can be wrong.

The file of the records is never opened for copying: closing any handle on it would give up DuckDB's lock on it, and a
copy without the log file beside it lacks the newest rows. The engine copies one state of everything instead.
"""

import os
import re
import shutil
import threading
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb

from analytics.errors import BadInput, Refused

KEPT = 20
DAYS_KEPT = 30  # days with a backup, counted from the newest; the last of each
SEASON_BEGINS = 4  # month; what was harvested and reviewed in the winter after lies in one season
NAME = re.compile(r"(?P<moment>.{19})_(?P<reason>[^_]+)(?:_(?P<number>\d+))?")
NAME_FORM = "%Y-%m-%d_%H-%M-%S"
UNFINISHED = "unfinished-"  # what a killed program leaves; the next backup clears it away
LOOKED_AT = "looked-at-"  # a copy that a restore looks at; one of a killed program goes with a backup of the next day
DAILY = "daily"
# Alike for the same rows in any order; reading it reads every block.
CONTENT = "select ?, count(*), sum(hash(*columns(*))) from query_table(?)"

# One program at a time has the records open, so a lock within the process is enough.
_one_at_a_time = threading.RLock()


@dataclass(frozen=True, slots=True, kw_only=True)
class Backup:
    """One backup: a file of records by itself, when it was made and on what occasion ("daily", "before import").

    number : counts up with each one made, whatever the clock said; 0 for those of before they were numbered
    """

    path: Path
    made_at: datetime
    reason: str
    number: int = 0

    @property
    def name(self) -> str:
        """As listed and as asked for: "2026-11-25_13-05-22"."""
        return self.made_at.strftime(NAME_FORM)


def backups_folder(records: Path) -> Path:
    """Where the backups of the records at that path lie."""
    return records.with_name(f"{records.name}.backups")


def list_backups(records: Path) -> tuple[Backup, ...]:
    """The backups of these records, newest first; other files in the folder are passed over."""
    found = []
    for file in backups_folder(records).glob("*.duckdb"):
        if named := NAME.fullmatch(file.stem):
            reason, number = named["reason"].replace("-", " "), int(named["number"] or 0)
            with suppress(ValueError):
                made_at = datetime.strptime(named["moment"], NAME_FORM)
                found.append(Backup(path=file, made_at=made_at, reason=reason, number=number))
    return tuple(sorted(found, key=lambda backup: (backup.number, backup.made_at), reverse=True))


def find_backup(records: Path, which: str) -> Backup:
    """The backup of that name, or of that number in the list (1 is the newest). Raises BadInput with what there is."""
    backups = list_backups(records)
    for number, backup in enumerate(backups, 1):
        if which in (str(number), backup.name):
            return backup
    allowed = f"1 to {len(backups)}, or a name from the list" if backups else "none: there is no backup yet"
    raise BadInput(f"restore: {which} given; allowed {allowed}. See the list with: standrow restore")


def path_of(connection: duckdb.DuckDBPyConnection) -> Path:
    """The file that the connection has open."""
    ((path,),) = connection.execute(
        "select path from duckdb_databases() where database_name = current_database()"
    ).fetchall()
    return Path(path)


def make_backup(connection: duckdb.DuckDBPyConnection, reason: str) -> Backup:
    """Copy one state of the records to a dated file of its own, whatever others write meanwhile.

    connection : to the records, outside a transaction
    Raises Refused when the folder does not let us write or the copy is not like the records; duckdb.Error when the
    records cannot be read or the disk is full. The records are not touched.
    """
    records = path_of(connection)
    folder = backups_folder(records)
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
        with _one_at_a_time:
            for left in [*folder.glob(f"{UNFINISHED}*"), *_long_looked_at(folder)]:
                shutil.rmtree(left, ignore_errors=True)
            with TemporaryDirectory(prefix=UNFINISHED, dir=folder) as unfinished:
                copy = Path(unfinished) / "copy.duckdb"
                _verify(copy, records, _copy(connection, copy))
                copy.chmod(0o600)
                backup = _with_free_name(records, reason)
                sync(copy)
                copy.rename(backup.path)
                sync_folder(folder)
        for old in superfluous(list_backups(records)):
            old.path.unlink(missing_ok=True)
    except OSError as problem:
        raise Refused(
            f"{folder}: no backup can be made there ({problem.strerror}), so nothing was done. The records are as they "
            "were. Make room, or see that the folder is yours, and try again."
        ) from problem
    return backup


def make_daily_backup(connection: duckdb.DuckDBPyConnection) -> None:
    """A backup if there is none of today yet and something was ever saved.

    A backup that fails does not keep anyone from the records: on a full disk they can still be read, and the health
    check tells how old the last backup is.
    """
    records = path_of(connection)
    if _has_one_of_today(records) or not connection.execute("select 1 from acts limit 1").fetchall():
        return
    with _one_at_a_time, suppress(duckdb.Error, Refused):
        if not _has_one_of_today(records):  # of many threads that open on a new day, one makes it
            make_backup(connection, DAILY)


def _has_one_of_today(records: Path) -> bool:
    return any(backup.made_at.date() == date.today() for backup in list_backups(records))


def _copy(connection: duckdb.DuckDBPyConnection, copy: Path) -> dict[str, tuple[object, ...]]:
    """Copy everything to a new file; what each table held at that moment."""
    ((name,),) = connection.execute("select current_database()").fetchall()
    connection.execute("attach $copy as backup_copy", {"copy": str(copy)})
    try:
        connection.execute("begin")
        try:
            # The engine takes no parameter here. The name is that of the file, quoted.
            connection.execute('copy from database "' + name.replace('"', '""') + '" to backup_copy')
            content = contents(connection)
        except BaseException:
            connection.execute("rollback")
            raise
        connection.execute("commit")
        connection.execute("checkpoint backup_copy")  # else the rows would stay in a log beside it
    finally:
        connection.execute("detach backup_copy")
    return content


def contents(connection: duckdb.DuckDBPyConnection) -> dict[str, tuple[object, ...]]:
    """Number and hash of the rows of each table, by name; every row is read.

    In one statement, as each takes the engine longer than it takes to read a small table.
    """
    names = connection.execute(
        "select table_name from duckdb_tables() where database_name = current_database() order by table_name"
    ).fetchall()
    if not names:
        return {}
    values = [name for (name,) in names for _ in range(2)]
    rows = connection.execute(" union all ".join([CONTENT] * len(names)), values).fetchall()
    return {name: (number, hashed) for name, number, hashed in rows}


def _verify(copy: Path, records: Path, expected: dict[str, tuple[object, ...]]) -> None:
    with duckdb.connect(copy, read_only=True) as connection:
        if contents(connection) != expected:
            raise Refused(f"{records}: the backup just made is not like the records and was thrown away. Try again.")


def superfluous(backups: Sequence[Backup]) -> list[Backup]:
    """Those that need not be kept, of backups given newest first."""
    kept = set(backups[:KEPT])
    kept |= set(list({backup.made_at.date(): backup for backup in reversed(backups)}.values())[-DAYS_KEPT:])
    kept |= set({_season(backup): backup for backup in reversed(backups)}.values())
    return [backup for backup in backups if backup not in kept]


def _long_looked_at(folder: Path) -> list[Path]:
    a_day_ago = datetime.now().timestamp() - 86_400
    return [left for left in folder.glob(f"{LOOKED_AT}*") if left.stat().st_mtime < a_day_ago]


def _season(backup: Backup) -> int:
    return backup.made_at.year - (backup.made_at.month < SEASON_BEGINS)


def _with_free_name(records: Path, reason: str) -> Backup:
    backups = list_backups(records)
    number = max((backup.number for backup in backups), default=0) + 1
    made_at, taken = datetime.now(), {backup.name for backup in backups}
    while (moment := made_at.strftime(NAME_FORM)) in taken:
        made_at += timedelta(seconds=1)
    path = backups_folder(records) / f"{moment}_{reason.replace(' ', '-')}_{number:06}.duckdb"
    return Backup(path=path, made_at=datetime.strptime(moment, NAME_FORM), reason=reason, number=number)


def sync(file: Path) -> None:
    """See that the file has reached the disk before its name says that it is whole."""
    with file.open("rb+") as handle:
        os.fsync(handle.fileno())


def sync_folder(folder: Path) -> None:
    """See that a new name has reached the disk, where the system lets a folder be opened."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
