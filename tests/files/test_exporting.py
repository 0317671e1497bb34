"""What is exported imports again to the same records, and a second export is the same byte for byte."""

import io
import shutil
import string
import tempfile
import zipfile
from dataclasses import dataclass
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
from analytics.settings import Settings, change_settings, read_settings
from analytics.storage.backups import contents
from analytics.storage.database import open_records
from analytics.storage.history import TableSave, save
from tests.prepared import begun


def records_of(connection) -> dict[str, object]:
    return {name: content for name, content in contents(connection).items() if name in SAVED_TABLES}


def keep(connection, table, *rows) -> None:
    frame = pl.DataFrame(list(rows), schema=table.polars_schema())
    save(connection, [TableSave(table=table, saved=frame, removed=frame.clear())], done_by="test", source="screen")


@dataclass(frozen=True)
class Exported:
    """What was exported, as the records hold it, and where it lies."""

    folder: Path
    records: dict[str, object]
    settings: Settings


def exported(connection, folder: Path) -> Exported:
    export(connection, folder)
    return Exported(folder, records_of(connection), read_settings(connection))


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


NUMBERS = [1.123456789, 1.1234567891, 1 / 3, 12345.1234567891, 0.1 + 0.2, 19_999.0]


@pytest.fixture(scope="module")
def farms(demo_records, tmp_path_factory) -> dict[str, Exported]:
    """Two farms, exported once: the demo, and one of odd texts, numbers to the last digit, a frost of the whole farm,
    and all that no paper brings.
    """
    folder = tmp_path_factory.mktemp("exported")
    with open_records(demo_records) as connection:
        demo = exported(connection, folder / "demo")
    with begun(folder / "records.duckdb", thrown_away=True) as connection:
        keep(connection, FIELDS, *({"field": text, "notes": text} for text in TRICKY))
        keep(connection, FIELDS, *({"field": f"{number!r}", "acres": number} for number in NUMBERS))
        frost = {"happened_on": date(2024, 9, 12), "event": "frost", "reading": -3.5, "unit": "C"}
        keep(connection, WEATHER, frost)
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
        return {"demo": demo, "odd": exported(connection, folder / "odd")}


@pytest.mark.parametrize("farm", ["demo", "odd"])
def test_a_farm_comes_back_whole_from_its_csv_files_and_is_exported_the_same_byte_for_byte(farms, tmp_path, farm):
    first = farms[farm]
    with begun(tmp_path / "again.duckdb", thrown_away=True) as again:
        comes_back_whole(first, first.folder, again)
        export(again, tmp_path / "second")
    files = {*(f"{name}.csv" for name in SAVED_TABLES), WORKBOOK}
    assert {file.name for file in (tmp_path / "second").iterdir()} == files
    for name in files:
        assert (tmp_path / "second" / name).read_bytes() == (first.folder / name).read_bytes(), name


@pytest.mark.parametrize("farm", ["demo", "odd"])
def test_a_farm_comes_back_whole_from_its_workbook(farms, tmp_path, farm):
    with begun(tmp_path / "again.duckdb", thrown_away=True) as again:
        comes_back_whole(farms[farm], farms[farm].folder / WORKBOOK, again)


def comes_back_whole(first: Exported, files: Path, again) -> None:
    """To the last digit and letter."""
    brought = bring_in(again, files, done_by="test", reason="moved to another machine")
    assert faults_text(brought) == ""
    assert records_of(again) == first.records
    assert read_settings(again) == first.settings


def test_the_zip_holds_the_csv_files_byte_for_byte_each_time(demo, farms):
    packed = export_zip(demo)
    assert packed == export_zip(demo)
    with zipfile.ZipFile(io.BytesIO(packed)) as pack:
        assert set(pack.namelist()) == {f"{name}.csv" for name in SAVED_TABLES}
        for name in pack.namelist():
            assert pack.read(name) == (farms["demo"].folder / name).read_bytes(), name


@pytest.fixture(scope="module")
def empty(tmp_path_factory):
    """A connection to records without a row, and the folder with their export; nobody changes either."""
    folder = tmp_path_factory.mktemp("empty")
    with begun(folder / "records.duckdb", thrown_away=True) as connection:
        export(connection, folder / "out")
        yield connection, folder / "out"


@pytest.mark.parametrize(
    "settings",
    [["level,0.5", "margin.yield,0", "margin.colour,1.0", "password,x"], ["level,high"]],
    ids=["each of many", "one"],
)
def test_settings_that_are_not_allowed_are_refused(empty, tmp_path, settings):
    connection, out = empty
    for table in ("fields", "plots", "loads"):
        shutil.copy(out / f"{table}.csv", tmp_path)
    (tmp_path / "settings.csv").write_text("\n".join(["name,value", *settings]) + "\n")
    brought = bring_in(connection, tmp_path, done_by="test", reason="as agreed")
    assert {fault.row for fault in brought.plan.faults} == set(range(2, len(settings) + 2))
    assert faults_text(brought).startswith("settings.csv, row 2")
    assert read_settings(connection).level == 0.95


def test_no_cell_can_run_as_a_formula(farms):
    out = farms["odd"].folder
    cells = pl.read_csv(out / "fields.csv", infer_schema=False)["field"]
    sheet = fastexcel.read_excel(out / WORKBOOK).load_sheet("fields", dtypes="string").to_polars()
    for texts in (cells, sheet["field"]):
        assert len(texts) == len(TRICKY) + len(NUMBERS)
        assert not [text for text in texts if text[0] in "=+-@"]


ANY_NUMBER = st.floats(1, 20_000) | st.floats(1, 1.0001) | st.decimals(1, 9999, places=3).map(float)
WORDS = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=12)


@settings(max_examples=2, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(
    acres=st.lists(ANY_NUMBER | st.none(), min_size=1, max_size=20),
    notes=st.lists(WORDS, min_size=20, max_size=20),
    what=st.sampled_from(["", WORKBOOK]),
)
def test_any_number_and_word_comes_back_unchanged(tmp_path_factory, acres, notes, what):
    folder = tmp_path_factory.mktemp("any")
    names = string.ascii_lowercase
    with begun(folder / "records.duckdb", thrown_away=True) as connection:
        keep(
            connection,
            FIELDS,
            *(
                {"field": name, "acres": number, "notes": note}
                for name, number, note in zip(names, acres, notes, strict=False)
            ),
        )
        first = exported(connection, folder / "out")
    with begun(folder / "again.duckdb", thrown_away=True) as again:
        comes_back_whole(first, first.folder / what, again)


def test_what_is_there_already_is_not_written_over(empty, tmp_path):
    (tmp_path / "loads.csv").write_text("mine")
    with pytest.raises(BadInput, match=r"holds loads\.csv already"):
        export(empty[0], tmp_path)
    assert [file.name for file in tmp_path.iterdir()] == ["loads.csv"]
    assert (tmp_path / "loads.csv").read_text() == "mine"


def test_an_export_needs_room_in_its_own_folder_alone(empty, tmp_path, monkeypatch):
    """A full folder of temporary files ended it in an error without words."""

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(tempfile, "mkstemp", full)
    assert (tmp_path / "out" / WORKBOOK) in export(empty[0], tmp_path / "out")


def test_a_folder_that_cannot_be_made_is_refused(empty, tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(Refused, match="cannot be written to"):
        export(empty[0], tmp_path / "file" / "out")
