"""The schema and the views of a file of records, brought up to date; all of it or nothing, after a backup."""

import re
from contextlib import closing
from functools import cache
from pathlib import Path

import duckdb

from analytics.errors import Refused
from analytics.storage.backups import make_backup
from analytics.storage.file_troubles import in_plain_words
from analytics.storage.sql_texts import schema_files, view_files, worked_out_files
from analytics.storage.transactions import transaction, writers_turn


def bring_up_to_date(connection: duckdb.DuckDBPyConnection, path: Path) -> None:
    """Run the migrations that the file has not had, and build its views anew where their text is another.

    Raises Refused for other data, and for a file of a newer version; it is not touched then.
    """
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
    with writers_turn:  # of two threads the second finds it done
        version = _version(connection, path)
        if not 0 < version < len(files):
            _build(connection, files, version)
            return
        backup = make_backup(connection, "before migration")
        try:
            _build(connection, files, version)
        except duckdb.Error as problem:
            plain = in_plain_words(problem, path)
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
    """Run the migrations that are still to come, and build the views anew; all of it or nothing.

    The engine reads a view with all views in it while it builds one; so the views that others read stand, for this
    connection and without a row, as the tables of sql/worked_out meanwhile.
    """
    with closing(connection.cursor()) as builder, transaction(builder):
        for number, file in enumerate(files[version:], version + 1):
            builder.execute(file.read_text(encoding="utf-8"))
            builder.execute(
                "insert into schema_versions (version, file) values ($version, $file)",
                {"version": number, "file": file.name},
            )
        for file in view_files():
            builder.execute(file.read_text(encoding="utf-8"))
            _set_up_empty(builder, file.name)
        builder.execute("delete from view_text")
        builder.execute("insert into view_text values ($text)", {"text": _view_text()})


def _set_up_empty(connection: duckdb.DuckDBPyConnection, view: str) -> None:
    for file in worked_out_files():
        if file.name == view:
            connection.execute(file.read_text(encoding="utf-8"), {"most": 0})


def _version(connection: duckdb.DuckDBPyConnection, path: Path) -> int:
    """How many migrations the file has had; 0 for a new one, which gets the table that counts them."""
    try:
        ((version,),) = connection.execute("select coalesce(max(version), 0) from schema_versions").fetchall()
    except duckdb.CatalogException as problem:  # no such table
        if connection.execute("select count(*) from duckdb_tables()").fetchall() != [(0,)]:
            raise Refused(
                f"{path}: this file holds other data, not records of standrow. It was not touched. Name the right file."
            ) from problem
        with transaction(connection):
            connection.execute(
                "create table schema_versions (version integer not null, file varchar not null, "
                "applied_at timestamp not null default current_localtimestamp())"
            )
            connection.execute("create table view_text (text varchar not null)")
        return 0
    return int(version)


@cache
def _view_text() -> str:
    """What the views of this program are built from; its files stay as they are while it runs."""
    return "\n".join(file.read_text(encoding="utf-8") for file in view_files())


def _views_are_current(connection: duckdb.DuckDBPyConnection) -> bool:
    """Whether the file's views were built from these very texts; building them on every opening costs a write."""
    return connection.execute("select text from view_text").fetchall() == [(_view_text(),)]
