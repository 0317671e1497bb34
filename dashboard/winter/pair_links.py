"""From any screen to one pair, and back."""

import polars as pl
import streamlit as st

from analytics.pairs.one_pair import OnePair, one_pair
from analytics.pairs.sides import pair_names
from analytics.pairs.timing import calendar_bars, calendar_weather
from dashboard.frame import on_file, shown_words
from dashboard.winter.many_pairs import MOST_PAIRS

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


def pick(labels: dict[str, tuple[int, str]]) -> str:
    """The pair chosen on the screen, with the one before and the one after a click away.

    Of many pairs only those of its crop year are offered, and the year is chosen first.
    """
    listed, offered = list(labels), list(labels)
    if len(listed) > MOST_PAIRS:
        years = list(dict.fromkeys(year for year, _ in labels.values()))
        asked = st.session_state.get("pair", st.query_params.get("pair"))
        named = (year for year in years if str(year) == st.query_params.get("pair_year"))
        year = labels[asked][0] if asked in labels else next(named, years[0])
        st.session_state["pair_year"] = year
        # The address names the pair unless it is the first on offer; which those are, the year says.
        st.selectbox("Crop year", years, key="pair_year", bind="query-params", on_change=_go_to_year, args=(labels,))
        offered = [label for label in listed if labels[label][0] == year]
    chosen = st.selectbox("Pair", offered, key="pair", bind="query-params")
    place = listed.index(chosen)
    with st.container(horizontal=True, key="neighbours"):
        for words, at in (("Previous pair", place - 1), ("Next pair", place + 1)):
            st.button(
                words,
                key=words,
                disabled=not 0 <= at < len(listed),
                on_click=_go_to,
                args=(listed[at % len(listed)],),
            )
    return chosen


def _go_to(name: str) -> None:
    st.session_state["pair"] = name


def _go_to_year(labels: dict[str, tuple[int, str]]) -> None:
    year = st.session_state["pair_year"]
    _go_to(next(label for label, (of_year, _) in labels.items() if of_year == year))
