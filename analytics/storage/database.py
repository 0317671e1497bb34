"""One DuckDB file holds the records: opening it, closing it, reading it.

A connection lives as long as one unit of work and is never shared between threads. Only one program can have the
file open for writing, so opening waits a little and then says who holds it. Starting the engine takes longer than most
reads; so a run of a screen, which reads several times, lets go of the file at its end and not between (kept_open).
"""

import os
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb
import platformdirs
import polars as pl

from analytics.errors import BadInput, Damaged, Refused
from analytics.storage.backups import backups_folder, list_backups, make_daily_backup
from analytics.storage.checkpoints import (
    begun_checkpoints,
    checkpoint,
    connect,
    kept_copies,
    log_is_short,
    log_of,
    put_back,
)
from analytics.storage.file_troubles import in_plain_words, is_damaged_log, is_held, not_records
from analytics.storage.log_recovery import log_is_passed_over, recover_log
from analytics.storage.migrations import bring_up_to_date
from analytics.storage.sql_texts import check_files, query_text
from analytics.storage.what_happened import mended
from analytics.storage.worked_out import ViewReader, found_rows

WAIT_SECONDS = 3.0
RETRY_SECONDS = 0.02

# Names that the engine, or a backup, needs for itself; a name with ? would hide a part of it from the engine.
NAMES_TAKEN = ("backup_copy", "system", "temp")


def _our_folder() -> Path:
    """Where the user's own records lie; of a user without a home, a folder that cannot be."""
    try:
        folder = platformdirs.user_data_path("standrow")
    except (RuntimeError, KeyError, OSError):
        folder = Path("~")
    is_nowhere = "~" in folder.parts or Path(os.devnull) in folder.parents
    return NO_HOME if is_nowhere else folder.resolve()


NO_HOME = Path(os.devnull) / "no home folder"
OUR_FOLDER = _our_folder()

# One thread at a time opens or closes, so that the last to close knows it.
_doorway = threading.RLock()
_open_now: Counter[Path] = Counter()

# Files of which somebody wanted the log moved into the file while others had it open; the last to close does so.
_log_to_move: set[Path] = set()


class _Kept(threading.local):
    """What this thread keeps open between units of work: which file, a connection to it once it was opened, what
    reads beside that, and how many units are at work now; their connections close with that one.
    """

    path: Path | None = None
    connection: duckdb.DuckDBPyConnection | None = None
    reader: ViewReader | None = None
    at_work = 0


_kept = _Kept()

# What reads for each connection that is open, by its id.
_readers: dict[int, ViewReader] = {}

# What this process has had open; when such a file is missing it was there, and nothing may be made in its place.
_were_open: set[Path] = set()


def records_path(given: Path | None = None) -> Path:
    """The file of the records: as given, else STANDROW_RECORDS, else in the user's data folder; links followed.

    Raises BadInput for what can be no file of records, and where the user has no folder of his own.
    """
    named = Path(given or os.environ.get("STANDROW_RECORDS") or OUR_FOLDER / "records.duckdb")
    if named.parent == NO_HOME:
        raise BadInput(
            "There is no home folder here to keep records in. Name a file: --records FILE or STANDROW_RECORDS"
        )
    try:
        path = named.resolve()
        is_folder, is_no_file = path.is_dir(), path.exists() and not path.is_file()
    except PermissionError:  # told on opening, where a folder that may not be looked into is met
        return named.absolute()
    except (OSError, RuntimeError, ValueError) as problem:
        raise BadInput(f"records: {str(named)[:200]} given; allowed the name of a file ({problem}).") from problem
    if is_folder:
        raise BadInput(f"records: {path} given, which is a folder; allowed a file in it: {path / 'records.duckdb'}")
    if is_no_file:
        raise BadInput(f"records: {path} given, which is a pipe or a device; allowed the name of a file.")
    if "?" in str(path) or path.stem.lower() in NAMES_TAKEN:
        raise BadInput(
            f"records: {path} given; allowed a path without ? and a name other than {', '.join(NAMES_TAKEN)}, which "
            "the program needs itself. Give the file another name."
        )
    return path


def is_new(path: Path) -> bool:
    """Whether records may be begun at `path`: nothing is there, nothing was, and its folder is there (ours is made)."""
    with suppress(OSError):  # what cannot be reached is not known to be new
        was_there = (
            path in _were_open
            or list_backups(path)
            or begun_checkpoints(path)
            or any(file.exists() for file in (path, log_of(path)))
        )
        return not was_there and (path.parent.is_dir() or path.parent == OUR_FOLDER)
    return False


