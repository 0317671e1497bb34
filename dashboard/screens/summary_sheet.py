"""What do I take to the table? The sheet as it will print, for the one who sits across, to take along as a file."""

from datetime import date

import streamlit as st

from analytics.sheet.reader import Reader
from dashboard.at_the_table import sheet_reads
from dashboard.frame import folded, headings, shown_words

WHO = {
    Reader.BANKER: "a banker (one sheet, both sides)",
    Reader.AGRONOMIST: "an agronomist (three or four pages, and three of what others found)",
}

headings.of_screen("What do I take to the table?")
first_line = st.container(key="finding")
columns = st.columns(2)
reader = columns[0].radio("Who is it for?", list(WHO), format_func=WHO.get, key="reader")
day = columns[1].date_input("Date on the sheet", date.today(), key="made_on", format="YYYY-MM-DD")
tried = st.session_state.get("tried_purchase") if reader is Reader.BANKER else None
made = sheet_reads.sheet_files(reader, day, tried)
with first_line:
    st.markdown(shown_words.plain(made.answer[0]))

with st.container(horizontal=True, key="downloads"):
    for ending, words, kind in sheet_reads.KINDS:
        st.download_button(
            words,
            made.files[ending],
            file_name=f"standrow {reader.value} {day.isoformat()}{ending}",
            mime=kind,
            key=f"download{ending}",
            on_click="ignore",
        )
st.caption("The PDF is for paper, the HTML page for a screen; the workbook holds the numbers behind both.")

headings.of_part("As it will print")
for number, picture in enumerate(made.pictures, start=1):
    words = f"Page {number} of {len(made.pictures)}"
    st.image(picture, width="stretch", caption=words, alt=f"{words}; the same in words is below")
if part := folded.unfolded("The same in words", key="sheet_words"):
    with part:
        for heading, lines in made.words:
            st.markdown(f"**{shown_words.plain(heading)}**")
            shown_words.bullets(lines)
