"""The ways from one screen to another."""

import streamlit as st

from analytics.trade.measures import MEASURES

ONE_MEASURE = "screens/one_measure.py"
ALL_YEARS = "All crop years"


def pick_measure(names: list[str]) -> str:
    """The measure chosen on the screen. The address holds it, so that a link can name it and going back works."""
    named = st.query_params.get("measure")
    st.session_state["measure"] = named if named in names else names[0]
    return st.selectbox(
        "Measure",
        names,
        format_func=lambda name: MEASURES[name].label,
        key="measure",
        on_change=_name_measure,
        help="Only measures with a complete pair are listed.",
    )


def _name_measure() -> None:
    st.query_params["measure"] = st.session_state["measure"]


def measure_link(name: str) -> None:
    """A link that opens a measure."""
    st.page_link(ONE_MEASURE, label=MEASURES[name].label, query_params={"measure": name})


def gaps_link() -> None:
    """A link to what is missing in all crop years."""
    st.page_link("screens/gaps.py", label="What is missing?", query_params={"crop_year": ALL_YEARS})


def open_measure(name: str) -> None:
    """Leave for the screen of a measure."""
    st.switch_page(ONE_MEASURE, query_params={"measure": name})
