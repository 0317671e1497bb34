"""What is exported imports again to the same records, and a second export is the same byte for byte."""

import string
import tempfile
from datetime import date
from pathlib import Path

import fastexcel
import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analytics.errors import BadInput, Refused
from analytics.files.exporting import WORKBOOK, export, export_zip
from analytics.files.importing import bring_in, faults_text
from analytics.planning.drawing_lots import LARGEST_SEED
from analytics.records.grown_tables import FIELDS, WEATHER
from analytics.records.own_tables import (
    BROKEN_DRAWS,
    COLUMN_MATCHES,
    COST_ASSUMPTIONS,
    DRAWS,
    PLANNING_RULES,
    SAVED_TABLES,
)
from analytics.settings import change_settings, read_settings
from analytics.storage.backups import contents
from analytics.storage.database import open_records
from analytics.storage.history import TableSave, save
from tests.prepared import begun

PACKED = "records.zip"
SAMPLE_RECORDS = Path(__file__).resolve().parents[2] / "sample_records"


def records_of(connection) -> dict[str, object]:
    return {name: content for name, content in contents(connection).items() if name in SAVED_TABLES}


def keep(connection, table, *rows) -> None:
    frame = pl.DataFrame(list(rows), schema=table.polars_schema())
    save(connection, [TableSave(table=table, saved=frame, removed=frame.clear())], done_by="test", source="screen")


def exported_and_imported(connection, folder: Path, what: str = ""):
    """The records after an export of `connection` was brought into an empty file; a second export is the same."""
    export(connection, folder / "first")
    (folder / "first" / PACKED).write_bytes(export_zip(connection))
    with begun(folder / "again.duckdb") as again:
        brought = bring_in(again, folder / "first" / what, done_by="test", reason="moved to another machine")
        assert faults_text(brought) == ""
        export(again, folder / "second")
        (folder / "second" / PACKED).write_bytes(export_zip(again))
        for file in sorted((folder / "first").iterdir()):
            assert file.read_bytes() == (folder / "second" / file.name).read_bytes(), file.name
        return records_of(again)


WAYS = pytest.mark.parametrize("what", ["", "records.xlsx", PACKED], ids=["csv", "workbook", "zip"])


@WAYS
def test_the_demo_farm_comes_back_whole_and_the_same_byte_for_byte(demo, tmp_path, what):
    assert exported_and_imported(demo, tmp_path, what) == records_of(demo)
    assert {file.name for file in (tmp_path / "second").iterdir()} == {
        *(f"{name}.csv" for name in SAVED_TABLES),
        WORKBOOK,
        PACKED,
    }


@WAYS
def test_what_no_paper_brings_comes_back_too(tmp_path, what):
    with begun(tmp_path / "records.duckdb") as connection:
        change_settings(
            connection,
            {"farm_name": "=Home", "level": "0.9", "margin.yield": "1,25", "yield_unit": "t/ha"},
            done_by="test",
            why="as agreed",
        )
        rate = {"item": "combining", "low": 30.0, "middle": 1 / 3, "high": 45.5, "year": 2025, "source": "-own rate"}
        keep(connection, COST_ASSUMPTIONS, rate)
        rule = {"rule": "frost", "is_used": False, "threshold": 25.0, "source": "@home"}
        keep(connection, PLANNING_RULES, rule)
        sides = {"first_side": "F" * 100 + ", " + "p" * 100, "second_side": "South, a", "first_method": "standing"}
        drawn = {"crop_year": 2026, "pair": "A", "drawn_at": "2026-01-05 10:00", "seed": LARGEST_SEED, "place": 1}
        keep(connection, DRAWS, drawn | sides)
        broken = {"crop_year": 2026, "pair": "A", "noted_on": date(2026, 9, 1), "reason": "hail, +30 mm"}
        keep(connection, BROKEN_DRAWS, broken)
        match = {"name": "scale", "table_name": "loads", "column_name": "weight_kg", "file_column": "+Net", "unit": "t"}
        keep(connection, COLUMN_MATCHES, match)
        before = read_settings(connection)
        assert exported_and_imported(connection, tmp_path, what) == records_of(connection)
    with open_records(tmp_path / "again.duckdb") as again:
        assert read_settings(again) == before


