"""Headings without the framework's link to each, which leads nowhere else and takes the browser 2 ms to draw."""

import streamlit as st


def of_screen(words: str) -> None:
    """What the screen is asked, on top of it."""
    st.title(words, anchor=False)


def of_part(words: str, *, hint: str | None = None) -> None:
    """What a part of the screen is asked; hint : told when it is pointed at."""
    st.header(words, anchor=False, help=hint)
