"""What came in? Paper typed as it stands, understood at once, kept as a draft, saved in one action."""

import datetime
import html

import streamlit as st

from analytics.drafts import DraftPlace
from analytics.entry import PAPERS, Row
from analytics.entry_saving import button_words, came_in_words
from analytics.errors import StandrowError
from dashboard import entering, entry_place, shared, typing_keys

ALL_PLOTS = "All plots"
STYLE = """
<style>
.understood p, p.understood { color: #595959; margin: 0 0 .25rem; }
p.refused { color: #B34700; margin: 0 0 .25rem; }
p.unlikely { color: #7A5200; margin: 0 0 .25rem; }
</style>
"""


def _line(kind: str, words: str) -> None:
    st.html(f"<p class='{kind}'>{html.escape(words)}</p>")


def _which(row: Row) -> str:
    place = f"Row {row.number}"
    return f"{place}," if row.name == place.lower() else f"{place} ({row.name}),"


st.html(STYLE)
st.title("What came in?")
answer = st.container(key="finding")

start = st.session_state.get("entry_place")
if start is None:
    name = st.query_params.get("who", shared.state().done_by)
    start = entry_place.start_place(name or shared.AT_THE_SCREEN) | {"who": name}
if link := entry_place.linked():
    start = start | entry_place.place_of(link)
    for key in ("crop_year", f"plot-{start.get('crop_year')}", "paper"):
        st.session_state.pop(key, None)
papers = [paper.name for paper in PAPERS]
today = datetime.date.today()
years = sorted({*shared.state().crop_years, today.year, today.year + 1}, reverse=True)
first_year = start.get("crop_year", max(shared.state().crop_years, default=today.year))

where = st.columns(3)
entry_place.set_unless_among("crop_year", years, first_year)
year = where[0].selectbox("Crop year", years, key="crop_year", on_change=entry_place.leave_link)
plots = [f"{field}, {plot}" for field, plot in entering.plots_of(year)]
options = [*plots, ALL_PLOTS]
entry_place.set_unless_among(f"plot-{year}", options, f"{start.get('field')}, {start.get('plot')}")
chosen = where[1].selectbox("Plot", options, key=f"plot-{year}", on_change=entry_place.leave_link)
entry_place.set_unless_among("paper", papers, start.get("paper"))
paper_name = where[2].selectbox("Paper in the hand", papers, key="paper", on_change=entry_place.leave_link)
st.session_state.setdefault("who", start.get("who", ""))
name = st.text_input("Your name", key="who", max_chars=100, on_change=entry_place.name_in_address)
who = name.strip() or shared.AT_THE_SCREEN
paper = next(paper for paper in PAPERS if paper.name == paper_name)
one_field, one_plot = (None, None) if chosen == ALL_PLOTS else entering.plots_of(year)[plots.index(chosen)]
st.session_state["entry_place"] = {
    "crop_year": year,
    "field": one_field,
    "plot": one_plot,
    "paper": paper_name,
    "who": name,
}
if entering.needs_plots(paper, year):
    st.info(f"There is no plot on record for {year}. Choose Dates and stages above and type or copy the plots first.")
    st.stop()

place = DraftPlace(
    paper=paper_name,
    crop_year=year,
    field=one_field if paper.is_of_a_plot else None,
    plot=one_plot if paper.is_of_a_plot else None,
    typed_by=who,
)
one_by_one = st.toggle(
    "One at a time, in fields",
    value=True,
    key="one_by_one",
    on_change=entering.reload_sheet,
    help="Turn it off for a grid into which a block can be pasted. In the grid press Enter before typing in a cell: "
    "on a slow computer it can lose the first letters of a cell that is typed over.",
)
sheet = entering.open_sheet(paper, place)
if done := st.session_state.pop("entry_done", None):
    st.success(shared.plain(done))
if sheet.typed_at is not None:
    st.caption(f"This is your draft of {sheet.typed_at:%Y-%m-%d %H:%M}, not saved yet.")
entering.choose_units(paper, sheet)
if one_by_one:
    at = entering.choose_row(paper, sheet)
    rows = entering.large_fields(paper, sheet)
    if at != sheet.at:
        entering.go_to_row(sheet, rows, at)
        st.rerun()
else:
    rows = entering.grid(paper, sheet)
entering.keep(sheet, rows)

try:
    entry, makes = entering.read(paper, sheet, rows)
except StandrowError as problem:
    _line("refused", str(problem))
    st.stop()
answer.markdown(shared.plain(came_in_words(entry, entering.place_words(paper, place), on_record=len(sheet.loaded))))
for row, words in zip(entry.rows, makes, strict=True):
    if words:
        _line("understood", f"{row.name} {words}")
    for no in row.refused:
        _line("refused", f"{_which(row)} refused: {no}")
    if not row.is_as_before:
        for odd in row.unlikely:
            kept = f"Kept, because: {row.why}" if row.why else f'Correct it, or say why under "{entering.WHY_LABEL}".'
            _line("unlikely", f"{_which(row)} unlikely: {odd} {kept}")
for conflict in entry.conflicts:
    _line("unlikely", conflict.words)
    theirs = next(row.before for row in entry.rows if row.number == conflict.number)
    both = st.columns(2)
    with both[0]:
        entering.press(
            f"Keep mine for {conflict.name}",
            lambda conflict=conflict: sheet.mine.add(conflict.name),
            key=f"mine-{conflict.number}",
        )
    with both[1]:
        entering.press(
            f"Take what {conflict.changed_by} typed",
            lambda conflict=conflict, theirs=theirs: entering.take_theirs(
                paper, sheet, rows, conflict.number, theirs or {}
            ),
            key=f"theirs-{conflict.number}",
        )

if one_by_one:
    entering.press(f"Next {paper.noun}", lambda: entering.go_to_row(sheet, rows, entering.NEW_ROW), key="next_row")
words, lines, more = entering.offers(paper, sheet, rows)
if more:
    shared.bullets(lines)
    entering.press(words, lambda: entering.put_in(sheet, rows, more), key="put_in")


def _save() -> None:
    st.session_state["entry_done"] = entering.save(paper, sheet, rows)
    entering.reload_sheet()
    st.session_state[entering.SHEET].mine.clear()


entering.press(
    button_words(entry, entering.place_words(paper, place)),
    _save,
    key="save_entry",
    is_first=True,
    is_off=entry.touches == 0,
)
if sheet.typed_at is not None or sheet.kept is not None:
    entering.press("Throw this draft away", lambda: entering.throw_away(sheet), key="throw_away")
st.page_link("screens/gaps.py", label=f"What is missing in {year}?", query_params={"crop_year": str(year)})
if one_by_one:
    is_turned = st.session_state.pop(entering.FOCUS, False)
    st.html(typing_keys.script(sheet.number if is_turned else None), unsafe_allow_javascript=True)
