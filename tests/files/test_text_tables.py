"""Files to text: every cell as it stands there with its row number, or a fault that says where."""

import io
import zipfile

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.errors import BadInput, Refused, StandrowError
from analytics.files import text_tables
from analytics.files.text_tables import (
    LARGEST_BYTES,
    check_size,
    guarded_text,
    read_all,
    read_files,
    read_path,
    unguarded,
)
from analytics.records.faults import LISTED, Fault, Faults, fault_lines
from tests.files.workbooks import with_sheets

NAMES = ("fields", "loads")


def table(content: bytes | str, name: str = "loads.csv"):
    """The one table of a file that has no fault."""
    contents = read_files([(name, content if isinstance(content, bytes) else content.encode())], NAMES)
    assert contents.faults.listed() == ()
    (found,) = contents.tables
    return found


def cells(content: bytes | str) -> list[tuple[str | None, ...]]:
    return table(content).cells.rows()


def faults(content: bytes | str) -> list[str]:
    contents = read_files([("loads.csv", content if isinstance(content, bytes) else content.encode())], NAMES)
    return [str(fault) for fault in contents.faults.listed()]


def remarks(content: bytes | str) -> str:
    contents = read_files([("loads.csv", content if isinstance(content, bytes) else content.encode())], NAMES)
    return " ".join(contents.remarks)


def test_cells_come_as_they_stand_with_the_rows_of_a_spreadsheet():
    found = table("field,ticket\nHome,0417\nEast,\n")
    assert found.cells.to_dicts() == [{"field": "Home", "ticket": "0417"}, {"field": "East", "ticket": None}]
    assert found.rows.to_list() == [2, 3]
    assert found.is_whole


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_every_kind_of_line_end_is_read(end):
    assert cells(end.join(["field,ticket", "Home,1", "East,2"])) == [("Home", "1"), ("East", "2")]


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
def test_the_separator_is_recognised_and_named_when_it_is_no_comma(mark):
    content = f"field{mark}ticket\nHome{mark}1\n"
    assert cells(content) == [("Home", "1")]
    assert ("set apart by" in remarks(content)) is (mark != ",")


@pytest.mark.parametrize("first", ["sep=;", "SEP=;"])
def test_a_line_that_tells_spreadsheets_the_separator_is_passed_over(first):
    found = table(f"{first}\nfield;ticket\nHome;1\nEast;2\n")
    assert found.cells.rows() == [("Home", "1"), ("East", "2")]
    assert found.rows.to_list() == [3, 4]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
def test_accents_survive_each_encoding_and_windows_1252_is_named(encoding):
    content = "field,ticket\nCoulée,1\n".encode(encoding)
    assert cells(content) == [("Coulée", "1")]
    assert ("Windows-1252" in remarks(content)) is (encoding == "cp1252")


def test_an_accent_typed_in_two_ways_is_one_name():
    assert cells("field,ticket\nCoule\u0301e,1\n") == cells("field,ticket\nCoulée,1\n")


def test_a_byte_that_is_text_in_neither_encoding_is_a_fault():
    assert "row 2: the byte 0x81 given" in faults(b"field,ticket\nCoul\x81,1\n")[0]


def test_quoted_cells_may_hold_separators_quotes_and_line_breaks():
    found = table('field,ticket\n"Home, ""north""\nhalf",1\nEast,2\n')
    assert found.cells.rows() == [('Home, "north"\nhalf', "1"), ("East", "2")]
    assert found.rows.to_list() == [2, 3]


def test_a_space_before_a_quoted_cell_does_no_harm():
    assert cells('field, ticket\nHome, "1,2"\n') == [("Home", "1,2")]


@pytest.mark.parametrize(
    "content",
    ['field,ticket\n"Home,1\n', 'field,ticket\n"Home"x,1\n', "field,ticket\nHome," + '"' + "x" * 200_000 + '"\n'],
)
def test_quotation_marks_that_do_not_close_and_endless_cells_are_a_fault(content):
    (fault,) = faults(content)
    assert fault.startswith("loads.csv, row 2: text that cannot be cut into cells")


