"""Pair A3, 2023: what was different? Both sides, every fact in the same row, the tickets behind each number."""

import polars as pl
import streamlit as st

from analytics.trade import cautions
from analytics.trade.glossary import HELP
from analytics.trade.seed_loss import seeds_per_ft2_table
from dashboard.frame import first_hour, folded, headings, links, rest_of_screen, shown_picture, shown_words
from dashboard.frame.text_table import text_table
from dashboard.pictures import calendar_chart, side_by_side_table
from dashboard.winter import pair_links

FIRST_GROUPS = 2  # of facts, which reach below the window

labels = pair_links.names()
if not labels:
    headings.of_screen("What was different inside a pair?")
    first_hour.guard_pairs({})
heading = st.container()
crop_year, name = labels[pair_links.pick(labels)]
pair = pair_links.pair(crop_year, name)

with heading:
    headings.of_screen(shown_words.plain(f"Pair {pair.pair}, {crop_year}: what was different?"))
    with st.container(key="finding"):
        st.markdown(shown_words.plain(pair.sentence))
    st.caption(shown_words.plain(pair.made))

if not pair.bars.is_empty():
    shown_picture.show_kept_picture(
        lambda: calendar_chart.calendar(pair.bars, pair.weather),
        crop_year,
        name,
        key="pair_calendar",
        alt=calendar_chart.calendar_in_words(pair.bars, pair.weather),
    )
    st.caption(
        "From colour change, as noted, to the combine (● standing, ■ windrowed); strokes are weather while the crop "
        "was out. A thin bar starts when the partner was cut."
    )

st.html(side_by_side_table.side_by_side(pair.groups[:FIRST_GROUPS]))
rest_of_screen.leave_the_rest_for_later()
st.html(side_by_side_table.side_by_side(pair.groups[FIRST_GROUPS:]))
st.caption(
    "▲ marks what differs besides the method, or wants a second look. A dotted line under numbers: click the row for "
    "the tickets and counts behind it. Difference: standing minus windrowed. The grade on the ticket always wins; the "
    "counts are only held against the limits."
)
st.markdown(shown_words.plain(cautions.LABEL))
st.markdown(shown_words.plain(cautions.PANS))

headings.of_part(f"How did the harvest of {crop_year} run?")
bars, weather = pair_links.season(crop_year)
if bars.is_empty():
    st.info("No day of combining is on record for this crop year.")
else:
    shown_picture.show_kept_picture(
        lambda: calendar_chart.calendar(bars, weather),
        crop_year,
        key="calendar",
        alt=calendar_chart.calendar_in_words(bars, weather),
    )

if part := folded.unfolded("How many seeds on a square foot are a bushel an acre?", key="seeds_per_ft2"):
    with part:
        text_table(
            pl.DataFrame(
                {
                    "g a thousand seeds": f"{row['thousand_seed_g']:.1f}",
                    "seeds/ft2 at 1 bu/ac": f"{row['seeds_per_ft2']:.0f}",
                    "bu/ac for 1 seed/ft2": f"{row['bu_ac_per_seed']:.4f}",
                }
                for row in seeds_per_ft2_table().iter_rows(named=True)
            )
        )
        st.caption(
            "On open ground. In a pan behind the combine divide first by the concentration factor, width cut over "
            "width of the discharge. Source: arithmetic; Canola Council of Canada (2012) prints the same from 2 to 5 g "
            "but for two cells: 261 seeds at 2 g and 0.0057 at 3 g.",
            help=HELP["concentration factor"],
        )

with st.container(horizontal=True, key="back"):
    st.page_link("screens/answer.py", label="Back to what these records say")
    st.page_link(links.ONE_MEASURE, label="Back to one measure")
