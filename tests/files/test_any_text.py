"""Any text at all in a file or a sheet is read exactly, or refused with a message."""

import io
import re
from decimal import Decimal

import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.errors import StandrowError
from analytics.files.import_plan import Incoming, plan_import
from tests.files.given import (
    incoming,
    incoming_of,
    on_record,
)

CELL = st.one_of(
    st.text(alphabet="0123456789.,- %e", max_size=9),
    st.text(max_size=12),
    st.sampled_from(
        ["8.9", "8,9", "18 620", "1.234.567,8", "1.234", "2024-09-14", "14 Sep", "nan", "certified scale", "9" * 30]
    ),
)

LOAD = st.fixed_dictionaries(
    dict.fromkeys(("weight_kg", "moisture_pct", "dockage_pct", "delivered_on", "ticket"), CELL)
)


def meant(typed: str) -> Decimal:
    """What the text says: the last mark is the decimal mark, unless the same mark stands there more than once."""
    kept = re.sub(r"[\s\u2019']", "", typed).replace("\u2212", "-")
    if "e" in kept.lower():
        return Decimal(kept)
    marks = re.findall("[.,]", kept)
    digits = Decimal(re.sub("[.,]", "", kept))
    is_thousands = len(marks) > 1 and len(set(marks)) == 1
    return digits if is_thousands or not marks else digits.scaleb(-len(re.split("[.,]", kept)[-1]))


def check_load(cells: dict[str, str]) -> None:
    """Never anything but a message, and no number other than what its text says."""
    quoted = {name: '"' + text.replace('"', '""') + '"' for name, text in cells.items()}
    content = f"crop_year,field,plot,{','.join(cells)}\n2024,Home,north,{','.join(quoted.values())}\n"
    try:
        found = incoming(loads=content)
    except StandrowError:
        return
    if found.fault_count or "loads" not in found.tables:
        return
    if found.tables["loads"].is_empty():  # nothing was typed behind the name of the plot
        assert not any(text.strip() for text in cells.values())
        return
    for name in ("weight_kg", "moisture_pct", "dockage_pct"):
        value = found.tables["loads"][name][0]
        typed = cells[name].strip().removesuffix("%").strip()
        assert (value is None) == (typed in ("", "NA"))
        assert value is None or value == float(meant(typed)) or (value == is_said_to_be_thousands(name, typed, found))


def is_said_to_be_thousands(name: str, typed: str, found: Incoming) -> float | None:
    """The number with its comma or point taken for thousands, where the reader is told so."""
    said = [remark for remark in found.remarks if f" in {name}, " in remark and "read as thousands" in remark]
    return float(re.sub("[.,]", "", typed)) if said and re.fullmatch(r"[+-]?\d{1,3}[.,]\d{3}", typed) else None


@settings(max_examples=20)
@given(LOAD)
def test_any_load_is_refused_or_read_exactly(cells):
    check_load(cells)


@pytest.mark.slow
@settings(max_examples=10_000)
@given(LOAD)
def test_any_load_is_refused_or_read_exactly_10_000_times(cells):
    check_load(cells)


SHEET_CELL = st.one_of(CELL, st.floats(0, 1e6), st.integers(-5, 100_000))

SHEET_ROWS = st.lists(
    st.fixed_dictionaries(
        dict.fromkeys(("weight_kg", "moisture_pct", "dockage_pct"), SHEET_CELL) | {"delivered_on": CELL, "ticket": CELL}
    ),
    min_size=1,
    max_size=4,
)


def check_sheet(rows: list[dict[str, object]]) -> None:
    """A plan or a message; a number of the plan is what its cell says, to the 15 digits that a spreadsheet shows."""
    stream = io.BytesIO()
    with xlsxwriter.Workbook(
        stream, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    ) as book:
        sheet = book.add_worksheet("loads")
        sheet.write_row(0, 0, ["crop_year", "field", "plot", *rows[0]])
        for number, row in enumerate(rows, 1):
            sheet.write_row(number, 0, [2024, "Home", "north", *row.values()])
    try:
        found = incoming_of([("farm.xlsx", stream.getvalue())])
    except StandrowError:
        return
    planned = plan_import(found, on_record())
    assert planned.fault_count >= found.fault_count
    if planned.fault_count:
        return
    begun = [row for row in rows if any(str(cell).strip() for cell in row.values())]
    assert planned.new_count + planned.changed_count + planned.unchanged_count == len(begun)
    for name in ("weight_kg", "moisture_pct", "dockage_pct"):
        for value, row in zip(found.tables["loads"][name], begun, strict=True):
            cell = row[name] if isinstance(row[name], str) else f"{row[name]:.15g}"
            typed = cell.strip().removesuffix("%").strip()
            assert (value is None) == (typed in ("", "NA"))
            wanted = (float(meant(typed)) if isinstance(row[name], str) else float(cell)) if value is not None else None
            assert value == wanted or value == is_said_to_be_thousands(name, typed, found)


@settings(max_examples=15)
@given(SHEET_ROWS)
def test_any_sheet_is_a_plan_or_a_message(rows):
    check_sheet(rows)


@pytest.mark.slow
@settings(max_examples=10_000)
@given(SHEET_ROWS)
def test_any_sheet_is_a_plan_or_a_message_10_000_times(rows):
    check_sheet(rows)
