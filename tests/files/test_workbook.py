"""What is stored of a workbook is what a person reads in its cells, whoever wrote it and wherever the table stands."""

import csv
import datetime as dt
import io
import random
import re
import zipfile
from contextlib import suppress
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.errors import BadInput
from analytics.files.number_formats import NotShown, shown
from analytics.files.text_tables import Contents
from analytics.files.text_tables import read_files as read_texts
from analytics.trade.typed_text import NotReadable, read_number
from tests.files.given import incoming_of
from tests.files.workbooks import by_hand, by_library, by_office_program

DAY = dt.date(2025, 9, 14)


def contents(data: bytes, name: str = "farm.xlsx") -> Contents:
    return read_texts([(name, data)], ["loads"])


def cells(data: bytes) -> list[tuple[str | None, ...]]:
    found = contents(data)
    assert [str(fault) for fault in found.faults.listed()] == []
    return found.tables[0].cells.rows()


def faults(data: bytes) -> list[str]:
    return [str(fault) for fault in contents(data).faults.listed()]


# Found by the review of 2026-11


@pytest.mark.parametrize("at", [(0, 0), (1, 1), (4, 7)])
def test_percent_cells_keep_their_place_wherever_the_table_stands(at):
    rows = [["heated", "total damage"], [(0.001, "0.0%"), 0.25], [(0.002, "0.0%"), 0.30]]
    for data in (by_library(rows, at=at), by_hand(rows, at=at)):
        assert cells(data) == [("0.1%", "0.25"), ("0.2%", "0.3")]


@pytest.mark.parametrize(("prefix", "has_places"), [("x", True), ("", False), ("x", False)])
def test_cells_with_a_prefix_or_without_a_place_of_their_own_are_read(prefix, has_places):
    rows = [["field", "dockage", None, "day"], ["Home", (0.012, "0.0%"), None, (DAY, "d-mmm-yy")]]
    assert cells(by_hand(rows, prefix=prefix, has_places=has_places)) == [("Home", "1.2%", "2025-09-14")]


@pytest.mark.parametrize("code", ['0.0"%"', r"0.0\%", '0.00" %"'])
def test_a_percent_sign_that_is_only_written_does_not_multiply(code):
    assert cells(by_library([["heated"], [(0.02, code)]]))[0][0].replace(" ", "") == "0.02%"


def test_percents_of_any_writer_are_stored_as_they_are_seen():
    head = ["crop_year", "field", "plot", "sample", "heated_pct", "total_damage_pct"]
    rows = [head, [2024, "Home", "north", 1, (0.001, "0.0%"), 0.25], [2024, "Home", "north", 2, (0.02, '0.0"%"'), 0.3]]
    for data in (by_library(rows, at=(1, 1)), by_hand(rows, prefix="x")):
        found = incoming_of([("f.zip", _as_samples(data))])
        assert found.tables["samples"].select("heated_pct", "total_damage_pct").rows() == [(0.1, 0.25), (0.02, 0.3)]


def _as_samples(data: bytes) -> bytes:
    """The workbook in a ZIP, its sheet called samples."""
    inner, outer = io.BytesIO(), io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(inner, "w") as new:
        for part in old.namelist():
            new.writestr(part, old.read(part).replace(b'name="loads"', b'name="samples"'))
    with zipfile.ZipFile(outer, "w") as pack:
        pack.writestr("farm.xlsx", inner.getvalue())
    return outer.getvalue()


WITHOUT_VALUE = '<row r="2"><c r="A2" t="inlineStr"><is><t>Home</t></is></c><c r="B2"><f>18000+620</f></c></row>'
WITH_VALUE = WITHOUT_VALUE.replace("</f>", "</f><v>18620</v>")


def test_a_formula_without_its_value_is_a_fault_and_one_with_it_is_read():
    head = [["field", "weight_kg"]]
    (fault,) = faults(by_hand(head, rows_xml=WITHOUT_VALUE))
    assert fault == (
        "farm.xlsx, sheet loads, row 2, weight_kg: a formula that the program which wrote the file did not work out "
        "given; allowed a value. Open the file in a spreadsheet, save it there, and bring it in again."
    )
    assert cells(by_hand(head, rows_xml=WITH_VALUE)) == [("Home", "18620")]