def test_short_and_long_rows_are_faults_that_name_the_row():
    found = faults("field,ticket\nHome\nEast,1\nWest,1,2\n")
    assert [fault.partition(" given")[0] for fault in found] == [
        "loads.csv, row 2: 1 cell",
        "loads.csv, row 4: 3 cells",
    ]


def test_short_rows_are_found_even_where_a_long_one_makes_up_for_them():
    assert len(faults("field,ticket\nHome\nWest,1,2\n")) == 2


def test_blank_cells_beyond_the_header_say_nothing():
    assert cells("field,ticket\nHome,1,,\nEast,2\n") == [("Home", "1"), ("East", "2")]


def test_blank_rows_are_skipped_said_and_counted_as_rows():
    found = table("\nfield,ticket\nHome,1\n,\n\nEast,2\n")
    assert found.rows.to_list() == [3, 6]
    assert "1 blank row skipped" in remarks("field,ticket\nHome,1\n,\n")


def test_column_names_are_read_without_regard_to_capitals_and_spaces_and_that_is_said():
    content = " Field ,TICKET\nHome,1\n"
    assert table(content).cells.columns == ["field", "ticket"]
    assert "without regard to capitals" in remarks(content)
    assert remarks("field,ticket\nHome,1\n") == ""


def test_two_columns_of_one_name_are_a_fault():
    assert faults("field,Field\n1,2\n") == [
        "loads.csv, row 1, field: two columns of that name given; allowed one. Keep one of them."
    ]


def test_a_column_without_a_name_is_left_out_and_named_when_it_holds_something():
    assert table("field,\nHome,\n").cells.columns == ["field"]
    assert remarks("field,ticket,\nHome,1,\n") == ""
    assert "column 3 has no name" in remarks("field,ticket,\nHome,1,x\n")


@pytest.mark.parametrize("content", ["", "\n\n", " \r\n", "\ufeff", "\n\n,\n"])
def test_an_empty_file_is_a_fault(content):
    assert "an empty file or sheet given" in faults(content)[0]


@pytest.mark.parametrize("content", ["field,ticket", "field,ticket\n", "field,ticket\n\n\n"])
def test_a_header_alone_is_a_table_without_rows(content):
    found = table(content)
    assert found.cells.shape == (0, 2)
    assert found.rows.len() == 0


def test_a_nul_byte_is_a_fault_with_its_row():
    assert faults(b"field,ticket\nHome,\0\n")[0].startswith("loads.csv, row 2: a NUL byte given")
    assert "NUL byte" in faults("field,ticket\nHome,1\n".encode("utf-16-le"))[0]


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_text_of_two_bytes_a_letter_is_read_and_named_and_cut_short_refused(encoding):
    content = "\ufefffield\tticket\nCoulée\t1\n".encode(encoding)
    assert cells(content) == [("Coulée", "1")]
    assert "read as UTF-16 text" in remarks(content)
    assert "UTF-16 that is cut short" in faults(content[:-1])[0]


@pytest.mark.parametrize("ending", [".ods", ".numbers", ".xlsb"])
def test_files_of_other_programs_are_told_how_to_be_saved_and_named_once(ending):
    for read in (lambda files: read_files(files, NAMES), read_all):
        with pytest.raises(BadInput, match=r"save it as \.xlsx") as told:
            read([(f"f{ending}", b"PK\x03\x04")])
        assert str(told.value).count(f"f{ending}") == 1


def test_a_damaged_zip_of_any_packing_is_bad_input():
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w", zipfile.ZIP_LZMA) as packed:
        packed.writestr("loads.csv", "field,ticket\n" + "Home,1\n" * 100)
    damaged = bytearray(whole.getvalue())
    damaged[60] ^= 0xFF
    for name in ("f.zip", "f.xlsx"):
        with pytest.raises(BadInput, match="damaged"):
            read_files([(name, bytes(damaged))], NAMES)


def test_a_header_without_end_and_too_many_columns_are_refused():
    assert "a line without end" in faults("a" * 1_000_000)[0]
    assert "a line without end" in faults("a," * 1_000_000)[0]
    columns = [f"c{number}" for number in range(text_tables.MOST_COLUMNS + 1)]
    assert table(",".join(columns[1:])).cells.width == text_tables.MOST_COLUMNS
    assert f"{len(columns)} columns given" in faults(",".join(columns))[0]


