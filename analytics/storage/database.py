"""One DuckDB file holds the records: opening it, bringing it up to date, one transaction helper, reading.

A connection lives as long as one unit of work and is never shared between threads. Only one program can have the
file open for writing, so opening waits a little and then says who holds it.
"""

import os
import re
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb
import platformdirs
import polars as pl

from analytics.errors import BadInput, Damaged, Refused
from analytics.storage.backups import backups_folder, list_backups, make_backup, make_daily_backup
from analytics.storage.checkpoints import (
    DAMAGE,
    checkpoint,
    connect,
    is_log_unreadable,
    kept_copies,
    log_of,
    put_back,
)
from analytics.storage.log_recovery import log_is_passed_over, recover_log
from analytics.storage.what_happened import mended

SQL_FOLDER = Path(__file__).resolve().parents[2] / "sql"
WAIT_SECONDS = 3.0
RETRY_SECONDS = 0.02
# The engine's words when another program has the file open; the second on Windows, from memory.
HELD = ("Could not set lock", "being used by another process")
MISMATCHED = ("WAL does not match", "WAL checkpoint iteration does not match")  # a log of another file or moment

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

# Writers of one process take turns, so that a key checked in a transaction is still free when it commits.
_writers_turn = threading.RLock()
_in_transaction: list[duckdb.DuckDBPyConnection] = []  # of the thread whose turn it is

# One thread at a time opens or closes, so that the last to close knows it.
_doorway = threading.RLock()
_open_now: Counter[Path] = Counter()

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
        is_folder = path.is_dir()
    except PermissionError:  # told on opening, where a folder that may not be looked into is met
        return named.absolute()
    except (OSError, RuntimeError, ValueError) as problem:
        raise BadInput(f"records: {str(named)[:200]} given; allowed the name of a file ({problem}).") from problem
    if is_folder:
        raise BadInput(f"records: {path} given, which is a folder; allowed a file in it: {path / 'records.duckdb'}")
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
            or any(file.exists() for file in (path, log_of(path), *kept_copies(path)))
        )
        return not was_there and (path.parent.is_dir() or path.parent == OUR_FOLDER)
    return False


@contextmanager
def open_records(path: Path, *, create: bool = False) -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection to the records at `path`, schema and views up to date; closed at the end of the block.

    The first opening of a day makes a backup.
    create : make the file when there is none, though never in the place of one that is gone
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
    connection = _connect(path)
    try:
        _bring_up_to_date(connection, path)
        _were_open.add(path)
        make_daily_backup(connection)
        yield connection
    except duckdb.Error as problem:
        raise _plain(problem, path) from problem
    finally:
        with _doorway:
            connection.close()
            _open_now[path] -= 1
            if not _open_now[path]:
                try:
                    checkpoint(path)
                except duckdb.Error as problem:
                    raise _plain(problem, path) from problem


@contextmanager
def closed_everywhere(path: Path) -> Iterator[None]:
    """Within the block nothing in this process has the file open. Raises Refused when something has it open now."""
    with _doorway:
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
                _bring_up_to_date(connection, new)
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
                        raise Damaged(_not_records(path))
                    if log_is_passed_over(path):
                        _mend_log(path)
                connection = connect(path)
                if _open_now[path] or not kept_copies(path):
                    _open_now[path] += 1
                    return connection
                connection.close()  # another program was ended at its checkpoint just now
        except duckdb.Error as problem:
            if may_mend and _is_damaged_log(problem) and _mend_log(path):
                may_mend = False
                continue
            if not _is_held(problem) or time.monotonic() > give_up_at:
                raise _plain(problem, path) from problem
        except OSError as problem:
            raise Refused(
                f"{path}: the program was ended while it saved, and what was saved cannot be put back in its place "
                f"({problem.strerror}). It is safe in {backups_folder(path)}. See that the folder is yours to write "
                "in, and try again."
            ) from problem
        time.sleep(RETRY_SECONDS)


