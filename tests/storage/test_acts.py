"""The history is listed act by act, found by crop year, field, table and person, and said in words."""

from datetime import date

import polars as pl
import pytest

from analytics.records.grown_tables import FIELDS, PAIRS, WEATHER
from analytics.records.harvest_tables import LOADS
from analytics.storage.acts import Search, change_words, changes_in_words, choices, count_acts, list_acts, rows_words
from analytics.storage.history import TableSave, save
from tests.prepared import begun

EVERYTHING = Search()


@pytest.fixture(scope="module")
def connection(tmp_path_factory):
    """Six acts by two people, which nobody adds to."""
    with begun(tmp_path_factory.mktemp("acts") / "records.duckdb") as connection:
        keep(connection, FIELDS, [{"field": "North"}, {"field": "South"}], why="from farm.xlsx", source="import")
        keep(
            connection, LOADS, [{"crop_year": 2024, "field": "North", "plot": "a", "ticket": "1", "moisture_pct": 9.1}]
        )
        keep(
            connection, LOADS, [{"crop_year": 2024, "field": "North", "plot": "a", "ticket": "1", "moisture_pct": 9.3}]
        )
        keep(
            connection, LOADS, [{"crop_year": 2025, "field": "South", "plot": "a", "ticket": "2"}], done_by="A daughter"
        )
        sides = {"standing_field": "North", "standing_plot": "a", "windrowed_field": "South", "windrowed_plot": "b"}
        keep(connection, PAIRS, [{"crop_year": 2025, "pair": "A", "layout": "neighbouring fields", **sides}])
        keep(connection, WEATHER, [{"happened_on": date(2025, 8, 30), "event": "wind", "reading": 80.0}])
        yield connection


def keep(connection, table, rows, *, done_by="A grower", source="screen", why=None, removed=()):
    schema = table.polars_schema()
    change = TableSave(
        table=table, saved=pl.DataFrame(rows, schema=schema), removed=pl.DataFrame(list(removed), schema=schema)
    )
    return save(connection, [change], done_by=done_by, source=source, why=why)


def found(connection, **wanted) -> list[int]:
    search = Search(**wanted)
    numbers = [act.act_id for act in list_acts(connection, search, skipped=0, shown=100)]
    assert count_acts(connection, search) == len(numbers)
    return numbers


def test_acts_stand_newest_first_page_by_page(connection):
    assert found(connection) == [6, 5, 4, 3, 2, 1]
    assert [act.act_id for act in list_acts(connection, EVERYTHING, skipped=2, shown=2)] == [4, 3]
    assert list_acts(connection, EVERYTHING, skipped=6, shown=2) == ()


def test_an_act_says_when_who_where_from_and_how_many_records(connection):
    act = list_acts(connection, EVERYTHING, skipped=5, shown=1)[0]
    assert act.words == f"Act 1, {act.happened_at:%Y-%m-%d %H:%M}, A grower: files brought in (fields 2)"
    assert act.why == "from farm.xlsx"


@pytest.mark.parametrize(
    ("wanted", "acts"),
    [
        ({"crop_year": 2024}, [3, 2]),
        ({"crop_year": 2025}, [6, 5, 4]),  # the wind by its day
        ({"field": "North"}, [5, 3, 2, 1]),  # the pair has its standing side there
        ({"field": "South"}, [5, 4, 1]),  # and its windrowed side here
        ({"table": "loads"}, [4, 3, 2]),
        ({"done_by": "A daughter"}, [4]),
        ({"crop_year": 2025, "field": "North"}, [5]),
        ({"crop_year": 2024, "done_by": "A daughter"}, []),
        ({"field": "' or 1=1 --"}, []),
    ],
)
def test_acts_are_found_by_what_they_changed(connection, wanted, acts):
    assert found(connection, **wanted) == acts


def test_an_act_unfolds_to_the_records_that_are_looked_for(connection):
    assert changes_in_words(connection, 1, EVERYTHING, skipped=0, shown=10) == (
        ("fields, North: new", "fields, South: new"),
        2,
    )
    assert changes_in_words(connection, 1, Search(field="South"), skipped=0, shown=10) == (("fields, South: new",), 1)
    assert changes_in_words(connection, 1, EVERYTHING, skipped=1, shown=1) == (("fields, South: new",), 2)
    assert changes_in_words(connection, 3, EVERYTHING, skipped=0, shown=10)[0] == (
        "loads, 2024 / North / a / 1: moisture pct 9.1 -> 9.3",
    )


def test_the_history_names_what_can_be_searched_for(connection):
    known = choices(connection)
    assert known.crop_years == (2025, 2024)
    assert known.fields == ("North", "South")
    assert known.tables == ("fields", "loads", "pairs", "weather")
    assert known.people == ("A daughter", "A grower")


def test_a_record_that_went_is_said_with_what_it_held():
    key, row = '{"field":"North"}', '{"field":"North","acres":160.0,"soil":null,"notes":"stony"}'
    assert change_words("fields", key, row, None) == "fields, North: removed, acres 160, notes stony"
    assert change_words("fields", key, None, row) == "fields, North: new, acres 160, notes stony"


def test_a_record_from_before_a_column_was_there_reads_as_blank():
    key = '{"field":"North"}'
    words = change_words("fields", key, '{"field":"North"}', '{"field":"North","acres":160.0}')
    assert words == "fields, North: acres (blank) -> 160"


def test_up_to_three_tables_of_an_act_are_named_and_more_are_counted():
    rows = {"loads": 2, "loss_checks": 1, "samples": 1}
    assert rows_words(rows) == "loads 2, loss checks 1, samples 1"
    assert rows_words(rows | {"plots": 1}) == "5 records in 4 tables"
    assert rows_words({}) == "no record"


def test_an_empty_file_has_no_act(tmp_path):
    with begun(tmp_path / "empty.duckdb") as connection:
        assert found(connection) == []
        assert choices(connection).people == ()
