"""What the screens share: one way to read the records, one way to keep a setting, one way to show words.

A read opens the records, does its work and closes them again; what it found is kept under the file and the number of
the last act, so that a change shows at once and nothing is worked out twice.
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

import duckdb
import polars as pl
import streamlit as st

from analytics.answer import marks
from analytics.answer.counted_seeds import grade_sentence, green_sentence
from analytics.answer.review import asked_in_unit, depends_on_of, in_yield_unit, review_all
from analytics.answer.statistics_rows import CarriedRow, StatisticsRow
from analytics.errors import Refused
from analytics.pairs.compared_pairs import all_pair_rows, pair_facts, planned_words, unpaired_plots
from analytics.pairs.gaps import PairGaps, read_gaps
from analytics.records.papers import PAPERS
from analytics.serving.passphrases import Right
from analytics.settings import Settings, read_settings
from analytics.statistics.exploration import DependsOn
from analytics.statistics.replicates import PairDifference
from analytics.statistics.results import Comparison
from analytics.storage.acts import last_act
from analytics.storage.database import open_records, read_table, records_path
from analytics.storage.drafts import Draft, all_drafts
from analytics.storage.file_mark import file_mark
from analytics.trade.glossary import HELP
from analytics.trade.measures import MEASURES
from analytics.trade.numbers_as_text import amount, count
from analytics.trade.units import YIELD_DECIMALS, per_bu_ac
from dashboard.frame import door, first_hour
from dashboard.frame.text_table import text_table

Found = TypeVar("Found")

ONE_MEASURE = "screens/one_measure.py"
MOST_PAIRS = 60  # rows in the picture of pairs
ALL_YEARS = "All crop years"
# What Streamlit reads as markup: Markdown's marks, anywhere or at the start of a line, and what it takes for a link or
# an icon; and its own names between colons, for colours, icons and small pictures.
MARKUP = re.compile(r"(?m)[\\`*_\[\]<>$~#|&@]|^[-+=]|(?<=www)\.|(?<=:material)/")
NAMED_BETWEEN_COLONS = re.compile(r":[\w+/-]")
AT_THE_SCREEN = "at the screen"  # who did it, until a name is typed
NO_PERSON = (AT_THE_SCREEN, "demo")  # names in the history that nobody typed


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """What the frame shows and what every read is kept under.

    last_act : number and time of the last act, "" when there is none; records put in the place of others have a
        last act of another time
    """

    path: Path
    last_act: str
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
    acts = read_table(_connection, "acts").sort("act_id", descending=True)
    by_hand = acts.filter(pl.col("source").is_in(["setting", "screen"]), ~pl.col("done_by").is_in(NO_PERSON))
    plots = read_table(_connection, "plots").select("crop_year", "field", "plot").sort("crop_year", "field", "plot")
    return State(
        path=Path(path),
        last_act=last_act,
        settings=read_settings(_connection),
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


# --- what the screens show, each kept until the next act


@st.cache_resource(max_entries=2, show_spinner="Reading the pairs")
def _pairs(path: str, last_act: str) -> tuple[dict[str, pl.DataFrame], pl.DataFrame]:
    return read_records(lambda connection: (all_pair_rows(connection), pair_facts(connection)))


@st.cache_resource(max_entries=2, show_spinner="Comparing the pairs")
def _recorded(path: str, last_act: str) -> dict[str, Comparison]:
    return read_records(lambda connection: review_all(connection, *_pairs(path, last_act)))


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


def comparisons() -> dict[str, Comparison]:
    """Every measure with a complete pair, in the chosen yield unit."""
    return _comparisons(*kept_under(), state().settings.yield_unit)


def recorded() -> dict[str, Comparison]:
    """The same in the units of the record."""
    return _recorded(*kept_under())


def pairs() -> tuple[dict[str, pl.DataFrame], pl.DataFrame]:
    """Every pair by measure, as from all_pair_rows, and what is known of each, as from pair_facts."""
    return _pairs(*kept_under())


def left_out_pairs(measure: str) -> pl.DataFrame:
    """Pairs lacking a side for this measure: crop_year, pair, field, missing (in words)."""
    rows = pairs()[0].get(measure)
    if rows is None:
        return pl.DataFrame(schema={"crop_year": pl.Int64, "pair": pl.String, "field": pl.String, "missing": pl.String})
    return rows.filter(pl.col("difference").is_null()).select("crop_year", "pair", "field", "missing")


def counted_sentences() -> list[str]:
    """Green seed counted seed by seed and grade as share of pairs in No. 1, in sentences."""
    return _counted(*kept_under(), state().settings.level)


def read_depends_on(measure: str) -> tuple[DependsOn, ...]:
    """What the difference of a measure may go with, in the chosen yield unit. Exploration."""
    settings = state().settings
    return _depends_on(*kept_under(), measure, settings.yield_unit, settings.level)


@st.cache_resource(max_entries=2, show_spinner=False)
def _gaps(path: str, last_act: str) -> tuple[PairGaps, ...]:
    return read_records(read_gaps)


def gaps() -> tuple[PairGaps, ...]:
    """Every pair and what it lacks, the newest crop year first."""
    return _gaps(*kept_under())


def unpaired() -> pl.DataFrame:
    """Plots in no pair: crop_year, field, plot, method."""
    return _unpaired(*kept_under())


# --- words


def plain(text: str) -> str:
    """Text as Streamlit will show it letter by letter; a dollar sign or a field's name is not markup.

    It still draws two marks such as -> as an arrow, and makes a link of an address, to the address that is shown.
    """
    text = re.sub(r"(?m)^[ \t]+", "", text)  # four spaces would make a block of code of it
    kept = MARKUP.sub(r"\\\g<0>", text)
    if NAMED_BETWEEN_COLONS.search(text):
        kept = kept.replace(":", "\\:").replace("\\:streamlit\\:", "\\:\u2060streamlit\\:")  # drawn though escaped
    return re.sub(r"(?m)^(\d+)(?=[.)](\s|$))", r"\1\\", kept)


def guard_pairs(found: dict[str, Comparison]) -> None:
    """Say what to do next, and stop, when there is nothing to compare."""
    if found:
        return
    if not state().pairs:
        st.info(
            "There is no pair on record yet. A pair is one plot cut standing and one windrowed in the same crop year. "
            f"{HELP['standing and windrowed']}"
        )
        first_hour.three_steps()
    elif (lacking := left_out_pairs("yield")).is_empty():
        st.info(
            f"{planned_words(state().pairs)}. Once something of them is weighed, sampled or checked, it counts here."
        )
    else:
        st.info("No pair has both sides yet. This is what is missing:")
        text_table(lacking.rename({"crop_year": "crop year", "missing": "missing paper"}))
        gaps_link()
    st.stop()


def governs() -> str:
    """The quiet line that stands with every finding: "95 % ranges · gaps under 1.0 bu/ac don't matter · ..."."""
    settings = state().settings
    level = amount(settings.level * 100, "%", 0)
    unit = shown_unit("yield")
    margin = amount(in_shown_unit("yield", settings.margins["yield"]), unit, YIELD_DECIMALS[unit])
    moisture = amount(settings.one_moisture_pct, "%", 0 if settings.one_moisture_pct.is_integer() else 1)
    return f"{level} ranges · gaps under {margin} don't matter · yields at {moisture} moisture"


def shown_unit(measure: str) -> str:
    """The unit in which a measure is shown: the chosen one where it follows the yield unit."""
    return state().settings.yield_unit if MEASURES[measure].follows_yield_unit else MEASURES[measure].unit


def in_shown_unit(measure: str, value: float) -> float:
    """A value of the record, in the unit in which the measure is shown."""
    return value * per_bu_ac(shown_unit(measure)) if MEASURES[measure].follows_yield_unit else value


def answers_in_words(found: dict[str, Comparison]) -> str:
    """The picture of all measures for those who cannot see it."""
    return " ".join(
        f"{MEASURES[name].label}: on these fields {marks.mark(one, one.these_fields)}; "
        f"for years to come {marks.mark(one, one.years_to_come)}."
        for name, one in found.items()
    )


def years_in_words(comparison: Comparison) -> list[str]:
    """The picture of the years for those who cannot see it."""
    return [f"{year.crop_year}: standing {marks.difference(comparison, year.estimate)}." for year in comparison.by_year]


def waiting_words(draft: Draft) -> str:
    """What was typed and not saved: "9 tickets for East half, 2026 wait, by Ann"."""
    place = draft.place
    where = ", ".join([*filter(None, (place.field, place.plot)), str(place.crop_year)])
    verb = "waits" if draft.waiting == 1 else "wait"
    by = "" if place.typed_by in NO_PERSON else f", typed by {place.typed_by}"
    return plain(f"{count(draft.waiting, PAPERS[place.paper].noun)} for {where} {verb} to be saved{by}")


def bullets(lines: Iterable[str], *, none: str = "") -> None:
    """A list of sentences; `none` when there is no line."""
    kept = "\n".join(f"- {plain(line)}" for line in lines)
    if kept or none:
        st.markdown(kept or none)


def carried_table(rows: Iterable[CarriedRow], unit: str) -> None:
    """What carries an answer, a row a kind of pair; the starred rows are those that the headline rests on."""
    named = [
        {
            "pairs": row.name,
            "field-years": row.field_years,
            f"these fields, {unit}": row.these_fields,
            "years": row.years,
            f"years to come, {unit}": row.years_to_come,
        }
        for row in rows
    ]
    text_table(pl.DataFrame(named))


def statistics_table(rows: Iterable[StatisticsRow]) -> None:
    """The numbers for a statistician, both questions side by side."""
    named = [{"": row.name, "these fields": row.these_fields, "years to come": row.years_to_come} for row in rows]
    text_table(pl.DataFrame(named))


def trial_table(rows: Iterable[tuple[str, str, str, str]]) -> None:
    """What it takes to see a gap, a row a kind of pair and a gap."""
    named = [dict(zip(("pairs", "true gap", "field-years", "years"), row, strict=True)) for row in rows]
    if named:
        text_table(pl.DataFrame(named))
    else:
        st.markdown("There are too few pairs to know how much they spread.")


def legend() -> None:
    """What the marks of the pictures mean."""
    st.html(
        "<p class='legend'><span class='standing'>●</span> standing did better · "
        "<span class='windrowed'>■</span> windrowed did better · <b>=</b> same in practice · "
        "<b>≠</b> depends on the year · <span class='undecided'>○</span> not settled<br>"
        "Thick bar: these fields · thin bar: years to come · grey band: too small to matter</p>"
    )


# --- from one screen to another


def pick_measure(names: list[str]) -> str:
    """The measure chosen on the screen. The address holds it, so that a link can name it and going back works."""
    named = st.query_params.get("measure")
    st.session_state["measure"] = named if named in names else names[0]
    return st.selectbox(
        "Measure",
        names,
        format_func=lambda name: MEASURES[name].label,
        key="measure",
        on_change=_name_measure,
        help="Only measures with a complete pair are listed.",
    )


def _name_measure() -> None:
    st.query_params["measure"] = st.session_state["measure"]


def measure_link(name: str) -> None:
    """A link that opens a measure."""
    st.page_link(ONE_MEASURE, label=MEASURES[name].label, query_params={"measure": name})


def gaps_link() -> None:
    """A link to what is missing in all crop years."""
    st.page_link("screens/gaps.py", label="What is missing?", query_params={"crop_year": ALL_YEARS})


def open_measure(name: str) -> None:
    """Leave for the screen of a measure."""
    st.switch_page(ONE_MEASURE, query_params={"measure": name})


def pairs_to_show(comparison: Comparison) -> tuple[list[PairDifference], str]:
    """The pairs for the picture, and their years in words; of many pairs, those of one crop year to be chosen."""
    pairs = list(comparison.pair_differences)
    if len(pairs) <= MOST_PAIRS:
        return pairs, "all crop years"
    years = sorted({pair.crop_year for pair in pairs if pair.crop_year is not None}, reverse=True)
    year = st.selectbox("Crop year", years, key="pairs_of_year")
    return [pair for pair in pairs if pair.crop_year == year][:MOST_PAIRS], f"crop year {year}"
