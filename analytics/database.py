"""One DuckDB file holds the records: opening it, bringing it up to date, one transaction helper, reading.

A connection lives as long as one unit of work and is never shared between threads. Only one program can have the
file open for writing, so opening waits a little and then says who holds it.
"""

import os
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb
import platformdirs
import polars as pl

from analytics.backups import list_backups, make_backup, make_daily_backup
from analytics.errors import BadInput, Damaged, Refused

SQL_FOLDER = Path(__file__).resolve().parents[1] / "sql"
WAIT_SECONDS = 3.0
RETRY_SECONDS = 0.02

# Nothing at run time may reach for the internet; DuckDB would try to download an extension for a foreign file.
CONNECTION_SETTINGS: dict[str, str | bool | int | float | list[str]] = {
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
}

# Writers of one process take turns, so that a key checked in a transaction is still free when it commits.
_writers_turn = threading.RLock()


def records_path(given: Path | None = None) -> Path:
    """The file of the records: as given, else STANDROW_RECORDS, else the user's data folder."""
    if given is not None:
        return given
    if named := os.environ.get("STANDROW_RECORDS"):
        return Path(named)
    return platformdirs.user_data_path("standrow") / "records.duckdb"


@contextmanager
def open_records(path: Path, *, create: bool = False) -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection to the records at `path`, schema and views up to date; closed at the end of the block.

    The first opening of a day makes a backup.
    create : make the file when there is none
    Raises Refused when the file is missing, in use, damaged, foreign, or written by a newer version.
    """
    if not path.exists():
        if list_backups(path):
            raise Damaged(f"{path}: the file of the records is gone. Its backups are there: standrow restore")
        if not create:
            raise Refused(f"{path}: there are no records here. Bring some in with: standrow import FOLDER")
        _create(path)
    connection = _connect(path)
    try:
        _bring_up_to_date(connection, path)
        make_daily_backup(connection)
        yield connection
    except duckdb.Error as problem:
        raise _plain(problem, path) from problem
    finally:
        connection.close()


def _create(path: Path) -> None:
    """Make an empty file of records, the owner's alone, under its name only once it is whole."""
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with TemporaryDirectory(prefix="new-records-", dir=path.parent) as folder:
            new = Path(folder) / path.name
            connection = _connect(new)
            try:
                _bring_up_to_date(connection, new)
            finally:
                connection.close()
            new.chmod(0o600)
            if not path.exists():
                new.rename(path)
    except OSError as problem:
        raise Refused(f"{path.parent}: no records can be made in this folder ({problem.strerror}).") from problem


def _connect(path: Path) -> duckdb.DuckDBPyConnection:
    give_up_at = time.monotonic() + WAIT_SECONDS
    while True:
        try:
            return duckdb.connect(path, config=CONNECTION_SETTINGS)
        except duckdb.Error as problem:
            if "lock" not in str(problem).lower() or time.monotonic() > give_up_at:
                raise _plain(problem, path) from problem
        time.sleep(RETRY_SECONDS)


def _plain(problem: duckdb.Error, path: Path) -> Refused:
    """What happened to the file, in plain words; the engine's own words stay in the cause."""
    words = str(problem)
    if "Could not set lock" in words:
        holder = words.rpartition("PID ")[2].partition(")")[0]
        return Refused(
            f"{path}: another program has the records open (process {holder}). Close it there, or wait, and try again."
        )
    if "not a valid DuckDB database" in words:
        return Damaged(
            f"{path}: this is not a file of records, or its beginning is damaged. It was not touched. Name the right "
            f"file, or restore a backup{_newest_backup(path)}: standrow restore"
        )
    if "No space left" in words:
        return Refused(f"{path}: the disk is full. What was saved before is safe; make room and try again.")
    if any(sign in words for sign in ("Corrupt", "checksum", "Could not read enough bytes", "Serialization Error")):
        return Damaged(
            f"{path}: the file is damaged. It was not touched. Restore a backup{_newest_backup(path)}: standrow restore"
        )
    if any(sign in words for sign in ("Cannot open file", "Permission denied", "read-only mode", "Is a directory")):
        return Refused(f"{path}: the file cannot be opened for reading and writing. Check that it is there and yours.")
    return Refused(f"{path}: the records could not be read or written ({words.splitlines()[0]}).")


def _newest_backup(path: Path) -> str:
    return "".join(f" (the newest is of {backup.made_at:%Y-%m-%d %H:%M})" for backup in list_backups(path)[:1])


@contextmanager
def transaction(connection: duckdb.DuckDBPyConnection) -> Iterator[None]:
    """All of the block or nothing of it.

    After an error inside a transaction DuckDB's commit saves nothing and says nothing, so any exception rolls back
    and goes on to the caller.
    """
    with _writers_turn:
        connection.execute("begin")
        try:
            yield
        except BaseException:
            connection.execute("rollback")
            raise
        connection.execute("commit")


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
    if 0 < version < len(files):
        make_backup(connection, "before migration")
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
        raise Refused(f"{path}: this file holds other data, not records of standrow. It was not touched.")
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


def _frame(relation: duckdb.DuckDBPyRelation) -> pl.DataFrame:
    rows: pl.DataFrame = relation.pl()
    return rows


def failed_checks(connection: duckdb.DuckDBPyConnection) -> list[str]:
    """Each row that a query of sql/checks returns, as a sentence; none in sound records."""
    problems = []
    for file in sorted((SQL_FOLDER / "checks").glob("*.sql")):
        rows = connection.execute(file.read_text(encoding="utf-8")).fetchall()
        problems += [str(problem) for (problem,) in rows]
    return problems


def save_statement(table: str) -> str:
    """The text of sql/save for one table. Raises BadInput for a name without one."""
    file = SQL_FOLDER / "save" / f"{Path(table).name}.sql"
    if not file.is_file():
        raise BadInput(f"{table}: there is no such table in the records.")
    return file.read_text(encoding="utf-8")