def test_a_row_of_a_million_cells_is_one_fault():
    assert faults("field,ticket\n" + "1," * 1_000_000 + "1\n")[0].startswith("loads.csv, row 2: 1,000,001 cells given")


def test_files_over_the_size_limit_are_refused_before_they_are_read(tmp_path, monkeypatch):
    monkeypatch.setattr(text_tables, "LARGEST_BYTES", 30)
    (tmp_path / "loads.csv").write_text("field,ticket\nHome,123456789\n")
    assert read_path(tmp_path, NAMES).tables[0].cells.height == 1
    (tmp_path / "fields.csv").write_text("field\nHome\n")
    for attempt in (tmp_path, [("loads.csv", b"x" * 31)]):
        with pytest.raises(BadInput, match="larger than"):
            read_files(attempt, NAMES) if isinstance(attempt, list) else read_path(attempt, NAMES)


def test_a_folder_gives_its_tables_and_names_what_was_left_out(tmp_path):
    for name in ("fields.csv", "Loads.CSV", "tickets.csv", "notes.txt", "README.md", "__init__.py", ".hidden"):
        (tmp_path / name).write_text("field,ticket\nHome,1\n")
    contents = read_path(tmp_path, NAMES)
    assert sorted(found.name for found in contents.tables) == ["fields", "loads"]
    assert contents.remarks == ("Left out, not named like a table: notes.txt, tickets.csv.",)


def test_a_folder_without_any_table_and_a_path_that_is_not_there_are_bad_input(tmp_path):
    (tmp_path / "tickets.csv").write_text("field\n")
    for path, message in [
        (tmp_path, "tickets.csv; allowed fields, loads"),
        (tmp_path / "none", "there is no such file"),
    ]:
        with pytest.raises(BadInput, match=message):
            read_path(path, NAMES)


def test_a_path_that_the_computer_refuses_is_refused(tmp_path, monkeypatch):
    def refuse(path):
        raise PermissionError(13, "Permission denied")

    (tmp_path / "loads.csv").write_text("field\n")
    monkeypatch.setattr("pathlib.Path.read_bytes", refuse)
    with pytest.raises(Refused, match="Permission denied"):
        read_path(tmp_path, NAMES)


def test_a_second_file_of_one_table_is_a_fault():
    contents = read_files([("loads.csv", b"field,ticket\n"), ("LOADS.csv", b"field,ticket\n")], NAMES)
    assert [str(fault) for fault in contents.faults.listed()] == [
        "LOADS.csv: a second table of that name given; allowed one, as loads.csv is."
    ]


def test_faults_of_several_files_are_listed_together_and_the_unreadable_tables_named():
    contents = read_files([("loads.csv", b""), ("fields.csv", b"field,acres\nHome\n")], NAMES)
    assert contents.faults.total == 2
    assert contents.unreadable == {"loads"}
    assert not contents.tables[0].is_whole


def test_only_the_first_faults_are_worded_but_all_are_counted():
    contents = read_files([("loads.csv", b"field,ticket\n" + b"Home\n" * 5000)], NAMES)
    listed = contents.faults.listed()
    assert (len(listed), contents.faults.total) == (LISTED, 5000)
    assert [fault.row for fault in listed] == list(range(2, LISTED + 2))
    assert fault_lines(listed, contents.faults.total).endswith("\n... and 4,800 more.")


def test_a_fault_is_one_sentence_and_keeps_what_was_given_short():
    fault = Fault(file="loads.csv", row=14, column="moisture_pct", given="95", allowed="a number from 2 to 30")
    assert str(fault) == "loads.csv, row 14, moisture_pct: 95 given; allowed a number from 2 to 30."
    assert len(str(Fault(file="loads.csv", given="x\n" * 10_000, allowed="less"))) < 150
    assert "nothing given; usual is 1" in str(Fault(file="a", given="", allowed="1", is_doubt=True))


def test_faults_are_listed_file_by_file_and_row_by_row():
    faults_ = Faults()
    for file, row in [("b", 3), ("a", 2), ("b", 1)]:
        faults_.add(Fault(file=file, row=row, given="x", allowed="y"))
    assert [(fault.file, fault.row) for fault in faults_.listed()] == [("b", 1), ("b", 3), ("a", 2)]


