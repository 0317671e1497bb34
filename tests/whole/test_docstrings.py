"""The examples in docstrings print what they say."""

import doctest
import importlib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def with_examples() -> list[str]:
    """Modules of ours that show an example, by dotted name."""
    files = sorted(file for top in ("analytics", "dashboard") for file in (ROOT / top).rglob("*.py"))
    return [
        ".".join(file.relative_to(ROOT).with_suffix("").parts)
        for file in files
        if ">>>" in file.read_text(encoding="utf-8")
    ]


def test_the_statistics_and_the_trade_show_examples():
    assert {name.split(".")[1] for name in with_examples()} >= {"statistics", "trade"}


@pytest.mark.parametrize("name", with_examples())
def test_an_example_prints_what_it_says(name):
    examples = doctest.testmod(importlib.import_module(name), optionflags=doctest.FAIL_FAST)
    assert examples.attempted > 0
    assert examples.failed == 0
