"""The pictures at the top of README are there, small, and what the script takes of the demo today."""

import io
from pathlib import Path

import duckdb
import pytest
from PIL import Image
from playwright.sync_api import Page

from tests.browser.readme_pictures import ANSWER, SHEET, answer_picture, sheet_picture

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
LARGEST = 150_000  # bytes


@pytest.mark.parametrize("file", [ANSWER, SHEET], ids=lambda file: file.name)
def test_readme_shows_it_with_words_for_those_who_cannot_see_it(file: Path) -> None:
    shown = README.split(f"]({file.relative_to(ROOT).as_posix()})")
    assert len(shown) == 2
    assert len(shown[0].rsplit("![", 1)[1]) > 40
    assert file.stat().st_size < LARGEST


def test_the_answer_screen_still_opens_as_pictured(page: Page) -> None:
    assert is_alike(answer_picture(page), ANSWER)


def test_the_sheet_still_looks_as_pictured(demo: duckdb.DuckDBPyConnection) -> None:
    assert is_alike(sheet_picture(demo), SHEET)


def is_alike(taken: bytes, file: Path) -> bool:
    """As large, and as dark as a whole to within a twentieth: fonts differ a little from machine to machine."""
    pictures = [Image.open(source).convert("L") for source in (io.BytesIO(taken), file)]
    ink = [
        255 - sum(place * many for place, many in enumerate(one.histogram())) / one.width / one.height
        for one in pictures
    ]
    return pictures[0].size == pictures[1].size and abs(ink[0] - ink[1]) < max(ink) / 20
