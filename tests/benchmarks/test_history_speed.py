"""A long history against a short one in the same run: ratios only, no clock time is a limit by itself."""

import pytest

from analytics.storage.acts import Search, changes_in_words, choices, count_acts, list_acts
from analytics.storage.database import open_records
from tests.benchmarks.test_exact_speed import seconds
from tests.prepared import begun

ACTS = """
    insert into acts (done_by, source, why)
    select if(number % 3 = 0, 'A grower', 'A daughter'), 'screen', 'ticket ' || number from range($acts) as t(number)
"""
CHANGES = """
    insert into changes (act_id, table_name, row_key, before, after)
    select
        number + 1, 'loads',
        json_object('crop_year', 2015 + number % 10, 'field', 'Field ' || number % 40, 'plot', 'a', 'ticket', number),
        null,
        json_object('crop_year', 2015 + number % 10, 'field', 'Field ' || number % 40, 'plot', 'a', 'ticket', number)
    from range($acts) as t(number)
"""


def history_of(path, acts: int):
    """That many acts of one ticket each, written past the program, which would take minutes."""
    with begun(path) as connection:
        for statement in (ACTS, CHANGES):
            connection.execute(statement, {"acts": acts})
    return path


def look(path) -> int:
    """What the screen asks for: the choices, a search, a page of what is found, and one act unfolded."""
    search = Search(crop_year=2016, field="Field 1")
    with open_records(path) as connection:
        assert "Field 1" in choices(connection).fields
        page = list_acts(connection, search, skipped=0, shown=20)
        assert changes_in_words(connection, page[0].act_id, search, skipped=0, shown=20)[1] == 1
        return count_acts(connection, search)


@pytest.fixture(scope="module")
def hundred(tmp_path_factory):
    return history_of(tmp_path_factory.mktemp("hundred") / "records.duckdb", 100)


@pytest.fixture(scope="module")
def ten_thousand(tmp_path_factory):
    return history_of(tmp_path_factory.mktemp("ten_thousand") / "records.duckdb", 10_000)


def test_ten_thousand_acts_are_searched_in_at_most_five_times_what_a_hundred_take(hundred, ten_thousand):
    in_hundred, few = seconds(lambda: look(hundred), repeats=2)
    in_ten_thousand, many = seconds(lambda: look(ten_thousand), repeats=2)
    assert (few, many) == (3, 250)
    assert in_ten_thousand < 5 * in_hundred
