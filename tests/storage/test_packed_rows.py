"""Very many new rows of one act are kept packed, and whatever reads the history finds them as those kept one by one."""

import json
from datetime import date
from io import BytesIO

import polars as pl
import pytest

from analytics.entry.saving import last_changed_by
from analytics.records.form import POLARS_TYPES, Column, Table
from analytics.records.grown_tables import FIELDS
from analytics.records.harvest_tables import LOADS, SAMPLES
from analytics.records.own_tables import SAVED_TABLES
from analytics.records.papers import PAPERS
from analytics.storage import history
from analytics.storage.acts import Search, changes_in_words, choices, count_acts, list_acts
from analytics.storage.database import read_table
from analytics.storage.history import TableSave, changes_of, save
from analytics.storage.packed_rows import pack
from analytics.storage.undoing import plan_undo, rows_of, undo
from tests.prepared import begun

ODD = {
    pl.String: ['Süd, "west" \\ \n 1', "0", "null"],
    pl.Float64: [0.1 + 0.2, 5e-324, -1.7976931348623157e308],
    pl.Int64: [2**63 - 1, -(2**63), 2026],
    pl.Date: [date(2024, 2, 29), date(1, 1, 1), date(9999, 12, 31)],
    pl.Boolean: [True, False, True],
}


@pytest.fixture
def all_packed(monkeypatch):
    """Every new row is packed, as if it were one of very many."""
    monkeypatch.setattr(history, "PACKED_FROM", 1)


def keep(connection, table: Table, rows, removed=(), done_by="A grower") -> int:
    schema = table.polars_schema()
    change = TableSave(
        table=table, saved=pl.DataFrame(rows, schema=schema), removed=pl.DataFrame(list(removed), schema=schema)
    )
    return save(connection, [change], done_by=done_by, source="import")


def odd_rows(table: Table) -> pl.DataFrame:
    """Rows with every kind of value in every column, and one in which all that may be blank is blank."""
    values = {column.name: ODD[POLARS_TYPES[column.kind]] for column in table.columns}
    rows = pl.DataFrame(values, schema=table.polars_schema())
    blank = [pl.lit(None).alias(column.name) for column in table.columns if column.name not in table.key]
    return pl.concat([rows, rows.tail(1).with_columns(*blank).cast(table.polars_schema())])


def ticket(number: int, year: int = 2024, field: str = "North", **more: object) -> dict[str, object]:
    return {"crop_year": year, "field": field, "plot": "a", "ticket": f"{number}", **more}


TICKETS = [ticket(1), ticket(2, weight_kg=18620.5), ticket(3, field="South"), ticket(4, 2025)]
PAIR = {
    "crop_year": 2025, "pair": "A", "layout": "neighbouring fields",
    "standing_field": "North", "standing_plot": "a", "windrowed_field": "West", "windrowed_plot": "b",
}  # fmt: skip
WIND = {"happened_on": date(2023, 8, 30), "event": "wind", "reading": 80.0}
SEARCHES = [
    Search(),
    Search(crop_year=2024),
    Search(crop_year=2023),
    Search(field="South"),
    Search(field="West"),
    Search(crop_year=2025, field="North"),
    Search(table="loads"),
    Search(crop_year=2024, table="weather"),
    Search(done_by="A daughter", field="North"),
]


def story(connection) -> None:
    """Seven acts: rows come, one is changed while others come, one goes and comes back."""
    keep(connection, LOADS, TICKETS)
    keep(connection, LOADS, [ticket(2, weight_kg=18640), ticket(5), ticket(6)], done_by="A daughter")
    keep(connection, SAVED_TABLES["pairs"], [PAIR])
    keep(connection, SAVED_TABLES["weather"], [WIND, WIND | {"field": "South", "happened_on": date(2024, 9, 1)}])
    keep(connection, LOADS, [], removed=[ticket(1)])
    keep(connection, LOADS, [ticket(1, moisture_pct=9.1)], done_by="A daughter")
    keep(connection, SAMPLES, [{"crop_year": 2024, "field": "North", "plot": "a", "sample": "1", "grade": "1"}])


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    """The same story in two files: rows kept one by one, and every new row packed."""
    folder = tmp_path_factory.mktemp("both")
    with pytest.MonkeyPatch.context() as patch, begun(folder / "one_by_one.duckdb") as one_by_one:
        patch.setattr(history, "PACKED_FROM", 1_000)
        story(one_by_one)
        patch.setattr(history, "PACKED_FROM", 1)
        with begun(folder / "packed.duckdb") as packed:
            story(packed)
            yield one_by_one, packed


def test_rows_find_their_columns_whatever_the_order_in_the_file(tmp_path, all_packed):
    with begun(tmp_path / "records.duckdb") as connection:
        connection.table("fields").select(*reversed(FIELDS.column_names)).create("turned")
        connection.execute("drop table fields")
        connection.execute("alter table turned rename to fields")
        keep(connection, FIELDS, odd_rows(FIELDS))
        assert read_table(connection, "fields").select(FIELDS.column_names).equals(odd_rows(FIELDS))


