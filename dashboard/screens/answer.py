"""What do these records say? The sentence for yield, one picture for all measures, what it rests on, what to do."""

import streamlit as st

from analytics.answer import wording
from analytics.trade.cautions import NOT_ADVICE
from analytics.trade.glossary import HELP
from analytics.trade.measures import MEASURES
from dashboard.frame import shared
from dashboard.pictures import charts
from dashboard.winter import pair_links

st.title("What do these records say?")
found = shared.comparisons()
shared.guard_pairs(found)
first = found.get("yield") or next(iter(found.values()))

with st.container(key="finding"):
    st.markdown(shared.plain(wording.sentence(first)))

st.header("Every measure at a glance")
shared.legend()
picked = st.altair_chart(
    charts.all_measures(found), theme=None, key="all_measures", on_select="rerun", alt=shared.in_words(found)
)
if chosen := picked.selection.get("chosen"):
    shared.open_measure(chosen[0]["measure"])
st.caption(
    "Upper mark of each measure: these fields. Lower, thinner one: years to come. A click opens a measure; so do these:"
)
with st.container(horizontal=True, key="measures"):
    for name in found:
        shared.measure_link(name)

st.header("What it rests on", help=HELP["field-year"])
st.markdown(shared.plain(f"{MEASURES[first.measure].label}: {wording.rests_on(first)}"))
shared.bullets(caution.text for caution in first.cautions)
shared.gaps_link()
st.caption(shared.plain(shared.governs()))
st.markdown(NOT_ADVICE)

with st.container(horizontal=True, key="pairs"):
    st.markdown("Furthest apart:")
    pairs = sorted(first.pair_differences, key=lambda pair: pair.difference)
    for pair in dict.fromkeys((pairs[-1], pairs[0])):
        pair_links.pair_link(pair.crop_year, pair.pair, pair.field)

with st.expander("For a checker: all measures looked at together", key="together"):
    st.markdown(
        "Of many measures one may look real by luck. Holm's adjusted p is what each would be judged by if all were "
        "asked at once; the findings above take each measure by itself."
    )
    shared.checker_table(wording.together_rows(found))

st.header("What to do next", help=HELP["what could have been seen"])
shared.bullets(wording.next_steps(first))
