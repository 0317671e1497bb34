"""What others found beside the farm's own answers: the pictures, the joint answer, and where each result is from."""

import streamlit as st

from analytics.answer import beside_published as beside
from analytics.statistics.exploration import DependsOn
from analytics.statistics.results import Comparison
from dashboard.frame import folded, headings, shown_picture, shown_words
from dashboard.pictures import published_chart


def show_others_found(comparison: Comparison, grain: Comparison | None, asked: tuple[DependsOn, ...]) -> None:
    """The section; nothing where nothing is published about the measure."""
    found = beside.beside_published(comparison, grain=grain, asked=asked)
    if found is None:
        return
    headings.of_part(beside.HEADING)
    if found.unlike:
        st.markdown(shown_words.plain(found.unlike))
    shown_picture.show_kept_picture(
        lambda: published_chart.beside(comparison, found.differences),
        comparison.measure,
        key="others_found",
        alt=" ".join(beside.lines_in_words(found.differences)),
    )
    st.caption(found.how_to_read)
    if found.joint_words:
        st.markdown(f"**{shown_words.plain(found.joint_words[0])}**")
        shown_words.bullets(found.joint_words[1:])
    if found.each_way:
        headings.of_part(beside.EACH_WAY_HEADING)
        shown_picture.show_kept_picture(
            lambda: published_chart.one_way(found.each_way, f"seed lost, {found.unit}"),
            comparison.measure,
            key="each_way",
            alt=" ".join(beside.lines_in_words(found.each_way)),
        )
        st.caption("Blue: standing; vermilion: windrowed. Shares of the yield are taken of this farm's own yield.")
    if found.early:
        headings.of_part(beside.EARLY_HEADING)
        st.markdown(shown_words.plain(beside.EARLY_WORDS))
        shown_picture.show_kept_picture(
            lambda: published_chart.one_way(found.early, f"cost of cutting early, {found.unit}"),
            comparison.measure,
            key="early_cutting",
            alt=" ".join(beside.lines_in_words(found.early)),
        )
    if part := folded.unfolded("Each result: where it is from, and what it cannot tell", key="published_results"):
        with part:
            shown_words.bullets(beside.results_words(found.trials))
            if found.surveys:
                st.markdown(shown_words.plain(beside.APART))
                shown_words.bullets(beside.results_words(found.surveys))