@contextmanager
def open_records(
    path: Path, *, create: bool = False, leaves_log: bool = False, is_copy: bool = False
) -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection to the records at `path`, schema and views up to date; closed at the end of the block.

    The first opening of a day makes a backup.
    create : make the file when there is none, though never in the place of one that is gone
    leaves_log : leave the log as it is, while it is short, for another closing to move into the file: for a screen
        that reads, and for drafts, of which there is one at each key
    is_copy : make no backup of the day, as the file is a copy itself
    Raises Refused when the file is missing, in use, damaged, foreign, or written by a newer version.
    """
    path = path.resolve()  # the engine's log and the backups lie beside the file itself, not beside a link to it
    try:
        is_there = path.exists() or bool(kept_copies(path))
        if not is_there and create and is_new(path):
            _create(path)
        elif not is_there:
            raise _missing(path)
    except OSError as problem:
        raise Refused(
            f"{path}: the records cannot be reached ({problem.strerror}). What was saved is as it was. See that the "
            "drive is connected and the folder is yours, and try again."
        ) from problem
    try:
        connection = _opened(path, is_copy=is_copy)
        try:
            yield connection
        finally:
            del _readers[id(connection)]
            if path == _kept.path:
                _kept.at_work -= 1
            with _doorway:
                if not (leaves_log and log_is_short(path)):
                    _log_to_move.add(path)
                _close(connection, path)
    except duckdb.Error as problem:
        let_go()
        raise in_plain_words(problem, path) from problem


@contextmanager
def kept_open(path: Path) -> Iterator[None]:
    """Within the block this thread, once it has opened the records at `path`, lets go of them only at the end.

    For a run of a screen. Other programs wait meanwhile, so nothing in the block waits for a person, and what takes
    long and needs no records is begun with let_go. Raises Refused at the end as open_records does.
    """
    _kept.path = path.resolve()
    try:
        yield
    finally:
        try:
            let_go()
        finally:
            _kept.path = None


def let_go() -> None:
    """Close what this thread keeps open, unless it is at work in it; the next opening starts anew."""
    connection, path = _kept.connection, _kept.path
    if connection is not None and path is not None and not _kept.at_work:
        _kept.connection = _kept.reader = None
        with _doorway:
            _close(connection, path)


def _opened(path: Path, *, is_copy: bool) -> duckdb.DuckDBPyConnection:
    """A connection to records that are up to date: beside the one that this thread keeps open, if it keeps these."""
    if path != _kept.path:
        connection = _brought_up_to_date(path, is_copy=is_copy)
        _readers[id(connection)] = ViewReader(connection, path)
        return connection
    if _kept.connection is None or _kept.reader is None:
        _kept.connection = _brought_up_to_date(path, is_copy=is_copy)
        _kept.reader = ViewReader(_kept.connection, path)
    with _doorway:
        connection = _kept.connection.cursor()
        _open_now[path] += 1
        _kept.at_work += 1
    _readers[id(connection)] = _kept.reader
    return connection


def _brought_up_to_date(path: Path, *, is_copy: bool) -> duckdb.DuckDBPyConnection:
    connection = _connect(path)
    try:
        bring_up_to_date(connection, path)
        _were_open.add(path)
        if not is_copy:
            make_daily_backup(connection)
    except BaseException:
        with _doorway:
            _close(connection, path)
        raise
    return connection


def _close(connection: duckdb.DuckDBPyConnection, path: Path) -> None:
    """Close a connection; with the last one of the process the log goes into the file, where somebody wanted that."""
    connection.close()
    _open_now[path] -= 1
    if not _open_now[path] and path in _log_to_move:
        _log_to_move.remove(path)
        try:
            checkpoint(path)
        except duckdb.Error as problem:
            raise in_plain_words(problem, path) from problem


@contextmanager
def closed_everywhere(path: Path) -> Iterator[None]:
    """Within the block nothing in this process has the file open. Raises Refused when something has it open now."""
    with _doorway:
        let_go()
        if _open_now[path.resolve()]:
            raise Refused(f"{path}: the records are open in another window just now. Nothing was done. Try again.")
        yield


def _missing(path: Path) -> Refused:
    """Why there is no file at `path`, and what is safe: it was lost, its drive is away, or it was never made."""
    if backups := list_backups(path):
        return Damaged(
            f"{path}: the file of the records is gone. Its backups lie beside it, the newest of "
            f"{backups[0].made_at:%Y-%m-%d %H:%M}. If it was moved, put it back; if not, restore one: standrow restore"
        )
    if path in _were_open:
        return Refused(
            f"{path}: the records were here and are gone. Is the drive connected? What was saved is on it, as it was; "
            "nothing was made in its place. Connect it, or put the file back, and try again."
        )
    if log_of(path).exists():
        return Refused(
            f"{path}: the file of the records is gone, and its log, {log_of(path).name}, is there. If the file was "
            "moved or renamed, put it back beside its log. To begin anew, put the log elsewhere first."
        )
    if begun := begun_checkpoints(path):
        return Refused(
            f"{path}: the records were here and are gone: {begun[0]} shows that they were being written when the "
            "program was ended. Look for a copy of them first. To begin anew, remove that folder."
        )
    if not path.parent.is_dir() and path.parent != OUR_FOLDER:
        return Refused(
            f"{path.parent}: there is no such folder now. If it is on a drive, connect it and try again: what was "
            "saved is on it, and nothing was made in its place. To begin new records there, make the folder first."
        )
    return Refused(f"{path}: there are no records here. Bring some in with: standrow import FOLDER")


def _create(path: Path) -> None:
    """Make an empty file of records, the owner's alone, under its name only once it is whole."""
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with TemporaryDirectory(prefix="new-records-", dir=path.parent) as folder:
            new = Path(folder) / path.name
            connection = connect(new)
            try:
                bring_up_to_date(connection, new)
                connection.execute("checkpoint")
            finally:
                connection.close()
            new.chmod(0o600)
            _name(new, path)
    except OSError as problem:
        raise Refused(f"{path.parent}: no records can be made in this folder ({problem.strerror}).") from problem


