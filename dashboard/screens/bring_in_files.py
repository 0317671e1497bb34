"""What is in this file? Rows looked at before anything is written, and brought in with one button."""

import datetime

import streamlit as st

from analytics.files.column_matches import is_ours
from analytics.files.importing import LookAtFiles, faults_text
from analytics.files.text_tables import LARGEST_BYTES, TextTable
from analytics.trade import days
from analytics.trade.cautions import LABEL
from analytics.trade.numbers_as_text import count
from dashboard.after_harvest import files_in_hand
from dashboard.after_harvest.column_choices import Chosen, choose_match
from dashboard.frame import folded, shared, which_comma

NUMBER = "bring_in_number"  # goes up when the fields have to be empty again
DONE, ASKED, CUT = "bring_in_done", "bring_in_asked", "bring_in_cut"  # said once, after what was done
READ = ["csv", "txt", "tsv", "xlsx", "xlsm", "zip"]
TYPES = [*READ, "xls", "ods", "numbers", "xlsb"]  # what is not read is told how to be saved
FAULTS_SHOWN = 20
ZIP, XLSX = "application/zip", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def _files_to_fill_in() -> None:
    if part := folded.unfolded("Files to fill in", key="files_to_fill_in"):
        with part:
            st.markdown(
                "A blank cell means unknown. What each column means is in README, in the ZIP and in the workbook."
            )
            pack, book = files_in_hand.empty_templates()
            _downloads("Empty", "empty", pack, book)
            this_year = datetime.date.today().year
            years = sorted({*shared.state().crop_years, this_year, this_year + 1}, reverse=True)
            year = st.selectbox(
                "With the fields and plots of", years, index=years.index(this_year), key="template_year"
            )
            pack, book = files_in_hand.filled_templates(year)
            _downloads(f"Filled for {year}", f"filled-{year}", pack, book)
            st.caption(
                "A filled one has the fields, the plots of that crop year (of the last one before where it has none "
                "yet), and a row for each plot in loads, samples and loss checks; those that stay empty are passed "
                "over."
            )


def _downloads(words: str, name: str, pack: bytes, book: bytes) -> None:
    left, right = st.columns(2)
    left.download_button(f"{words}: CSV files in a ZIP", pack, f"{name}.zip", ZIP, key=f"zip-{name}", on_click="ignore")
    right.download_button(f"{words}: workbook", book, f"{name}.xlsx", XLSX, key=f"xlsx-{name}", on_click="ignore")


def _which_column_is_which(at: int, text: TextTable) -> Chosen:
    key = f"match-{number}-{at}"
    st.header(shared.plain(f"{text.label}: which column is which?"))
    chosen = choose_match(text, known, key)
    if chosen.match is None:
        return chosen
    with st.container():  # there in every run, so that nothing below it moves
        if left := chosen.match.not_read(text.cells.columns):
            st.caption(shared.plain(f"Not read: {', '.join(left)}."))
        for problem in chosen.problems:
            st.warning(shared.plain(problem))
    name = st.text_input("Keep this match for next year as", key=f"{key}-name", max_chars=100).strip()
    if st.button("Keep this match", key=f"{key}-keep", disabled=not (name and shared.may_write())):
        files_in_hand.keep_chosen_match(name, chosen.match, done_by=who)
        st.session_state[DONE] = [f"The match is kept as {name}."]
        st.rerun()
    return chosen


def _faults(looked: LookAtFiles) -> None:
    faults = [str(fault) for fault in files_in_hand.worded(looked.plan.faults, chosen)]
    shared.bullets(faults[:FAULTS_SHOWN])
    if more := faults[FAULTS_SHOWN:]:
        with st.expander(f"{count(len(more), 'more fault')}"):
            shared.bullets(more)
    if looked.plan.fault_count > len(faults):
        more_words = count(looked.plan.fault_count - len(faults), "more fault")
        st.caption(f"{more_words} not named. Put these right and look again.")


def _cut_too_soon(doubts: tuple[str, ...]) -> None:
    if doubts:
        st.warning(f"{days.HEADING}:")
        shared.bullets([*doubts, LABEL])


