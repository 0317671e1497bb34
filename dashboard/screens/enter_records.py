"""What came in? Paper typed as it stands, understood at once, kept as a draft, saved in one action."""

import datetime
from functools import partial

import streamlit as st

from analytics.entry.saving import came_in_words
from analytics.errors import StandrowError
from analytics.records.last_season import harvest_before
from analytics.records.papers import PAPERS, Paper
from analytics.storage.drafts import DraftPlace
from analytics.trade.cautions import HEATING
from analytics.trade.numbers_as_text import count
from dashboard.after_harvest import entry_acts, entry_look, entry_pad, entry_sheet, first_place, new_plots
from dashboard.after_harvest.entry_sheet import Sheet
from dashboard.frame import headings, on_file, shown_words, which_comma

ALL_PLOTS = "All plots"
FIRST_YEAR = 1990  # crop years before it come as a file; our choice, no source

headings.of_screen("What came in?")
answer = st.container(key="finding").empty()

entry_pad.hear()
today = datetime.date.today()
years = [*range(today.year + 1, FIRST_YEAR - 1, -1)]
start = st.session_state.get("entry_place")
if start is None:
    name = st.query_params.get("who", on_file.state().done_by)
    start = first_place.start_place(name or on_file.AT_THE_SCREEN) | {"who": name}
if link := first_place.linked():
    start = start | {"field": None, "plot": None} | first_place.place_in_link(link)
    if "who" in link:
        st.session_state["who"] = link["who"]
    st.session_state["entry_year_refused"] = first_place.year_refused(link, years)
moved = st.session_state.pop(first_place.ONWARD, {})
start = start | moved
boxes = {"crop_year": "crop_year", "plot": f"plot-{start.get('crop_year')}", "paper": "paper"}
for part, key in boxes.items():
    if link or part in moved:  # what a move does not name stays as it was chosen, be it a moment ago
        st.session_state.pop(key, None)
if refused := st.session_state.get("entry_year_refused"):
    st.info(shown_words.plain(refused))

where = st.columns(3)
first_place.set_unless_among("crop_year", years, start.get("crop_year"), otherwise=harvest_before(today))
year = where[0].selectbox("Crop year", years, key="crop_year", on_change=first_place.choose_plot)
plots = entry_sheet.plots_of(year)
names = {f"{field}, {plot}": (field, plot) for field, plot in plots} | {ALL_PLOTS: (None, None)}
is_of_all = (
    start.get("field") is None
    and start.get("crop_year") == year
    and PAPERS.get(str(start.get("paper")), PAPERS["plots"]).is_of_a_plot
)
first = ALL_PLOTS if is_of_all and start.get("paper") else f"{start.get('field')}, {start.get('plot')}"
first_place.set_unless_among(f"plot-{year}", list(names), first)
one_field, one_plot = names[
    where[1].selectbox("Plot", list(names), key=f"plot-{year}", on_change=first_place.choose_plot)
]
first_place.set_unless_among("paper", list(PAPERS), start.get("paper"))
paper = PAPERS[
    where[2].selectbox(
        "What are you typing in?",
        list(PAPERS),
        format_func=lambda key: PAPERS[key].name,
        key="paper",
        on_change=first_place.choose_place,
    )
]
st.session_state.setdefault("who", start.get("who", ""))
name = st.text_input("Your name", key="who", max_chars=100)
place = DraftPlace(
    paper=paper.key,
    crop_year=year,
    field=one_field if paper.is_of_a_plot else None,
    plot=one_plot if paper.is_of_a_plot else None,
    typed_by=name.strip() or on_file.AT_THE_SCREEN,
)
st.session_state["entry_place"] = {
    "crop_year": year,
    "field": one_field,
    "plot": one_plot,
    "paper": paper.key,
    "who": name,
}
first_place.name_in_address(st.session_state["entry_place"])
if entry_sheet.needs_plots(paper, year):
    answer.markdown(f"There is no plot on record for {year}. Say which one the first paper is from.")
    new_plots.new_plot(year, done_by=place.typed_by)
    st.page_link(
        "screens/enter_records.py",
        label=f"Or type or copy all plots of {year}",
        query_params={"paper": "plots", "crop_year": str(year)},
    )
    st.stop()
one_by_one = st.toggle(
    "One at a time, in large boxes",
    value=True,
    key="one_by_one",
    help="Turn it off for a grid. A block from a spreadsheet can be pasted into either.",
)


@st.fragment
def typing(paper: Paper, place: DraftPlace, one_by_one: bool) -> None:
    """The pad and what belongs to it; run by itself while somebody types, so that nothing else is drawn anew."""
    try:
        _type(paper, place, one_by_one=one_by_one)
    except StandrowError as problem:
        st.error(shown_words.plain(str(problem)))


