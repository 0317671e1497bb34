"""From any screen to one pair, and back."""

import polars as pl
import streamlit as st

from analytics.pairs.one_pair import OnePair, one_pair
from analytics.pairs.sides import pair_names
from analytics.pairs.timing import calendar_bars, calendar_weather
from dashboard.frame import on_file, shown_words

ONE_PAIR = "screens/one_pair.py"


def pair_label(crop_year: int | None, pair: str | None, field: str | None) -> str:
    """How a pair is named in lists and links: "H2, 2025: Willow quarter"."""
    return f"{pair}, {crop_year}: {field}"


def pair_link(crop_year: int | None, pair: str | None, field: str | None) -> None:
    """A link that opens a pair."""
    name = pair_label(crop_year, pair, field)
    st.page_link(ONE_PAIR, label=shown_words.plain(name), query_params={"pair": name})


@st.cache_resource(max_entries=4, show_spinner=False)
def _names(path: str, last_act: str) -> pl.DataFrame:
    return on_file.read_records(pair_names)


@st.cache_resource(max_entries=60, show_spinner=False)
def _pair(path: str, last_act: str, crop_year: int, pair: str) -> OnePair:
    return on_file.read_records(lambda connection: one_pair(connection, crop_year, pair))


@st.cache_resource(max_entries=20, show_spinner=False)
def _calendar(path: str, last_act: str, crop_year: int) -> tuple[pl.DataFrame, pl.DataFrame]:
    return on_file.read_records(
        lambda connection: (calendar_bars(connection, crop_year), calendar_weather(connection, crop_year))
    )


def names() -> dict[str, tuple[int, str]]:
    """Every pair by its label, newest crop year first and those not harvested yet last: crop year and pair."""
    rows = _names(*on_file.kept_under()).sort(["is_planned", "crop_year", "pair"], descending=[False, True, False])
    return {pair_label(crop_year, pair, field): (crop_year, pair) for crop_year, pair, field, _ in rows.iter_rows()}


def pair(crop_year: int, name: str) -> OnePair:
    """Everything about one pair."""
    return _pair(*on_file.kept_under(), crop_year, name)


def season(crop_year: int) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Bars and weather of a crop year, for the calendar."""
    return _calendar(*on_file.kept_under(), crop_year)


def pick(labels: list[str]) -> str:
    """The pair chosen on the screen, with the one before and the one after a click away."""
    chosen = st.selectbox("Pair", labels, key="pair", bind="query-params")
    place = labels.index(chosen)
    with st.container(horizontal=True, key="neighbours"):
        for words, at in (("Previous pair", place - 1), ("Next pair", place + 1)):
            st.button(
                words,
                key=words,
                disabled=not 0 <= at < len(labels),
                on_click=_go_to,
                args=(labels[at % len(labels)],),
            )
    return chosen


def _go_to(name: str) -> None:
    st.session_state["pair"] = name
