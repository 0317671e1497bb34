"""What is missing? Every pair by measure, what to look for, and how far the papers of a season are in."""

import duckdb
import streamlit as st

from analytics.pairs.gaps import Progress, first_line, grouped_gaps, progress, to_look_for
from analytics.records.harvest_tables import LOSS_CHECKS
from analytics.storage.database import read_table
from analytics.trade.cautions import PANS
from analytics.trade.numbers_as_text import count
from dashboard.frame import headings, links, on_file, rest_of_screen, shown_words
from dashboard.pictures import gap_grid

ENTER_RECORDS = "screens/enter_records.py"
FIRST_SHOWN = 3  # what to do first; the rest is folded
IN_A_WINDOW = 25  # pairs in the table that a window of a thousand pixels holds, and some more
MOST_SHOWN = 100  # pairs in the table, and lines of what to look for


@st.cache_resource(max_entries=4, show_spinner=False)
def _progress(path: str, last_act: str, crop_year: int) -> Progress:
    def work(connection: duckdb.DuckDBPyConnection) -> Progress:
        records = {name: read_table(connection, name) for name in ("loads", "samples", "loss_checks")}
        return progress(read_table(connection, "plots"), records, crop_year)

    return on_file.read_records(work)


headings.of_screen("What is missing?")
now = on_file.state()
key = on_file.kept_under()
who = st.session_state.get("entry_place", {}).get("who", "")
if not now.crop_years:
    st.info("There is no plot on record yet. Type the first ticket: its field and plot are made while you type.")
    st.page_link(ENTER_RECORDS, label="Type the first ticket", query_params={"paper": "loads"})
    st.stop()

years = [links.ALL_YEARS, *(str(year) for year in sorted(now.crop_years, reverse=True))]
named = st.query_params.get("crop_year")
year = st.selectbox("Crop year", years, index=years.index(named) if named in years else 1, key="gaps_of")
chosen = None if year == links.ALL_YEARS else int(year)
rows = [row for row in on_file.gaps() if chosen in (None, row.crop_year)]
unpaired = [plot for plot in on_file.unpaired().iter_rows(named=True) if chosen in (None, plot["crop_year"])]

if rows:
    with st.container(key="finding"):
        st.markdown(shown_words.plain(first_line(rows)))
    st.caption(f"{gap_grid.LEGEND}. A click on a marked cell opens the place where it is typed.")
    st.html(gap_grid.grid(rows[: MOST_SHOWN if rest_of_screen.is_whole() else IN_A_WINDOW], who))
else:
    st.info("There is no pair on record here. A pair is one plot cut standing and one windrowed in the same crop year.")
if len(rows) > IN_A_WINDOW:
    rest_of_screen.leave_the_rest_for_later()
if len(rows) > MOST_SHOWN:
    st.caption(f"The newest {MOST_SHOWN} of {len(rows)} pairs are shown; choose a crop year for the others.")

things = to_look_for(rows)
groups = grouped_gaps(things[:MOST_SHOWN])
if things:
    at_once = ("this one thing", "these two things", "these three things")[min(len(groups), FIRST_SHOWN) - 1]
    headings.of_part(f"Do {at_once} first" if len(groups) > 1 else f"Do {at_once}")
    if any(thing.lack.paper == LOSS_CHECKS.name for thing in things):
        st.markdown(shown_words.plain(PANS))
    st.html(gap_grid.to_do(groups[:FIRST_SHOWN], who))
    if later := groups[FIRST_SHOWN:]:
        with st.expander(f"{count(len(later), 'more thing')} to look for", key="more_to_do"):
            st.html(gap_grid.to_do(later, who))
elif rows:
    st.markdown("Nothing is missing for any measure.")
if len(things) > MOST_SHOWN:
    st.caption(f"The first {MOST_SHOWN} of {len(things)} are listed; choose a crop year for the others.")

if unpaired:
    headings.of_part("Plots without a partner")
    shown_words.bullets(f"{plot['field']}, {plot['plot']}, {plot['crop_year']} ({plot['method']})" for plot in unpaired)
    newest = max(plot["crop_year"] for plot in unpaired)
    st.page_link(ENTER_RECORDS, label="Pair them", query_params={"paper": "pairs", "crop_year": str(newest)})

if chosen is not None:
    headings.of_part("How far the season is in")
    so_far = _progress(*key, chosen)
    st.markdown(so_far.words)
    st.html(gap_grid.bar(so_far.words, so_far.papers_in, so_far.papers))
