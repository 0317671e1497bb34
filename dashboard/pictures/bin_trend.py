"""How a bin's temperature went from check to check, a line a place, and the air outside. No line here is a method, so
none has a colour.
"""

from collections.abc import Sequence

import altair as alt
import polars as pl

from analytics.answer.marks import BAND, INK, UNDECIDED
from analytics.bins.watched_bins import BinReading, WatchedBin
from analytics.records.columns import BIN_PLACES
from analytics.trade.canola_in_the_bin import LONG_TEMPERATURE_C, day_words
from analytics.trade.numbers_as_text import amount
from dashboard.pictures.one_picture import one_picture
from dashboard.pictures.rows import ONCE

OUTSIDE = "outside"
HEIGHT = 260
DASHES = dict(zip((*BIN_PLACES, OUTSIDE), ([1, 0], [8, 4], [3, 3], [1, 0]), strict=True))
SHAPES = dict(zip((*BIN_PLACES, OUTSIDE), ("circle", "triangle-up", "square", "cross"), strict=True))
COLUMNS = {"line": pl.String, "checked_on": pl.Date, "celsius": pl.Float64, "tip": pl.String}


def trend(one: WatchedBin) -> alt.LayerChart:
    """The readings of a bin by day, and the 15 C above which nothing should lie for more than five months."""
    frame = pl.DataFrame(_points(one.readings), schema=COLUMNS, orient="row")
    lines = list(DASHES)
    marks = {
        "x": alt.X("checked_on:T", axis=alt.Axis(title=None, format="%-d %b", tickCount=6, gridColor=BAND)),
        "y": alt.Y("celsius:Q", axis=alt.Axis(title="C", tickCount=6, gridColor=BAND)),
        "color": alt.Color(
            "line:N",
            scale=alt.Scale(domain=lines, range=[INK, INK, INK, UNDECIDED]),
            legend=alt.Legend(title=None, orient="top", symbolSize=90),
        ),
        "tooltip": alt.Tooltip("tip:N", title=" "),
    }
    dash = alt.StrokeDash("line:N", scale=alt.Scale(domain=lines, range=list(DASHES.values())), legend=None)
    shape = alt.Shape("line:N", scale=alt.Scale(domain=lines, range=list(SHAPES.values())))
    most = alt.Chart(ONCE).mark_rule(color=INK, strokeWidth=1).encode(y=alt.YDatum(LONG_TEMPERATURE_C))
    drawn = alt.Chart(frame).mark_line(strokeWidth=1.5).encode(**marks, strokeDash=dash)
    points = alt.Chart(frame).mark_point(size=60, filled=True, opacity=1).encode(**marks, shape=shape)
    return one_picture([most, drawn, points], faint_axes=True, height=HEIGHT)


def trend_in_words(one: WatchedBin) -> str:
    """The picture for those who cannot see it."""
    return "; ".join(tip for _, _, _, tip in _points(one.readings)) or "No temperature is on record."


def _points(readings: Sequence[BinReading]) -> list[tuple[str, object, float, str]]:
    points = {
        (line, reading.checked_on): celsius
        for reading in readings
        for line, celsius in ((reading.place, reading.temperature_c), (OUTSIDE, reading.outside_c))
        if celsius is not None
    }
    return [
        (line, day, celsius, f"{day_words(day)}, {line}: {amount(celsius, 'C', 1)}")
        for (line, day), celsius in points.items()
    ]
