"""Views that others are made of are worked out once for a unit of work, and the rows are the same as ever."""

import re
import threading
from pathlib import Path

import duckdb
import pytest

from analytics.storage.database import kept_open, open_records, read, read_table
from analytics.storage.sql_texts import view_files, worked_out_files
from analytics.storage.transactions import transaction
from tests.prepared import begun, copied

ADD_A_PLOT = "insert into plots (crop_year, field, plot, method) values (2025, 'North', $plot, 'standing')"


@pytest.fixture
def worked_out(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The views that were worked out, as they are, in order."""
    found: list[str] = []
    text = Path.read_text

    def noted(file: Path, encoding: str) -> str:
        if file.parent.name == "worked_out":
            found.append(file.stem.partition("_")[2])
        return text(file, encoding=encoding)

    monkeypatch.setattr(Path, "read_text", noted)
    return found


def plots(connection: duckdb.DuckDBPyConnection) -> list[str]:
    """The plots of a view that takes them from another which is worked out."""
    return sorted(read_table(connection, "plot_lost_seeds")["plot"])


VIEWS = [file.stem.partition("_")[2] for file in view_files()]
MADE_OF = "\n".join(re.sub(r"--.*", "", file.read_text(encoding="utf-8")) for file in view_files())
READ_BY_NONE = [name for name in VIEWS if len(re.findall(rf"\b{name}\b", MADE_OF)) == 1]


@pytest.mark.parametrize("views", [READ_BY_NONE, pytest.param(VIEWS, marks=pytest.mark.slow)], ids=["last", "all"])
def test_every_view_of_the_demo_farm_has_the_same_rows_as_in_one_go(demo, views):
    """In this order each view is asked for after all that it reads were worked out, and some by themselves.

    The last ones, which no other view reads, show what is wrong in those that they are made of.
    """
    assert views
    for name in reversed(views):
        once, in_one_go = read_table(demo, name), demo.cursor().table(name).pl()
        assert once.schema == in_one_go.schema
        assert sorted(map(repr, once.rows())) == sorted(map(repr, in_one_go.rows())), name


def test_each_is_a_view_under_the_same_name_and_worked_out_as_it_stands():
    views = {file.name for file in view_files()}
    for file in worked_out_files():
        assert file.name in views
        name = file.stem.partition("_")[2]
        assert file.read_text(encoding="utf-8") == f"create temp table {name} as from {name} limit $most;\n"


def test_a_view_is_worked_out_once_for_all_that_read_it_and_the_engine_takes_it(demo, worked_out):
    read_table(demo, "pair_money")
    read(demo, "select count(*) from pair_returns")
    read_table(demo, "pair_measures")
    assert len(worked_out) == len(set(worked_out)) > 5
    reader = demo.cursor()
    for name in ("plot_yield", "plot_quality"):
        reader.execute(f"create temp table {name} as from {name} limit 0")
    assert reader.execute("from plot_frost").fetchall() == []  # it is the table that a view reads, not the view


def test_a_table_or_a_view_of_tables_works_nothing_out(demo, worked_out):
    read_table(demo, "plots")
    read_table(demo, "plot_timing")
    read(demo, "select count(*) from loads")
    assert worked_out == []


def test_a_view_whose_name_goes_in_as_a_value_reads_what_was_worked_out(demo, worked_out):
    rows = read(demo, "from query_table($view)", view="plot_money")
    assert "plot_costs" in worked_out
    assert rows.height == read_table(demo, "plots").height


def test_a_view_that_was_worked_out_for_another_is_read_as_the_table_that_it_became(demo):
    tables = "from duckdb_tables() where temporary and table_name = 'plot_machines'"
    assert read(demo, tables).is_empty()
    read_table(demo, "plot_money")
    assert read(demo, tables).height == 1


@pytest.mark.parametrize("in_a_run", [False, True])
def test_what_was_saved_since_is_seen(tmp_path, in_a_run):
    path = tmp_path / "records.duckdb"
    with begun(path):
        pass
    with kept_open(path if in_a_run else tmp_path), open_records(path) as connection:
        assert plots(connection) == []
        connection.execute(ADD_A_PLOT, {"plot": "east"})
        assert plots(connection) == ["east"]
        with transaction(connection):
            connection.execute(ADD_A_PLOT, {"plot": "west"})
            assert plots(connection) == ["east"]  # as it was before the transaction
        assert plots(connection) == ["east", "west"]


def test_what_another_thread_saved_is_seen(tmp_path):
    with begun(tmp_path / "records.duckdb") as connection:
        assert plots(connection) == []

        def save() -> None:
            with open_records(tmp_path / "records.duckdb") as another:
                another.execute(ADD_A_PLOT, {"plot": "east"})

        thread = threading.Thread(target=save)
        thread.start()
        thread.join()
        assert plots(connection) == ["east"]


def test_while_another_thread_is_saving_nothing_is_kept(tmp_path, worked_out):
    """What it saved may stand in the log before anybody can see it, so the log's length says nothing."""
    with begun(tmp_path / "records.duckdb") as connection:
        is_saving, may_end = threading.Event(), threading.Event()

        def save() -> None:
            with open_records(tmp_path / "records.duckdb") as another, transaction(another):
                is_saving.set()
                assert may_end.wait(60)

        thread = threading.Thread(target=save)
        thread.start()
        assert is_saving.wait(60)
        assert plots(connection) == plots(connection) == []
        may_end.set()
        thread.join()
    assert worked_out.count("plot_loss") == 2


def test_units_of_a_run_share_what_was_worked_out(demo_records, tmp_path, worked_out):
    path = copied(demo_records, tmp_path / "records.duckdb")
    with kept_open(path):
        for _ in range(2):
            with open_records(path) as connection:
                read_table(connection, "pair_money")
    assert worked_out.count("plot_money") == 1


def test_after_a_question_that_failed_the_next_one_is_answered(demo, worked_out):
    with pytest.raises(duckdb.Error):
        read(demo, "select nonsense from pair_facts")
    assert read_table(demo, "pair_facts").height > 0


def test_other_connections_to_the_records_hold_no_table_more(tmp_path):
    with begun(tmp_path / "records.duckdb") as connection:
        read_table(connection, "plot_quality")
        found = connection.execute("select count(*) from duckdb_tables() where temporary").fetchall()
    assert found == [(0,)]
