"""Whether the records are safe: the file read whole, the checks, the newest backup; and what is missing or odd."""

from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

import duckdb

from analytics.bins.watched_bins import bin_alarms, read_bins
from analytics.pairs.gaps import PairGaps, first_line, read_gaps, to_look_for
from analytics.pairs.losses import questions
from analytics.pairs.work_names import work_questions
from analytics.records.tables import TABLES
from analytics.storage.backups import Backup, contents, list_backups, path_of
from analytics.storage.database import failed_checks, open_records, read_table
from analytics.storage.log_recovery import recoveries
from analytics.storage.restoring import is_sound
from analytics.storage.sql_texts import check_files, schema_files
from analytics.trade.days import interval_doubts
from analytics.trade.numbers_as_text import count, number

MAKE_ROOM = "Make room on the disk, or see that the folder of the backups is yours, then make one (standrow backup)."
TAKE_BACK = "Undo the act that did it (standrow undo), or restore a backup from before it (standrow restore)."


@dataclass(frozen=True, slots=True, kw_only=True)
class Health:
    """`failed` is what checks found; `backup_problem` is "" when the backups are as they should be. Without both the
    records are safe: the file is, whatever stands in it. What is missing and the questions about losses and about names
    of field work are work left; the doubts about days after a product and the alarms of the bins come before them.
    """

    path: Path
    read_at: datetime
    mended: tuple[str, ...]
    version: int
    size_bytes: int
    last_backup: Backup | None
    rows: dict[str, int]
    checks: int
    failed: tuple[str, ...]
    backup_problem: str
    pairs_line: str
    missing: tuple[str, ...]
    interval_doubts: tuple[str, ...]
    bin_alarms: tuple[str, ...]
    loss_questions: tuple[str, ...]
    work_questions: tuple[str, ...]

    @property
    def is_safe(self) -> bool:
        """Whether nothing is wrong."""
        return not self.failed and not self.backup_problem

    @property
    def first_line(self) -> str:
        """Whether the file is safe, or what is wrong with it and what to do; and what of the season wants a look."""
        return f"{self._of_the_file}{self._of_the_season}"

    @property
    def _of_the_season(self) -> str:
        plots, bins = len(self.interval_doubts), len(self.bin_alarms)
        named = [f"{count(plots, 'plot')}, for the days from a product to the first cut"] if plots else []
        named += [count(bins, "bin")] if bins else []
        return f" Look now at what is named below: {', and '.join(named)}." if named else ""

    @property
    def _of_the_file(self) -> str:
        if self.failed:
            more = f" And {count(len(self.failed) - 1, 'more such record')}." if len(self.failed) > 1 else ""
            return f"Something is wrong: {self.failed[0]}{more} {TAKE_BACK}"
        if self.backup_problem:
            return f"Something is wrong: {self.backup_problem}"
        if self.last_backup is None:
            return f"Your records are safe: all {self.checks} checks pass, and there is nothing to back up yet."
        made = self.last_backup.made_at
        when = f"{_day(made)} {made:%H:%M}"
        if made > self.read_at:
            when = f"{made:%Y-%m-%d %H:%M} by a clock that was ahead of this machine's; see that its date is right"
        return f"Your records are safe: the last backup was made {when}, and all {self.checks} checks pass."


def examine(path: Path) -> Health:
    """Open the file and examine it. Raises Refused when it cannot be opened, Damaged when it cannot be read."""
    with open_records(path) as connection:
        return examine_records(connection)


def examine_records(connection: duckdb.DuckDBPyConnection, gaps: tuple[PairGaps, ...] | None = None) -> Health:
    """Read every row of every table and of the newest backup, run every check. Raises duckdb.Error for damage.

    gaps : as from read_gaps, where they were read already
    """
    path = path_of(connection)
    rows = {name: number for name, (number, _) in contents(connection).items()}  # damage shows only where it is read
    gaps = read_gaps(connection) if gaps is None else gaps
    backups = list_backups(path)
    newest = backups[0] if backups else None
    return Health(
        path=path,
        read_at=datetime.now(),
        mended=recoveries(path),
        version=len(schema_files()),
        size_bytes=path.stat().st_size,
        last_backup=newest,
        rows={name: int(str(rows[name])) for name in TABLES},
        checks=len(check_files()),
        failed=tuple(failed_checks(connection)),
        backup_problem=_backup_problem(newest, has_acts=rows["acts"] != 0),
        pairs_line=first_line(gaps),
        missing=tuple(one.words for one in to_look_for(gaps)),
        interval_doubts=tuple(doubt.words for doubt in interval_doubts(read_table(connection, "plots"))),
        bin_alarms=bin_alarms(read_bins(connection, date.today()), date.today()),
        loss_questions=tuple(question.text for question in questions(connection)),
        work_questions=work_questions(connection),
    )


def health_lines(health: Health) -> list[str]:
    """The facts of the file, a line each."""
    rows = ", ".join(f"{name.replace('_', ' ')} {number(rows, 0)}" for name, rows in health.rows.items())
    backup = health.last_backup
    words = f"{backup.made_at:%Y-%m-%d %H:%M} ({backup.reason})" if backup else "none yet"
    return [
        *(f"Mended: {words}" for words in health.mended),
        f"File: {health.path}, {health.size_bytes / 1e6:.1f} MB, records version {health.version}",
        f"Last backup: {words}",
        f"Integrity: every row of every table and of the newest backup was read on {health.read_at:%Y-%m-%d} at "
        f"{health.read_at:%H:%M:%S}, and {health.checks} checks were run",
        f"Rows: {rows}",
    ]


def _backup_problem(newest: Backup | None, *, has_acts: bool) -> str:
    if newest is None:
        return f"there is no backup, and none could be made. {MAKE_ROOM}" if has_acts else ""
    if not is_sound(newest):
        return f"the newest backup, {newest.name}, cannot be read. Make a new one (standrow backup)."
    if newest.made_at.date() < date.today():  # one is made on each day of use, so today's failed
        return f"the last backup is of {newest.made_at:%Y-%m-%d}, and none could be made today. {MAKE_ROOM}"
    return ""


def _day(moment: datetime) -> str:
    return "today" if moment.date() == date.today() else f"{moment:%Y-%m-%d}"
