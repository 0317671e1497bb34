"""A table to read, of our own: the framework's loads a second library of data frames for it, 31 MB."""

from html import escape

import polars as pl
import streamlit as st

STYLE = """
.text-table { overflow-x: auto; }
.text-table table { width: 100%; border-collapse: collapse; font-size: 0.9rem; line-height: 1.4; }
.text-table th, .text-table td {
  border: 1px solid #D8D8D8; padding: 0.25rem 0.5rem; text-align: left; vertical-align: top; }
.text-table th { color: #555555; font-weight: 400; }
.text-table .number { text-align: right; font-variant-numeric: tabular-nums; }
"""


def text_table(rows: pl.DataFrame) -> None:
    """Rows as a table in which text is shown letter by letter; columns of numbers stand at the right."""
    kinds = ["number" if kind.is_numeric() else "text" for kind in rows.dtypes]
    head = "".join(
        f"<th scope='col' class='{kind}'>{escape(name)}</th>" if name else "<td></td>"  # a heading is never empty
        for name, kind in zip(rows.columns, kinds, strict=True)
    )
    body = "".join(f"<tr>{_cells(row, kinds)}</tr>" for row in rows.iter_rows())
    st.html(
        f"<div class='text-table' tabindex='0'><table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>"
    )


def _cells(row: tuple[object, ...], kinds: list[str]) -> str:
    texts = ["" if value is None else str(value) for value in row]
    return "".join(f"<td class='{kind}'>{escape(text)}</td>" for text, kind in zip(texts, kinds, strict=True))