def _is_damaged_log(problem: duckdb.Error) -> bool:
    return is_log_unreadable(problem) and not any(sign in str(problem) for sign in MISMATCHED)


def _mend_log(path: Path) -> bool:
    """Cut a damaged log to what can be read, unless this process has the file open; whether it was done."""
    words = None
    with _doorway, suppress(OSError):  # without room for a copy the damage is told as it is
        if not _open_now[path]:
            words = recover_log(path)
    if words is not None:
        mended(words)
    return words is not None


def _is_held(problem: duckdb.Error) -> bool:
    return any(words in str(problem) for words in HELD)


def _plain(problem: duckdb.Error, path: Path) -> Refused:
    """What happened to the file, in plain words; the engine's own words stay in the cause."""
    words = str(problem)
    if _is_held(problem) and "PID 0" in words:
        return Refused(
            f"{path}: this drive does not let a program keep others out of a file, as some network drives do not, so "
            "two could write at once. Nothing was done. Keep the records on a drive of this machine."
        )
    if _is_held(problem):
        return Refused(
            f"{path}: another program has the records open: {_holder(words)}. Nothing was done, and they are safe. "
            "Close it there, or wait until it is done, and try again."
        )
    if "not a valid DuckDB database" in words or ".duckdb_extension" in words:
        return Damaged(_not_records(path))
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


def _not_records(path: Path) -> str:
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


@contextmanager
def transaction(connection: duckdb.DuckDBPyConnection) -> Iterator[None]:
    """All of the block or nothing of it.

    After an error inside a transaction DuckDB's commit saves nothing and says nothing, so any exception rolls back
    and goes on to the caller. Inside another transaction of the same connection the block becomes part of that one.
    read and read_table see what was committed before the outermost block, not what it has written.
    """
    with _writers_turn:
        if any(one is connection for one in _in_transaction):
            yield
            return
        connection.execute("begin")
        _in_transaction.append(connection)
        try:
            yield
        except BaseException:
            connection.execute("rollback")
            raise
        else:
            connection.execute("commit")
        finally:
            _in_transaction.pop()


def schema_files() -> list[Path]:
    """The numbered migrations, oldest first."""
    return sorted((SQL_FOLDER / "schema").glob("[0-9]*.sql"))


def _bring_up_to_date(connection: duckdb.DuckDBPyConnection, path: Path) -> None:
    version = _version(connection, path)
    files = schema_files()
    if version > len(files):
        raise Refused(
            f"{path}: written by a newer version of standrow (its records are version {version}, this program knows "
            f"{len(files)}). It was not touched. Update standrow."
        )
    if version == len(files) and _views_are_current(connection):
        return
    for file in files[version:]:
        _refuse_what_the_log_cannot_hold(connection, file)
    with _writers_turn:  # of two threads the second finds it done
        version = _version(connection, path)
        if not 0 < version < len(files):
            _build(connection, files, version)
            return
        backup = make_backup(connection, "before migration")
        try:
            _build(connection, files, version)
        except duckdb.Error as problem:
            plain = _plain(problem, path)
            raise type(plain)(
                f"{plain} The records are of version {version} and could not be brought up to date to {len(files)}; "
                f"they are as they were, and a backup was made before: {backup.path.name}"
            ) from problem


def _refuse_what_the_log_cannot_hold(connection: duckdb.DuckDBPyConnection, file: Path) -> None:
    """Refuse a migration that would run and leave a file that nothing opens again.

    DuckDB 2.0.1 takes a change of a table's columns, and cannot do it again from its log where the table has a CHECK
    that calls a function (isfinite). Renaming a table is sound, so the way round it is.
    """
    for statement in connection.extract_statements(file.read_text(encoding="utf-8")):
        words = " ".join(re.sub(r"--.*", "", statement.query).split())
        if statement.type == duckdb.StatementType.ALTER and not re.search(r" rename to \S+$", words, re.IGNORECASE):
            raise Refused(
                f"{file.name}: not run, and the records are as they were: after {words!r} the file could not be opened "
                "again. Instead make a new table with the columns it shall have, insert the rows of the old one into "
                "it, drop the old one, and rename the new one to its name."
            )


