"""What may be shared of the records as they are, and the share made of what was chosen."""

import duckdb
import streamlit as st

from analytics.pool.share import Share, farm_code, keep_codes, prepare_share, what_could_be_shared
from dashboard.frame import on_file


@st.cache_resource(max_entries=2, show_spinner=False)
def _could_be_shared(path: str, last_act: str) -> tuple[list[str], list[int]]:
    return on_file.read_records(what_could_be_shared)


def could_be_shared() -> tuple[list[str], list[int]]:
    """Measures and crop years that have a complete pair."""
    return _could_be_shared(*on_file.kept_under())


@st.cache_resource(max_entries=2, show_spinner=False)
def _farm_code(path: str, last_act: str) -> str | None:
    return on_file.read_records(farm_code)


def are_codes_kept() -> bool:
    """Whether this farm has drawn its code before."""
    return _farm_code(*on_file.kept_under()) is not None


@st.cache_resource(max_entries=2, show_spinner="Putting it together")
def _prepared(path: str, last_act: str, measures: tuple[str, ...], years: tuple[int, ...]) -> Share:
    def work(connection: duckdb.DuckDBPyConnection) -> Share:
        return prepare_share(connection, measures=measures, crop_years=years)

    return on_file.read_records(work)


def prepared(measures: tuple[str, ...], years: tuple[int, ...]) -> Share:
    """The share of these measures and crop years. Codes drawn for it are kept, so that what is shown is what leaves.

    Raises Refused where a code has to be drawn and this session may only look.
    """
    found = _prepared(*on_file.kept_under(), measures, years)
    if found.new_codes.height:
        on_file.write_records(
            lambda connection: keep_codes(connection, found, done_by=on_file.state().done_by, source="screen")
        )
    return found
