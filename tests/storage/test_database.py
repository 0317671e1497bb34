"""Opening the records: made, brought up to date, refused in plain words; all of a transaction or nothing."""

import os
import re
from pathlib import Path

import duckdb
import pytest

from analytics.errors import Refused
from analytics.records.tables import TABLES
from analytics.storage import database
from analytics.storage.database import failed_checks, open_records, read_table
from analytics.storage.transactions import transaction
from tests.prepared import begun


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "records.duckdb"


@pytest.fixture(scope="module")
def new(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Records that were begun just now."""
    path = tmp_path_factory.mktemp("new") / "records.duckdb"
    with open_records(path, create=True):
        return path


def test_a_new_file_has_every_table_with_the_columns_of_the_rules(new):
    with open_records(new) as connection:
        for name, table in TABLES.items():
            assert read_table(connection, name).schema == table.polars_schema(), name


def test_a_new_file_passes_every_check(new):
    with open_records(new) as connection:
        assert failed_checks(connection) == []


def test_opening_again_changes_nothing(new):
    before = new.read_bytes()
    with open_records(new) as connection:
        assert read_table(connection, "pair_measures").is_empty()
    assert new.read_bytes() == before


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
