"""Input that is made to fill the memory is refused early: how much a real `standrow import` of it took at the most.

The peak is that of a process of its own, which brought in a small file first, so that only the input is counted.
"""

import io
import re
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import xlsxwriter

from analytics.files import text_tables
from tests.prepared import begun

MB = 1_000_000
KIB = 1024  # the system counts in these
# A process in between, because a process begins with the peak of the one that started it.
IN_BETWEEN = "import subprocess, sys; sys.exit(subprocess.run(sys.argv[1:]).returncode)"
MEASURED = """
import resource, sys
from analytics.start import main
records, *files = sys.argv[1:]
for file in files:
    sys.argv = ["standrow", "import", file, "--records", records]
    try:
        main()
    except SystemExit as ended:
        print("ended", ended.code, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, file=sys.stderr)
"""
HEADER = "crop_year,field,plot,ticket,weight_kg"
SHEET = "xl/worksheets/sheet1.xml"
NAMESPACE = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"


def import_of(file: Path) -> tuple[str, float]:
    """What an import of a bad file said, and by how much its peak was above that of a small one before, in MB."""
    small = file.with_name("small") / "loads.csv"
    small.parent.mkdir()
    small.write_text(f"{HEADER}\n2024,Home,north,1,heavy\n")
    records = file.with_name("records.duckdb")
    with begun(records):
        pass
    command = [sys.executable, "-W", "ignore", "-c", MEASURED, str(records), str(small), str(file)]
    done = subprocess.run(
        [sys.executable, "-S", "-c", IN_BETWEEN, *command], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert "Traceback" not in done.stderr
    _, of_small, said, of_file, _ = re.split(r"ended 2 (\d+)\n", done.stderr)
    return said, (int(of_file) - int(of_small)) * KIB / MB


def csv_of(*parts: tuple[bytes, int]) -> Callable[[Path], Path]:
    """Each part so many times over, not made before the case is run."""

    def write(folder: Path) -> Path:
        file = folder / "loads.csv"
        with file.open("wb") as stream:
            stream.writelines(part * times for part, times in parts)
        return file

    return write


def xlsx_with(name: str, content: Callable[[], bytes]) -> Callable[[Path], Path]:
    """A small workbook in which one part is another, packed as tightly as can be."""

    def write(folder: Path) -> Path:
        small = io.BytesIO()
        with xlsxwriter.Workbook(small, {"in_memory": True}) as book:
            percent = book.add_format({"num_format": "0.0%"})
            book.add_worksheet("loads").write(0, 0, 0.5, percent)
        file = folder / "loads.xlsx"
        with zipfile.ZipFile(small) as old, zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as new:
            for part in old.namelist():
                if part != name:
                    new.writestr(part, old.read(part))
            new.writestr(name, content())
        return file

    return write


def zip_of_zeros(folder: Path) -> Path:
    file = folder / "farm.zip"
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as pack:
        pack.writestr("loads.csv", bytes(190 * MB))
    return file


def sheet(rows: Iterator[str]) -> bytes:
    return f'<worksheet xmlns="{NAMESPACE}"><sheetData>{"".join(rows)}</sheetData></worksheet>'.encode()


def entities() -> bytes:
    """Nine lines of which each is the one before ten times over, a gigabyte in all."""
    lines = "".join(f'<!ENTITY e{level} "{f"&e{level - 1};" * 10}">' for level in range(1, 9))
    return f'<!DOCTYPE s [<!ENTITY e0 "0123456789">{lines}]><styleSheet xmlns="{NAMESPACE}">&e8;</styleSheet>'.encode()


ROW = f"{HEADER}\n2024,Home,north,1,".encode(), 1
SIZE = text_tables.LARGEST_BYTES - 1000
READ = 2 * SIZE / MB  # the file as bytes, and a copy
CUT = 5 * SIZE / MB  # and as cells
LITTLE = 200
CASES = {
    "a line of 200 MB": (csv_of((b"a", SIZE)), READ, "a line without end given"),
    "a million columns": (csv_of((b",", MB), (b"\n1", 1)), LITTLE, "a line without end given"),
    "more than 500 columns": (csv_of((b",", 90_000), (b"\n", 1), (b"1,", MB)), LITTLE, "90,001 columns given"),
    "a zip bomb": (xlsx_with("xl/media/zeros", lambda: bytes(190 * MB)), LITTLE, "would unpack to 190 MB"),
    "a zip bomb in a sheet": (xlsx_with(SHEET, lambda: b" " * 190 * MB), LITTLE, "would unpack to 190 MB"),
    "one cell of 200 MB": (csv_of(ROW, (b"9", SIZE - 100)), READ, "row 2: a line without end given"),
    "a hundred million lines": (csv_of(ROW, (b"\n1", 99 * MB)), READ, "lines given; allowed up to 5,000,000"),
    "rows of five million cells": (csv_of(ROW, *[(b",", 4_900_000), (b"\n", 1)] * 40), CUT, "nothing was written"),
    "a quotation mark not closed": (
        csv_of(ROW, (b'"', 1), (b"9" * 99 + b"\n", 1_900_000)),
        CUT,
        "cannot be cut into cells",
    ),
    "more than 200 MB": (csv_of((b"a", SIZE + 2000)), LITTLE, "larger than 200 MB together"),
    "a zip bomb of records": (zip_of_zeros, LITTLE, "would unpack to 190 MB"),
    "entities in entities": (xlsx_with("xl/styles.xml", entities), LITTLE, "not a .xlsx workbook"),
    "a far corner": (
        xlsx_with(SHEET, lambda: sheet(iter(['<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>']))),
        LITTLE,
        "reaches to row 1,048,576",
    ),
    "a sheet of 150 MB": (
        xlsx_with(SHEET, lambda: sheet(f'<row r="{i}"><c r="A{i}"><v>{i:0100}</v></c></row>' for i in range(1, MB))),
        CUT,
        "nothing was written",
    ),
}
ORDINARY = ("a million columns",)  # that nothing of a bomb is unpacked: test_sheets and test_zipped


@pytest.mark.parametrize(
    "case", [name if name in ORDINARY else pytest.param(name, marks=pytest.mark.slow) for name in CASES]
)
def test_input_made_to_fill_the_memory_is_refused(case, tmp_path):
    write, most, words = CASES[case]
    said, more = import_of(write(tmp_path))
    print(f"{case}: {more:,.0f} MB more than a small file; allowed {most:,.0f}; said: {said.splitlines()[0]}")
    assert words in said
    assert more < most
