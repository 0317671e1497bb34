"""Exploration: weather, the conditions of loss checks, seeds left behind, frost. To look at, not to conclude from."""

import altair as alt
import polars as pl
import streamlit as st

from analytics.answer.marks import BAND, INK, SIDES, UNDECIDED
from analytics.pairs.conditions import (
    CONDITIONS,
    FROST_WORDS,
    LOST_SEEDS,
    ON_50_COMBINES,
    condition_counts,
    green_by_frost,
    loss_conditions,
    lost_seeds,
)
from analytics.pairs.timing import exploration, exploration_counts
from analytics.trade.numbers_as_text import UNKNOWN, count, number
from analytics.trade.units import YIELD_DECIMALS
from dashboard.frame import on_file, shown_picture, shown_words
from dashboard.frame.text_table import text_table
from dashboard.pictures.one_picture import one_picture
from dashboard.pictures.rows import ONCE

HEIGHT = 220
PICTURES = (("loss_difference", "Loss"), ("yield_difference", "Yield"))


@st.cache_resource(max_entries=4, show_spinner=False)
def _explored(path: str, last_act: str, unit: str) -> pl.DataFrame:
    return on_file.read_records(lambda connection: exploration(connection, unit=unit))


@st.cache_resource(max_entries=4, show_spinner=False)
def _loss_conditions(path: str, last_act: str, unit: str) -> pl.DataFrame:
    return on_file.read_records(lambda connection: loss_conditions(connection, unit=unit))


@st.cache_resource(max_entries=4, show_spinner=False)
def _lost_seeds(path: str, last_act: str) -> tuple[str, ...]:
    return on_file.read_records(lost_seeds)


@st.cache_resource(max_entries=4, show_spinner=False)
def _green_by_frost(path: str, last_act: str) -> tuple[str, ...]:
    return on_file.read_records(green_by_frost)


def show_exploration(measure: str) -> None:
    """What there is to look at for a measure; weather for all of them."""
    if measure == "loss":
        _conditions()
    if measure in ("loss", "volunteers"):
        st.markdown("**How much seed was left behind**")
        shown_words.bullets([*_lost_seeds(*on_file.kept_under()), LOST_SEEDS])
    if measure == "green_seed":
        st.markdown("**Green seed by frost**")
        shown_words.bullets([*_green_by_frost(*on_file.kept_under()), FROST_WORDS])
    st.markdown("**Wind between cutting stage and combining**")
    _wind()


def _conditions() -> None:
    """Loss against one condition of the check, and what it rests on."""
    st.markdown("**Loss by the conditions of the check**")
    unit = on_file.state().settings.yield_unit
    rows = _loss_conditions(*on_file.kept_under(), unit)
    if rows.is_empty():
        st.markdown("No loss check says yet in which conditions it was made: hour, ground speed, air or humidity.")
        return
    condition = st.selectbox("Against", list(CONDITIONS), format_func=lambda name: CONDITIONS[name], key="condition")
    place = st.selectbox("Where", rows["place"].unique().sort().to_list(), key="loss_place")
    shown_picture.show_picture(
        against_condition(rows.filter(place=place), condition, f"loss, {unit}"),
        key="loss_conditions",
        alt=f"Loss of each check, {place}, against {CONDITIONS[condition]}; blue circles standing, squares windrowed.",
    )
    shown_words.bullets([f"● standing, ■ windrowed. {condition_counts(rows)}", ON_50_COMBINES])


