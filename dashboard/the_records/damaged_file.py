"""When the file of the records is damaged or gone: a backup is put in its place, which is all that can be done then."""

import streamlit as st

from analytics.errors import StandrowError
from analytics.storage.backups import Backup, list_backups
from analytics.storage.database import records_path
from analytics.storage.restoring import plan_restore, restore
from dashboard.frame import headings, on_file, shown_words
from dashboard.the_records import acts_and_backups

RECORD_KEEPING = "screens/record_keeping.py"


def show_damage(problem: str) -> None:
    """What is wrong, the backups there are, and the button that puts one in the place of the file."""
    headings.of_screen("The records cannot be read")
    st.error(shown_words.plain(problem))
    backups = list_backups(records_path())
    if not backups:
        st.markdown("There is no backup beside the file. If you have a copy of it elsewhere, put that in its place.")
        return
    st.markdown(
        "It can be done here too. What was saved after the backup is not in it. The file as it is now is kept beside "
        "the records under another name."
    )
    chosen = st.selectbox("Backup", backups, format_func=acts_and_backups.backup_name, key="whole_backup")
    if st.button(
        f"Put the backup of {acts_and_backups.backup_name(chosen)} in its place",
        type="primary",
        key="put_backup",
        disabled=not on_file.may_write(),
    ):
        try:
            st.session_state[acts_and_backups.DONE] = put(chosen)
        except StandrowError as refused:
            st.error(shown_words.plain(str(refused)))
            return
        st.switch_page(RECORD_KEEPING)


def put(backup: Backup) -> str:
    """Put the backup in the place of the file; what was done, in words. Raises Refused as restore does."""
    on_file.guard_writing()
    planned = plan_restore(records_path(), backup)
    if planned.damage is None:
        return "The records can be read again; no backup was put in their place."
    done = restore(records_path(), planned, done_by=on_file.AT_THE_SCREEN)
    kept = f" The damaged file is kept as {done.kept_aside.name}." if done.kept_aside else ""
    return f"The backup of {acts_and_backups.backup_name(backup)} is in its place.{kept}"
