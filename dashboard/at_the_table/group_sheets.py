"""A group's sheet as files to take along, each made when it is asked for."""

from collections.abc import Mapping
from datetime import date
from functools import partial

import streamlit as st

from analytics.pool.group_files import GroupRows
from analytics.pool.group_review import GroupMeasure
from analytics.sheet.group_sheet import group_sheet
from analytics.sheet.written import FORMATS
from dashboard.at_the_table.sheet_reads import KINDS


def downloads(group: GroupRows, found: Mapping[str, GroupMeasure], farm: str | None) -> None:
    """A button a kind of file; farm : the code of the farm whose sheet it is, None for the group's."""
    day = date.today()
    with st.container(horizontal=True, key="group_sheets"):
        for ending, words, kind in KINDS:
            name = f"standrow {farm or 'group'} {day.isoformat()}{ending}"
            made = partial(_made, group, found, day, farm, ending)
            st.download_button(words, made, name, kind, key=f"group{ending}", on_click="ignore")


def _made(group: GroupRows, found: Mapping[str, GroupMeasure], day: date, farm: str | None, ending: str) -> bytes:
    return FORMATS[ending](group_sheet(group, found, day, farm=farm))
