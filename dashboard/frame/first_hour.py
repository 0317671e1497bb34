"""The way to a first answer, for whoever has no pair on record yet."""

import streamlit as st

from analytics.pairs.compared_pairs import planned_words
from analytics.statistics.results import Comparison
from analytics.trade.glossary import HELP
from dashboard.frame import links, on_file
from dashboard.frame.text_table import text_table

ENTER, FILES, PLAN = "screens/enter_records.py", "screens/bring_in_files.py", "screens/next_season.py"
WHAT_YOU_HAVE: tuple[tuple[str, str, dict[str, str]], ...] = (
    ("Papers: type the first ticket", ENTER, {"paper": "loads"}),
    ("A spreadsheet, or a buyer's list of tickets: bring it in", FILES, {}),
    ("Nothing yet: plan which fields to cut both ways", PLAN, {}),
)


def three_steps() -> None:
    """What to do first, second and third, each with its links."""
    st.markdown("**1. Say what you have.**")
    for words, screen, place in WHAT_YOU_HAVE:
        st.page_link(screen, label=words, query_params=place)
    st.markdown(
        "**2. Two plots of one crop year, and the tickets of both.** One was cut standing (straight-cut), the other "
        "windrowed (swathed); best are two halves or strips of one field. Field and plot are made while you type."
    )
    st.markdown("**3. Set the two side by side as a pair.** Then the answer opens, and says what would make it better.")
    st.page_link(ENTER, label="Set plots side by side", query_params={"paper": "pairs"})


def guard_pairs(found: dict[str, Comparison]) -> None:
    """Say what to do next, and stop, when there is nothing to compare."""
    if found:
        return
    if not on_file.state().pairs:
        st.info(
            "There is no pair on record yet. A pair is one plot cut standing and one windrowed in the same crop year. "
            f"{HELP['standing and windrowed']}"
        )
        three_steps()
    elif (lacking := on_file.left_out_pairs("yield")).is_empty():
        st.info(
            f"{planned_words(on_file.state().pairs)}. "
            "Once something of them is weighed, sampled or checked, it counts here."
        )
    else:
        st.info("No pair has both sides yet. This is what is missing:")
        text_table(lacking.rename({"crop_year": "crop year", "missing": "missing paper"}))
        links.gaps_link()
    st.stop()
