"""Empty files to fill in: complete, explained, and read again as empty."""

import csv

import fastexcel
import pytest

from analytics import importing
from analytics.errors import BadInput, Refused
from analytics.importing import plan
from analytics.records import TABLES
from analytics.templates import WORKBOOK, explanation, write_templates


def test_every_table_has_a_file_with_its_columns(tmp_path):
    written = write_templates(tmp_path / "new" / "folder")
    assert sorted(path.name for path in written) == sorted(
        [*(f"{name}.csv" for name in TABLES), "README.txt", "records.xlsx"]
    )
    for name, table in TABLES.items():
        with (tmp_path / "new" / "folder" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            assert list(csv.reader(file)) == [list(table.column_names)]


@pytest.mark.parametrize("source", ["", WORKBOOK])
def test_templates_are_read_again_as_empty_and_without_a_fault(tmp_path, source):
    write_templates(tmp_path)
    incoming = importing.read(tmp_path / source)
    planned = plan(incoming, {})
    assert set(incoming.tables) == set(TABLES)
    assert (planned.faults, incoming.questions, planned.is_empty) == ((), (), True)


def test_the_workbook_has_a_sheet_per_table_and_the_meaning_of_every_column(tmp_path):
    write_templates(tmp_path)
    book = fastexcel.read_excel(tmp_path / WORKBOOK)
    assert book.sheet_names == [*TABLES, "README"]
    meanings = book.load_sheet("README").to_polars()
    assert meanings.select("table", "column").rows() == [
        (table.name, column.name) for table in TABLES.values() for column in table.columns
    ]
    assert meanings["meaning"].null_count() == 0


def test_the_text_explains_every_column_and_what_is_allowed():
    text = explanation()
    for table in TABLES.values():
        assert f"{table.name}: {table.meaning}." in text
        for column in table.columns:
            assert column.meaning in text
            assert column.allowed in text


def test_a_file_that_is_there_already_is_kept_and_nothing_written(tmp_path):
    (tmp_path / "loads.csv").write_text("mine")
    with pytest.raises(BadInput, match=r"holds loads\.csv already"):
        write_templates(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["loads.csv"]
    assert (tmp_path / "loads.csv").read_text() == "mine"


def test_a_folder_that_cannot_be_made_is_refused(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(Refused, match="cannot be written to"):
        write_templates(tmp_path / "file" / "folder")