def _type(paper: Paper, place: DraftPlace, *, one_by_one: bool) -> None:
    entry_pad.hear()
    sheet = entry_sheet.open_sheet(paper, place)
    pressed = entry_pad.pressed(sheet)
    if pressed == "save":
        try:
            entry_acts.save_sheet(paper, sheet)
        except StandrowError as problem:
            st.error(shown_words.plain(str(problem)))
        else:
            st.rerun()
    if pressed == "stray":
        entry_acts.keep_stray(sheet, entry_pad.stray_rows())
    if pressed == "onward" and sheet.look and (onward := sheet.look.next_place):
        first_place.go_to(str(onward.field), str(onward.plot))
    if first_place.ONWARD in st.session_state:  # a run that was broken off may have left it
        st.rerun()
    if paper.table.caution:
        st.markdown(shown_words.plain(paper.table.caution))
    look = entry_look.look_at_rows(paper, sheet)
    words = came_in_words(look.entry, entry_sheet.place_words(paper, place), on_record=len(sheet.loaded))
    answer.markdown(shown_words.plain(words))
    entry_pad.show_pad(paper, sheet, look, one_by_one=one_by_one)
    numbers = [column.name for column in paper.table.columns if "number" in column.kind]
    for lack in look.lacks:
        st.markdown(shown_words.plain(lack))
    which_comma.ask((text for row in sheet.rows for name, text in row.items() if name in numbers), key="entry")
    if look.may_heat:
        st.markdown(shown_words.plain(HEATING))
    if sheet.draft is not None:  # under the pad, as all that comes and goes while somebody types
        st.caption(f"This is your draft of {sheet.draft.typed_at:%Y-%m-%d %H:%M}, not saved yet.")
    _other_drafts(paper, sheet)
    _conflicts(paper, sheet, look)
    for at, (offer, rows) in enumerate(look.offers.items()):
        entry_acts.press(offer, partial(entry_acts.put_in, sheet, rows), key=f"put_in-{at}")
    _throwing_away(paper, sheet)


def _other_drafts(paper: Paper, sheet: Sheet) -> None:
    """Drafts that another window keeps at this place: both are kept, and each can be taken in here."""
    for at, other in enumerate(sheet.others):
        rows = count(other.waiting, paper.noun)
        st.info(
            shown_words.plain(
                f"Another window typed here as well: {rows}, {other.typed_at:%Y-%m-%d %H:%M}. Both are kept."
            )
        )
        entry_acts.press(f"Take its {rows} in here", partial(entry_acts.take_in, sheet, other), key=f"take_in-{at}")


def _conflicts(paper: Paper, sheet: Sheet, look: entry_sheet.Look) -> None:
    """Rows that somebody else changed since they were loaded: both values, and a choice."""
    for conflict in look.entry.conflicts:
        st.warning(shown_words.plain(conflict.words))
        theirs = next(row.before for row in look.entry.rows if row.number == conflict.number)
        both = st.columns(2)
        with both[0]:
            keep_mine = partial(sheet.mine.add, conflict.name)
            entry_acts.press(f"Keep mine for {conflict.name}", keep_mine, key=f"mine-{conflict.number}")
        with both[1]:
            take = partial(entry_acts.take_theirs, paper, sheet, conflict.number, theirs or {})
            entry_acts.press(f"Take what {conflict.changed_by} typed", take, key=f"theirs-{conflict.number}")


def _throwing_away(paper: Paper, sheet: Sheet) -> None:
    """Asked before, and undone after."""
    if sheet.draft is not None:
        rows = count(sheet.draft.waiting, paper.noun)
        if st.session_state.get("entry_throwing") == sheet.draft.mark:
            st.warning(f"Throw away {rows} typed here and not saved?")
            entry_acts.press(
                f"Yes, throw {rows} away", partial(entry_acts.throw_sheet_away, sheet), key="throw_away_yes"
            )
            entry_acts.press("No, keep the draft", partial(_ask_about, None), key="throw_away_no")
        else:
            entry_acts.press("Throw this draft away", partial(_ask_about, sheet.draft.mark), key="throw_away")
    if sheet.thrown is not None:
        rows = count(sheet.thrown.waiting, paper.noun)
        st.caption(f"{rows} thrown away here, typed {sheet.thrown.typed_at:%Y-%m-%d %H:%M}.")
        entry_acts.press(f"Bring {rows} back", partial(entry_acts.bring_sheet_back, sheet.thrown), key="bring_back")


def _ask_about(mark: str | None) -> None:
    st.session_state["entry_throwing"] = mark


typing(paper, place, one_by_one)
new_plots.pairs_here(year, done_by=place.typed_by)
if paper.is_of_a_plot:
    with st.expander(f"Another plot of {year}", key="another_plot"):
        new_plots.new_plot(year, done_by=place.typed_by)
st.page_link("screens/gaps.py", label=f"What is missing in {year}?", query_params={"crop_year": str(year)})