def _build(connection: duckdb.DuckDBPyConnection, files: list[Path], version: int) -> None:
    """Run the migrations that are still to come, and build the views anew; all of it or nothing."""
    with transaction(connection):
        for number, file in enumerate(files[version:], version + 1):
            connection.execute(file.read_text(encoding="utf-8"))
            connection.execute(
                "insert into schema_versions (version, file) values ($version, $file)",
                {"version": number, "file": file.name},
            )
        for file in sorted((SQL_FOLDER / "views").glob("*.sql")):
            connection.execute(file.read_text(encoding="utf-8"))
        connection.execute("delete from view_text")
        connection.execute("insert into view_text values ($text)", {"text": _view_text()})


def _version(connection: duckdb.DuckDBPyConnection, path: Path) -> int:
    """How many migrations the file has had; 0 for a new one, which gets the table that counts them."""
    tables = {name for (name,) in connection.execute("select table_name from duckdb_tables()").fetchall()}
    if not tables:
        with transaction(connection):
            connection.execute(
                "create table schema_versions (version integer not null, file varchar not null, "
                "applied_at timestamp not null default current_localtimestamp())"
            )
            connection.execute("create table view_text (text varchar not null)")
        return 0
    if "schema_versions" not in tables:
        raise Refused(
            f"{path}: this file holds other data, not records of standrow. It was not touched. Name the right file."
        )
    rows = connection.execute("select coalesce(max(version), 0) from schema_versions").fetchall()
    return int(rows[0][0])


def _view_text() -> str:
    files = sorted((SQL_FOLDER / "views").glob("*.sql"))
    return "\n".join(file.read_text(encoding="utf-8") for file in files)


def _views_are_current(connection: duckdb.DuckDBPyConnection) -> bool:
    """Whether the file's views were built from these very texts; building them on every opening costs a write."""
    return connection.execute("select text from view_text").fetchall() == [(_view_text(),)]


def read_table(connection: duckdb.DuckDBPyConnection, name: str) -> pl.DataFrame:
    """Every row of a table or view, in no order."""
    return _frame(connection.cursor().table(name))


def read(connection: duckdb.DuckDBPyConnection, query: str, **values: object) -> pl.DataFrame:
    """The rows of a query; values go in as $name."""
    return _frame(connection.cursor().sql(query, params=values))


def query_text(name: str) -> str:
    """The text of sql/queries for one question, a statement whose values go in as $name."""
    return (SQL_FOLDER / "queries" / f"{name}.sql").read_text(encoding="utf-8")


def read_query(connection: duckdb.DuckDBPyConnection, name: str, **values: object) -> pl.DataFrame:
    """The rows of the query of that name in sql/queries; values go in as $name."""
    return read(connection, query_text(name), **values)


def _frame(relation: duckdb.DuckDBPyRelation) -> pl.DataFrame:
    rows: pl.DataFrame = relation.pl()
    return rows


def check_files() -> list[Path]:
    """The queries that return no row in sound records."""
    return sorted((SQL_FOLDER / "checks").glob("*.sql"))


def failed_checks(connection: duckdb.DuckDBPyConnection) -> list[str]:
    """Each row that a query of sql/checks returns, as a sentence; none in sound records."""
    problems = []
    for file in check_files():
        rows = connection.execute(file.read_text(encoding="utf-8")).fetchall()
        problems += [str(problem) for (problem,) in rows]
    return problems


def save_statement(table: str) -> str:
    """The text of sql/save for one table. Raises BadInput for a name without one."""
    file = SQL_FOLDER / "save" / f"{Path(table).name}.sql"
    if not file.is_file():
        raise BadInput(f"{table}: there is no such table in the records.")
    return file.read_text(encoding="utf-8")
