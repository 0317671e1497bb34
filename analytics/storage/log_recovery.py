"""A damaged log beside sound records: what stands in it up to its last whole entry is kept, and said.

A power cut while something is saved can leave the end of the log as zeros or as anything. The engine then refuses the
file although that is sound, and all but the save that was not finished can be read. It also passes over a log whose
beginning is damaged, without a word. Both are found here; the log is cut in a copy first, and file and log as they were
are kept aside.
"""

import shutil
from contextlib import closing
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb

from analytics.storage.backups import NAME_FORM, UNFINISHED, backups_folder, contents, sync, sync_folder
from analytics.storage.checkpoints import connect, log_of, seen

LOG_BEGINS = b"\x64\x00\x62"  # as the engine writes it, seen with 2.0.1
ASIDE = "cut-log-"


def log_is_passed_over(path: Path) -> bool:
    """Whether there is a log that the engine would pass over, as it does not begin like one."""
    try:
        with log_of(path).open("rb") as log:
            begin = log.read(len(LOG_BEGINS))
    except OSError:  # none, or it cannot be reached, which opening the records will tell
        return False
    return begin != LOG_BEGINS[: len(begin)]


def recover_log(path: Path) -> str | None:
    """Cut a damaged log to its last whole entry; what was kept and what was not, in words.

    None, and nothing changed, where the log is not what is damaged, or another program has changed file or log.
    Nothing in this process may have the file open. Raises OSError when the folder cannot be written in.
    """
    if not (path.exists() and log_of(path).exists()):
        return None
    folder = backups_folder(path)
    folder.mkdir(mode=0o700, exist_ok=True)
    with TemporaryDirectory(prefix=UNFINISHED, dir=folder) as work:
        before = seen(path)
        copy = Path(work) / path.name
        shutil.copyfile(path, copy)
        log = log_of(path).read_bytes()
        if _last_act(copy, b"") is None:
            return None
        length = 0 if log_is_passed_over(path) else _longest_that_opens(copy, log)
        kept, last_act = log[:length], _last_act(copy, log[:length])
        if last_act is None or seen(path) != before:
            return None
        aside = _put_aside(path)
        words = (
            f"{datetime.now():%Y-%m-%d %H:%M}: the log beside the records, which holds the newest changes until the "
            f"program is closed, was damaged, as by a power cut. {len(kept):,} of its {len(log):,} bytes could be "
            f"read, and what they hold is in the records. {last_act} What stood behind is not in them. Look whether "
            f"the last thing that you saved is there. File and log as they were are kept as {aside.name}."
        )
        note = aside.with_name(f"{aside.name}.txt")
        note.write_text(words, encoding="utf-8")
        sync(note)
        if kept:
            sync(log_of(copy))
            log_of(copy).replace(log_of(path))
        else:
            log_of(path).unlink()
        sync_folder(path.parent)
    return words


def recoveries(path: Path) -> tuple[str, ...]:
    """What was said when logs of these records were cut, newest first."""
    notes = sorted(path.parent.glob(f"{path.name}.{ASIDE}*.txt"), reverse=True)
    return tuple(note.read_text(encoding="utf-8", errors="replace") for note in notes)


def _longest_that_opens(copy: Path, log: bytes) -> int:
    """How many bytes of the log the engine takes, from none on: it takes an entry cut short, and no damaged one."""
    opens, fails = 0, len(log)
    while fails - opens > 1:
        middle = (opens + fails) // 2
        if _last_act(copy, log[:middle]) is None:
            fails = middle
        else:
            opens = middle
    return opens


def _last_act(copy: Path, log: bytes) -> str | None:
    """The newest change of the copy with that log, in words; None where they cannot be read."""
    log_of(copy).unlink(missing_ok=True)
    if log:
        log_of(copy).write_bytes(log)
    try:
        with closing(connect(copy)) as connection:
            if "acts" not in contents(connection):  # damage shows only where it is read
                return "They hold no change yet."
            rows = connection.execute(
                "select act_id, happened_at, done_by from acts order by act_id desc limit 1"
            ).fetchall()
    except duckdb.Error:
        return None
    return "".join(
        f"The newest change in them is act {number} of {at:%Y-%m-%d %H:%M}, by {by}." for number, at, by in rows
    )


def _put_aside(path: Path) -> Path:
    aside = path.with_name(f"{path.name}.{ASIDE}{datetime.now().strftime(NAME_FORM)}")
    for file, to in ((path, aside), (log_of(path), log_of(aside))):
        shutil.copyfile(file, to)
        to.chmod(0o600)
        sync(to)
    return aside
