"""Files to fill in: complete, explained, read again as empty or as what the farm has."""

import csv
import io
import zipfile
from datetime import date

import fastexcel
import polars as pl
import pytest

from analytics.errors import BadInput, Refused
from analytics.files import import_plan
from analytics.files.import_plan import plan_import
from analytics.files.templates import WORKBOOK, explanation, season_rows, template_files, templates_zip, write_templates
from analytics.records.tables import TABLES
from tests.files.given import incoming_of


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
    incoming = import_plan.read_incoming(tmp_path / source)
    planned = plan_import(incoming, {})
    assert set(incoming.tables) == set(TABLES)
    assert (planned.faults, incoming.questions, planned.is_empty) == ((), (), True)


def test_the_workbook_has_a_sheet_per_table_and_the_meaning_of_every_column(tmp_path):
    write_templates(tmp_path)
    book = fastexcel.read_excel(tmp_path / WORKBOOK)
    assert book.sheet_names == [*TABLES, "README"]
    meanings = book.load_sheet("README").to_polars()
    assert meanings.drop_nulls("column").select("table", "column").rows() == [  # without one: a caution of the table
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


# With the farm's fields and plots in them

PLOTS = [
    {"crop_year": 2025, "field": "-North", "plot": "007", "method": "windrowed", "windrowed_on": date(2025, 8, 28)},
    {"crop_year": 2025, "field": "East", "plot": "whole", "method": "standing", "acres": 39.25, "notes": "=1+1"},
]


def farm() -> dict[str, pl.DataFrame]:
    rows = {"fields": [{"field": "-North", "acres": 160.0}, {"field": "East"}], "plots": PLOTS}
    return {name: pl.DataFrame(rows.get(name, []), schema=table.polars_schema()) for name, table in TABLES.items()}


@pytest.mark.parametrize("kind", ["csv", "workbook"])
def test_filled_templates_of_a_year_on_record_are_read_again_as_before(kind):
    files = template_files(season_rows(farm(), crop_year=2025))
    chosen = (
        [(WORKBOOK, files[WORKBOOK])]
        if kind == "workbook"
        else [(name, files[name]) for name in files if "csv" in name]
    )
    planned = plan_import(incoming_of(chosen), farm())
    assert [planned.tables[name].unchanged_count for name in ("fields", "plots")] == [2, 2]
    assert (planned.tables["fields"].new_count, planned.tables["plots"].new_count, planned.changes) == (0, 0, ())
    # the rows for tickets, samples and loss checks wait to be filled in
    assert not planned.fault_count
    assert all(planned.tables[name].new_count == 0 for name in ("loads", "samples", "loss_checks"))


def test_filled_templates_of_a_new_year_have_last_years_plots_without_their_dates():
    rows = season_rows(farm(), crop_year=2026)
    assert [row["crop_year"] for row in rows["plots"]] == ["2026", "2026"]
    assert {row.get("windrowed_on", "") for row in rows["plots"]} == {""}
    assert [tuple(row.values()) for row in rows["loads"]] == [("2026", "-North", "007"), ("2026", "East", "whole")]
    assert rows["loads"] == rows["samples"] == rows["loss_checks"]


def test_a_farm_without_plots_has_its_fields_alone():
    rows = season_rows({**farm(), "plots": farm()["plots"].clear()}, crop_year=2026)
    assert [len(rows[name]) for name in ("fields", "plots", "loads")] == [2, 0, 0]


def test_text_that_a_spreadsheet_would_run_is_guarded_in_a_filled_template():
    files = template_files(season_rows(farm(), crop_year=2025))
    assert "\n'-North,160" in files["fields.csv"].decode()
    assert ",'=1+1" in files["plots.csv"].decode()


def test_the_zip_holds_every_file_but_the_workbook():
    files = template_files()
    with zipfile.ZipFile(io.BytesIO(templates_zip(files))) as pack:
        assert set(pack.namelist()) == set(files) - {WORKBOOK}
        assert pack.read("loads.csv") == files["loads.csv"]