def test_few_new_rows_are_kept_one_by_one_and_very_many_packed(both):
    one_by_one, packed = both
    assert read_table(one_by_one, "packed_rows").is_empty()
    assert read_table(one_by_one, "changes").height == 13
    assert read_table(packed, "packed_rows")["act_id"].to_list() == [1, 2, 3, 4, 6, 7]
    kept = read_table(packed, "changes").sort("act_id")
    assert [(row["act_id"], json.loads(row["row_key"])["ticket"]) for row in kept.to_dicts()] == [(2, "2"), (5, "1")]
    content = read_table(packed, "packed_rows")["content"][0]
    assert pl.read_parquet(BytesIO(content))["ticket"].to_list() == ["1", "2", "3", "4"]


def test_what_an_act_changed_is_the_same(both):
    for act in range(1, 8):
        one_by_one, packed = (changes_of(connection, act) for connection in both)
        assert one_by_one.keys() == packed.keys()
        for name, rows in one_by_one.items():
            assert packed[name].sort("row_key").equals(rows.sort("row_key"))


@pytest.mark.parametrize("search", SEARCHES, ids=str)
def test_a_search_finds_the_same_acts_and_in_them_the_same_records(both, search):
    found = []
    for connection in both:
        acts = list_acts(connection, search, skipped=0, shown=9)
        assert count_acts(connection, search) == len(acts) > 0
        lines = [(act.act_id, act.rows, *sorted(all_lines(connection, act.act_id, search))) for act in acts]
        found.append(lines)
    assert found[0] == found[1]


def test_a_search_offers_the_same_choices(both):
    one_by_one, packed = (choices(connection) for connection in both)
    assert one_by_one == packed


def all_lines(connection, act_id: int, search: Search) -> list[str]:
    """Every line of an act, turned page by page."""
    lines: list[str] = []
    while True:
        page, number = changes_in_words(connection, act_id, search, skipped=len(lines), shown=2)
        lines += page
        if not page or len(lines) >= number:
            assert len(lines) == number
            return lines


def test_packed_records_are_listed_as_they_came_after_those_kept_one_by_one(both):
    lines = all_lines(both[1], 2, Search())
    assert [line.split(":")[0].rsplit(" ", 1)[1] for line in lines] == ["2", "5", "6"]


def test_an_undo_would_touch_the_same_and_names_the_same_later_acts(both):
    for act in range(1, 8):
        one_by_one, packed = (plan_undo(connection, act).rows for connection in both)
        assert one_by_one == packed
    assert [row.changed_by for row in plan_undo(both[1], 1).conflicts] == ["act 6 by A daughter", "act 2 by A daughter"]


def test_who_wrote_a_record_last_is_the_same(both):
    for connection in both:
        who = [last_changed_by(connection, PAPERS["loads"], ticket(number)) for number in (1, 2, 3, 5, 7)]
        assert who == ["A daughter", "A daughter", "somebody", "A daughter", "somebody"]
        assert last_changed_by(connection, PAPERS["loads"], ticket(3, field="South")) == "A grower"


def test_a_packed_act_undone_and_that_undone_bring_every_row_back(connection, all_packed):
    keep(connection, FIELDS, [{"field": "Mine", "acres": 80.0}])
    act = keep(connection, FIELDS, [{"field": "North", "acres": 0.1 + 0.2}, {"field": "South"}])
    before = read_table(connection, "fields").sort("field")
    undone = undo(connection, plan_undo(connection, act), done_by="test")
    assert read_table(connection, "fields")["field"].to_list() == ["Mine"]
    undo(connection, plan_undo(connection, undone), done_by="test")
    assert read_table(connection, "fields").sort("field").equals(before)


def test_every_value_of_every_table_comes_back_to_the_last_digit(connection):
    for table in SAVED_TABLES.values():
        pack(connection, 1, table, odd_rows(table))
    found = changes_of(connection, 1)
    assert found.keys() == SAVED_TABLES.keys()
    for name, changes in found.items():
        rows = odd_rows(SAVED_TABLES[name])
        assert changes["before"].null_count() == rows.height
        assert changes.select("row_key", row="after").equals(history.row_texts(rows, SAVED_TABLES[name])), name
        assert rows_of(SAVED_TABLES[name], changes["after"]).equals(rows), name


def test_rows_packed_before_a_column_came_or_went_are_read_as_they_were(connection):
    connection.execute("insert into acts (done_by, source) values ('A grower', 'import')")
    columns = tuple(column for column in LOADS.columns if column.name != "dockage_pct")
    gone = Column(name="colour", kind="text", meaning="a column that later versions do not have")
    old = Table(name="loads", meaning="of another version", key=LOADS.key, columns=(*columns, gone))
    pack(connection, 1, old, pl.DataFrame([ticket(1, colour="red", moisture_pct=9.1)], schema=old.polars_schema()))
    (line,), number = changes_in_words(connection, 1, Search(field="North"), skipped=0, shown=2)
    assert (line, number) == ("loads, 2024 / North / a / 1: new, moisture pct 9.1, colour red", 1)
    keep(connection, LOADS, [ticket(1, colour="red", moisture_pct=9.1)])
    (row,) = plan_undo(connection, 1).rows
    assert (row.then, row.key) == (None, "2024 / North / a / 1")
    (after,) = changes_of(connection, 1)["loads"]["after"]
    assert rows_of(LOADS, [after]).row(0, named=True)["moisture_pct"] == 9.1
