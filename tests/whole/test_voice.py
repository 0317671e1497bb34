"""What the program says, read from its own source: nothing that DEVELOPERS.md gave up is said again."""

import re
from pathlib import Path

import pytest

from analytics.trade.glossary import HELP
from tests.whole.sources import source

ROOT = Path(__file__).resolve().parents[2]
SOURCES = sorted(file for top in ("analytics", "dashboard") for file in (ROOT / top).rglob("*.py"))
PAGE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
NEVER = re.compile(r"significan|\bprove[sdn]?\b|\binsights?\b|\btrend\b|\w!(\s|$)", re.IGNORECASE)


def given_up() -> list[str]:
    """The left column of the table in "How the program speaks"."""
    section = PAGE.split("## How the program speaks")[1].split("\n## ")[0]
    rows = re.findall(r"^\| (.+?) \| .+ \|$", section, re.MULTILINE)
    return [row for row in rows if row != "not" and not row.startswith("---")]


def texts(file: Path) -> tuple[str, ...]:
    """The texts in a file of code; whatever else there is, whole."""
    return source(file).texts if file.suffix == ".py" else (file.read_text(encoding="utf-8"),)


def test_the_page_gives_ten_pairs_or_more() -> None:
    assert len(given_up()) >= 10


@pytest.mark.parametrize("words", given_up())
def test_no_text_uses_the_old_words(words: str) -> None:
    files = [*SOURCES, *(ROOT / "sql").rglob("*.sql"), ROOT / "README.md"]
    used = [file.relative_to(ROOT).as_posix() for file in files if any(words in text for text in texts(file))]
    assert used == []


def test_no_text_says_what_is_never_said() -> None:
    used = [(file.name, text) for file in SOURCES for text in texts(file) if NEVER.search(text)]
    assert used == []


def test_a_first_letter_is_made_large_without_touching_the_units() -> None:
    """str.capitalize makes kg/hl of kg/hL and ml of mL."""
    assert [file.name for file in SOURCES if ".capitalize()" in file.read_text(encoding="utf-8")] == []


def test_every_help_text_is_shown_somewhere() -> None:
    sources = "\n".join(file.read_text(encoding="utf-8") for file in SOURCES if file.name != "glossary.py")
    assert [word for word in HELP if f'"{word}"' not in sources and f"'{word}'" not in sources] == []
