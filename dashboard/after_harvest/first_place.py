"""Where the entry screen begins: crop year, plot and paper by a link, by the newest draft, or by the last save."""

from collections.abc import Mapping, Sequence

import duckdb
import streamlit as st

from analytics.entry.saving import last_entered
from analytics.records.papers import FORMER_KEYS
from analytics.storage.drafts import last_place
from dashboard.after_harvest import entry_sheet
from dashboard.frame import on_file

LINK, ONWARD = "entry_link", "entry_onward"
IN_A_LINK = ("crop_year", "field", "plot", "paper", "row", "who")


def start_place(typed_by: str) -> dict[str, object]:
    """Paper, crop year, field and plot to begin with: the newest draft of this person, else where was saved last."""

    def work(connection: duckdb.DuckDBPyConnection) -> dict[str, object]:
        place = last_place(connection, typed_by)
        if place is None:
            return last_entered(connection)
        return {"paper": place.paper, "crop_year": place.crop_year, "field": place.field, "plot": place.plot}

    return on_file.read_records(work)


def linked() -> dict[str, str]:
    """What the address of this screen names, when a link led here; {} once that was looked at."""
    link = {name: st.query_params[name] for name in IN_A_LINK if name in st.query_params}
    if link == st.session_state.get(LINK, {}):
        return {}
    st.session_state[LINK] = link
    if "row" in link:
        st.session_state[entry_sheet.GO_TO] = link["row"]
        entry_sheet.leave_sheet()
    return link


def place_in_link(link: Mapping[str, str]) -> dict[str, object]:
    """Crop year, field, plot and paper that a link names; what it leaves out or garbles is left out."""
    place: dict[str, object] = {name: link[name] for name in ("field", "plot") if name in link}
    if "paper" in link:
        place["paper"] = FORMER_KEYS.get(link["paper"], link["paper"])
    year = link.get("crop_year", "")
    return place | ({"crop_year": int(year)} if year.isdecimal() else {})


def year_refused(link: Mapping[str, str], years: Sequence[int]) -> str:
    """Why the crop year of a link is not the one that opens; "" when it is."""
    given = link.get("crop_year", "")
    if not given or given in map(str, years):
        return ""
    return f"Crop year {given} given in the address; allowed {years[-1]} to {years[0]}. Choose one below."


def go_to(field: str, plot: str, **place: object) -> None:
    """Another place for the next run, which begins at once."""
    st.session_state[ONWARD] = {"field": field, "plot": plot} | place
    st.rerun()


def choose_place() -> None:
    """Another place was chosen than the one in the address, and with it the note about the address is done with."""
    st.session_state.pop("entry_year_refused", None)


def choose_plot() -> None:
    """A plot or crop year chosen by hand goes before one that the program was about to open."""
    st.session_state.pop(ONWARD, None)
    choose_place()


def name_in_address(place: Mapping[str, object]) -> None:
    """Keep the place and the name in the address, so that a page loaded anew opens where this one was."""
    named = {name: str(value) for name, value in place.items() if value}
    st.query_params.from_dict({name: text for name, text in st.query_params.items() if name not in IN_A_LINK} | named)
    st.session_state[LINK] = {name: named[name] for name in IN_A_LINK if name in named}


def set_unless_among(key: str, options: Sequence[object], first: object, *, otherwise: object = None) -> None:
    """Begin a list with `first`, else with `otherwise`, else with its first line; what was chosen from it stays."""
    if st.session_state.get(key) not in options:
        st.session_state[key] = next((one for one in (first, otherwise) if one in options), options[0])
