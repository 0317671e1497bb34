"""Folds of plain text, as the browser gets them."""

import pytest

from dashboard.frame import text_folds


def test_each_fold_says_what_is_in_it_and_every_text_is_shown_letter_by_letter(monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[str] = []
    monkeypatch.setattr(text_folds.st, "html", told.append)
    text_folds.text_folds([("A & B: 2", {"For": ["1 < 2", "<script>"]}), ("C: nothing", {})])
    assert told == [
        "<div class='text-folds'>"
        "<details><summary>A &amp; B: 2</summary>"
        "<p>For</p><ul><li>1 &lt; 2</li><li>&lt;script&gt;</li></ul></details>"
        "<details><summary>C: nothing</summary></details></div>"
    ]
