"""Is 22,910 thousands? Asked at the first number that could be either, kept as a setting, asked no more."""

from collections.abc import Iterable

import streamlit as st

from analytics.trade.typed_text import DECIMAL_MARK, THOUSANDS, unclear_comma
from dashboard.frame import on_file, setting_form


def ask(texts: Iterable[str], *, key: str) -> None:
    """Ask what the comma is in the first of these texts that could be either, unless the farm has said so."""
    number = next(filter(None, map(unclear_comma, texts)), "")
    if not number or on_file.state().settings.comma or not on_file.may_write():
        return
    whole, point = number.replace(",", ""), number.replace(",", ".")
    st.markdown(f"Is {number} on your papers {whole}, or is it {point}? Say it once. The settings can change it later.")
    left, right = st.columns(2)
    for column, words, meaning in (
        (left, f"{whole}: a comma sets thousands apart", THOUSANDS),
        (right, f"{point}: a comma is a decimal mark", DECIMAL_MARK),
    ):
        if column.button(words, key=f"comma {meaning} {key}"):
            setting_form.keep_settings({"comma": meaning}, done_by=on_file.state().done_by)
            st.rerun()
