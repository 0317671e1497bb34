"""A file of pairs that names farms: another farm, and each farm, beside what any file of pairs says."""

import json
import re

import numpy as np
import pytest
from scipy import special

from analytics.commands import common
from tests.command import command
from tests.published.loader import agreed, published

CASE = published("farms_and_years")


@pytest.fixture
def compared(monkeypatch, capsys, tmp_path):
    """Call with rows of farm, crop_year, field, standing, windrowed for (JSON, what is printed)."""
    monkeypatch.setattr(common.out, "width", 120)

    def run(rows):
        file = tmp_path / "pairs.csv"
        file.write_text(
            "farm,crop_year,field,standing,windrowed\n" + "\n".join(",".join(map(str, row)) for row in rows)
        )
        told = []
        for options in (["--json"], []):
            code, out, _ = command(monkeypatch, capsys)("compare", "--pairs", file, *options)
            assert not code
            told.append(out)
        return json.loads(told[0]), told[1]

    return run


def test_another_farm_is_as_lme4_and_pbkrtest_have_it(compared):
    """R 4.2.2, lme4 with pbkrtest 0.5.2; the set and its source are in tests/published/farms_and_years.json."""
    name = next(name for name, data in CASE["data"].items() if "d" in data)
    data, expected = CASE["data"][name], CASE["expected"][name]
    # A field of its own for each row, as the set has no places.
    rows = [
        (f"farm {farm}", int(year), f"field {number}", 1000 + d, 1000)
        for number, (d, farm, year) in enumerate(zip(data["d"], data["farm"], data["year"], strict=True))
    ]
    got, printed = compared(rows)
    other = got["another_farm"]
    for key in ("estimate", "std_error", "df", "farm_sd", "year_sd", "rest_sd"):
        if key in expected:
            assert other[key] == agreed(expected[key]), key
    reach = special.stdtrit(other["df"], 0.975)
    assert other["high"] - other["estimate"] == pytest.approx(reach * other["std_error"], rel=1e-9)
    assert [farm["shrunk"] for farm in got["farms"]][:20] == agreed(expected["shrunken_farms"])
    assert "On another farm in years to come" in printed


def test_equal_field_names_on_two_farms_are_two_places_and_farms_that_differ_are_told(compared):
    """Once these eight field-years said that "a single new field could lie between 1 less and 1 more"."""
    random = np.random.default_rng(2)
    rows = [
        (farm, year, "North half", round(40 + effect + 0.2 * random.normal(), 2), 40)
        for farm, effect in {"A": 3, "B": -3, "C": 2, "D": -2}.items()
        for year in (2021, 2022, 2023)
    ]
    got, printed = compared(rows)
    assert got["counts"]["field_years"] == 12
    assert [(one["farm"], one["field_years"], round(one["shrunk"])) for one in got["farms"]] == [
        ("A", 3, 3),
        ("B", 3, -3),
        ("C", 3, 2),
        ("D", 3, -2),
    ]
    other = got["another_farm"]
    assert other["prediction_low"] < -5
    assert other["prediction_high"] > 5
    assert other["finding"] == "not_settled"
    assert re.search(r"^A: [23][.]\d more on 3 field-years; drawn towards the others [23][.]\d more[.]$", printed, re.M)


def test_two_farms_are_listed_and_nothing_is_said_of_another(compared):
    got, printed = compared([(farm, year, "x", 41 + year % 3, 40) for farm in "AB" for year in (2021, 2022, 2023)])
    assert got["another_farm"] == {
        "finding": "too_few",
        "reason": "There are 2 farms; at least 3 are needed to speak of another.",
    }
    assert got["these_farms"]["finding"] == "too_few"
    assert [one["shrunk"] for one in got["farms"]] == [None, None]
    assert "On another farm in years to come nothing can be said yet. There are 2 farms" in printed


def test_a_file_without_farms_has_none_of_these_keys(compared, tmp_path, monkeypatch, capsys):
    file = tmp_path / "alone.csv"
    file.write_text("standing,windrowed\n3,1\n4,3\n6,2\n")
    _, out, _ = command(monkeypatch, capsys)("compare", "--pairs", file, "--json")
    assert {"another_farm", "farms", "these_farms"} & set(json.loads(out)) == set()
