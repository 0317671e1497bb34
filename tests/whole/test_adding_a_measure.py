"""DEVELOPERS' "Adding a measure", followed to the letter in a copy of the project, gives an answer for oil content."""

import csv
import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
STEP = re.compile(r"(Below|Above)\s+`([^`]+)`\s+in\s+`([^`]+)`:\n\n```\w+\n(.*?)```", re.DOTALL)
NEW_FILE = re.compile(r"`(sql/schema/NEXT_\w+\.sql)`:\n\n```sql\n(.*?)```", re.DOTALL)


def section(heading: str) -> str:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    return text.partition(f"## {heading}\n")[2].partition("\n## ")[0]


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The project with every step of the text done, and the demo farm's plots with oil on all slips but one plot's."""
    copy = tmp_path_factory.mktemp("copy")
    for name in ("analytics", "sql", "sample_records"):
        shutil.copytree(ROOT / name, copy / name)
    text = section("Adding a measure")
    last = sorted((copy / "sql" / "schema").glob("[0-9]*.sql"))[-1]
    for name, migration in NEW_FILE.findall(text):
        (copy / name.replace("NEXT", f"{int(last.name[:4]) + 1:04}")).write_text(migration, encoding="utf-8")
    steps = STEP.findall(text)
    assert len(steps) == 6
    for where, line, name, added in steps:
        lines = (copy / name).read_text(encoding="utf-8").splitlines(keepends=True)
        at = [one.strip() for one in lines].index(line) + (where == "Below")
        (copy / name).write_text("".join([*lines[:at], added, *lines[at:]]), encoding="utf-8")
    # Other papers bring other measures, which take their time to compare.
    for file in (copy / "sample_records").glob("*.csv"):
        if file.stem == "loads":
            file.write_text("crop_year,field,plot,ticket\n", encoding="utf-8")
        elif file.stem not in ("fields", "plots", "pairs", "samples"):
            file.unlink()
    slips = copy / "sample_records" / "samples.csv"
    with slips.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    with slips.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, ["crop_year", "field", "plot", "sample", "oil_pct"], extrasaction="ignore")
        writer.writeheader()
        for number, row in enumerate(rows):
            oil = "" if (row["crop_year"], row["field"]) == ("2024", "Bluff quarter") else f"{44 + number % 7 / 10:.1f}"
            writer.writerow(row | {"oil_pct": oil})
    return copy


TOLD = """
import contextlib, io, json, sys
from pathlib import Path
from analytics.cli import run_command
from analytics.health import examine_records
from analytics.pairs.gaps import read_gaps, to_look_for
from analytics.storage.database import open_records

def said(*arguments):
    sys.argv = ["standrow", *arguments]
    with contextlib.redirect_stdout(io.StringIO()) as printed:
        try:
            run_command()
        except SystemExit as end:
            assert not end.code, end.code
    return printed.getvalue()

said("import", "sample_records")
compared = said("compare", "--measure", "oil", "--json")
with open_records(Path("records.duckdb")) as connection:
    gaps = read_gaps(connection)
    found = [one for one in to_look_for(gaps) if one.measures == ("oil",)]
    checked = examine_records(connection, gaps).first_line
missing = [[one.lack.paper, one.lack.column, one.lack.field, one.words] for one in found]
print(json.dumps({"compared": json.loads(compared), "missing": missing, "checked": checked}))
"""


@pytest.fixture(scope="module")
def told(copy: Path) -> dict[str, Any]:
    """What the copy says after an import, in a process of its own: the comparison, what is missing, the check."""
    ours = os.environ | {"STANDROW_RECORDS": str(copy / "records.duckdb"), "PYTHONPATH": str(copy)}
    done = subprocess.run([sys.executable, "-c", TOLD], cwd=copy, env=ours, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_the_new_measure_is_answered_for_both_questions(told) -> None:
    found = told["compared"]
    assert (found["measure"], found["unit"], found["direction"], found["margin"]) == ("oil", "points", "higher", 0.5)
    assert found["counts"]["field_years"] >= 3
    assert found["these_fields"]["estimate"] is not None
    assert found["years_to_come"]["estimate"] is not None
    assert "oil content" in found["sentence"]


def test_what_is_missing_for_it_is_named_with_its_paper(told) -> None:
    first = told["missing"][0]
    assert first[:3] == ["samples", "oil_pct", "Bluff quarter"]
    assert "no oil test" in first[3]
    assert "oil content" in first[3]
    assert "all 4 checks pass" in told["checked"]
