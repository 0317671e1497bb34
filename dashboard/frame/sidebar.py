"""The frame around every screen: the farm on top, the screens by moment, and what governs every finding."""

import re
from dataclasses import asdict

import streamlit as st

from analytics.errors import StandrowError
from analytics.storage.drafts import Draft
from analytics.trade.units import PER_BU_AC
from dashboard.frame import headings, on_file, rest_of_screen, setting_form, shown_words, text_folds, text_table

STYLE = """
<style>
.block-container { padding: 3rem 2rem 2rem; max-width: 66rem; }
h1 { font-size: 1.9rem !important; }
h2 { font-size: 1.25rem !important; }
.st-key-finding p { font-size: 1.25rem; line-height: 1.45; }
[data-testid='stSidebar'] a p { white-space: normal; }
.st-key-governs p { font-size: 0.85rem; }
[data-testid='stMain'] [data-testid='stPageLink'] p { text-decoration: underline; white-space: normal; }
.legend { font-size: 0.9rem; line-height: 1.5; margin: 0; }
{TABLES}
{FOLDS}
{REST}
.standing { color: #0072B2; }
.windrowed { color: #D55E00; }
.undecided { color: #767676; }
[data-testid='stFileUploaderDropzoneInstructions'] { display: none; }
[data-testid='stAlertContainer']:has([data-testid='stAlertContentError']),
[data-testid='stAlertContainer']:has([data-testid='stAlertContentWarning']) {
  background: #F2F2F2; border-left: 4px solid #111111; }
[data-testid='stAlertContentError'] p, [data-testid='stAlertContentWarning'] p { color: #111111; font-weight: 700; }
[data-testid='stAlertContentError'] p:first-child::before { content: '✕ ' / ''; }
[data-testid='stAlertContentWarning'] p:first-child::before { content: '? ' / ''; }
@media print {
  [data-testid='stSidebar'], [data-testid='stHeader'], [data-testid='stToolbar'] { display: none; }
  .block-container { padding: 0; max-width: none; }
}
@media (max-width: 640px) {
  .block-container { padding: 4rem 1rem 2rem; }
  h1 { font-size: 1.5rem !important; }
  .st-key-finding p { font-size: 1.1rem; }
}
</style>
"""


def style() -> None:
    """The few rules that Streamlit has no setting for."""
    styles = {"{TABLES}": text_table.STYLE, "{FOLDS}": text_folds.STYLE, "{REST}": rest_of_screen.STYLE}
    st.html(re.sub(r"\{[A-Z]+\}", lambda name: styles[name[0]], STYLE))


def sidebar(screens: dict[str, list[st.Page]], settings_screen: st.Page) -> None:
    """Farm and crop years, the screens by moment, what governs, and the yield unit."""
    with st.sidebar:
        headings.of_part(shown_words.plain(on_file.state().settings.farm_name))
        st.caption(_crop_years(on_file.state().crop_years))
        with st.container(key="waiting"):
            for draft in on_file.state().waiting:
                st.page_link(
                    screens["After harvest"][0], label=shown_words.waiting_words(draft), query_params=_place(draft)
                )
        for moment, pages in screens.items():
            st.markdown(f"**{moment}**")
            for page in pages:
                st.page_link(page)
        with st.container(key="governs"):
            st.page_link(settings_screen, label=shown_words.governs(), help="Change these settings.")
        _yield_unit()


def _place(draft: Draft) -> dict[str, str]:
    """The address of the place where a draft was typed."""
    place = asdict(draft.place)
    named = {name: str(place[name]) for name in ("paper", "crop_year", "field", "plot") if place[name] is not None}
    return named | ({} if draft.place.typed_by in on_file.NO_PERSON else {"who": draft.place.typed_by})


def _yield_unit() -> None:
    st.session_state["yield_unit"] = on_file.state().settings.yield_unit
    st.selectbox(
        "Yield in",
        list(PER_BU_AC),
        key="yield_unit",
        help="Every yield and every loss is shown in this unit; no finding changes with it.",
        on_change=_keep_yield_unit,
        disabled=not on_file.may_write(),
    )
    if problem := st.session_state.pop("yield_unit_problem", None):
        st.error(shown_words.plain(problem))


def _keep_yield_unit() -> None:
    try:
        setting_form.keep_settings({"yield_unit": st.session_state["yield_unit"]}, done_by=on_file.state().done_by)
    except StandrowError as problem:
        st.session_state["yield_unit_problem"] = str(problem)


def _crop_years(years: tuple[int, ...]) -> str:
    if not years:
        return "No crop year on record yet"
    if len(years) == 1:
        return f"Crop year {years[0]}"
    return f"Crop years {years[0]} to {years[-1]}"
