"""The tables as they are stated: complete, without contradiction, and each limit tried at its edge and just past it."""

import math

import polars as pl
import pytest

from analytics.records.form import LONGEST_NAME, LONGEST_NOTE, POLARS_TYPES, Column, Table, breaches
from analytics.records.tables import REQUIRED_FILES, TABLES

COLUMNS = [(table, column) for table in TABLES.values() for column in table.columns]
BOUNDED = [(table, column) for table, column in COLUMNS if column.low is not None]
NAMES = [f"{table.name}-{column.name}" for table, column in COLUMNS]
BOUNDED_NAMES = [f"{table.name}-{column.name}" for table, column in BOUNDED]


def broken(table: Table, column: Column, value: object) -> set[str]:
    """Columns that break a rule of their own when this one holds the value and all others are blank."""
    frame = pl.DataFrame({column.name: [value]}, schema={column.name: POLARS_TYPES[column.kind]})
    others = [pl.lit(None, dtype=type_).alias(name) for name, type_ in table.polars_schema().items()]
    row = frame.with_columns(other for other in others if other.meta.output_name() != column.name)
    found = breaches(table, row.select(table.column_names))
    return {name for breach in found if breach.rule is None for name in breach.columns}


@pytest.mark.parametrize(("table", "column"), BOUNDED, ids=BOUNDED_NAMES)
def test_the_limits_of_a_number_are_allowed_and_what_lies_past_them_is_not(table, column):
    if column.kind == "whole number":
        past = [int(column.low) - 1, int(column.high) + 1]
    else:
        past = [math.nextafter(column.low, -math.inf), math.nextafter(column.high, math.inf)]
    for value in (column.low, column.high):
        assert column.name not in broken(table, column, POLARS_TYPES[column.kind].to_python()(value))
    for value in past:
        assert column.name in broken(table, column, value)


@pytest.mark.parametrize(("table", "column"), COLUMNS, ids=NAMES)
def test_a_blank_is_refused_only_where_a_value_is_needed(table, column):
    assert (column.name in broken(table, column, None)) is column.required


@pytest.mark.parametrize(
    ("table", "column"),
    [each for each in COLUMNS if each[1].kind in ("text", "note", "choice")],
    ids=lambda each: each.name,
)
def test_texts_have_a_greatest_length_and_choices_are_the_only_ones(table, column):
    longest = LONGEST_NOTE if column.kind == "note" else LONGEST_NAME
    good = column.choices or ("x", "x" * longest)
    bad = ("something else",) if column.choices else ("", "x" * (longest + 1))
    assert [value for value in good if column.name in broken(table, column, value)] == []
    assert [value for value in bad if column.name not in broken(table, column, value)] == []


@pytest.mark.parametrize(("table", "column"), COLUMNS, ids=NAMES)
def test_a_column_is_stated_in_words_and_without_contradiction(table, column):
    assert column.kind in POLARS_TYPES
    assert column.meaning
    assert column.allowed
    assert (column.low is None) is (column.high is None)
    assert bool(column.choices) is (column.kind == "choice")
    bounds = [column.low, column.usual_low, column.usual_high, column.high]
    known = [bound for bound in bounds if bound is not None]
    assert known == sorted(known)


def test_limits_are_told_in_plain_digits():
    assert [column.allowed for _, column in COLUMNS if "e+" in column.allowed] == []


@pytest.mark.parametrize("table", TABLES.values(), ids=list(TABLES))
def test_keys_rules_and_references_name_columns_that_exist(table):
    names = set(table.column_names)
    assert len(names) == len(table.columns)
    assert set(table.key) <= names
    for rule in (*table.rules, *table.questions):
        assert set(rule.columns) <= names
        assert set(rule.holds.meta.root_names()) <= names
        assert rule.allowed
        assert rule.remedy
    for reference in table.references:
        target = TABLES[reference.table]
        assert set(reference.columns) <= names
        assert reference.target == target.key
        kinds = [
            (table.column(here).kind, target.column(there).kind)
            for here, there in zip(reference.columns, reference.target, strict=True)
        ]
        assert all(here == there for here, there in kinds)


def test_a_reference_points_to_a_table_that_comes_before():
    order = list(TABLES)
    pointed = [(table.name, reference.table) for table in TABLES.values() for reference in table.references]
    assert [pair for pair in pointed if order.index(pair[1]) >= order.index(pair[0])] == []


def test_the_files_needed_to_begin_are_tables():
    assert set(REQUIRED_FILES) <= set(TABLES)


def test_a_column_that_does_not_exist_is_a_key_error():
    with pytest.raises(KeyError):
        TABLES["loads"].column("colour")


def test_an_empty_frame_has_the_columns_of_the_file_and_passes_every_rule():
    for table in TABLES.values():
        frame = table.empty()
        assert tuple(frame.columns) == table.column_names
        assert breaches(table, frame) == []
