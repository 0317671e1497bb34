"""Usual names for field work: known as the item they are, or asked about."""

import pytest

from analytics.storage.database import read_table
from analytics.trade.field_work import work_question


@pytest.fixture
def items(demo):
    return dict(read_table(demo, "operation_items").iter_rows())


@pytest.mark.parametrize(
    ("name", "item"),
    [
        ("spraying", "application"),
        ("Spray", "application"),
        ("swath", "windrowing"),
        ("swathing", "windrowing"),
        ("straight cutting", "combining"),
        ("straight-cut", "combining"),
        ("combine", "combining"),
        ("combining", "combining"),
        ("harvest", "combining"),
        ("hauling", "freight"),
        ("trucking", "freight"),
        ("drying", "drying"),
        ("desiccant", "pre-harvest product"),
    ],
)
def test_a_usual_word_is_the_item_it_is_and_is_not_asked_about(items, name, item):
    assert items[name.lower()] == item
    assert work_question(name, items) is None


@pytest.mark.parametrize(
    ("name", "item"),
    [
        ("swathed by the neighbour", "windrowing"),
        ("2nd spraying", "application"),
        ("desiccation", "pre-harvest product"),
        ("combine + truck", "combining and freight"),
        ("cutting", "windrowing or combining"),
    ],
)
def test_a_name_that_only_sounds_like_a_job_is_asked_about(items, name, item):
    question = work_question(name, items)
    assert question.startswith(f'"{name}" counts as work of its own, besides {item}.')


def test_work_of_quite_another_name_is_not_asked_about(items):
    assert work_question("harrowing", items) is None
    assert work_question("fertilizer", items) is None


def test_every_known_name_is_in_lower_case_and_given_once(connection):
    names = read_table(connection, "operation_items")["operation"].to_list()
    assert names == [name.strip().lower() for name in names]
    assert len(names) == len(set(names))


def test_every_item_named_is_one_with_a_rate(connection, items):
    assert set(items.values()) <= set(read_table(connection, "cost_rates")["item"])