@pytest.mark.parametrize("text", ["=1+1", "+1", "-5", "@x", "'=x", "''", "'tis", "plain", "a=b", "'", "5'"])
def test_text_that_a_spreadsheet_would_take_for_a_formula_is_guarded_and_comes_back(text):
    frame = pl.DataFrame({"text": [text]})
    written = frame.select(guarded_text(pl.col("text"))).item()
    assert written[0] not in "=+-@"
    assert pl.DataFrame({"text": [written]}).select(unguarded(pl.col("text"))).item() == text
    assert cells(f"field,ticket\n{written},1\n") == [(text, "1")]


# Any content at all

CONTENT = st.one_of(
    st.binary(max_size=300),
    st.lists(st.lists(st.text(alphabet="ab1,;\"\n\r\t |'=é\0", max_size=6), max_size=5).map(",".join), max_size=6).map(
        lambda lines: "\n".join(lines).encode()
    ),
)


def check_content(content: bytes) -> None:
    for name in ("loads.csv", "loads.xlsx"):
        try:
            contents = read_files([(name, content)], NAMES)
        except StandrowError:
            continue
        assert contents.tables or contents.faults.total
        for found in contents.tables:
            assert found.cells.height == found.rows.len()


@settings(max_examples=20)
@given(CONTENT)
def test_any_content_is_a_table_or_a_message(content):
    check_content(content)


@pytest.mark.slow
@settings(max_examples=10_000)
@given(CONTENT)
def test_any_content_is_a_table_or_a_message_10_000_times(content):
    check_content(content)


PLAIN = st.text(alphabet="ab1. -'=", min_size=1, max_size=5)


@settings(max_examples=20)
@given(st.lists(st.tuples(PLAIN, PLAIN, PLAIN), min_size=1, max_size=8))
def test_the_quick_and_the_careful_way_of_cutting_agree(rows):
    """A quotation mark anywhere sends the file the careful way."""
    lines = "".join(",".join(row) + "\n" for row in rows)
    quick, careful = table("a,b,c\n" + lines), table('"a",b,c\n' + lines)
    assert quick.cells.equals(careful.cells)
    assert quick.rows.to_list() == careful.rows.to_list()


# Every table of a file, whatever it is called


def test_tables_of_any_name_are_read_and_what_is_for_people_is_passed_over():
    files = [
        ("Tickets 2026.csv", b"no;kg\n1;18620\n"),
        ("README.txt", b"read this"),
        ("buyer.xlsx", with_sheets(("Sheet1", [["no"], [1]]), ("Sheet2", []), ("_sums", [["x"], [1]]))),
        ("other/Sheet1.csv", b"no,kg\n2,18630\n"),
    ]
    found = read_all(files)
    assert [(one.name, one.label, one.cells.height) for one in found.tables] == [
        ("tickets 2026", "Tickets 2026.csv", 1),
        ("sheet1", "buyer.xlsx, sheet Sheet1", 1),
        ("sheet1", "Sheet1.csv", 1),
    ]
    assert found.faults.total == 0


def test_a_table_that_cannot_be_taken_apart_does_not_hide_the_others():
    found = read_all([("a.csv", b"no,kg\n1,2\n"), ("b.csv", b"no\0,kg\n"), ("c.csv", b"")])
    assert [one.name for one in found.tables] == ["a"]
    assert (found.unreadable, found.faults.total) == ({"b", "c"}, 2)


def test_files_without_any_table_are_refused():
    with pytest.raises(BadInput, match=r"No table is in README\.md; allowed CSV files"):
        read_all([("README.md", b"read this")])


def test_a_pasted_block_is_cut_at_its_tabs_whatever_its_headings_hold():
    (found,) = read_all([("pasted block", b"weight, kg\tmoisture, %, as read\n18620\t8,9\n")]).tables
    assert found.cells.to_dicts() == [{"weight, kg": "18620", "moisture, %, as read": "8,9"}]


def test_files_are_refused_by_their_size_before_they_are_opened():
    check_size(LARGEST_BYTES)
    with pytest.raises(BadInput, match="larger than 200 MB together"):
        check_size(LARGEST_BYTES + 1)
