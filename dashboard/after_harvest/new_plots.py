"""A plot and a pair made on the entry screen, between one ticket and the next."""

import streamlit as st

from analytics.entry.made_while_typing import make_pair, make_plot, pairs_to_make
from analytics.errors import StandrowError
from analytics.records.columns import METHODS
from analytics.records.last_season import OfferedPair
from dashboard.after_harvest import first_place
from dashboard.frame import headings, on_file, shown_words, which_comma

MADE = "new_plots_made"  # a plot was made in this session


def new_plot(crop_year: int, *, done_by: str) -> None:
    """Boxes for one plot, and its field where that is new; then its papers are under the keys."""
    with st.form("new_plot", border=False, enter_to_submit=True):
        boxes = st.columns(4)
        typed = {
            "field": boxes[0].text_input("Field", key="new_field", max_chars=100),
            "plot": boxes[1].text_input("Plot", key="new_plot_name", max_chars=100, placeholder="east, strip 1, whole"),
            "method": boxes[2].selectbox("Cut how?", METHODS, key="new_method"),
            "acres": boxes[3].text_input("Acres (may wait)", key="new_acres"),
        }
        pressed = st.form_submit_button("Make this plot and type its tickets", disabled=not on_file.may_write())
    if not pressed:
        return
    comma = on_file.state().settings.comma
    try:
        field, plot = on_file.write_records(
            lambda connection: make_plot(connection, typed, crop_year=crop_year, done_by=done_by, comma=comma)
        )
    except StandrowError as problem:
        st.error(shown_words.plain(str(problem)))
        which_comma.ask([typed["acres"]], key="new_plot")
        return
    st.session_state[MADE] = True
    for key in ("new_field", "new_plot_name", "new_acres"):
        st.session_state.pop(key, None)
    first_place.go_to(field, plot, paper="loads", crop_year=crop_year)


@st.cache_data(max_entries=4, show_spinner=False)
def _offered(path: str, last_act: str, crop_year: int) -> list[OfferedPair]:
    return on_file.read_records(lambda connection: pairs_to_make(connection, crop_year))


def pairs_here(crop_year: int, *, done_by: str) -> None:
    """Once a plot was made here: each two of one field that could be a pair and are in none, and a button for it."""
    if MADE in st.session_state:
        offer_pairs(crop_year, done_by=done_by)


def offer_pairs(crop_year: int, *, done_by: str, heading: str = "") -> None:
    """Each two plots of one field that could be a pair and are in none, and a button for it."""
    offered = _offered(*on_file.kept_under(), crop_year)
    if heading and offered:
        headings.of_part(heading)
    for at, pair in enumerate(offered):
        st.markdown(shown_words.plain(f"{pair.words}. Set side by side they are a pair, and can be compared."))
        if st.button(
            f"Make them pair {pair.typed['pair']}", key=f"make_pair-{crop_year}-{at}", disabled=not on_file.may_write()
        ):
            _make(pair, crop_year, done_by)


def _make(pair: OfferedPair, crop_year: int, done_by: str) -> None:
    try:
        on_file.write_records(lambda connection: make_pair(connection, pair, crop_year=crop_year, done_by=done_by))
    except StandrowError as problem:
        st.error(shown_words.plain(str(problem)))
    else:
        st.rerun()