def test_values_that_are_to_be_worked_out_when_the_file_is_opened_are_not_believed():
    """A library that cannot calculate writes 0 for each formula, and asks the reader to do it."""
    asked = by_hand([["field", "weight_kg"]], rows_xml=WITH_VALUE, calculation='<calcPr fullCalcOnLoad="1"/>')
    assert "did not work out" in faults(asked)[0]


def test_an_empty_text_that_a_formula_gave_is_a_blank():
    row = '<row r="2"><c r="A2" t="inlineStr"><is><t>Home</t></is></c><c r="B2" t="str"><f>""</f><v></v></c></row>'
    assert cells(by_hand([["field", "weight_kg"]], rows_xml=row)) == [("Home", None)]


# Where and how cells stand


@pytest.mark.parametrize("from_1904", [False, True])
def test_days_are_the_same_in_both_date_systems(from_1904, tmp_path):
    rows = [["day"], [(DAY, "yyyy-mm-dd")], [(DAY, "dd.mm.yyyy")], [(DAY, "d mmm")]]
    for data in (
        by_library(rows, from_1904=from_1904),
        by_hand(rows, from_1904=from_1904),
        by_office_program(rows, tmp_path, from_1904=from_1904),
    ):
        assert cells(data) == [("2025-09-14",)] * 3


def test_merged_cells_with_a_value_are_a_fault_and_empty_or_above_the_table_they_are_not():
    rows = [["field", "ticket"], ["Home", 1], [None, 2], ["East", 3]]

    def merged(*ranges: str) -> bytes:
        kept = "".join(f'<mergeCell ref="{one}"/>' for one in ranges)
        return by_hand(rows, after_rows=f"<mergeCells>{kept}</mergeCells>")

    assert faults(merged("A2:A3")) == [
        "farm.xlsx, sheet loads, row 2, field: Home in cells that are merged given; allowed a value. "
        "Take the merged cells apart, and fill in each of them."
    ]
    assert len(faults(merged("A2:B2"))) == 1
    assert faults(merged("A1:B1", "C2:D9", "B4:C4")) == []


def test_hidden_rows_columns_and_sheets_are_read_and_named():
    hidden = '<row r="3" hidden="1"><c r="A3" t="inlineStr"><is><t>East</t></is></c></row>'
    data = by_hand([["field"], ["Home"]], rows_xml=hidden, before_rows='<cols><col min="2" max="2" hidden="1"/></cols>')
    assert cells(data) == [("Home",), ("East",)]
    assert "farm.xlsx, sheet loads: 1 row(s), columns hidden in it, and read like the rest." in contents(data).remarks


def test_a_workbook_with_macros_is_read_like_any_other():
    data = by_library([["field"], ["Home"]])
    assert contents(data, "farm.xlsm").tables[0].cells.rows() == [("Home",)]


@pytest.mark.parametrize(
    "change",
    [
        ("<c ", '<c t="s" '),  # names text number 1 of none
        ("<c ", '<c s="99" '),
        ("<c ", '<c t="z" '),
        ('r="A2"', 'r="2A"'),
        ('r="A2"', 'r="A1"'),  # one cell twice
        ('<row r="2"><c r="A2">', '<row r="0"><c>'),
        ("<c ", '<c s="-1" '),
        ("<v>1</v>", "<v>one</v>"),
        ("<v>1</v>", "<v>1_0</v>"),
        ("<v>1</v>", "<v>１</v>"),
        ("<v>1</v>", "<v>1</v><v>7</v>"),  # read in one they would be 17
        ("<v>1</v>", "<v>1</v><is><t>7</t></is>"),
        ("<v>1</v>", "<is><t>1</t></is><v>7</v>"),
        ("<worksheet ", "<!DOCTYPE x><worksheet "),
    ],
)
def test_a_sheet_that_breaks_the_rules_of_its_format_is_refused(change):
    whole, broken = by_hand([[1], [1]]), io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(whole)) as old, zipfile.ZipFile(broken, "w") as new:
        for part in old.namelist():
            new.writestr(part, old.read(part).decode().replace(*change) if "sheets/" in part else old.read(part))
    with pytest.raises(BadInput, match=r"not a \.xlsx workbook, or is damaged"):
        contents(broken.getvalue())


