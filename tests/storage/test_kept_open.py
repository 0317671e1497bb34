"""A run of a screen keeps the records open from its first opening to its end, and no longer."""

import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import duckdb
import pytest

from analytics.errors import Refused
from analytics.storage import database
from analytics.storage.checkpoints import log_of
from analytics.storage.database import closed_everywhere, kept_open, let_go, open_records, read_table
from tests.prepared import begun

ADD_A_FIELD = "insert into fields (field) values ($field)"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    with begun(tmp_path / "records.duckdb"):
        return tmp_path / "records.duckdb"


@pytest.fixture
def started(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """The file, each time that it is opened anew."""
    found: list[Path] = []
    connect = database._connect

    def noted(path: Path) -> duckdb.DuckDBPyConnection:
        found.append(path)
        return connect(path)

    monkeypatch.setattr(database, "_connect", noted)
    return found


TRYING = """
import sys, duckdb
for path in sys.stdin:
    try:
        duckdb.connect(path.strip()).close()
        print("free", flush=True)
    except duckdb.Error:
        print("held", flush=True)
"""


@pytest.fixture(scope="module")
def is_free() -> Iterator[Callable[[Path], bool]]:
    """Call for whether another program can open a file."""
    command = [sys.executable, "-c", TRYING]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as other:

        def ask(path: Path) -> bool:
            print(path, file=other.stdin, flush=True)
            return other.stdout.readline() == "free\n"

        yield ask


def test_the_file_is_held_from_the_first_opening_to_the_end_of_the_run(path, started, is_free):
    with kept_open(path):
        assert is_free(path)
        for _ in range(3):
            with open_records(path):
                pass
        assert not is_free(path)
    assert is_free(path)
    assert started == [path]


def test_each_opening_of_a_run_is_a_connection_of_its_own_and_sees_what_was_saved(path):
    with kept_open(path):
        with open_records(path) as first:
            first.execute("create temp table fields as select 'hers' as field")
            with open_records(path) as second:
                second.execute(ADD_A_FIELD, {"field": "North"})
        with open_records(path) as third:
            assert read_table(third, "fields")["field"].to_list() == ["North"]


def test_what_a_run_saved_is_in_the_file_itself_at_its_end(path):
    with kept_open(path):
        with open_records(path) as connection:
            connection.execute(ADD_A_FIELD, {"field": "North"})
        with open_records(path, leaves_log=True):
            pass
        assert log_of(path).exists()
    assert not log_of(path).exists()
    with duckdb.connect(path, read_only=True) as connection:
        assert connection.execute("select field from fields").fetchall() == [("North",)]


def test_a_run_that_is_broken_off_lets_go_of_the_file(path):
    with pytest.raises(KeyboardInterrupt), kept_open(path), open_records(path):
        raise KeyboardInterrupt
    with closed_everywhere(path):
        pass


def test_after_an_error_of_the_engine_the_file_is_opened_anew(path, started):
    with kept_open(path):
        with pytest.raises(Refused), open_records(path) as connection:
            connection.execute("select nonsense")
        with open_records(path) as connection:
            assert read_table(connection, "fields").is_empty()
    assert started == [path, path]


def test_what_takes_long_begins_with_letting_go(path, started):
    with kept_open(path):
        with open_records(path) as connection:
            let_go()
            assert read_table(connection, "fields").is_empty()  # it is at work, and stays open
        let_go()
        with closed_everywhere(path):
            pass
        with open_records(path):
            pass
    assert started == [path, path]


def test_a_run_may_replace_the_file_once_it_is_not_at_work_in_it(path, is_free):
    with kept_open(path):
        with open_records(path), pytest.raises(Refused, match="open in another window"), closed_everywhere(path):
            pass
        with closed_everywhere(path):
            assert is_free(path)


def test_other_files_are_closed_at_once(path, tmp_path):
    with begun(tmp_path / "other.duckdb"):
        pass
    with kept_open(path), open_records(path):
        with open_records(tmp_path / "other.duckdb") as other:
            other.execute(ADD_A_FIELD, {"field": "North"})
        assert not log_of(tmp_path / "other.duckdb").exists()


def test_a_file_that_went_within_a_run_is_missed(path):
    with kept_open(path):
        with open_records(path):
            pass
        path.unlink()
        with pytest.raises(Refused, match="were here and are gone"), open_records(path):
            pass