def against_condition(rows: pl.DataFrame, condition: str, title: str) -> alt.LayerChart:
    """A mark a check: a condition, and the loss, by method. rows : as from conditions.loss_conditions"""
    known = rows.drop_nulls(condition).select(
        condition,
        "loss",
        pl.col("method").replace_strict({name: colour for name, (colour, _) in SIDES.items()}).alias("colour"),
        pl.col("method").replace_strict({name: shape for name, (_, shape) in SIDES.items()}).alias("shape"),
        tip=pl.format("{}, {}, {} ({})", "field", "plot", "crop_year", "method"),
    )
    dots = (
        alt.Chart(known)
        .mark_point(size=70, opacity=1, strokeWidth=2)
        .encode(
            x=alt.X(
                f"{condition}:Q",
                scale=alt.Scale(zero=False, padding=15),
                axis=alt.Axis(title=CONDITIONS[condition], tickCount=5, gridColor=BAND),
            ),
            y=alt.Y("loss:Q", axis=alt.Axis(title=title, tickCount=5, gridColor=BAND)),
            color=alt.Color("colour:N", scale=None),
            shape=alt.Shape("shape:N", scale=None),
            tooltip=alt.Tooltip("tip:N", title=" "),
        )
    )
    zero = alt.Chart(ONCE).mark_rule(color=INK).encode(y=alt.YDatum(0))
    return one_picture([zero, dots], height=HEIGHT, title=f"{title}: {count(known.height, 'check')}")


def _wind() -> None:
    """Both pictures, what they rest on, and the pairs behind them."""
    unit = on_file.state().settings.yield_unit
    rows = _explored(*on_file.kept_under(), unit)
    if rows.is_empty():
        st.markdown("No pair has a day of cutting and a day of combining on record yet.")
        return
    st.markdown(shown_words.plain(exploration_counts(rows)))
    for column, name in PICTURES:
        shown_picture.show_picture(
            against_wind(rows, column, f"{name}, standing minus windrowed, {unit}"),
            key=column,
            alt=f"{name} of each pair against the worst wind; the table below holds the same numbers.",
        )
    text_table(pl.DataFrame(_table(rows, unit)))


def against_wind(rows: pl.DataFrame, column: str, title: str) -> alt.LayerChart:
    """A dot a pair: worst wind, and a difference. rows : as from timing.exploration."""
    known = rows.filter(pl.col("worst_wind_kmh").is_not_null(), pl.col(column).is_not_null()).select(
        "worst_wind_kmh", column, tip=pl.format("pair {}, {}", "pair", "crop_year")
    )
    zero = alt.Chart(ONCE).mark_rule(color=INK).encode(y=alt.YDatum(0))
    dots = (
        alt.Chart(known)
        .mark_point(color=UNDECIDED, size=70, opacity=1, strokeWidth=2)
        .encode(
            x=alt.X(
                "worst_wind_kmh:Q",
                scale=alt.Scale(zero=False, padding=15),
                axis=alt.Axis(
                    title="worst wind between cutting stage and combining, km/h", tickCount=5, gridColor=BAND
                ),
            ),
            y=alt.Y(f"{column}:Q", axis=alt.Axis(title=None, tickCount=5, gridColor=BAND)),
            tooltip=alt.Tooltip("tip:N", title=" "),
        )
    )
    return one_picture([zero, dots], height=HEIGHT, title=f"{title}: {count(known.height, 'pair')}")


def _table(rows: pl.DataFrame, unit: str) -> list[dict[str, str]]:
    decimals = YIELD_DECIMALS[unit]

    def difference(value: float | None, places: int) -> str:
        return UNKNOWN if value is None else number(value, places, sign=True)

    def wind(events: int | None, worst: float | None) -> str:
        return UNKNOWN if events is None else "none noted" if worst is None else number(worst, 0)

    return [
        {
            "pair": f"{row['pair']}, {row['crop_year']}",
            "worst wind, km/h": wind(row["events"], row["worst_wind_kmh"]),
            "events": UNKNOWN if row["events"] is None else number(row["events"], 0),
            "days between": number(row["days_between"], 0),
            f"loss, {unit}": difference(row["loss_difference"], decimals + 1),
            f"yield, {unit}": difference(row["yield_difference"], decimals),
        }
        for row in rows.iter_rows(named=True)
    ]
