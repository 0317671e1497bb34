"""Exploration: weather between cutting stage and combining against losses and yield. To look at, not to conclude."""

import altair as alt
import polars as pl
import streamlit as st

from analytics.answer.marks import BAND, INK, UNDECIDED
from analytics.pairs.timing import exploration, exploration_counts
from analytics.trade.numbers_as_text import UNKNOWN, count, number
from analytics.trade.units import YIELD_DECIMALS
from dashboard.frame import shared, shown_picture
from dashboard.pictures.rows import FONT, ONCE

PICTURES = (("loss_difference", "Loss"), ("yield_difference", "Yield"))


@st.cache_resource(max_entries=4, show_spinner=False)
def _explored(path: str, last_act: str, unit: str) -> pl.DataFrame:
    return shared.read_records(lambda connection: exploration(connection, unit=unit))


def show() -> None:
    """Both pictures, what they rest on, and the pairs behind them."""
    unit = shared.state().settings.yield_unit
    rows = _explored(*shared.kept_under(), unit)
    if rows.is_empty():
        st.markdown("No pair has a day of cutting and a day of combining on record yet.")
        return
    st.markdown(shared.plain(exploration_counts(rows)))
    for column, name in PICTURES:
        shown_picture.show(
            against_wind(rows, column, f"{name}, standing minus windrowed, {unit}"),
            key=column,
            alt=f"{name} of each pair against the worst wind; the table below holds the same numbers.",
        )
    shared.table(pl.DataFrame(_table(rows, unit)), hide_index=True)


def against_wind(rows: pl.DataFrame, column: str, title: str) -> alt.LayerChart:
    """A dot a pair: worst wind, and a difference. rows : as from timing.exploration."""
    known = rows.filter(pl.col("worst_wind_kmh").is_not_null(), pl.col(column).is_not_null()).select(
        "worst_wind_kmh", column, tip=pl.format("pair {}, {}", "pair", "crop_year")
    )
    zero = alt.Chart(ONCE).mark_rule(color=INK).encode(y=alt.datum(0))
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
    framed: alt.LayerChart = (
        alt.layer(zero, dots)
        .properties(height=220, title=f"{title}: {count(known.height, 'pair')}")
        .configure(font=FONT)
        .configure_view(stroke=None)
        .configure_title(anchor="start", fontSize=13, color=INK)
        .configure_axis(labelFontSize=12, titleFontSize=12, titleFontWeight="normal", labelColor=INK, titleColor=INK)
    )
    return framed


def _table(rows: pl.DataFrame, unit: str) -> list[dict[str, str]]:
    decimals = YIELD_DECIMALS[unit]

    def difference(value: float | None, places: int) -> str:
        return UNKNOWN if value is None else number(value, places, sign=True)

    return [
        {
            "pair": f"{row['pair']}, {row['crop_year']}",
            "worst wind, km/h": "none noted" if row["worst_wind_kmh"] is None else number(row["worst_wind_kmh"], 0),
            "events": number(row["events"], 0),
            "days between": number(row["days_between"], 0),
            f"loss, {unit}": difference(row["loss_difference"], decimals + 1),
            f"yield, {unit}": difference(row["yield_difference"], decimals),
        }
        for row in rows.iter_rows(named=True)
    ]
