"""The season as a calendar: each plot's bar from colour change to combine, weather as strokes on it."""

from datetime import date, timedelta
from typing import Any

import altair as alt
import polars as pl

from analytics.answer.marks import BAND, INK, SIDES, UPRIGHT
from analytics.pairs.season_facts import weather_words
from dashboard.pictures.one_picture import one_picture
from dashboard.pictures.rows import AXIS, LINE

LABEL_WIDTH = 150
FROM_WORDS = {
    "windrowed": "windrowed",
    "product": "pre-harvest product",
    "partner": "its partner was cut",
    None: "no day of cutting noted",
}
BAR_COLUMNS = {
    "row": pl.String,
    "starts_on": pl.Date,
    "ends_on": pl.Date,
    "colour": pl.String,
    "shape": pl.String,
    "dash": pl.Boolean,
    "tip": pl.String,
}
EVENT_COLUMNS = {"row": pl.String, "happened_on": pl.Date, "words": pl.String, "tip": pl.String}


def calendar(bars: pl.DataFrame, weather: pl.DataFrame) -> alt.LayerChart:
    """The plots of a crop year, or of one pair, as bars; a thin one starts on the day its partner was cut.

    bars : as from timing.calendar_bars, with one row at least; weather : happened_on, field, event, reading, unit
    """
    plots = [
        {**bar, "row": f"{bar['field']}, {bar['plot']}", "starts_on": bar["starts_on"] or bar["harvested_on"]}
        for bar in bars.iter_rows(named=True)
    ]
    events = list(weather.iter_rows(named=True))
    kinds = list(dict.fromkeys(event["event"] for event in events))
    order = [*kinds, *(plot["row"] for plot in plots)]
    first, last = _span(plots, events)
    y = alt.Y(
        "row:N",
        scale=alt.Scale(domain=order),
        axis=alt.Axis(title=None, labelLimit=LABEL_WIDTH, labelPadding=6, ticks=False, domain=False, grid=False),
    )

    def x(column: str) -> alt.X:
        axis = alt.Axis(title=None, format="%-d %b", tickCount=5, gridColor=BAND)
        return alt.X(f"{column}:T", scale=alt.Scale(domain=[_moment(first), _moment(last)]), axis=axis)

    bar_frame = pl.DataFrame([_bar(plot) for plot in plots], schema=BAR_COLUMNS)
    above = [
        {"row": event["event"], "happened_on": event["happened_on"], "words": _size(event), "tip": _event_tip(event)}
        for event in events
    ]
    strokes = [
        {"row": plot["row"], "happened_on": event["happened_on"], "words": "", "tip": _event_tip(event)}
        for plot in plots
        for event in events
        if event["field"] in (None, plot["field"]) and plot["starts_on"] <= event["happened_on"] <= plot["harvested_on"]
    ]
    tip = alt.Tooltip("tip:N", title=" ")
    colour = alt.Color("colour:N", scale=None)
    spans = (
        alt.Chart(bar_frame)
        .mark_rule(opacity=0.85)
        .encode(
            y=y,
            x=x("starts_on"),
            x2=alt.X2("ends_on:T"),
            color=colour,
            strokeWidth=alt.StrokeWidthValue(7, condition={"test": "datum.dash", "value": 2}),
            tooltip=tip,
        )
    )
    combined = (
        alt.Chart(bar_frame)
        .mark_point(size=90, filled=True, opacity=1)
        .encode(y=y, x=x("ends_on"), color=colour, shape=alt.Shape("shape:N", scale=None), tooltip=tip)
    )
    layers: list[alt.Chart] = [spans, combined]
    if events:
        above_frame = pl.DataFrame(above, schema=EVENT_COLUMNS)
        layers.append(
            alt.Chart(above_frame)
            .mark_text(color=INK, fontSize=12)
            .encode(y=y, x=x("happened_on"), text=alt.Text("words:N"), tooltip=tip)
        )
        layers.append(
            alt.Chart(pl.DataFrame(strokes, schema=EVENT_COLUMNS))
            .mark_point(shape=UPRIGHT, size=160, color=INK, strokeWidth=2, opacity=1)
            .encode(y=y, x=x("happened_on"), tooltip=tip)
        )
    return one_picture(layers, faint_axes=True, height=(LINE + 3) * len(order) + AXIS)


def calendar_in_words(bars: pl.DataFrame, weather: pl.DataFrame) -> str:
    """The picture for those who cannot see it."""
    plots = [_bar_tip(bar) for bar in bars.iter_rows(named=True)]
    return ". ".join([*plots, *(_event_tip(event) for event in weather.iter_rows(named=True))]) + "."


def _span(plots: list[dict[str, Any]], events: list[dict[str, Any]]) -> tuple[date, date]:
    days = [plot[name] for plot in plots for name in ("starts_on", "harvested_on")]
    days += [event["happened_on"] for event in events]
    return min(days) - timedelta(days=2), max(days) + timedelta(days=2)


def _moment(day: date) -> alt.DateTime:
    return alt.DateTime(year=day.year, month=day.month, date=day.day)


def _bar(plot: dict[str, Any]) -> dict[str, object]:
    colour, shape = SIDES[plot["method"]]
    return {
        "row": plot["row"],
        "starts_on": plot["starts_on"],
        "ends_on": plot["harvested_on"],
        "colour": colour,
        "shape": shape,
        "dash": plot["starts_from"] in ("partner", None),
        "tip": _bar_tip(plot),
    }


def _bar_tip(plot: dict[str, Any]) -> str:
    start = f"{FROM_WORDS[plot['starts_from']]}"
    if plot["starts_from"] is not None:
        start += f" {_day(plot['starts_on'])}"
    stage = plot["seed_colour_change_pct"]
    at = f" at {stage:.0f} % colour change" if stage is not None and plot["starts_from"] != "partner" else ""
    return f"{plot['field']} {plot['plot']} ({plot['method']}): {start}{at}, combined {_day(plot['harvested_on'])}"


def _event_tip(event: dict[str, Any]) -> str:
    return f"{_day(event['happened_on'])}: {weather_words(event)}"


def _size(event: dict[str, Any]) -> str:
    """What is written on the row of its kind: the reading, else a stroke."""
    return "|" if event["reading"] is None else f"{event['reading']:g} {event['unit'] or ''}".strip().replace("-", "−")


def _day(day: date) -> str:
    return f"{day.day} {day:%b}"
