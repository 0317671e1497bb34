"""Are the records safe? The state of the records, every change and its undo, backups, and everything as files."""

from collections.abc import Callable
from datetime import date
from typing import TypeVar

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from analytics.errors import Damaged
from analytics.health import health_lines
from analytics.storage.acts import Act, Search, table_words
from analytics.storage.undoing import Undo, conflict_lines
from analytics.storage.undoing import undo_lines as undo_lines
from analytics.trade.cautions import BINS, LABEL
from analytics.trade.numbers_as_text import count
from dashboard.frame import folded, headings, on_file, shown_words
from dashboard.frame.text_table import text_table
from dashboard.the_records import acts_and_backups

Option = TypeVar("Option", int, str)

PAGE = "acts_page"
EVERY = ""  # no field, table or person is called that
ZIP, XLSX = "application/zip", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
IN_AN_EXPORT = (
    "In it: every table of the records, the settings, own cost rates, planning rules, draws, distances and how the "
    "columns of other files match. Both import again to the same records. Not in it: the history and what is typed and "
    "not saved yet; a backup holds these too."
)


def _state() -> None:
    health = acts_and_backups.read_health()
    with st.container(key="finding"):
        st.markdown(shown_words.plain(health.first_line))
    st.caption(f"Every row of the file and of the newest backup was read at {health.read_at:%H:%M:%S}.")
    shown_words.bullets(health.mended)
    shown_words.bullets(health.failed)
    if health.interval_doubts:
        shown_words.bullets([*health.interval_doubts, LABEL])
    if health.bin_alarms:
        shown_words.bullets([*health.bin_alarms, BINS])
        st.page_link("screens/bins.py", label="Is the bin safe to leave?")
    if part := folded.unfolded("The file", key="the_file"):
        with part:
            shown_words.bullets(health_lines(health))


def _first_page() -> None:
    st.session_state[PAGE] = 1


def _search() -> Search:
    part = folded.unfolded("Search", key="search")
    if part is None:
        return Search()
    found = acts_and_backups.read_choices()
    year, field, table, person = part.columns(4)
    return Search(
        crop_year=_wanted(year, "Crop year", "All crop years", found.crop_years, str),
        field=_wanted(field, "Field", "All fields", found.fields, str),
        table=_wanted(table, "Table", "All tables", found.tables, table_words),
        done_by=_wanted(person, "Person", "Everybody", found.people, str),
    )


def _wanted(
    place: DeltaGenerator, label: str, all_of_them: str, options: tuple[Option, ...], words: Callable[[Option], str]
) -> Option | None:
    """What was chosen to search for; None is all."""
    chosen = place.selectbox(
        label,
        [EVERY, *options],
        format_func=lambda one: all_of_them if one == EVERY else words(one),
        key=f"acts {label}",
        on_change=_first_page,
    )
    return next((option for option in options if option == chosen), None)


