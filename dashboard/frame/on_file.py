"""What is on file, as the screens read it and write it.

A read opens the records, does its work and closes them again; what it found is kept under the file and the number of
the last act, so that a change shows at once and nothing is worked out twice.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

import duckdb
import polars as pl
import streamlit as st

from analytics.answer.counted_seeds import grade_sentence, green_sentence
from analytics.answer.review import (
    asked_in_unit,
    compare_rows,
    depends_on_of,
    in_yield_unit,
    review_all,
    what_is_compared,
)
from analytics.errors import Refused
from analytics.pairs.compared_pairs import all_pair_rows, pair_facts, unpaired_plots
from analytics.pairs.gaps import PairGaps, read_gaps
from analytics.serving.passphrases import Right
from analytics.settings import Settings, read_settings
from analytics.statistics.exploration import DependsOn
from analytics.statistics.results import Comparison
from analytics.storage.acts import last_act
from analytics.storage.database import open_records, read_table, records_path
from analytics.storage.drafts import Draft, all_drafts
from analytics.storage.file_mark import file_mark
from analytics.trade.measures import MEASURES
from dashboard.frame import door

Found = TypeVar("Found")
AT_THE_SCREEN = "at the screen"  # who did it, until a name is typed
NO_PERSON = (AT_THE_SCREEN, "demo")  # names in the history that nobody typed


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """What the frame shows and what every read is kept under.

    last_act : number and time of the last act, "" when there is none; records put in the place of others have a
        last act of another time
    last_but_unit : the last act that changed more than settings, and the settings that a finding may rest on
    """

    path: Path
    last_act: str
    last_but_unit: str
    settings: Settings
    crop_years: tuple[int, ...]
    plots: tuple[tuple[int, str, str], ...]  # crop year, field and plot of each, in order
    pairs: int
    waiting: tuple[Draft, ...]  # what was typed and not saved yet, by anybody
    done_by: str  # who last changed something by hand; "" when nobody has


def read_records(work: Callable[[duckdb.DuckDBPyConnection], Found]) -> Found:
    """What `work` finds in the records. Raises Refused when they cannot be opened.

    A draft may be kept as well, at each key: it stays in the log.
    """
    with open_records(records_path(), leaves_log=True) as connection:
        return work(connection)


def write_records(work: Callable[[duckdb.DuckDBPyConnection], Found]) -> Found:
    """What `work` did to the records: the one way in which a screen writes.

    Raises Refused as read_records does, and in a session that may only look.
    """
    guard_writing()
    with open_records(records_path()) as connection:
        return work(connection)


def may_write() -> bool:
    """Whether this session may change anything; a screen hides or disables what would be refused."""
    return door.right() is Right.WRITING


def guard_writing() -> None:
    """Raise Refused in a session that may only look; for work that goes another way than write_records."""
    if not may_write():
        raise Refused(f"Nothing was changed. {door.looking_only_words()}")


def read_state() -> State:
    """The settings in force and the last act, for a run of a screen.

    The records are opened for it only where the disk says that something was saved, or cannot tell.
    """
    mark = file_mark(records_path())
    return _read_state() if mark is None else _state_under(mark)


@st.cache_resource(max_entries=2, show_spinner=False)
def _state_under(mark: str) -> State:
    return _read_state()


def _read_state() -> State:
    def work(connection: duckdb.DuckDBPyConnection) -> State:
        waiting = tuple(draft for draft in all_drafts(connection) if draft.waiting)
        return replace(_state(str(records_path()), last_act(connection), connection), waiting=waiting)

    return read_records(work)


@st.cache_resource(max_entries=4, show_spinner=False)
def _state(path: str, last_act: str, _connection: duckdb.DuckDBPyConnection) -> State:
    acts, settings = read_table(_connection, "acts").sort("act_id", descending=True), read_settings(_connection)
    # An act of a setting changes nothing but settings, all of which are read beside it.
    of_records = acts.filter(pl.col("source") != "setting").select("act_id", "happened_at").head(1).rows()
    by_hand = acts.filter(pl.col("source").is_in(["setting", "screen"]), ~pl.col("done_by").is_in(NO_PERSON))
    plots = read_table(_connection, "plots").select("crop_year", "field", "plot").sort("crop_year", "field", "plot")
    return State(
        path=Path(path),
        last_act=last_act,
        last_but_unit=f"{of_records} {replace(settings, yield_unit='', farm_name='')}",
        settings=settings,
        crop_years=tuple(plots["crop_year"].unique().sort()),
        plots=tuple(plots.iter_rows()),
        pairs=read_table(_connection, "pairs").height,
        waiting=(),
        done_by=by_hand["done_by"][0] if by_hand.height else "",
    )


def state() -> State:
    """The state that app.py read at the start of this run."""
    now: State = st.session_state["state"]
    return now


@st.cache_resource(max_entries=2, show_spinner="Reading the pairs")
def _pairs(path: str, last_act: str) -> tuple[dict[str, pl.DataFrame], pl.DataFrame]:
    return read_records(lambda connection: (all_pair_rows(connection), pair_facts(connection)))


@st.cache_resource(max_entries=4 * len(MEASURES), show_spinner=False)
def _compared(
    what: str, measure: str, level: float, margin: float, basis: str, _compare: Callable[[], Comparison]
) -> Comparison:
    return _compare()


def compared_alone(measure: str) -> Comparison | None:
    """One measure in the unit of the record, without cautions; None without a pair.

    Made anew only where something changed that it rests on: most acts leave most measures as they were, and to compare
    one takes 30 ms.
    """
    by_measure, facts = pairs()
    if measure not in by_measure:
        return None
    rows, settings = by_measure[measure], state().settings
    return _compared(
        what_is_compared(rows, facts).write_ndjson(),
        measure,
        settings.level,
        settings.margins[measure],
        settings.basis,
        lambda: compare_rows(rows, facts, measure=MEASURES[measure], settings=settings),
    )


@st.cache_resource(max_entries=2, show_spinner="Comparing the pairs")
def _recorded(path: str, last_act: str) -> dict[str, Comparison]:
    rows, facts = _pairs(path, last_act)
    known = {name: found for name in rows if (found := compared_alone(name))}
    return read_records(lambda connection: review_all(connection, rows, facts, known))


@st.cache_resource(max_entries=2, show_spinner=False)
def _comparisons(path: str, last_act: str, unit: str) -> dict[str, Comparison]:
    return {name: in_yield_unit(found, unit) for name, found in _recorded(path, last_act).items()}


@st.cache_resource(max_entries=4, show_spinner=False)
def _counted(path: str, last_act: str, level: float) -> list[str]:
    counts = read_records(lambda connection: read_table(connection, "pair_counts"))
    return [green_sentence(counts, level=level), grade_sentence(counts, level=level)]


@st.cache_resource(max_entries=40, show_spinner=False)
def _depends_on(path: str, last_act: str, measure: str, unit: str, level: float) -> tuple[DependsOn, ...]:
    rows, facts = _pairs(path, last_act)
    return asked_in_unit(depends_on_of(rows[measure], facts, level=level), MEASURES[measure], unit)


@st.cache_resource(max_entries=4, show_spinner=False)
def _unpaired(path: str, last_act: str) -> pl.DataFrame:
    return read_records(unpaired_plots)


def kept_under() -> tuple[str, str]:
    """The file and its last act: what was found is kept under these, and found anew after the next act."""
    return str(state().path), state().last_act


def kept_in_any_unit() -> tuple[str, str]:
    """The same for what is worked out in the units of the record: another yield unit leaves it as it is."""
    return str(state().path), state().last_but_unit


def comparisons() -> dict[str, Comparison]:
    """Every measure with a complete pair, in the chosen yield unit."""
    return _comparisons(*kept_in_any_unit(), state().settings.yield_unit)


def recorded() -> dict[str, Comparison]:
    """The same in the units of the record."""
    return _recorded(*kept_in_any_unit())


def pairs() -> tuple[dict[str, pl.DataFrame], pl.DataFrame]:
    """Every pair by measure, as from all_pair_rows, and what is known of each, as from pair_facts."""
    return _pairs(*kept_in_any_unit())


def left_out_pairs(measure: str) -> pl.DataFrame:
    """Pairs lacking a side for this measure: crop_year, pair, field, missing (in words)."""
    rows = pairs()[0].get(measure)
    if rows is None:
        return pl.DataFrame(schema={"crop_year": pl.Int64, "pair": pl.String, "field": pl.String, "missing": pl.String})
    return rows.filter(pl.col("difference").is_null()).select("crop_year", "pair", "field", "missing")


def counted_sentences() -> list[str]:
    """Green seed counted seed by seed and grade as share of pairs in No. 1, in sentences."""
    return _counted(*kept_in_any_unit(), state().settings.level)


def read_depends_on(measure: str) -> tuple[DependsOn, ...]:
    """What the difference of a measure may go with, in the chosen yield unit. Exploration."""
    settings = state().settings
    return _depends_on(*kept_in_any_unit(), measure, settings.yield_unit, settings.level)


@st.cache_resource(max_entries=2, show_spinner=False)
def _gaps(path: str, last_act: str) -> tuple[PairGaps, ...]:
    return read_records(read_gaps)


def gaps() -> tuple[PairGaps, ...]:
    """Every pair and what it lacks, the newest crop year first."""
    return _gaps(*kept_under())


def unpaired() -> pl.DataFrame:
    """Plots in no pair: crop_year, field, plot, method."""
    return _unpaired(*kept_in_any_unit())