def _name(new: Path, path: Path) -> None:
    """Give a new file its name, unless another program was quicker: a rename would throw the other's records away."""
    try:
        os.link(new, path)
    except FileExistsError:
        pass
    except OSError:  # a disk that knows no second name for a file
        if not path.exists():
            new.rename(path)


def _connect(path: Path) -> duckdb.DuckDBPyConnection:
    give_up_at = time.monotonic() + WAIT_SECONDS
    may_mend = True
    while True:
        try:
            with _doorway:
                if not _open_now[path]:
                    put_back(path)
                    if not _looks_like_records(path):
                        raise Damaged(not_records(path))
                    if log_is_passed_over(path):
                        _mend_log(path)
                connection = connect(path)
                if _open_now[path] or not kept_copies(path):
                    _open_now[path] += 1
                    return connection
                connection.close()  # another program was ended at its checkpoint just now
        except duckdb.Error as problem:
            if may_mend and is_damaged_log(problem) and _mend_log(path):
                may_mend = False
                continue
            if not is_held(problem) or time.monotonic() > give_up_at:
                raise in_plain_words(problem, path) from problem
        except OSError as problem:
            raise Refused(
                f"{path}: the program was ended while it saved, and what was saved cannot be put back in its place "
                f"({problem.strerror}). It is safe in {backups_folder(path)}. See that the folder is yours to write "
                "in, and try again."
            ) from problem
        time.sleep(RETRY_SECONDS)


def _mend_log(path: Path) -> bool:
    """Cut a damaged log to what can be read, unless this process has the file open; whether it was done."""
    words = None
    with _doorway, suppress(OSError):  # without room for a copy the damage is told as it is
        if not _open_now[path]:
            words = recover_log(path)
    if words is not None:
        mended(words)
    return words is not None


def _looks_like_records(path: Path) -> bool:
    """Whether it begins like a file of the engine, which would take a CSV for a database too; an empty one may be.

    Nothing in this process may have it open: reading it here would give up the engine's lock on it.
    """
    try:
        with path.open("rb") as file:
            begin = file.read(12)
    except OSError:  # opening it will tell
        return True
    return not begin or begin[8:] == b"DUCK"


def read_table(connection: duckdb.DuckDBPyConnection, name: str) -> pl.DataFrame:
    """Every row of a table or view, in no order."""
    return _frame(connection, name, lambda beside: beside.table(name))


def read(connection: duckdb.DuckDBPyConnection, query: str, **values: object) -> pl.DataFrame:
    """The rows of a query; values go in as $name, and a table or view that it takes by its name as $view."""
    names_views = f"{query} {values.get('view', '')}"
    return _frame(connection, names_views, lambda beside: beside.sql(query, params=values))


def read_query(connection: duckdb.DuckDBPyConnection, name: str, **values: object) -> pl.DataFrame:
    """The rows of the query of that name in sql/queries; values go in as $name."""
    return read(connection, query_text(name), **values)


def _frame(
    connection: duckdb.DuckDBPyConnection,
    text: str,
    ask: Callable[[duckdb.DuckDBPyConnection], duckdb.DuckDBPyRelation],
) -> pl.DataFrame:
    reader = _readers.get(id(connection))
    return reader.frame(text, ask) if reader else found_rows(ask(connection.cursor()))


def failed_checks(connection: duckdb.DuckDBPyConnection) -> list[str]:
    """Each row that a query of sql/checks returns, as a sentence; none in sound records. Sees its own transaction.

    Where there are any about pairs, also what the view of pairs makes of them: it makes nothing of other records, and
    to ask it takes six times as long as all the checks.
    """
    problems = []
    for file in check_files():
        problems += [str(problem) for (problem,) in connection.execute(file.read_text(encoding="utf-8")).fetchall()]
    if any(problem.startswith("pairs: ") for problem in problems):
        problems += [str(problem) for (problem,) in connection.execute(query_text("measures_twice")).fetchall()]
    return problems