def _worth_a_look(looked: LookAtFiles) -> None:
    incoming = looked.incoming
    _cut_too_soon(looked.sound.interval_doubts)
    if incoming.questions:
        with st.expander(f"Possible, but worth a look: {count(incoming.question_count, 'value')}"):
            shared.bullets(str(question) for question in files_in_hand.worded(incoming.questions, chosen))
    if looked.plan.alike_names:
        st.warning("Names that look alike:")
        shared.bullets(looked.plan.alike_names)
    if incoming.remarks:
        with st.expander("How the files were read"):
            shared.bullets(incoming.remarks)


def _rows(looked: LookAtFiles) -> None:
    for name in looked.sound.tables:
        st.header(name)
        st.caption(shared.plain(files_in_hand.counts(looked, name)))
        rows = files_in_hand.marked_rows(looked, name, files_in_hand.worded(looked.plan.faults, chosen))
        numbers = [column.name for column in looked.incoming.checked[name].table.columns if "number" in column.kind]
        right = {column: st.column_config.TextColumn(alignment="right") for column in ("row", *numbers)}
        st.dataframe(rows, hide_index=True, column_config=right)


def _bring_in(looked: LookAtFiles) -> None:
    files = [one.text.label for one in chosen if not one.is_left_out]
    brought = files_in_hand.save_files(looked, done_by=who, files=files, reason=reason)
    if faults := faults_text(brought):
        st.error(shared.plain(faults))
        return
    st.session_state[DONE] = files_in_hand.statement(brought)
    st.session_state[ASKED] = files_in_hand.asked_about(brought)
    st.session_state[CUT] = brought.plan.interval_doubts
    st.session_state[NUMBER] += 1
    files_in_hand.forget_files()
    st.rerun()


st.title("What is in this file?")
number = st.session_state.setdefault(NUMBER, 0)
with st.container():
    if done := st.session_state.pop(DONE, None):
        st.success(shared.plain(done[0]))
        shared.bullets(done[1:])
    _cut_too_soon(st.session_state.pop(CUT, ()))
    if asked := st.session_state.pop(ASKED, None):
        st.warning("Saved, but worth a look:")
        shared.bullets(asked)
with st.container(key="finding"):
    answer = st.empty()
    answer.markdown("No file is here yet: choose one, or paste a block.")
st.markdown("Nothing is written until you press the button under the rows. It says how many rows it adds and changes.")
uploads = st.file_uploader(
    f"CSV files, a ZIP of them, or a workbook (.xlsx), up to {LARGEST_BYTES // 2**20} MB together",
    type=TYPES,
    accept_multiple_files=True,
    key=f"files-{number}",
    help="The first row that is not blank must hold the column names. Take out titles above it and totals below.",
)
with st.expander("Or paste a block copied from a spreadsheet"):
    pasted = st.text_area("Rows, with the names of the columns on top", key=f"pasted-{number}", height=160)
_files_to_fill_in()
who = st.text_input("Your name", shared.state().done_by, key="who", max_chars=100).strip() or shared.AT_THE_SCREEN

found = files_in_hand.read_given(uploads, pasted)
if found is None:
    files_in_hand.forget_files()
    st.stop()
contents, kept_under = found
known = files_in_hand.kept_file_matches(kept_under)
chosen = [
    Chosen(text=text) if is_ours(text) else _which_column_is_which(at, text) for at, text in enumerate(contents.tables)
]
if any(one.problems for one in chosen):
    answer.markdown("First say which column is which.")
    st.stop()
reason = ""
if any(text.name == "settings" for text in contents.tables):
    reason = st.text_input("Why do the settings change? (needed for what is fixed before looking)", key="reason")
looked = files_in_hand.look_at_files(contents, chosen, kept_under, reason=reason)
answer.markdown(files_in_hand.rows_headline(looked))
with st.container():
    if looked.plan.fault_count:
        st.header("Put these right first")
        which_comma.ask((fault.given for fault in looked.plan.faults), key="files")
        _faults(looked)
    _worth_a_look(looked)
_rows(looked)
is_off = bool(looked.plan.fault_count) or looked.plan.is_empty or not shared.may_write()
is_as_shown = files_in_hand.is_as_shown()
if st.button(files_in_hand.bring_in_button_words(looked), type="primary", key="bring_in", disabled=is_off):
    if is_as_shown:
        _bring_in(looked)
    else:
        st.warning("The rows or the records changed since you looked. Nothing was written. Look at the rows again.")
