"""What would the group see? Exactly what a share file holds, measure and year to choose, before it is taken."""

import streamlit as st

from analytics.pool.share import share_bytes, unless_named
from analytics.trade.measures import MEASURES
from analytics.trade.numbers_as_text import count
from dashboard.frame import headings, links, on_file
from dashboard.the_records import share_in_hand

KINDS = (
    (".parquet", "Take it as Parquet", "application/vnd.apache.parquet"),
    (".csv", "Take it as CSV", "text/csv"),
)

headings.of_screen("What would the group see?")
first_line = st.container(key="finding")
measures, years = share_in_hand.could_be_shared()
if not measures:
    first_line.markdown("There is nothing to share yet: no pair has both sides.")
    links.gaps_link()
    st.stop()
chosen = st.multiselect(
    "Measures",
    measures,
    default=unless_named(measures),
    format_func=lambda name: MEASURES[name].label,
    key="share_measures",
    help="Net return leaves only where you choose it.",
    placeholder="Choose measures",
)
of_years = st.multiselect("Crop years", years, default=years, key="share_years", placeholder="Choose years")
if not chosen or not of_years:
    first_line.markdown("Nothing is chosen, so nothing would leave this farm.")
    st.stop()
if not share_in_hand.are_codes_kept() and not st.button(
    "Draw the codes by lot, and show what would leave",
    key="draw_codes",
    type="primary",
    disabled=not on_file.may_write(),
):
    first_line.markdown(
        "Both sides of each pair and how it was made, under codes drawn by lot: no name, ticket, product, note or date "
        "of this farm. The codes are kept here, so that they are the same next year. Nothing leaves this machine until "
        "you take a file and hand it on yourself."
    )
    st.stop()
prepared = share_in_hand.prepared(tuple(chosen), tuple(of_years))
rows = prepared.told_by_row
first_line.markdown(
    f"{count(rows.height, 'row')} under the code {prepared.farm}: both sides of each pair and how it was made, and no "
    "name, ticket, product, note or date of this farm."
)
headings.of_part("All that would leave")
st.markdown(f"In every row: {', '.join(f'{name} {value}' for name, value in prepared.told_once)}.")
st.dataframe(rows, hide_index=True, width="stretch", key="share_rows")
with st.container(horizontal=True, key="share_files"):
    for ending, words, kind in KINDS:
        name = f"{prepared.farm}{ending}"
        st.download_button(words, share_bytes(prepared, ending), name, kind, key=f"share{ending}", on_click="ignore")
st.caption(
    "Hand the file to whoever leads the group. After a correction take it anew: of a farm and crop year the newest "
    "file counts. To take the farm out, ask for its files to be deleted; whoever has a file can read every row above."
)
