"""What is in this file? Rows looked at before anything is written, and brought in with one button."""

import datetime

import streamlit as st

from analytics.files.column_matches import is_ours
from analytics.files.importing import LookAtFiles, faults_text
from analytics.files.text_tables import LARGEST_BYTES, TextTable
from analytics.files.typed_columns import LESS
from analytics.trade import days
from analytics.trade.cautions import LABEL
from analytics.trade.numbers_as_text import count
from dashboard.after_harvest import files_in_hand, new_plots
from dashboard.after_harvest.column_choices import Chosen, carry_names_down, choose_matches, leave_rows_out
from dashboard.after_harvest.name_choices import choose_names
from dashboard.frame import folded, headings, on_file, shown_words, which_comma

NUMBER = "bring_in_number"  # goes up when the fields have to be empty again
DONE, ASKED, CUT = "bring_in_done", "bring_in_asked", "bring_in_cut"  # said once, after what was done
YEARS = "bring_in_years"  # for whose plots pairs are offered after it
READ = ["csv", "txt", "tsv", "xlsx", "xlsm", "zip"]
TYPES = [*READ, "xls", "ods", "numbers", "xlsb"]  # what is not read is told how to be saved
FAULTS_SHOWN = 20
FIRST_ROWS = 6
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
            years = sorted({*on_file.state().crop_years, this_year, this_year + 1}, reverse=True)
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


def _which_column_is_which(at: int, text: TextTable) -> list[Chosen]:
    key = f"match-{number}-{at}"
    headings.of_part(shown_words.plain(f"{text.label}: which column is which?"))
    text = carry_names_down(leave_rows_out(text, key), key)
    with st.expander("The first rows, as they were read"):
        st.dataframe(text.cells.head(FIRST_ROWS), hide_index=True)
    found = choose_matches(text, known, key)
    main = found[0]
    if main.match is None:
        st.caption("Nothing is taken from these rows. Say above what they are, if they are any of these.")
        return found
    with st.container():  # there in every run, so that nothing below it moves
        taken = {header for one in found if one.match for header in one.match.columns.values()}
        if left := [header for header in main.match.not_read(text.cells.columns) if header not in taken]:
            st.caption(shown_words.plain(f"Not read: {', '.join(left)}."))
        for problem in (problem for one in found for problem in one.problems):
            st.warning(shown_words.plain(problem))
    name = st.text_input("Keep this match for next year as", key=f"{key}-name", max_chars=100).strip()
    if st.button("Keep this match", key=f"{key}-keep", disabled=not (name and on_file.may_write())):
        files_in_hand.keep_chosen_match(name, main.match, done_by=who)
        st.session_state[DONE] = [f"The match is kept as {name}."]
        st.rerun()
    return found


def _faults(looked: LookAtFiles) -> None:
    faults = [str(fault) for fault in files_in_hand.worded(looked.plan.faults, chosen)]
    shown_words.bullets(faults[:FAULTS_SHOWN])
    if more := faults[FAULTS_SHOWN:]:
        with st.expander(f"{count(len(more), 'more fault')}"):
            shown_words.bullets(more)
    if looked.plan.fault_count > len(faults):
        more_words = count(looked.plan.fault_count - len(faults), "more fault")
        st.caption(f"{more_words} not named. Put these right and look again.")


def _cut_too_soon(doubts: tuple[str, ...]) -> None:
    if doubts:
        st.warning(f"{days.HEADING}:")
        shown_words.bullets([*doubts, LABEL])


def _worth_a_look(looked: LookAtFiles) -> None:
    incoming = looked.incoming
    _cut_too_soon(looked.sound.interval_doubts)
    if incoming.questions:
        with st.expander(f"Possible, but worth a look: {count(incoming.question_count, 'value')}"):
            shown_words.bullets(str(question) for question in files_in_hand.worded(incoming.questions, chosen))
    if looked.plan.alike_names:
        st.warning("Names that look alike:")
        shown_words.bullets(looked.plan.alike_names)
    if incoming.remarks:
        with st.expander("How the files were read"):
            shown_words.bullets(incoming.remarks)


