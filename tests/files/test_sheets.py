"""The sheets of a workbook as tables of text, or a fault or a refusal that says what to do."""

import datetime as dt
import io
import zipfile

import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.errors import BadInput, StandrowError
from analytics.files.text_tables import read_files
from tests.files.workbooks import by_hand, with_sheets

NAMES = ("fields", "loads")


def table(content: bytes):
    """The one table of a workbook that has no fault."""
    contents = read_files([("f.xlsx", content)], NAMES)
    assert contents.faults.listed() == ()
    (found,) = contents.tables
    return found


def sheet_cells(*rows: list[object]) -> list[tuple[str | None, ...]]:
    return table(with_sheets(("loads", list(rows)))).cells.rows()


def test_numbers_dates_and_texts_of_a_sheet_come_as_they_are_seen():
    day = (dt.datetime(2025, 9, 14), "yyyy-mm-dd")
    assert sheet_cells(["a", "b", "c"], [18.62, 1187, day], [0.1 + 0.2, "00417", True], [1e-7, 5_000_000, "x"]) == [
        ("18.62", "1187", "2025-09-14"),
        ("0.3", "00417", "true"),
        ("0.0000001", "5000000", "x"),
    ]


def test_a_cell_shown_as_percent_comes_as_percent():
    assert sheet_cells(["a", "b"], [(0.012, "0.0%"), (0.085, "0%")], [1.2, (0.5, "0.00")], ["x", ("y", "0%")]) == [
        ("1.2%", "8.5%"),
        ("1.2", "0.5"),
        ("x", "y"),
    ]


def test_rows_of_a_sheet_are_counted_from_its_top_even_when_it_begins_lower():
    found = table(with_sheets(("loads", [[], [], [None, "field", "ticket"], [None, "Home", 1], [], [None, "East", 2]])))
    assert found.cells.to_dicts() == [{"field": "Home", "ticket": "1"}, {"field": "East", "ticket": "2"}]
    assert found.rows.to_list() == [4, 6]
    assert found.label == "f.xlsx, sheet loads"


def test_a_formula_that_ended_in_an_error_is_a_fault_with_its_cell():
    stream = io.BytesIO()
    with xlsxwriter.Workbook(stream, {"in_memory": True}) as book:
        sheet = book.add_worksheet("loads")
        sheet.write_row(0, 0, ["field", "weight"])
        sheet.write(1, 0, "Home")
        sheet.write_formula(1, 1, "=1/0", None, "#DIV/0!")
    contents = read_files([("f.xlsx", stream.getvalue())], NAMES)
    assert [str(fault) for fault in contents.faults.listed()] == [
        "f.xlsx, sheet loads, row 2, weight: a formula that ended in an error given; allowed a value. "
        "Type the value, or leave the cell blank."
    ]


def test_sheets_are_found_by_name_and_others_named():
    data = with_sheets(("Loads ", [["field"], ["Home"]]), ("README", [["x"]]), ("my sums", [["x"]]))
    contents = read_files([("f.xlsx", data)], NAMES)
    assert [found.name for found in contents.tables] == ["loads"]
    assert "Left out, not named like a table: f.xlsx, sheet my sums." in contents.remarks


def test_an_empty_sheet_is_a_fault():
    contents = read_files([("f.xlsx", with_sheets(("loads", [])))], NAMES)
    assert "an empty file or sheet" in str(contents.faults.listed()[0])


def test_what_is_no_workbook_says_what_to_do():
    whole = with_sheets(("loads", [["field"], ["Home"]]))
    other_zip = io.BytesIO()
    with zipfile.ZipFile(other_zip, "w") as packed:
        packed.writestr("letter.txt", "hello")
    old = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"0" * 600
    for data, message in [
        (b"", "not a .xlsx workbook"),
        (b"field,ticket\n", "not a .xlsx workbook"),
        (whole[: len(whole) // 2], "not a .xlsx workbook"),
        (other_zip.getvalue(), "not a .xlsx workbook"),
        (old, "old .xls file or is locked with a password"),
    ]:
        with pytest.raises(BadInput, match=message):
            read_files([("f.xlsx", data)], NAMES)


def test_a_workbook_that_would_unpack_to_too_much_is_refused_early(monkeypatch):
    bomb = io.BytesIO(with_sheets(("loads", [["field"], ["Home"]])))
    with zipfile.ZipFile(bomb, "a", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/media/zeros.bin", b"\0" * 60_000_000)
    assert len(bomb.getvalue()) < 100_000
    monkeypatch.setattr(zipfile.ZipFile, "open", None)  # nothing of it is unpacked
    with pytest.raises(BadInput, match=r"would unpack to 60 MB"):
        read_files([("f.xlsx", bomb.getvalue())], NAMES)


def test_a_workbook_that_lies_about_its_size_is_refused():
    honest = io.BytesIO()
    with zipfile.ZipFile(honest, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", b"a" * 50_000)
    lying = honest.getvalue().replace((50_000).to_bytes(4, "little"), (50).to_bytes(4, "little"))
    with pytest.raises(BadInput, match="damaged"):
        read_files([("f.xlsx", lying)], NAMES)


def test_a_cell_in_the_far_corner_of_a_sheet_is_refused_before_the_sheet_is_laid_out():
    corner = by_hand([["field"]], rows_xml='<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>')
    with pytest.raises(BadInput, match="reaches to row 1,048,576, column 16,384"):
        read_files([("f.xlsx", corner)], NAMES)


def check_damaged_workbook(whole: bytes, place: int, byte: int, length: int) -> None:
    damaged = bytearray(whole[: max(1, len(whole) * length // 100)])
    damaged[place % len(damaged)] = byte
    try:
        contents = read_files([("f.xlsx", bytes(damaged))], NAMES)
    except StandrowError:
        return
    assert [found.cells.rows() for found in contents.tables] in ([], [[("Home", "18.62")]])


WHOLE = with_sheets(("loads", [["field", "weight"], ["Home", 18.62]]))

DAMAGE = {
    "place": st.integers(0, 100_000),
    "byte": st.integers(0, 255),
    "length": st.sampled_from([100, 100, 100, 99, 50]),
}


@settings(max_examples=20)
@given(**DAMAGE)
def test_a_damaged_workbook_is_refused_or_unharmed(place, byte, length):
    check_damaged_workbook(WHOLE, place, byte, length)


@pytest.mark.slow
@settings(max_examples=10_000)
@given(**DAMAGE)
def test_a_damaged_workbook_is_refused_or_unharmed_10_000_times(place, byte, length):
    check_damaged_workbook(WHOLE, place, byte, length)
