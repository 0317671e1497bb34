"""How a picture reaches the browser: written in the language of its charts (Vega-Lite), with words beside it."""

from typing import Any, Literal

import streamlit as st

from dashboard.pictures.layers import Chart


def show_picture(
    picture: Chart,
    *,
    key: str,
    alt: str,
    on_select: Literal["ignore", "rerun"] = "ignore",
    width: Literal["stretch", "content"] = "stretch",
) -> Any:  # what was selected, in the framework's own form
    """Show a picture, with `alt` for those who cannot see it; what was selected in it, if asked for.

    width : of the page, or the picture's own
    """
    return st.vega_lite_chart(picture.specification, theme=None, key=key, on_select=on_select, alt=alt, width=width)
