"""The dashboard: reads what governs, draws the frame, runs the screen that was chosen."""

import streamlit as st

from analytics.errors import Damaged, StandrowError
from analytics.storage.database import is_new, kept_open, records_path
from dashboard.after_harvest import entry_pad, files_in_hand
from dashboard.frame import door, first_hour, headings, on_file, rest_of_screen, shown_words, sidebar
from dashboard.the_records import damaged_file

ENTER = st.Page("screens/enter_records.py", title="What came in?")
BRING_IN = st.Page("screens/bring_in_files.py", title="What is in this file?")
SCREENS = {
    "After harvest": [
        ENTER,
        BRING_IN,
        st.Page("screens/monitor_points.py", title="What does the monitor say?"),
        st.Page("screens/gaps.py", title="What is missing?"),
        st.Page("screens/bins.py", title="Is the bin safe to leave?"),
    ],
    "Winter review": [
        st.Page("screens/answer.py", title="What do these records say?", default=True),
        st.Page("screens/one_measure.py", title="Is there a difference?"),
        st.Page("screens/one_pair.py", title="What was different in a pair?"),
        st.Page("screens/money.py", title="Does it pay?"),
        st.Page("screens/next_season.py", title="How should next year's fields be cut?"),
        st.Page("screens/others_fields.py", title="What do the others' fields say?"),
    ],
    "At the table": [
        st.Page("screens/summary_sheet.py", title="What do I take to the table?"),
    ],
    "The records": [
        st.Page("screens/record_keeping.py", title="Are the records safe?"),
        st.Page("screens/sharing.py", title="What would the group see?"),
    ],
}
SETTINGS = st.Page("screens/settings.py", title="What governs every finding?")

st.set_page_config(page_title="Standing or windrowed?", layout="wide")
sidebar.style()
screen = st.navigation([*(page for pages in SCREENS.values() for page in pages), SETTINGS], position="hidden")
try:
    door.guard()
except StandrowError as problem:
    st.error(shown_words.plain(str(problem)))
    st.stop()
if is_new(records_path()):
    headings.of_screen("There are no records yet")
    st.info("To look around on an invented farm first: standrow demo")
    st.caption(shown_words.plain(f"The records are looked for in {records_path()}."))
    st.markdown("What do you have? Records are begun here, and the shortest way to a first answer opens.")
    for words, page, place in first_hour.WHAT_YOU_HAVE:
        if st.button(words, key=f"begin {page}"):
            try:
                files_in_hand.begin_records()
            except StandrowError as problem:
                st.error(shown_words.plain(str(problem)))
                st.stop()
            st.switch_page(page, query_params=place)
    st.stop()
try:
    with kept_open(records_path()):
        if screen is not ENTER:
            entry_pad.leave_pad()
        rest_of_screen.now_on(screen.url_path)
        st.session_state["state"] = on_file.read_state()
        sidebar.sidebar(SCREENS, SETTINGS)
        if not on_file.may_write():
            st.caption(door.looking_only_words())
        screen.run()
except Damaged as problem:
    damaged_file.show_damage(str(problem))
except StandrowError as problem:
    st.error(shown_words.plain(str(problem)))
