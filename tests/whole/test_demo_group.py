"""The demo group: one seed, the same bytes; README's two commands make, show and print it."""

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from sample_records.make_demo_group import TRUTHS, shares

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_same_seed_gives_the_same_group_and_another_seed_another():
    first, again, other = shares(), shares(), shares(seed=1)
    assert list(first) == list(again)
    assert all(rows.equals(again[code]) for code, rows in first.items())
    assert set(first) & set(other) == set()


def test_its_readme_tells_the_truth_that_it_is_made_of():
    text = (ROOT / "sample_records" / "GROUP.md").read_text(encoding="utf-8")
    rows = {line.split("|")[1].strip(): line.split("|")[2:5] for line in text.splitlines() if line.startswith("| ")}
    means = rows["standing minus windrowed, mean of all farms of the kind"]
    assert [float(cell) for cell in means] == [truth.mean for truth in TRUTHS.values()]
    for words, name in (
        ("between farms, standard deviation", "farm_sd"),
        ("between years, shared by all farms", "year_sd"),
        ("between years of one farm beyond that", "farm_year_sd"),
        ("between places of one farm", "place_sd"),
        ("one field cut both ways", "one_field_sd"),
        ("two separate fields, or matched after harvest", "two_fields_sd"),
    ):
        assert [float(cell) for cell in rows[words]] == [getattr(truth, name) for truth in TRUTHS.values()]


@pytest.mark.slow
def test_readmes_two_commands_make_show_and_print_the_group(tmp_path, monkeypatch):
    monkeypatch.setenv("STANDROW_RECORDS", str(tmp_path / "records.duckdb"))
    block = re.search(r"^```sh group\n(.*?)\n```$", README, re.MULTILINE | re.DOTALL)[1]
    printed = []
    for line in block.splitlines():
        for command in line.split(" && "):
            words = shlex.split(command)
            start = [sys.executable] if words[0].endswith("python") else [sys.executable, "-m", "analytics.cli"]
            done = subprocess.run([*start, *words[1:]], cwd=tmp_path, capture_output=True, text=True, check=True)
            printed.append(done.stdout)
    assert printed[0] == "12 share files in demo-group\n"
    assert "On another farm in years to come" in printed[1]
    assert len(list((tmp_path / "demo-group-sheets").glob("*.pdf"))) == 13
