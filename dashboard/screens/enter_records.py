"""What came in? Paper typed as it stands, understood at once, kept as a draft, saved in one action."""

import datetime
import html
from functools import partial

import streamlit as st

from analytics.entry.saving import button_words, came_in_words
from analytics.entry.typed_rows import Row
from analytics.errors import StandrowError
from analytics.records.papers import PAPERS
from analytics.storage.drafts import DraftPlace
from analytics.trade.cautions import HEATING
from dashboard.after_harvest import entry_sheet, first_place, typing_keys
from dashboard.frame import shared

ALL_PLOTS = "All plots"
MARKS = {"refused": "<span aria-hidden='true'>✕ </span>", "unlikely": "<span aria-hidden='true'>? </span>"}
STYLE = """
<style>
.understood p, p.understood { color: #595959; margin: 0 0 .25rem; }
p.refused, p.unlikely { color: #111111; font-weight: 700; margin: 0 0 .25rem; }
</style>
"""


def _line(kind: str, words: str) -> None:
    mark = MARKS.get(kind, "")
    st.html(f"<p class='{kind}'>{mark}{html.escape(words)}</p>")


def _which(row: Row) -> str:
    place = f"Row {row.number}"
    return f"{place}," if row.name == place.lower() else f"{place} ({row.name}),"


st.html(STYLE)
st.title("What came in?")
answer = st.container(key="finding")

start = st.session_state.get("entry_place")
if start is None:
    name = st.query_params.get("who", shared.state().done_by)
    start = first_place.start_place(name or shared.AT_THE_SCREEN) | {"who": name}
if link := first_place.linked():
    start = start | first_place.place_of(link)
    for key in ("crop_year", f"plot-{start.get('crop_year')}", "paper"):
        st.session_state.pop(key, None)
papers = list(PAPERS)
today = datetime.date.today()
years = sorted({*shared.state().crop_years, today.year, today.year + 1}, reverse=True)
first_year = start.get("crop_year", max(shared.state().crop_years, default=today.year))

where = st.columns(3)
first_place.set_unless_among("crop_year", years, first_year)
year = where[0].selectbox("Crop year", years, key="crop_year", on_change=first_place.leave_link)
plots = [f"{field}, {plot}" for field, plot in entry_sheet.plots_of(year)]
options = [*plots, ALL_PLOTS]
first_place.set_unless_among(f"plot-{year}", options, f"{start.get('field')}, {start.get('plot')}")
chosen = where[1].selectbox("Plot", options, key=f"plot-{year}", on_change=first_place.leave_link)
first_place.set_unless_among("paper", papers, start.get("paper"))
paper = PAPERS[
    where[2].selectbox(
        "What are you typing in?",
        papers,
        format_func=lambda key: PAPERS[key].name,
        key="paper",
        on_change=first_place.leave_link,
    )
]
st.session_state.setdefault("who", start.get("who", ""))
name = st.text_input("Your name", key="who", max_chars=100, on_change=first_place.name_in_address)
who = name.strip() or shared.AT_THE_SCREEN
one_field, one_plot = (None, None) if chosen == ALL_PLOTS else entry_sheet.plots_of(year)[plots.index(chosen)]
st.session_state["entry_place"] = {
    "crop_year": year,
    "field": one_field,
    "plot": one_plot,
    "paper": paper.key,
    "who": name,
}
if entry_sheet.needs_plots(paper, year):
    st.info(
        f"There is no plot on record for {year}. Choose {PAPERS['plots'].name} above and type or copy the plots first."
    )
    st.stop()

place = DraftPlace(
    paper=paper.key,
    crop_year=year,
    field=one_field if paper.is_of_a_plot else None,
    plot=one_plot if paper.is_of_a_plot else None,
    typed_by=who,
)
one_by_one = st.toggle(
    "One at a time, in large boxes",
    value=True,
    key="one_by_one",
    on_change=entry_sheet.reload_sheet,
    help="Turn it off for a grid into which a block can be pasted. In the grid press Enter before typing in a cell: "
    "on a slow computer it can lose the first letters of a cell that is typed over.",
)
sheet = entry_sheet.open_sheet(paper, place)
if paper.table.caution:
    st.markdown(shared.plain(paper.table.caution))
if done := st.session_state.pop("entry_done", None):
    st.success(shared.plain(done))
if sheet.typed_at is not None:
    st.caption(f"This is your draft of {sheet.typed_at:%Y-%m-%d %H:%M}, not saved yet.")
entry_sheet.choose_units(paper, sheet)
if one_by_one:
    at = entry_sheet.choose_row(paper, sheet)
    rows = entry_sheet.large_fields(paper, sheet)
    if at != sheet.at:
        entry_sheet.go_to_row(sheet, rows, at)
        st.rerun()
else:
    rows = entry_sheet.grid(paper, sheet)
if st.session_state.get("save_entry"):  # the button below was pressed: what it stands beside is saved, not looked at
    st.session_state["entry_done"] = entry_sheet.save(paper, sheet, rows)
    st.rerun()
entry_sheet.keep(sheet, rows)

try:
    look = entry_sheet.look(paper, sheet, rows)
except StandrowError as problem:
    _line("refused", str(problem))
    st.stop()
entry = look.entry
answer.markdown(shared.plain(came_in_words(entry, entry_sheet.place_words(paper, place), on_record=len(sheet.loaded))))
for row, words in zip(entry.rows, look.makes, strict=True):
    if words:
        _line("understood", f"{row.name} {words}")
    for no in row.refused:
        _line("refused", f"{_which(row)} refused: {no}")
    if not row.is_as_before:
        for odd in row.unlikely:
            kept = (
                f"Kept, because: {row.why}" if row.why else f'Correct it, or say why under "{entry_sheet.WHY_LABEL}".'
            )
            _line("unlikely", f"{_which(row)} unlikely: {odd} {kept}")
if look.may_heat:
    st.markdown(shared.plain(HEATING))
for conflict in entry.conflicts:
    _line("unlikely", conflict.words)
    theirs = next(row.before for row in entry.rows if row.number == conflict.number)
    both = st.columns(2)
    with both[0]:
        entry_sheet.press(
            f"Keep mine for {conflict.name}",
            partial(sheet.mine.add, conflict.name),
            key=f"mine-{conflict.number}",
        )
    with both[1]:
        entry_sheet.press(
            f"Take what {conflict.changed_by} typed",
            partial(entry_sheet.take_theirs, paper, sheet, rows, conflict.number, theirs or {}),
            key=f"theirs-{conflict.number}",
        )

if one_by_one:
    entry_sheet.press(
        f"Next {paper.noun}", lambda: entry_sheet.go_to_row(sheet, rows, entry_sheet.NEW_ROW), key="next_row"
    )
if look.offered:
    shared.bullets(look.offer_lines)
    entry_sheet.press(look.offer_words, lambda: entry_sheet.put_in(sheet, rows, look.offered), key="put_in")
st.button(
    shared.plain(button_words(entry, entry_sheet.place_words(paper, place))),
    key="save_entry",
    type="primary",
    disabled=entry.touches == 0 or not shared.may_write(),
)
if sheet.typed_at is not None or sheet.kept is not None:
    entry_sheet.press("Throw this draft away", lambda: entry_sheet.throw_away(sheet), key="throw_away")
st.page_link("screens/gaps.py", label=f"What is missing in {year}?", query_params={"crop_year": str(year)})
if one_by_one:
    is_turned = st.session_state.pop(entry_sheet.FOCUS, False)
    st.html(typing_keys.script(sheet.number if is_turned else None), unsafe_allow_javascript=True)
