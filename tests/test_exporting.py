"""What is exported imports again to the same records, and a second export is the same byte for byte."""

import string
from datetime import date
from pathlib import Path

import fastexcel
import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analytics.backups import contents
from analytics.bringing_in import bring_in, faults_text
from analytics.database import open_records
from analytics.errors import BadInput, Refused
from analytics.exporting import export
from analytics.history import TableSave, save
from analytics.records import FIELDS, TABLES, WEATHER

SAMPLE_RECORDS = Path(__file__).resolve().parents[1] / "sample_records"


def records_of(connection) -> dict[str, object]:
    return {name: content for name, content in contents(connection).items() if name in TABLES}


def keep(connection, table, *rows) -> None:
    frame = pl.DataFrame(list(rows), schema=table.polars_schema())
    save(connection, [TableSave(table=table, saved=frame, removed=frame.clear())], done_by="test", source="screen")


def exported_and_imported(connection, folder: Path, what: str = ""):
    """The records after an export of `connection` was brought into an empty file, and the export's folder."""
    export(connection, folder / "first")
    with open_records(folder / "again.duckdb", create=True) as again:
        brought = bring_in(again, folder / "first" / what, done_by="test")
        assert faults_text(brought) == ""
        export(again, folder / "second")
        return records_of(again)


@pytest.mark.parametrize("what", ["", "records.xlsx"], ids=["csv", "workbook"])
def test_the_demo_farm_comes_back_whole_and_the_same_byte_for_byte(demo, tmp_path, what):
    assert exported_and_imported(demo, tmp_path, what) == records_of(demo)
    files = sorted(file.name for file in (tmp_path / "first").iterdir())
    assert {f"{name}.csv" for name in TABLES} < set(files)
    for name in files:
        assert (tmp_path / "first" / name).read_bytes() == (tmp_path / "second" / name).read_bytes(), name


TRICKY = [
    "=1+1",
    "+3",
    "-3",
    "@SUM(A1)",
    "'quoted'",
    "'=1",
    "''=1",
    "a, b",
    'say "hi"',
    "two\nlines",
    "<b>bold</b>",
    "0017",
    "1e5",
    "Élan",
    "yes",
    "2025-09-14",
]


@pytest.mark.parametrize("what", ["", "records.xlsx"], ids=["csv", "workbook"])
def test_odd_texts_come_back_unchanged(tmp_path, what):
    with open_records(tmp_path / "records.duckdb", create=True) as connection:
        keep(connection, FIELDS, *({"field": f"{text}", "notes": text} for text in TRICKY))
        assert exported_and_imported(connection, tmp_path, what) == records_of(connection)


def test_no_cell_can_run_as_a_formula(tmp_path):
    with open_records(tmp_path / "records.duckdb", create=True) as connection:
        keep(connection, FIELDS, *({"field": text} for text in TRICKY))
        export(connection, tmp_path / "out")
    cells = pl.read_csv(tmp_path / "out" / "fields.csv", infer_schema=False)["field"]
    sheet = fastexcel.read_excel(tmp_path / "out" / "records.xlsx").load_sheet("fields", dtypes="string").to_polars()
    for texts in (cells, sheet["field"]):
        assert len(texts) == len(TRICKY)
        assert not [text for text in texts if text[0] in "=+-@"]


NUMBERS = st.floats(1, 20_000) | st.floats(1, 1.0001) | st.decimals(1, 9999, places=3).map(float)
WORDS = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=12)


@settings(
    max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(acres=st.lists(NUMBERS | st.none(), min_size=1, max_size=20), notes=st.lists(WORDS, min_size=20, max_size=20))
def test_any_number_and_word_comes_back_unchanged(tmp_path_factory, acres, notes):
    folder = tmp_path_factory.mktemp("any")
    names = string.ascii_lowercase
    with open_records(folder / "records.duckdb", create=True) as connection:
        keep(
            connection,
            FIELDS,
            *(
                {"field": name, "acres": number, "notes": note}
                for name, number, note in zip(names, acres, notes, strict=False)
            ),
        )
        expected = records_of(connection)
        export(connection, folder / "out")
    for what in ("", "records.xlsx"):
        with open_records(folder / f"again{len(what)}.duckdb", create=True) as again:
            assert faults_text(bring_in(again, folder / "out" / what, done_by="test")) == ""
            assert records_of(again) == expected


def test_weather_of_the_whole_farm_and_a_negative_reading_come_back(tmp_path):
    with open_records(tmp_path / "records.duckdb", create=True) as connection:
        frost = {"happened_on": date(2024, 9, 12), "event": "frost", "reading": -3.5, "unit": "C"}
        keep(connection, WEATHER, frost)
        assert exported_and_imported(connection, tmp_path) == records_of(connection)


def test_what_is_there_already_is_not_written_over(demo, tmp_path):
    (tmp_path / "loads.csv").write_text("mine")
    with pytest.raises(BadInput, match=r"holds loads\.csv already"):
        export(demo, tmp_path)
    assert [file.name for file in tmp_path.iterdir()] == ["loads.csv"]
    assert (tmp_path / "loads.csv").read_text() == "mine"


def test_a_folder_that_cannot_be_made_is_refused(demo, tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(Refused, match="cannot be written to"):
        export(demo, tmp_path / "file" / "out")
