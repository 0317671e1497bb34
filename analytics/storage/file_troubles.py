"""What keeps the file of the records from being opened, told in plain words from the engine's own."""

import re
from contextlib import suppress
from pathlib import Path

import duckdb

from analytics.errors import NO_MEMORY, Damaged, Refused
from analytics.storage.backups import list_backups
from analytics.storage.checkpoints import DAMAGE, is_log_unreadable, log_of

# The engine's words when another program has the file open; the second on Windows, from memory.
HELD = ("Could not set lock", "being used by another process")
MISMATCHED = ("WAL does not match", "WAL checkpoint iteration does not match")  # a log of another file or moment


def is_damaged_log(problem: duckdb.Error) -> bool:
    """Whether the log beside the file cannot be read for damage, and not because it is of another file or moment."""
    return is_log_unreadable(problem) and not any(sign in str(problem) for sign in MISMATCHED)


def is_held(problem: duckdb.Error) -> bool:
    """Whether another program has the file open."""
    return any(words in str(problem) for words in HELD)


def in_plain_words(problem: duckdb.Error, path: Path) -> Refused:
    """What happened to the file, in plain words; the engine's own words stay in the cause."""
    words = str(problem)
    if is_held(problem) and "PID 0" in words:
        return Refused(
            f"{path}: this drive does not let a program keep others out of a file, as some network drives do not, so "
            "two could write at once. Nothing was done. Keep the records on a drive of this machine."
        )
    if is_held(problem):
        return Refused(
            f"{path}: another program has the records open: {_holder(words)}. Nothing was done, and they are safe. "
            "Close it there, or wait until it is done, and try again."
        )
    if isinstance(problem, duckdb.OutOfMemoryException):
        return Refused(f"{path}: {NO_MEMORY} What was saved before is safe.")
    if "not a valid DuckDB database" in words or ".duckdb_extension" in words:
        return Damaged(not_records(path))
    if any(sign in words for sign in ("No space left", "File too large", "quota exceeded")):
        return Refused(f"{path}: the disk is full. What was saved before is safe; make room and try again.")
    if any(sign in words for sign in MISMATCHED):
        return Damaged(
            f"{path}: the file and the log beside it, {log_of(path).name}, do not belong together; one of them was put "
            "there. Neither was touched. Put those that belong together back, or restore a backup"
            f"{_newest_backup(path)}: standrow restore"
        )
    if is_log_unreadable(problem):
        return Damaged(
            f"{path}: what was saved last lies in the log beside the file, {log_of(path).name}, and cannot be read "
            f"back ({words.splitlines()[0]}). Neither was touched. Restore a backup{_newest_backup(path)}: standrow "
            "restore"
        )
    if any(sign in words for sign in DAMAGE):
        return Damaged(
            f"{path}: the file is damaged. It was not touched. Restore a backup{_newest_backup(path)}: standrow restore"
        )
    if any(sign in words for sign in ("No such file", "Input/output error", "Stale file", "not connected")):
        return Refused(
            f"{path}: the records cannot be reached any more. What was saved before is as it was; what was being saved "
            "just now is not in it. Connect the drive, or put the folder back, and try again."
        )
    if any(sign in words for sign in ("Permission denied", "Read-only", "read-only mode", "Is a directory")):
        return Refused(
            f"{path}: the file cannot be opened for reading and writing. What is in it is as it was. See that the file "
            "and its folder are yours to write in, or name another file."
        )
    return Refused(f"{path}: the records could not be read or written ({words.splitlines()[0]}).")


def not_records(path: Path) -> str:
    """What is said of a file that is something else, or begins damaged."""
    return (
        f"{path}: this is not a file of records, or its beginning is damaged. It was not touched. Name the right file, "
        f"or restore a backup{_newest_backup(path)}: standrow restore"
    )


def _holder(words: str) -> str:
    """Which program has the file open, from the engine's "held in /usr/bin/python3.11 (PID 17)": name and number."""
    found = re.search(r"held in (?:(.+) \()?PID (\d+)", words)
    if found is None:
        return "its name is not known"
    name, number = Path(found[1] or "its name is not known").name, found[2]
    with suppress(OSError):  # where the system tells it, the command says more than the name of the language
        typed = Path(f"/proc/{number}/cmdline").read_text(encoding="utf-8", errors="replace").split("\0")
        commands = [place for place, word in enumerate(typed) if Path(word).name == "standrow"]
        name = " ".join(["standrow", *typed[commands[0] + 1 :][:1]]) if commands else name
    return f"{name} (process {number})"


def _newest_backup(path: Path) -> str:
    return "".join(f" (the newest is of {backup.made_at:%Y-%m-%d %H:%M})" for backup in list_backups(path)[:1])
