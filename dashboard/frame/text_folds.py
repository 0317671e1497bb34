"""Many folds of plain text as one part: sixty of the framework's own take the browser ten times as long to draw."""

from collections.abc import Iterable, Mapping
from html import escape

import streamlit as st

STYLE = """
.text-folds { display: flex; flex-direction: column; gap: 1rem; }
.text-folds details { border: 1px solid rgba(26, 26, 26, 0.2); border-radius: 0.5rem; }
.text-folds summary {
  cursor: pointer; list-style: none; position: relative; font-size: 0.875rem; line-height: 1.6;
  padding: 0.45rem 0.75rem 0.45rem 2.25rem; border-radius: 0.5rem; }
.text-folds summary::-webkit-details-marker { display: none; }
.text-folds summary:hover, .text-folds [open] > summary { background: #F4F5F1; }
.text-folds summary::before {
  content: ''; position: absolute; left: 1rem; top: calc(50% - 0.2rem); width: 0.35rem; height: 0.35rem;
  border: solid; border-width: 0 1.5px 1.5px 0; transform: rotate(-45deg); }
.text-folds [open] > summary::before { transform: rotate(45deg); }
.text-folds details > p { font-weight: 700; margin: 0; padding: 0.6rem 1rem 0; }
.text-folds details > ul { margin: 0 0 0.6rem; padding-right: 1rem; }
"""


def text_folds(folds: Iterable[tuple[str, Mapping[str, Iterable[str]]]]) -> None:
    """What is written on each fold, and the lines in it under their headings."""
    parts = "".join(f"<details><summary>{escape(words)}</summary>{_lines(lines)}</details>" for words, lines in folds)
    st.html(f"<div class='text-folds'>{parts}</div>")


def _lines(lines: Mapping[str, Iterable[str]]) -> str:
    return "".join(
        f"<p>{escape(heading)}</p><ul>{''.join(f'<li>{escape(line)}</li>' for line in below)}</ul>"
        for heading, below in lines.items()
    )