@pytest.mark.parametrize(
    ("name", "value"),
    [("level", "0.5"), ("level", "high"), ("margin.yield", "0"), ("margin.colour", "1.0"), ("password", "x")],
)
def test_a_setting_that_is_not_allowed_is_refused(tmp_path, name, value):
    with begun(tmp_path / "records.duckdb") as connection:
        export(connection, tmp_path / "out")
        (tmp_path / "out" / "settings.csv").write_text(f"name,value\n{name},{value}\n")
        brought = bring_in(connection, tmp_path / "out", done_by="test")
        assert "settings.csv, row 2" in faults_text(brought)
        assert read_settings(connection).level == 0.95


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


@WAYS
def test_odd_texts_come_back_unchanged(tmp_path, what):
    with begun(tmp_path / "records.duckdb") as connection:
        keep(connection, FIELDS, *({"field": f"{text}", "notes": text} for text in TRICKY))
        assert exported_and_imported(connection, tmp_path, what) == records_of(connection)


def test_no_cell_can_run_as_a_formula(tmp_path):
    with begun(tmp_path / "records.duckdb") as connection:
        keep(connection, FIELDS, *({"field": text} for text in TRICKY))
        export(connection, tmp_path / "out")
    cells = pl.read_csv(tmp_path / "out" / "fields.csv", infer_schema=False)["field"]
    sheet = fastexcel.read_excel(tmp_path / "out" / "records.xlsx").load_sheet("fields", dtypes="string").to_polars()
    for texts in (cells, sheet["field"]):
        assert len(texts) == len(TRICKY)
        assert not [text for text in texts if text[0] in "=+-@"]


@WAYS
def test_a_number_comes_back_to_the_last_digit(tmp_path, what):
    numbers = [1.123456789, 1.1234567891, 1 / 3, 12345.1234567891, 0.1 + 0.2, 19_999.0]
    with begun(tmp_path / "records.duckdb") as connection:
        keep(connection, FIELDS, *({"field": f"{number!r}", "acres": number} for number in numbers))
        assert exported_and_imported(connection, tmp_path, what) == records_of(connection)


NUMBERS = st.floats(1, 20_000) | st.floats(1, 1.0001) | st.decimals(1, 9999, places=3).map(float)
WORDS = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=12)


@settings(max_examples=2, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(acres=st.lists(NUMBERS | st.none(), min_size=1, max_size=20), notes=st.lists(WORDS, min_size=20, max_size=20))
def test_any_number_and_word_comes_back_unchanged(tmp_path_factory, acres, notes):
    folder = tmp_path_factory.mktemp("any")
    names = string.ascii_lowercase
    with begun(folder / "records.duckdb") as connection:
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
        (folder / "out" / PACKED).write_bytes(export_zip(connection))
    for what in ("", "records.xlsx", PACKED):
        with begun(folder / f"again{len(what)}.duckdb") as again:
            assert faults_text(bring_in(again, folder / "out" / what, done_by="test", reason="moved")) == ""
            assert records_of(again) == expected


def test_weather_of_the_whole_farm_and_a_negative_reading_come_back(tmp_path):
    with begun(tmp_path / "records.duckdb") as connection:
        frost = {"happened_on": date(2024, 9, 12), "event": "frost", "reading": -3.5, "unit": "C"}
        keep(connection, WEATHER, frost)
        assert exported_and_imported(connection, tmp_path) == records_of(connection)


def test_what_is_there_already_is_not_written_over(demo, tmp_path):
    (tmp_path / "loads.csv").write_text("mine")
    with pytest.raises(BadInput, match=r"holds loads\.csv already"):
        export(demo, tmp_path)
    assert [file.name for file in tmp_path.iterdir()] == ["loads.csv"]
    assert (tmp_path / "loads.csv").read_text() == "mine"


def test_an_export_needs_room_in_its_own_folder_alone(demo, tmp_path, monkeypatch):
    """A full folder of temporary files ended it in an error without words."""

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(tempfile, "mkstemp", full)
    assert (tmp_path / "out" / WORKBOOK) in export(demo, tmp_path / "out")


def test_a_folder_that_cannot_be_made_is_refused(demo, tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(Refused, match="cannot be written to"):
        export(demo, tmp_path / "file" / "out")