def _history() -> None:
    headings.of_part("Every change so far")
    if not on_file.state().last_act:
        st.markdown("Nothing has been changed yet.")
        return
    search = _search()
    found = acts_and_backups.acts_found(search)
    st.caption(f"{count(found, 'act')} found, newest first." if found else "No act is found; widen the search.")
    pages = max(1, -(-found // acts_and_backups.ACTS_SHOWN))
    page = st.pagination(pages, key=PAGE, max_visible_pages=5) if pages > 1 else 1
    for act in acts_and_backups.acts_of(search, page):
        unfolded = st.expander(shown_words.plain(act.words), key=f"act {act.act_id}", on_change="rerun")
        if unfolded.open:
            with unfolded:
                _act(act, search)


def _act(act: Act, search: Search) -> None:
    st.markdown(shown_words.plain(f"Why: {act.why or 'not said'}."))
    page = st.session_state.get(f"changes {act.act_id}", 1)
    changed, total = acts_and_backups.page_of_changes(act, search, page)
    shown_words.bullets(changed, none="It changed no record.")
    pages = -(-total // acts_and_backups.CHANGES_SHOWN)
    if pages > 1:
        st.pagination(pages, key=f"changes {act.act_id}", max_visible_pages=5)
    planned = st.session_state.get(acts_and_backups.UNDO)
    if planned is not None and planned.act_id == act.act_id:
        _undo(planned)
    elif act.rows and st.button("What would undoing it touch?", key=f"look {act.act_id}"):
        acts_and_backups.do(lambda: acts_and_backups.look_at_undo(act))


def _undo(planned: Undo) -> None:
    st.markdown(shown_words.plain(f"{planned.words}{':' if planned.rows else ''}"))
    shown_words.bullets(undo_lines(planned, most=acts_and_backups.UNDO_LINES))
    if planned.conflicts:
        st.warning("Later acts changed some of it since. Undo those first, or let their changes to these records go:")
        shown_words.bullets(conflict_lines(planned, most=acts_and_backups.UNDO_LINES))
    if not planned.rows:
        return
    with st.form(f"undo {planned.act_id}", border=False):
        over_later = bool(planned.conflicts) and st.checkbox("Let the later changes go", key="over_later")
        name = st.text_input("Your name", on_file.state().done_by, key="undo_name", max_chars=100)
        why = st.text_input("Why", key="undo_why", max_chars=1000)
        pressed = st.form_submit_button(
            f"Undo act {planned.act_id}", key="undo", type="primary", disabled=not on_file.may_write()
        )
    if st.button("Do nothing", key="leave_undo"):
        acts_and_backups.do(acts_and_backups.leave_undo)
    if pressed:
        acts_and_backups.do(lambda: acts_and_backups.undo_planned(planned, name=name, why=why, over_later=over_later))


def _backups() -> None:
    headings.of_part("Backups")
    st.markdown(
        "One is made on each day of use and before files are brought in or a backup is restored. The newest 20 are "
        "kept, the last of each of thirty days and the last of each season, in a folder beside the records."
    )
    if st.button("Make a backup now", key="make_backup", disabled=not on_file.may_write()):
        acts_and_backups.do(acts_and_backups.make_one)
    made = acts_and_backups.read_backups()
    if not made:
        st.markdown("There is no backup yet.")
        return
    text_table(acts_and_backups.backup_rows())
    chosen = st.selectbox("Backup", made, format_func=acts_and_backups.backup_name, key="backup")
    if st.button("What would restoring it change?", key="look_restore"):
        acts_and_backups.do(lambda: acts_and_backups.look_at_restore(chosen))
    planned = st.session_state.get(acts_and_backups.RESTORE)
    if planned is None or planned.backup != chosen:
        return
    if planned.damage is not None:
        del st.session_state[acts_and_backups.RESTORE]
        raise Damaged(planned.damage)
    if not planned.lines:
        st.markdown("Nothing differs from the records.")
        return
    shown_words.bullets(
        f"{table_words(one.table)}: {count(one.added, 'row')} would come, {one.changed} change, {one.removed} go"
        for one in planned.differences
    )
    with st.expander("Record by record", key="restore_lines"):
        shown_words.bullets(planned.lines)
    with st.form("restore", border=False):
        name = st.text_input("Your name", on_file.state().done_by, key="restore_name", max_chars=100)
        pressed = st.form_submit_button(
            f"Restore the backup of {acts_and_backups.backup_name(chosen)}",
            key="restore",
            type="primary",
            disabled=not on_file.may_write(),
        )
    if pressed:
        acts_and_backups.do(lambda: acts_and_backups.restore_planned(planned, name=name))


def _export() -> None:
    headings.of_part("Everything as files")
    with st.container(horizontal=True, key="exports"):
        day = date.today().isoformat()
        for words, made, ending, kind in (
            ("CSV files in a ZIP", acts_and_backups.read_zip, ".zip", ZIP),
            ("One workbook (XLSX)", acts_and_backups.read_workbook, ".xlsx", XLSX),
        ):
            name = f"standrow records {day}{ending}"
            st.download_button(words, made, name, kind, key=f"export{ending}", on_click="ignore")
    st.caption(IN_AN_EXPORT)


headings.of_screen("Are the records safe?")
if done := st.session_state.pop(acts_and_backups.DONE, None):
    st.success(shown_words.plain(done))
_state()
_history()
_backups()
_export()