def test_the_way_a_text_is_spoken_is_no_part_of_it():
    spoken = '<rPh sb="0" eb="4"><t>HOH</t></rPh>'
    text = f'<c r="A2" t="inlineStr"><is><r><t>Ho</t></r><r><t>me</t></r>{spoken}</is></c>'
    assert cells(by_hand([["field"]], rows_xml=f'<row r="2">{text}</row>')) == [("Home",)]


def test_a_letter_that_no_cell_shows_is_a_fault():
    assert faults(by_hand([["field"], ["Ho_x0000_me"]])) == [
        "farm.xlsx, sheet loads, row 2, field: text with a letter of number 0, which cannot be shown, given; "
        "allowed a value. Type the text anew."
    ]


def test_the_ticket_number_keeps_the_noughts_that_its_format_shows():
    assert cells(by_library([["ticket"], [(7, "000")], [(12345, "000")], [(7, "0,000")]])) == [
        ("007",),
        ("12345",),
        ("0007",),
    ]


@pytest.mark.parametrize("code", ["[$€-2] #,##0.00", "[$£-809]#,##0", '"€"0', "[$¥-411]0"])
def test_money_of_another_country_is_never_taken_for_dollars(code):
    ((text,),) = cells(by_library([["dollars_per_tonne"], [(500, code)]]))
    with pytest.raises(NotReadable):
        read_number(text)


# What a number is read as under a format

PLAIN = {
    "General": "18620.5",
    "0": "18620.5",
    "#,##0.00": "18620.5",
    "# ##0": "18620.5",
    "0.00E+00": "18620.5",
    "# ?/?": "18620.5",
    "@": "18620.5",
    '"$"#,##0.00': "18620.5",
    "[$$-409]#,##0.00;[Red]-[$$-409]#,##0.00": "18620.5",
    '_-* #,##0.00_-;-* #,##0.00_-;_-* "-"??_-;_-@_-': "18620.5",
    "0.0%": "1862050%",
    '0" kg"': "18620.5 kg",
    '0.0" lb";-0.0" lb"': "18620.5 lb",
}
NOT_PLAIN = ["#,##0,", "0.0,,", ";;;", '"x"', "00-00", "0 kg", "[>1]", "0;[>1]0.0"]


@pytest.mark.parametrize(("code", "text"), PLAIN.items())
def test_a_number_is_read_with_all_its_digits_and_the_words_beside_it(code, text):
    assert shown(18620.5, code) == text


@pytest.mark.parametrize("code", NOT_PLAIN)
def test_a_number_that_its_form_scales_hides_or_takes_apart_is_not_told(code):
    with pytest.raises(NotShown):
        shown(18620.5, code)


@pytest.mark.parametrize(
    ("value", "code", "text"),
    [
        (-3, "0.0", "-3"),
        (-3, "0.0;-0.0", "-3"),
        (-3, "0.0_);(0.0)", "-3"),
        (-3, "0.0;[Red]0.0", None),  # a minus told by colour alone
        (0, '0.0;-0.0;"nil"', None),
        (0, '_-* 0_-;-* 0_-;_-* "-"??_-', "0"),
        (-7, "000", "-007"),
        (0.5, "00.0", "00.5"),
        (0.05, "000%", "005%"),
        (7, "0000E+00", "7"),
        (0.5, '[<1]0.0%;0.0"%"', "50%"),
        (5, '[<1]0.0%;0.0"%"', "5%"),
        (float("nan"), "0", None),
        (-5, "yyyy-mm-dd", None),
        (45914.5, "yyyy-mm-dd", "2025-09-14"),
        (45914.5, "yyyy-mm-dd h:mm", "2025-09-14 12:00:00"),
        (45914.5, "h:mm", "12:00:00"),
        (1.5, "[h]:mm", "36:00:00"),
        (3e6, "yyyy-mm-dd", None),
    ],
)
def test_minus_nil_and_conditions_are_read_as_they_are_seen(value, code, text):
    told = None
    with suppress(NotShown):
        told = shown(value, code)
    assert told == text


# Over everything

