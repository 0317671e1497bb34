"""The group's files as they were given, and what they say: worked out once, kept while the session lasts."""

from collections.abc import Sequence

import streamlit as st
from streamlit.runtime.uploaded_file_manager import UploadedFile

from analytics.errors import BadInput
from analytics.pool.group_files import GroupRows, read_group_uploads
from analytics.pool.group_review import GroupMeasure, review_group
from analytics.pool.share import farm_code
from dashboard.frame import on_file

HELD = "group_held"
LARGEST = 200_000_000  # bytes of all files together; a larger group is for the terminal

Held = tuple[GroupRows, dict[str, GroupMeasure]]


def read_uploaded_group(uploads: Sequence[UploadedFile]) -> Held | None:
    """What was given now, else what was given before; None where there is nothing. Raises BadInput and Refused."""
    if not uploads:
        held: Held | None = st.session_state.get(HELD)
        return held
    if sum(upload.size for upload in uploads) > LARGEST:
        raise BadInput("The files are larger than 200 MB together. For so many farms: standrow pool FOLDER")
    named = {(upload.name, upload.file_id): upload for upload in uploads}
    return _looked_at(tuple(named), named)


def _looked_at(kept_under: tuple[tuple[str, str], ...], named: dict[tuple[str, str], UploadedFile]) -> Held:
    if st.session_state.get(f"{HELD}_under") != kept_under:
        with st.spinner("Reading the files of the group"):
            rows = read_group_uploads((name, upload.getvalue()) for (name, _), upload in named.items())
            st.session_state[HELD] = rows, review_group(rows)
        st.session_state[f"{HELD}_under"] = kept_under
    held: Held = st.session_state[HELD]
    return held


@st.cache_data(max_entries=2, show_spinner=False)
def _own(path: str, last_act: str) -> str | None:
    return on_file.read_records(farm_code)


def read_own_code() -> str | None:
    """The code of this farm; None where it has never shared."""
    return _own(*on_file.kept_under())
