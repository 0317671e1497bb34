"""Is there a difference? One measure, both questions, and the pairs and years behind them."""

import streamlit as st

from analytics.answer import depends_words, marks, statistics_rows, wording
from analytics.statistics.results import Question
from analytics.trade.cautions import NOT_ADVICE
from analytics.trade.glossary import HELP
from analytics.trade.measures import MEASURES
from dashboard.frame import (
    first_hour,
    folded,
    headings,
    links,
    on_file,
    rest_of_screen,
    shown_picture,
    shown_words,
    statistics_tables,
)
from dashboard.pictures import charts
from dashboard.winter import exploring, many_pairs, others_found, pair_links


def _left_out() -> None:
    """Pairs lacking a side, pairs that are barred, and plots without a partner."""
    if left_out.is_empty():
        st.markdown("Every pair has both sides.")
    else:
        shown_words.bullets(
            f"Pair {pair}, {year}, {field}: it lacks {why}." for year, pair, field, why in left_out.rows()
        )
    shown_words.bullets(
        f"Pair {pair.pair}, {pair.crop_year}, {pair.field}, is in no answer: {pair.barred}."
        for pair in comparison.pair_differences
        if pair.barred
    )
    shown_words.bullets(
        f"{field} {plot}, {year} ({method}) has no partner." for year, field, plot, method in on_file.unpaired().rows()
    )


heading = st.empty()
with heading:
    headings.of_screen("Is there a difference?")
found = on_file.comparisons()
first_hour.guard_pairs(found)
name = links.pick_measure(list(found))
comparison, measure = found[name], MEASURES[name]
with heading:
    headings.of_screen(f"{measure.label}: is there a difference?")

left_out = on_file.left_out_pairs(name)
questions = (
    ("These fields", Question.THESE_FIELDS, wording.these_fields_sentence(comparison)),
    ("Years to come", Question.YEARS_TO_COME, wording.years_to_come_sentence(comparison)),
)
main = on_file.state().settings.main_measure
for column, (title, question, sentence) in zip(st.columns(2, border=True), questions, strict=True):
    with column:
        answer = comparison.these_fields if question is Question.THESE_FIELDS else comparison.years_to_come
        headings.of_part(title, hint=HELP["these fields and years to come"])
        st.markdown(f"**{shown_words.plain(sentence)}**")
        if firm := wording.firm_sentence(comparison, question):
            st.markdown(shown_words.plain(firm))
        st.markdown(shown_words.plain(marks.estimate(comparison, answer)), help=HELP["interval"])
        if together := statistics_rows.together_words(comparison, question, main=main):
            st.markdown(shown_words.plain(together), help=HELP["main measure"])
        st.caption(shown_words.plain(f"It rests on {answer.scope}; {marks.left_out_words(comparison)}."))
if name == "net_return":
    st.markdown(NOT_ADVICE)
seen = wording.what_could_be_seen(comparison)
if seen:
    st.markdown(shown_words.plain(seen), help=HELP["what could have been seen"])
st.caption(shown_words.plain(f"{wording.level_and_margin(comparison)} {measure.label}: {measure.meaning}."))

headings.of_part("What carries it?", hint=HELP["basis"])
if other := wording.carries_sentence(comparison):
    st.markdown(shown_words.plain(other))
shown_picture.show_kept_picture(
    lambda: charts.carries_chart(comparison),
    name,
    key="carries",
    alt=" ".join(statistics_rows.carried_in_words(comparison)),
)

rest_of_screen.leave_the_rest_for_later()
headings.of_part("Which pairs differ, and which way?")
shown, years = many_pairs.pairs_to_show(comparison)
shown_picture.show_kept_picture(
    lambda: charts.pairs_chart(comparison, shown), name, years, key="pairs", alt="Each pair, standing and windrowed."
)
st.caption(
    f"● standing, ■ windrowed, {years}. Beside each pair stands by how much standing was "
    "above or below windrowed; the largest difference of a year is on top."
)

if part := folded.unfolded("Open a pair: both sides and their tickets", key="open_pair"):
    with part:
        for pair in shown:
            pair_links.pair_link(pair.crop_year, pair.pair, pair.field)

headings.of_part("Do the years agree?", hint=HELP["field-year"])
shown_words.legend()
shown_picture.show_kept_picture(
    lambda: charts.by_year_chart(comparison), name, key="by_year", alt=" ".join(shown_words.years_in_words(comparison))
)
st.caption(
    "Grey dots are field-years, the upright stroke is the mean of a year, the bar its range; the word on means that "
    "the range goes on. The grey bar without a mark shows where a field not tried yet may lie."
)

if comparison.firm.leave_one_out:
    headings.of_part("Does it hang on one field or one year?")
    shown_picture.show_kept_picture(
        lambda: charts.left_out_chart(comparison),
        name,
        key="left_out",
        alt="The answer with one field or year left out.",
    )
    st.caption(
        "Each row is the answer with one field-year, or one year, left out; the field-year that moves it most is on "
        "top. A mark that changes its colour, its shape or its filling means that the answer hangs on that one."
    )

if name == "green_seed":
    headings.of_part("Counted seed by seed, and by grade", hint=HELP["green seed and crush count"])
    shown_words.bullets(on_file.counted_sentences())

headings.of_part("Cautions")
shown_words.bullets(caution.text for caution in comparison.cautions)

asked = on_file.read_depends_on(name)
headings.of_part("Does it depend on something?")
st.markdown(shown_words.plain(depends_words.CAUTION))
if shown_questions := depends_words.computed(asked):
    shown_picture.show_kept_picture(
        lambda: charts.depends_on_chart(comparison, shown_questions),
        name,
        key="depends_on",
        alt=" ".join(depends_words.depends_lines(comparison, asked)),
    )
shown_words.bullets(depends_words.depends_lines(comparison, asked))

others_found.show_others_found(comparison, found.get("yield"), asked)

if part := folded.unfolded("For a statistician: every number", key="statistics"):
    with part:
        statistics_tables.statistics_table(statistics_rows.statistics_rows(comparison))
        st.caption("Exact test: how such a p is to be read.", help=HELP["exact test"])
if part := folded.unfolded("What would it take to see a gap?", key="trial"):
    with part:
        st.markdown(
            "Field-years for these fields, and years for years to come, with which 8 of 10 such trials would find a "
            "true gap; in brackets what the doubt about the spread itself allows. Strips of several passes come before "
            "halves: halves of a field treated alike differ by 7 to 9 %, neighbouring strips by about 1 % (published "
            "yield-monitor data)."
        )
        statistics_tables.trial_table(statistics_rows.trial_rows(comparison))
if part := folded.unfolded("Exploration: look, do not conclude", key="exploration"):
    with part:
        exploring.show_exploration(name)
if part := folded.unfolded(f"Pairs left out and why: {left_out.height}", key="left_out_pairs"):
    with part:
        _left_out()