def _rows(looked: LookAtFiles) -> None:
    worded = files_in_hand.worded(looked.plan.faults, chosen)
    for name, parts in looked.incoming.checked.items():
        headings.of_part(name)
        for one in parts:
            st.caption(shown_words.plain(files_in_hand.counts(looked, one)))
            rows = files_in_hand.marked_rows(looked, one, worded)
            numbers = [column.name for column in one.table.columns if "number" in column.kind]
            right = {column: st.column_config.TextColumn(alignment="right") for column in ("row", *numbers)}
            st.dataframe(rows, hide_index=True, column_config=right)


def _bring_in(looked: LookAtFiles) -> None:
    files = dict.fromkeys(one.text.label for one in chosen if not one.is_left_out)
    brought = files_in_hand.save_files(looked, done_by=who, files=list(files), reason=reason)
    if faults := faults_text(brought):
        st.error(shown_words.plain(faults))
        return
    st.session_state[DONE] = files_in_hand.statement(brought)
    st.session_state[ASKED] = files_in_hand.asked_about(brought)
    st.session_state[CUT] = brought.plan.interval_doubts
    st.session_state[YEARS] = files_in_hand.crop_years(brought)
    st.session_state[NUMBER] += 1
    files_in_hand.forget_files()
    st.rerun()


headings.of_screen("What is in this file?")
number = st.session_state.setdefault(NUMBER, 0)
with st.container():
    if done := st.session_state.pop(DONE, None):
        st.success(shown_words.plain(done[0]))
        shown_words.bullets(done[1:])
    _cut_too_soon(st.session_state.pop(CUT, ()))
    if asked := st.session_state.pop(ASKED, None):
        st.warning("Saved, but worth a look:")
        shown_words.bullets(asked)
with st.container(key="finding"):
    answer = st.empty()
    answer.markdown("No file is here yet: choose one, or paste a block.")
st.markdown("Nothing is written until you press the button under the rows. It says how many rows it adds and changes.")
uploads = st.file_uploader(
    f"CSV files, a ZIP of them, or a workbook (.xlsx), up to {LARGEST_BYTES // 2**20} MB together",
    type=TYPES,
    accept_multiple_files=True,
    key=f"files-{number}",
    help="As they are: titles above the column names and totals below are found, shown and left out.",
)
with st.expander("Or paste a block copied from a spreadsheet"):
    pasted = st.text_area("Rows, with the names of the columns on top", key=f"pasted-{number}", height=160)
_files_to_fill_in()
who = st.text_input("Your name", on_file.state().done_by, key="who", max_chars=100).strip() or on_file.AT_THE_SCREEN

found = files_in_hand.read_given(uploads, pasted)
if found is None:
    for crop_year in st.session_state.get(YEARS, ()):
        new_plots.offer_pairs(crop_year, done_by=who, heading=f"Plots of {crop_year} that could be pairs")
    files_in_hand.forget_files()
    st.stop()
contents, kept_under = found
known = files_in_hand.kept_file_matches(kept_under)
chosen = [
    one
    for at, text in enumerate(contents.tables)
    for one in ([Chosen(text=text)] if is_ours(text) else _which_column_is_which(at, text))
]
if any(one.problems for one in chosen):
    answer.markdown("First say which column is which.")
    st.stop()
reason = ""
if any(text.name == "settings" for text in contents.tables):
    reason = st.text_input("Why do the settings change? (needed for what is fixed before looking)", key="reason")
if contents.tables and all(one.is_left_out for one in chosen):
    answer.markdown("Nothing of it is understood yet: say below what the rows are.")
    st.stop()
names = choose_names(chosen, f"name-{number}")
looked = files_in_hand.look_at_files(contents, chosen, names, kept_under, reason=reason)
answer.markdown(files_in_hand.rows_headline(looked))
with st.container():
    if looked.plan.fault_count:
        headings.of_part("Put these right first")
        which_comma.ask((part for fault in looked.plan.faults for part in fault.given.split(LESS)), key="files")
        _faults(looked)
    _worth_a_look(looked)
_rows(looked)
is_off = bool(looked.plan.fault_count) or looked.plan.is_empty or not on_file.may_write()
is_as_shown = files_in_hand.is_as_shown()
if st.button(files_in_hand.bring_in_button_words(looked), type="primary", key="bring_in", disabled=is_off):
    if is_as_shown:
        _bring_in(looked)
    else:
        st.warning("The rows or the records changed since you looked. Nothing was written. Look at the rows again.")
