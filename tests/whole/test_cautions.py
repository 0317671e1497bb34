"""The usual cautions off the screen: in the terminal, on paper, in a pair's own text. Screens: tests/screens."""

from pathlib import Path

import duckdb
import pytest

from analytics.pairs.one_pair import one_pair
from analytics.sheet.content import PrintedSheet, Reader
from analytics.sheet.html_page import html
from analytics.sheet.parts import Section
from analytics.trade import cautions

README = Path(__file__).resolve().parents[2] / "README.md"


def sections(sheet: PrintedSheet) -> dict[str, Section]:
    """Of every page, by heading."""
    parts = (part for page in sheet.pages for part in (page.top, page.left, page.right, page.bottom))
    return {section.heading: section for part in parts for section in part}


def test_the_sheet_is_no_financial_advice(demo_sheets: dict[Reader, PrintedSheet]) -> None:
    """That the commands say so too: test_cli, test_plan_command and tests/sheet, where each is run."""
    assert cautions.NOT_ADVICE.replace("'", "&#x27;") in html(demo_sheets[Reader.BANKER])


def test_the_agronomists_sheet_warns_of_bins_and_of_pans(demo_sheets: dict[Reader, PrintedSheet]) -> None:
    found = sections(demo_sheets[Reader.AGRONOMIST])
    assert cautions.HEATING in found["Green seed"].lines
    assert cautions.PANS in found["Losses, bu/ac"].lines


@pytest.mark.parametrize(("crop_year", "pair", "is_said"), [(2023, "H1", True), (2025, "H2", False)])
def test_a_pair_with_green_or_moist_seed_warns_of_the_bin(
    demo: duckdb.DuckDBPyConnection, crop_year: int, pair: str, is_said: bool
) -> None:
    (quality,) = (group for group in one_pair(demo, crop_year, pair).groups if group.name == "Quality")
    assert (cautions.HEATING in quality.care) is is_said


def test_the_worked_pan_of_the_readme_shuts_the_machine_down_first() -> None:
    text = " ".join(README.read_text(encoding="utf-8").split())
    assert "shut down, take the key out, wait until every part has stopped" in text
