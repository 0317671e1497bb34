"""What record keeping reads, and the three things it does: undo an act, make a backup, bring one back."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import polars as pl
import streamlit as st

from analytics.errors import BadInput, StandrowError
from analytics.files import exporting
from analytics.health import Health, examine_records
from analytics.storage import acts
from analytics.storage.acts import Act, Choices, Search
from analytics.storage.backups import Backup, list_backups, make_backup
from analytics.storage.restoring import Restore, bring_backup_back, is_sound, plan_restore
from analytics.storage.undoing import Undo, plan_undo, undo
from dashboard.frame import on_file, shown_words

ACTS_SHOWN = 20  # on one page
CHANGES_SHOWN = 20  # records of one act on one page
UNDO_LINES = 20  # records that an undo would touch; all stand above, in what the act changed
DONE = "keeping_done"  # said once, after what was done
UNDO, RESTORE = "undo_planned", "restore_planned"  # what was shown and may be done next
REASONS = {
    "daily": "first use of the day",
    "before import": "before files were brought in",
    "before migration": "before the program brought the file up to date",
    "before restore": "before a backup was restored",
    "asked for": "asked for",
}


# --- what is read


READ_AGAIN_AFTER = 60  # seconds; damage does not always change the size or the time of a file


@st.cache_resource(max_entries=2, ttl=READ_AGAIN_AFTER, show_spinner="Reading every row")
def _health(path: str, last_act: str, files: tuple[tuple[str, int, int], ...], day: date) -> Health:
    gaps = on_file.gaps()
    return on_file.read_records(lambda connection: examine_records(connection, gaps))


def read_health() -> Health:
    """Whether the records are safe: read again a minute after it was last, and whenever a file has changed."""
    seen = [on_file.state().path, *(backup.path for backup in read_backups()[:1])]
    files = tuple((str(file), file.stat().st_size, file.stat().st_mtime_ns) for file in seen)
    return _health(*on_file.kept_under(), files, date.today())


@st.cache_resource(max_entries=2, show_spinner=False)
def _choices(path: str, last_act: str) -> Choices:
    return on_file.read_records(acts.choices)


def read_choices() -> Choices:
    """What the history can be searched for."""
    return _choices(*on_file.kept_under())


@st.cache_resource(max_entries=20, show_spinner=False)
def _acts(path: str, last_act: str, search: Search, page: int) -> tuple[Act, ...]:
    skipped = (page - 1) * ACTS_SHOWN
    return on_file.read_records(
        lambda connection: acts.list_acts(connection, search, skipped=skipped, shown=ACTS_SHOWN)
    )


@st.cache_resource(max_entries=20, show_spinner=False)
def _count(path: str, last_act: str, search: Search) -> int:
    return on_file.read_records(lambda connection: acts.count_acts(connection, search))


@st.cache_resource(max_entries=40, show_spinner=False)
def _changes(path: str, last_act: str, act_id: int, search: Search, page: int) -> tuple[tuple[str, ...], int]:
    skipped = (page - 1) * CHANGES_SHOWN
    return on_file.read_records(
        lambda connection: acts.changes_in_words(connection, act_id, search, skipped=skipped, shown=CHANGES_SHOWN)
    )


def acts_found(search: Search) -> int:
    """How many acts are found."""
    return _count(*on_file.kept_under(), search)


def acts_of(search: Search, page: int) -> tuple[Act, ...]:
    """One page of the acts that are found, newest first."""
    return _acts(*on_file.kept_under(), search, page)


def page_of_changes(act: Act, search: Search, page: int) -> tuple[tuple[str, ...], int]:
    """One page of what an act changed, a line a record, and how many records there are."""
    return _changes(*on_file.kept_under(), act.act_id, search, page)


def read_backups() -> tuple[Backup, ...]:
    """The backups there are, newest first."""
    return list_backups(on_file.state().path)


@st.cache_resource(max_entries=100, show_spinner="Opening each backup")
def _is_sound(path: str, written: int, size: int) -> bool:
    return next((is_sound(backup) for backup in read_backups() if backup.path == Path(path)), False)


def backup_rows() -> pl.DataFrame:
    """The backups as they are listed; each was opened and read once since it was written."""
    rows = []
    for backup in read_backups():
        file = backup.path.stat()
        rows.append(
            {
                "made": backup_name(backup),
                "why": REASONS.get(backup.reason, backup.reason),
                "MB": f"{file.st_size / 1e6:.1f}",
                "opened and read": "whole"
                if _is_sound(str(backup.path), file.st_mtime_ns, file.st_size)
                else "damaged",
            }
        )
    return pl.DataFrame(rows)


def backup_name(backup: Backup) -> str:
    """When a backup was made: "2026-11-25 13:05:22"."""
    return f"{backup.made_at:%Y-%m-%d %H:%M:%S}"


def read_zip() -> bytes:
    """Every table as CSV in one ZIP, made when it is asked for."""
    return on_file.read_records(exporting.export_zip)


def read_workbook() -> bytes:
    """Every table as a sheet of one workbook, made when it is asked for."""
    return on_file.read_records(exporting.export_workbook)


# --- what is done


def do(work: Callable[[], str | None]) -> None:
    """Do something that says what it did, and draw the screen anew; a refusal is said where it happened."""
    try:
        done = work()
    except StandrowError as problem:
        st.error(shown_words.plain(str(problem)))
        return
    if done:
        st.session_state[DONE] = done
    st.rerun()


def look_at_undo(act: Act) -> None:
    """Plan an undo, to be shown."""
    st.session_state[UNDO] = on_file.read_records(lambda connection: plan_undo(connection, act.act_id))


def leave_undo() -> None:
    """Forget the undo that was shown."""
    del st.session_state[UNDO]


def undo_planned(planned: Undo, *, name: str, why: str, over_later: bool) -> str:
    """Do the undo that was shown. Raises BadInput without a reason, Refused as undo does."""
    if not why.strip():
        raise BadInput("Why: nothing given. Say why, so that the undo can be judged later. Nothing was undone.")
    done = on_file.write_records(
        lambda connection: undo(connection, planned, done_by=_name(name), why=why, force=over_later)
    )
    st.session_state.pop(UNDO, None)
    return f"Act {planned.act_id} is undone, by act {done}. Undo act {done} to take that back."


def make_one() -> str:
    """Make a backup now."""
    backup = on_file.write_records(lambda connection: make_backup(connection, "asked for"))
    return f"A backup was made and read: {backup_name(backup)}."


def look_at_restore(backup: Backup) -> None:
    """Compare the records with a backup, to be shown."""
    st.session_state[RESTORE] = plan_restore(on_file.state().path, backup)


def restore_planned(planned: Restore, *, name: str) -> str:
    """Bring the records to the state of the backup that was compared."""
    done = on_file.write_records(lambda connection: bring_backup_back(connection, planned, done_by=_name(name)))
    st.session_state.pop(RESTORE, None)
    return (
        f"The backup of {backup_name(planned.backup)} is restored, by act {done}. What was there before is kept in a "
        f"backup of its own; undo act {done} to go back."
    )


def _name(typed: str) -> str:
    return typed.strip() or on_file.AT_THE_SCREEN
