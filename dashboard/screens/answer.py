"""What do these records say? The sentence for yield, one picture for all measures, what it rests on, what to do."""

import streamlit as st

from analytics.answer import statistics_rows, wording
from analytics.answer.next_steps import next_steps
from analytics.statistics.results import Finding
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
from dashboard.winter import pair_links

headings.of_screen("What do these records say?")
found = on_file.comparisons()
first_hour.guard_pairs(found)
main = on_file.state().settings.main_measure
first = found.get(main) or next(iter(found.values()))

with st.container(key="finding"):
    st.markdown(shown_words.plain(wording.sentence(first)))
is_young = first.these_fields.finding is Finding.TOO_FEW
if is_young:  # what would make it better is then the news
    headings.of_part("What would make it better")
    shown_words.bullets(next_steps(first))
    links.gaps_link()

headings.of_part("What carries it?", hint=HELP["basis"])
shown_picture.show_kept_picture(
    lambda: charts.carries_chart(first),
    first.measure,
    key="carries",
    alt=" ".join(statistics_rows.carried_in_words(first)),
)
if part := folded.unfolded("The same as a table", key="carried"):
    with part:
        statistics_tables.carried_table(statistics_rows.carried_rows(first), first.unit)
        st.caption(shown_words.plain(statistics_rows.carried_notes(first)))

headings.of_part("Every measure at a glance")
shown_words.legend()
rest_of_screen.leave_the_rest_for_later()
picked = shown_picture.show_kept_picture(
    lambda: charts.all_measures(found), key="all_measures", on_select="rerun", alt=shown_words.answers_in_words(found)
)
if chosen := picked.selection.get("chosen"):
    links.open_measure(chosen[0]["measure"])
st.caption(
    "Upper mark of each measure: these fields. Lower, thinner one: years to come. A click opens a measure; so do these:"
)
with st.container(horizontal=True, key="measures"):
    for name in found:
        links.measure_link(name)

headings.of_part("What it rests on", hint=HELP["field-year"])
st.markdown(shown_words.plain(f"{MEASURES[first.measure].label}: {wording.rests_on(first)}"))
shown_words.bullets(caution.text for caution in first.cautions)
links.gaps_link()
st.caption(shown_words.plain(shown_words.governs()))
st.markdown(NOT_ADVICE)

with st.container(horizontal=True, key="pairs"):
    st.markdown("Furthest apart:")
    pairs = sorted(first.pair_differences, key=lambda pair: pair.difference)
    for pair in dict.fromkeys((pairs[-1], pairs[0])):
        pair_links.pair_link(pair.crop_year, pair.pair, pair.field)

if part := folded.unfolded("All measures looked at together", key="together"):
    with part:
        st.markdown(
            f"Of {len(MEASURES)} measures one can easily look different by luck. {MEASURES[main].label} is the main "
            "one and is judged by itself; the second p of the others is what each is judged by when all of them are "
            "asked at once (Holm)."
        )
        statistics_tables.statistics_table(statistics_rows.together_rows(found))
        shown_words.bullets(
            statistics_rows.alone_only(found), none="No measure is clear only when looked at by itself."
        )

if not is_young:
    headings.of_part("What to do next", hint=HELP["what could have been seen"])
    shown_words.bullets(next_steps(first))