FORMATS = [
    *PLAIN,
    *NOT_PLAIN[:5],
    '0.0"%"',
    r"0.0\%",
    "0%",
    "0.00;[Red]0.00",
    "0.0;(0.0)",
    "yyyy-mm-dd",
    "d-mmm-yy",
    "h:mm",
]
NUMBER = st.one_of(
    st.integers(-50, 60_000),
    st.floats(-100, 100).map(lambda value: float(f"{value:.6g}")),
    st.sampled_from([0.012, 0.25, 0.0045, 18.62, 45914, 0]),
)
TABLE = st.lists(st.lists(st.tuples(NUMBER, st.sampled_from(FORMATS)), min_size=3, max_size=3), min_size=1, max_size=5)


def check_cells(data: bytes, rows: list[list[tuple[float, str]]], first_row: int) -> None:
    """Each cell as its format shows it by itself, at its own place, or a fault that names its row."""
    found = contents(data)
    named = {fault.row for fault in found.faults.listed()}
    by_row = dict(zip(found.tables[0].rows, found.tables[0].cells.rows(), strict=True))
    for number, row in enumerate(rows, first_row + 2):
        for place, (value, code) in enumerate(row):
            try:
                text = shown(value, code)
            except NotShown:
                assert number in named
                text = None
            assert by_row.get(number, (None,) * 3)[place] == text


@settings(max_examples=20)
@given(TABLE, st.integers(0, 5), st.integers(0, 30), st.sampled_from(["library", "hand", "prefix"]))
def test_random_cells_in_random_formats_stand_at_their_place(rows, top, left, writer):
    whole = [["a", "b", "c"], *rows]
    if writer == "library":
        data = by_library(whole, at=(top, left))
    else:
        data = by_hand(whole, at=(top, left), prefix="p" if writer == "prefix" else "")
    check_cells(data, rows, top)


def test_an_office_program_shows_what_is_read(tmp_path):
    """600 random cells, saved by an office program; what it shows in each is what is read, rounded as it rounds."""
    draw = random.Random(20261127)
    codes = [code for code in FORMATS if code not in ("h:mm", "00-00", "# ?/?")]
    rows = [
        [
            (
                draw.choice([0.0, draw.randint(0, 60_000), round(draw.uniform(-100, 100), draw.randint(0, 4))]),
                draw.choice(codes),
            )
            for _ in range(3)
        ]
        for _ in range(200)
    ]
    whole = [["a", "b", "c"], *rows]
    found = contents(by_office_program(whole, tmp_path, at=(2, 3)))
    by_row = dict(zip(found.tables[0].rows, found.tables[0].cells.rows(), strict=True))
    odd = {(fault.row, fault.column) for fault in found.faults.listed()}
    seen = list(csv.reader(io.StringIO(by_office_program(whole, tmp_path, to="csv", at=(2, 3)).decode())))
    compared = 0
    for number, row in by_row.items():
        for place, text in enumerate(row):
            as_seen = seen[number - 3][place]
            if text is None:
                assert (number, "abc"[place]) in odd, (number, place, as_seen)
                continue
            compared += 1
            assert agree(text, as_seen), (text, as_seen, rows[number - 4][place])
    assert compared > 300


def agree(text: str, as_seen: str) -> bool:
    """Whether a text is what is seen: the same day, or the same number to the decimals that are seen."""
    if len(text) == 10 and text[4] == "-":
        return as_seen in (text, f"{int(text[8:])}-{dt.date.fromisoformat(text):%b-%y}")
    kept = as_seen.replace("$", "").replace("\u2212", "-").strip()
    negative = kept.startswith("(")
    kept = kept.strip("()")
    for word in (" kg", " lb", "%"):
        if text.endswith(word):
            if not kept.endswith(word):
                return False
            text, kept = text.removesuffix(word), kept.removesuffix(word)
    if kept.strip() == "-":
        return text == "0"
    if "E" in kept:
        return float(kept) == pytest.approx(float(text), rel=0.006)
    kept = re.sub(r"[,\s]", "", kept)
    decimals = len(kept.partition(".")[2])
    try:
        said, ours = Decimal(repr(read_number(kept))), Decimal(text)
    except NotReadable:
        return False
    return abs((-said if negative else said) - ours) <= Decimal("0.5000001").scaleb(-decimals)
