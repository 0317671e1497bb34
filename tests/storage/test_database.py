"""Opening the records: made, brought up to date, refused in plain words; all of a transaction or nothing."""

import os
import re
import subprocess
import sys
from pathlib import Path

import duckdb
import pytest

from analytics.errors import Refused
from analytics.records.tables import TABLES
from analytics.storage import database, migrations
from analytics.storage.database import failed_checks, open_records, read, read_table
from analytics.storage.sql_texts import schema_files
from analytics.storage.transactions import transaction
from tests.prepared import begun


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "records.duckdb"


def test_a_new_file_has_every_table_with_the_columns_of_the_rules(path):
    with open_records(path, create=True) as connection:
        for name, table in TABLES.items():
            assert read_table(connection, name).schema == table.polars_schema(), name


def test_a_new_file_passes_every_check(path):
    with open_records(path, create=True) as connection:
        assert failed_checks(connection) == []


def test_opening_again_changes_nothing(path):
    with open_records(path, create=True):
        pass
    before = path.read_bytes()
    with open_records(path) as connection:
        assert read_table(connection, "pair_measures").is_empty()
    assert path.read_bytes() == before


def test_no_file_says_how_to_bring_records_in(path):
    with pytest.raises(Refused, match=r"there are no records here.*standrow import"), open_records(path):
        pass
    assert not path.exists()


@pytest.mark.parametrize("content", [b"not a database at all\n" * 100, b""], ids=["text", "empty"])
def test_a_foreign_file_is_refused_and_left_alone(path, content):
    path.write_bytes(content)
    with pytest.raises(Refused, match="not a file of records"), open_records(path):
        pass
    assert path.read_bytes() == content


def test_another_programs_database_is_refused(path):
    with duckdb.connect(path) as connection:
        connection.execute("create table somebody_elses (a integer)")
    with pytest.raises(Refused, match="holds other data"), open_records(path):
        pass


def test_a_truncated_file_is_called_damaged(path):
    with begun(path):
        pass
    path.write_bytes(path.read_bytes()[:20_000])
    with pytest.raises(Refused, match="damaged"), open_records(path):
        pass


def test_a_newer_file_is_refused(path):
    with begun(path) as connection:
        newer = {"version": len(schema_files()) + 1, "file": "9999_later.sql"}
        connection.execute("insert into schema_versions (version, file) values ($version, $file)", newer)
    with pytest.raises(Refused, match="newer version"), open_records(path):
        pass


def test_a_file_in_use_names_the_process(path, monkeypatch):
    with begun(path):
        pass
    monkeypatch.setattr(database, "WAIT_SECONDS", 0.1)
    words = "import duckdb, sys; held = duckdb.connect(sys.argv[1]); print(1, flush=True); input()"
    command = [sys.executable, "-c", words, str(path)]
    holder = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    try:
        assert holder.stdout.readline() == "1\n"
        said = rf"another program has the records open: python\S* \(process {holder.pid}\)"
        with pytest.raises(Refused, match=said), open_records(path):
            pass
    finally:
        holder.communicate("\n")


@pytest.mark.parametrize(
    ("words", "holder"),
    [
        ("Conflicting lock is held in /usr/bin/python3.11 (PID 999999999).", "python3.11 (process 999999999)"),
        ("Conflicting lock is held in PID 999999999.", "its name is not known (process 999999999)"),
        ("Resource temporarily unavailable", "its name is not known. Nothing was done"),
    ],
)
def test_whoever_holds_the_file_is_named_as_far_as_the_system_tells(path, monkeypatch, words, holder):
    with begun(path):
        pass
    monkeypatch.setattr(database, "WAIT_SECONDS", 0)

    def held(*_, **__):
        raise duckdb.IOException(f'IO Error: Could not set lock on file "{path}": {words}')

    monkeypatch.setattr(duckdb, "connect", held)
    with pytest.raises(Refused, match=re.escape(f"another program has the records open: {holder}")), open_records(path):
        pass


def test_a_transaction_that_fails_leaves_nothing(path):
    with begun(path) as connection:
        with pytest.raises(ZeroDivisionError), transaction(connection):
            connection.execute("insert into fields (field) values ('North')")
            raise ZeroDivisionError
        assert read_table(connection, "fields").is_empty()


def test_an_error_of_the_engine_inside_a_transaction_is_not_swallowed(path):
    with begun(path) as connection:
        with pytest.raises(duckdb.Error), transaction(connection):
            connection.execute("insert into fields (field) values ('North')")
            connection.execute("insert into fields (field) values (null)")
        assert read_table(connection, "fields").is_empty()


@pytest.mark.parametrize("number", ["nan", "inf", "-inf"])
def test_the_file_itself_refuses_numbers_that_are_none(path, number):
    with begun(path) as connection, pytest.raises(duckdb.ConstraintException):
        connection.execute("insert into fields (field, acres) values ('North', cast($n as double))", {"n": number})


def test_a_failed_migration_leaves_the_file_as_it_was(path, tmp_path, monkeypatch):
    with begun(path):
        pass
    broken = tmp_path / "9999_broken.sql"
    broken.write_text("create table half (a integer); select nonsense from nowhere;")
    files = [*schema_files(), broken]
    monkeypatch.setattr(migrations, "schema_files", lambda: files)
    with pytest.raises(Refused), open_records(path):
        pass
    monkeypatch.undo()
    with open_records(path) as connection:
        assert read(connection, "select * from duckdb_tables() where table_name = $name", name="half").is_empty()


def test_views_are_built_anew_when_their_text_changed(path):
    with begun(path) as connection:
        connection.execute("update view_text set text = 'older'")
        connection.execute("drop view pair_facts")
    with open_records(path) as connection:
        assert read_table(connection, "pair_facts").is_empty()


def test_the_place_of_the_records_can_be_named(path, monkeypatch):
    monkeypatch.setenv("STANDROW_RECORDS", os.fspath(path))
    assert database.records_path() == path
    assert database.records_path(Path("other.duckdb")) == Path("other.duckdb").absolute()
    monkeypatch.delenv("STANDROW_RECORDS")
    assert database.records_path().name == "records.duckdb"
