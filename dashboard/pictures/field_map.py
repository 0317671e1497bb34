"""A field from above: strips and the points in them, metres east and north, north up; nothing is fetched for it."""

from functools import partial
from typing import Any

import altair as alt
import polars as pl

from analytics.answer.marks import BAND, FAINT, INK, SIDES
from analytics.points.strip_yields import FieldYields
from analytics.points.thinned import cells_of
from analytics.points.words import UNIT, bu_ac
from analytics.trade.numbers_as_text import count, number
from dashboard.pictures.rows import FONT

WIDTH, HIGHEST = 330, 760  # pixels; a field is drawn to scale, so its width cannot follow the page's
MOST_POINTS = 1800  # of a kind; more of them would lie on each other
MARGIN = 0.03


def by_yield(found: FieldYields) -> alt.LayerChart:
    """Each strip with its method and yield; the larger a mark, the more grew there. Standing has circles."""
    cells = cells_of(found).drop_nulls("kg_ha")
    methods = {one.strip.plot: one.strip.method for one in found.strips}
    factors = {one.strip.plot: one.scale_factor or 1.0 for one in found.strips}
    frame = cells.with_columns(
        method=pl.col("plot").replace_strict(methods),
        kg_ha=pl.col("kg_ha") * pl.col("plot").replace_strict(factors),
    )
    tips = [f"{plot}, {methods[plot]}: {bu_ac(kg)} {UNIT}" for plot, kg in frame.select("plot", "kg_ha").iter_rows()]
    frame = frame.with_columns(
        pl.Series("tip", tips, dtype=pl.String),
        colour=pl.col("method").replace_strict({method: look[0] for method, look in SIDES.items()}),
        shape=pl.col("method").replace_strict({method: look[1] for method, look in SIDES.items()}),
    )
    marks = (
        alt.Chart(frame)
        .mark_point(filled=True, opacity=0.75)
        .encode(
            **_places(found),
            color=alt.Color("colour:N", scale=None),
            shape=alt.Shape("shape:N", scale=None),
            size=alt.Size("kg_ha:Q", scale=alt.Scale(range=[4, 70]), legend=None),
            tooltip=alt.Tooltip("tip:N", title=" "),
        )
    )
    return _framed(alt.layer(*_strips(found), marks, _names(found)), found)


def by_what_went(found: FieldYields, step: str | None) -> alt.LayerChart:
    """What the cleaning took out, as crosses, among what is left, as small dots; one step alone where it is named."""
    gone = found.points.drop_nulls("removed_by")
    if step is not None:
        gone = gone.filter(pl.col("removed_by") == step)
    left = _thin(found.points.filter(pl.col("removed_by").is_null())).with_columns(tip=pl.lit("left"))
    crossed = _thin(gone).with_columns(pl.col("removed_by").cast(pl.String).alias("tip"))
    dots = alt.Chart(left.select("east_m", "north_m", "tip")).mark_point(size=5, filled=True, color=FAINT, opacity=1)
    crosses = alt.Chart(crossed.select("east_m", "north_m", "tip")).mark_point(
        shape="M-0.5,-0.5L0.5,0.5M0.5,-0.5L-0.5,0.5", size=50, color=INK, strokeWidth=1.2, opacity=1
    )
    tip = alt.Tooltip("tip:N", title=" ")
    drawn = [dots.encode(**_places(found), tooltip=tip), crosses.encode(**_places(found), tooltip=tip)]
    return _framed(alt.layer(*_strips(found), *drawn, _names(found)), found)


def yields_in_words(found: FieldYields) -> str:
    """The picture by method and yield, for those who cannot see it."""
    said = "; ".join(f"{one.strip.plot} {one.strip.method} {bu_ac(one.kg_ha)} {UNIT}" for one in found.strips)
    return f"Strips from left to right: {said}."


def went_in_words(found: FieldYields, step: str | None) -> str:
    """The picture of what was taken out, for those who cannot see it."""
    each = []
    for one in found.strips:
        gone = sum(one.removed.values()) if step is None else one.removed[step]
        each.append(f"{one.strip.plot} {number(gone, 0)} of {count(one.points, 'point')}")
    return f"Taken out{'' if step is None else f' as {step}'}: {'; '.join(each)}."


def _thin(points: pl.DataFrame) -> pl.DataFrame:
    return points.gather_every(max(1, -(-points.height // MOST_POINTS)))


def _edges(found: FieldYields) -> tuple[float, float, float, float]:
    """The least and greatest metres east, and those north, with a margin."""
    corners = [corner for one in found.strips for corner in one.outline.corners]
    east, north = [corner[0] for corner in corners], [corner[1] for corner in corners]
    around = MARGIN * max(max(east) - min(east), max(north) - min(north))
    return min(east) - around, max(east) + around, min(north) - around, max(north) + around


def _places(found: FieldYields) -> dict[str, Any]:
    west, east, south, north = _edges(found)
    axis = partial(alt.Axis, tickCount=5, grid=False)
    return {
        "x": alt.X("east_m:Q", scale=alt.Scale(domain=[west, east], nice=False), axis=axis(title="metres east")),
        "y": alt.Y("north_m:Q", scale=alt.Scale(domain=[south, north], nice=False), axis=axis(title="metres north")),
    }


def _strips(found: FieldYields) -> list[alt.Chart]:
    """Outlines: a full line for standing, a broken one for windrowed."""
    drawn = []
    for method, (colour, _) in SIDES.items():
        rows = [
            (one.strip.plot, place, *one.outline.corners[place % 4])
            for one in found.strips
            if one.strip.method == method
            for place in range(5)
        ]
        frame = pl.DataFrame(rows, schema=["plot", "place", "east_m", "north_m"], orient="row")
        dash = [1, 0] if method == "standing" else [5, 3]
        line = alt.Chart(frame).mark_line(color=colour, strokeWidth=1.3, strokeDash=dash)
        drawn.append(line.encode(**_places(found), detail="plot:N", order="place:Q"))
    return drawn


def _names(found: FieldYields) -> alt.Chart:
    """S or W above each strip, so that the method is read without colour."""
    angle_first = [
        (one.strip.method[0].upper(), sum(c[0] for c in top) / 2, sum(c[1] for c in top) / 2)
        for one in found.strips
        for top in [sorted(one.outline.corners, key=lambda corner: -corner[1])[:2]]
    ]
    frame = pl.DataFrame(angle_first, schema=["letter", "east_m", "north_m"], orient="row")
    letters: alt.Chart = alt.Chart(frame).mark_text(fontSize=12, fontWeight="bold", dy=-7, color=INK)
    return letters.encode(**_places(found), text="letter:N")


def _framed(chart: alt.LayerChart | alt.FacetChart, found: FieldYields) -> alt.LayerChart:
    west, east, south, north = _edges(found)
    width = min(WIDTH, HIGHEST * (east - west) / (north - south))
    framed: alt.LayerChart = (
        chart.properties(width=round(width), height=round(width * (north - south) / (east - west)))
        .configure(font=FONT)
        .configure_mark(aria=False)
        .configure_view(stroke=BAND)
        .configure_axis(labelFontSize=12, labelColor=INK, domainColor=BAND)
    )
    return framed
