"""What the program says, read from its own source: nothing that DEVELOPERS.md gave up is said again."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from analytics.trade.glossary import HELP

ROOT = Path(__file__).resolve().parents[2]
SOURCES = sorted(file for top in ("analytics", "dashboard") for file in (ROOT / top).rglob("*.py"))
PAGE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
NEVER = re.compile(r"significan|\bprove[sdn]?\b|\binsights?\b|\btrend\b|\w!(\s|$)", re.IGNORECASE)


def given_up() -> list[str]:
    """The left column of the table in "How the program speaks"."""
    section = PAGE.split("## How the program speaks")[1].split("\n## ")[0]
    rows = re.findall(r"^\| (.+?) \| .+ \|$", section, re.MULTILINE)
    return [row for row in rows if row != "not" and not row.startswith("---")]


@cache
def texts(file: Path) -> tuple[str, ...]:
    """Every piece of text in a file of code but docstrings, which are for developers; whatever else there is, whole."""
    return tuple(_texts(file))


def _texts(file: Path) -> Iterator[str]:
    if file.suffix != ".py":
        yield file.read_text(encoding="utf-8")
        return
    docstrings = set()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):  # comes to a body before what is in it
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            if node.body and isinstance(node.body[0], ast.Expr):
                docstrings.add(node.body[0].value)
        elif isinstance(node, ast.JoinedStr):
            yield "".join(str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node not in docstrings:
            yield node.value


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
