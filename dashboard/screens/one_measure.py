"""Is the difference real? One measure, both questions, and the pairs and years behind them."""

import streamlit as st

from analytics.answer import wording
from analytics.trade.cautions import NOT_ADVICE
from analytics.trade.glossary import HELP
from analytics.trade.measures import MEASURES
from dashboard.frame import shared
from dashboard.pictures import charts, short_words
from dashboard.winter import exploring, pair_links

heading = st.container()
found = shared.comparisons()
shared.guard_pairs(found)
name = shared.pick_measure(list(found))
comparison, measure = found[name], MEASURES[name]
heading.title(f"{measure.label}: is the difference real?")

left_out = shared.left_out_pairs(name)
questions = (
    ("These fields", comparison.these_fields, wording.these_fields_sentence(comparison)),
    ("Years to come", comparison.years_to_come, wording.years_to_come_sentence(comparison)),
)
for column, (question, answer, sentence) in zip(st.columns(2, border=True), questions, strict=True):
    with column:
        st.header(question, help=HELP["these fields and years to come"])
        st.markdown(f"**{shared.plain(sentence)}**")
        st.markdown(shared.plain(short_words.estimate(comparison, answer)), help=HELP["interval"])
        st.caption(shared.plain(f"It rests on {answer.scope}; {short_words.left_out(comparison)}."))
if name == "net_return":
    st.markdown(NOT_ADVICE)
seen = wording.what_could_be_seen(comparison)
if seen:
    st.markdown(shared.plain(seen), help=HELP["what could have been seen"])
st.caption(shared.plain(f"{wording.level_and_margin(comparison)} {measure.label}: {measure.meaning}."))

st.header("Which pairs differ, and which way?")
shown, years = shared.pairs_to_show(comparison)
st.altair_chart(charts.pairs(comparison, shown), theme=None, key="pairs", alt="Each pair, standing and windrowed.")
st.caption(
    f"● standing, ◆ windrowed, {years}. Beside each pair stands by how much standing was "
    "above or below windrowed; the largest difference of a year is on top."
)

with st.expander("Open a pair: both sides and their tickets", key="open_pair"):
    for pair in shown:
        pair_links.pair_link(pair.crop_year, pair.pair, pair.field)

st.header("Do the years agree?", help=HELP["field-year"])
shared.legend()
st.altair_chart(charts.by_year(comparison), theme=None, key="by_year", alt=" ".join(shared.years_in_words(comparison)))
st.caption(
    "Grey dots are field-years, the upright stroke is the mean of a year, the bar its range; an arrow means that the "
    "range goes on. One field-year alone has no range. The grey bar without a mark shows where a new field may lie."
)

if comparison.firm.leave_one_out:
    st.header("Does it hang on one field or one year?")
    st.altair_chart(
        charts.left_out(comparison),
        theme=None,
        key="left_out",
        alt="The answer with one field or year left out.",
    )
    st.caption(
        "Each row is the answer with one field-year, or one year, left out; the field-year that moves it most is on "
        "top. Marks that stay together mean that the answer does not hang on any one of them."
    )

if name == "green_seed":
    st.header("Counted seed by seed, and by grade", help=HELP["green seed and crush count"])
    shared.bullets(shared.counted())

st.header("Cautions")
shared.bullets(caution.text for caution in comparison.cautions)

with st.expander("For a checker: the statistics", key="checker"):
    shared.checker_table(wording.checker_rows(comparison))
exploration = st.expander("Exploration: look, do not conclude", key="exploration", on_change="rerun")
if exploration.open:
    with exploration:
        exploring.show()
with st.expander(f"Pairs left out and why: {left_out.height}", key="left_out_pairs"):
    if left_out.is_empty():
        st.markdown("Every pair has both sides.")
    else:
        shared.bullets(f"Pair {pair}, {year}, {field}: missing is {why}." for year, pair, field, why in left_out.rows())
    shared.bullets(
        f"{field} {plot}, {year} ({method}) has no partner." for year, field, plot, method in shared.unpaired().rows()
    )
