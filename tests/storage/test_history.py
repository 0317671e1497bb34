"""Every save keeps who, when, why, and each row before and after."""

import json

import duckdb
import polars as pl
import pytest

from analytics.records.form import Table
from analytics.records.grown_tables import FIELDS, WEATHER
from analytics.storage.database import read_table
from analytics.storage.history import TableSave, changes_of, save


def keep(connection, table: Table, saved=(), removed=()) -> int:
    schema = table.polars_schema()
    change = TableSave(
        table=table, saved=pl.DataFrame(list(saved), schema=schema), removed=pl.DataFrame(list(removed), schema=schema)
    )
    return save(connection, [change], done_by="A grower", source="screen", why="a test")


def test_a_new_row_has_no_before(connection):
    act = keep(connection, FIELDS, [{"field": "North", "acres": 160.0}])
    (change,) = changes_of(connection, act)["fields"].to_dicts()
    assert change["before"] is None
    assert json.loads(change["after"])["acres"] == 160.0
    assert read_table(connection, "acts").select("done_by", "source", "why").row(0) == ("A grower", "screen", "a test")


def test_a_changed_row_keeps_both(connection):
    keep(connection, FIELDS, [{"field": "North", "acres": 160.0}])
    act = keep(connection, FIELDS, [{"field": "North", "acres": 158.5}])
    (change,) = changes_of(connection, act)["fields"].to_dicts()
    assert [json.loads(change[when])["acres"] for when in ("before", "after")] == [160.0, 158.5]
    assert read_table(connection, "fields")["acres"].to_list() == [158.5]


def test_a_removed_row_is_kept_in_the_history(connection):
    keep(connection, FIELDS, [{"field": "North", "acres": 160.0}])
    act = keep(connection, FIELDS, removed=[{"field": "North"}])
    (change,) = changes_of(connection, act)["fields"].to_dicts()
    assert change["after"] is None
    assert json.loads(change["before"])["field"] == "North"
    assert read_table(connection, "fields").is_empty()


def test_weather_of_the_whole_farm_is_one_row_however_often_saved(connection):
    wind = {"happened_on": pl.date(2024, 8, 30), "field": None, "event": "wind", "reading": 80.0}
    row = pl.select(
        **{name: pl.lit(value) if not isinstance(value, pl.Expr) else value for name, value in wind.items()}
    )
    keep(connection, WEATHER, row.to_dicts())
    keep(connection, WEATHER, row.with_columns(reading=pl.lit(95.0)).to_dicts())
    assert read_table(connection, "weather")["reading"].to_list() == [95.0]


def test_a_save_that_fails_leaves_neither_rows_nor_history(connection):
    with pytest.raises(duckdb.Error):
        keep(connection, FIELDS, [{"field": "North"}, {"field": None}])
    assert read_table(connection, "fields").is_empty()
    assert read_table(connection, "acts").is_empty()
    assert read_table(connection, "changes").is_empty()


def test_rows_of_the_history_are_packed_as_one_text(connection):
    keep(connection, FIELDS, [{"field": f"Field {number}", "acres": 160.0} for number in range(19_000)])
    connection.execute("checkpoint")
    packed = connection.execute(
        "select distinct column_name, compression from pragma_storage_info('changes') "
        "where column_name in ('row_key', 'after') and segment_type <> 'VALIDITY'"
    )
    assert sorted(packed.fetchall()) == [("after", "ZSTD"), ("row_key", "ZSTD")]


def test_an_accent_typed_in_two_ways_is_one_name(connection):
    keep(connection, FIELDS, [{"field": "Cr\u00eate", "acres": 80.0}])
    keep(connection, FIELDS, [{"field": "Cre\u0302te", "acres": 79.0}])
    assert read_table(connection, "fields").select("field", "acres").rows() == [("Cr\u00eate", 79.0)]
