"""Where the entry screen begins: crop year, plot and paper by a link, by the newest draft, or by the last save."""

from collections.abc import Mapping, Sequence

import duckdb
import streamlit as st

from analytics.entry.saving import last_entered
from analytics.records.papers import FORMER_KEYS
from analytics.storage.drafts import last_place
from dashboard.after_harvest import entry_sheet
from dashboard.frame import shared

LINK = "entry_link"
IN_A_LINK = ("crop_year", "field", "plot", "paper", "row")


def start_place(typed_by: str) -> dict[str, object]:
    """Paper, crop year, field and plot to begin with: the newest draft of this person, else where was saved last."""

    def work(connection: duckdb.DuckDBPyConnection) -> dict[str, object]:
        place = last_place(connection, typed_by)
        if place is None:
            return last_entered(connection)
        return {"paper": place.paper, "crop_year": place.crop_year, "field": place.field, "plot": place.plot}

    return shared.read_records(work)


def linked() -> dict[str, str]:
    """What the address of this screen names, when a link led here; {} once that was looked at."""
    link = {name: st.query_params[name] for name in IN_A_LINK if name in st.query_params}
    if link == st.session_state.get(LINK, {}):
        return {}
    st.session_state[LINK] = link
    st.session_state[entry_sheet.GO_TO] = link.get("row")
    if entry_sheet.SHEET in st.session_state:
        entry_sheet.reload_sheet()
    return link


def place_of(link: Mapping[str, str]) -> dict[str, object]:
    """Crop year, field, plot and paper that a link names; what it leaves out or garbles is left out."""
    place: dict[str, object] = {name: link[name] for name in ("field", "plot") if name in link}
    if "paper" in link:
        place["paper"] = FORMER_KEYS.get(link["paper"], link["paper"])
    year = link.get("crop_year", "")
    return place | ({"crop_year": int(year)} if year.isdecimal() else {})


def leave_link() -> None:
    """Another place was chosen than the one in the address; a restart must not lead back to it."""
    st.session_state.pop(LINK, None)
    for name in IN_A_LINK:
        st.query_params.pop(name, None)


def name_in_address() -> None:
    """Keep the name in the address, so that a browser opened again finds the draft of this person."""
    st.query_params["who"] = st.session_state["who"].strip()


def set_unless_among(key: str, options: Sequence[object], first: object) -> None:
    """Begin a list with `first`, or with its first line; what was chosen from it stays."""
    if st.session_state.get(key) not in options:
        st.session_state[key] = first if first in options else options[0]
