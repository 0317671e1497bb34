"""A field from above: strips and the points in them, metres east and north, north up; nothing is fetched for it."""

from collections.abc import Sequence
from functools import partial
from typing import Any

import altair as alt
import polars as pl

from analytics.answer.marks import BAND, FAINT, INK, SIDES
from analytics.points.strip_yields import FieldYields
from analytics.points.thinned import cells_of
from analytics.points.words import UNIT, bu_ac
from analytics.trade.numbers_as_text import count, number
from dashboard.pictures.one_picture import one_picture

WIDTH, HIGHEST = 330, 760  # pixels; a field is drawn to scale, so its width cannot follow the page's
MOST_POINTS = 1800  # of a kind; more of them would lie on each other
MARGIN = 0.03

Edges = tuple[float, float, float, float]  # metres: west, east, south, north


def by_yield(found: FieldYields) -> alt.LayerChart:
    """Each strip with its method and yield; the larger a mark, the more grew there. Standing has circles."""
    strips = [(one.strip.plot, one.strip.method, one.scale_factor or 1.0) for one in found.strips]
    marks, edges = _marks(cells_of(found), strips, _edges_of(found)), _edges_of(found)
    return _to_scale([*_strips(found), marks, _names(found)], edges)


def on_record_map(cells: pl.DataFrame, strips: Sequence[tuple[str, str, float]]) -> alt.LayerChart:
    """The same of strips on record: their thinned picture, without outlines.

    cells : as in the table monitor_cells; strips : plot, method and what the monitor's kg are multiplied by
    """
    edges = _edges(cells["east_m"].to_list(), cells["north_m"].to_list())
    letters = {plot: method[0].upper() for plot, method, _ in strips}
    tops = cells.sort("north_m", descending=True).group_by("plot").agg(pl.col("east_m").mean(), pl.col("north_m").max())
    named = tops.with_columns(letter=pl.col("plot").replace_strict(letters))
    return _to_scale([_marks(cells, strips, edges), _letters(named, edges)], edges)


def _marks(cells: pl.DataFrame, strips: Sequence[tuple[str, str, float]], edges: Edges) -> alt.Chart:
    methods = {plot: method for plot, method, _ in strips}
    frame = cells.drop_nulls("kg_ha").with_columns(
        method=pl.col("plot").replace_strict(methods),
        kg_ha=pl.col("kg_ha") * pl.col("plot").replace_strict({plot: factor for plot, _, factor in strips}),
    )
    tips = [f"{plot}, {methods[plot]}: {bu_ac(kg)} {UNIT}" for plot, kg in frame.select("plot", "kg_ha").iter_rows()]
    frame = frame.with_columns(
        pl.Series("tip", tips, dtype=pl.String),
        colour=pl.col("method").replace_strict({method: look[0] for method, look in SIDES.items()}),
        shape=pl.col("method").replace_strict({method: look[1] for method, look in SIDES.items()}),
    )
    marks: alt.Chart = (
        alt.Chart(frame.select("east_m", "north_m", "kg_ha", "tip", "colour", "shape"))
        .mark_point(filled=True, opacity=0.75)
        .encode(
            **_places(edges),
            color=alt.Color("colour:N", scale=None),
            shape=alt.Shape("shape:N", scale=None),
            size=alt.Size("kg_ha:Q", scale=alt.Scale(range=[4, 70]), legend=None),
            tooltip=alt.Tooltip("tip:N", title=" "),
        )
    )
    return marks


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
    tip, edges = alt.Tooltip("tip:N", title=" "), _edges_of(found)
    drawn = [marks.encode(**_places(edges), tooltip=tip) for marks in (dots, crosses)]
    return _to_scale([*_strips(found), *drawn, _names(found)], edges)


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


def _edges_of(found: FieldYields) -> Edges:
    corners = [corner for one in found.strips for corner in one.outline.corners]
    return _edges([corner[0] for corner in corners], [corner[1] for corner in corners])


def _edges(east: Sequence[float], north: Sequence[float]) -> Edges:
    """The least and greatest metres east, and those north, with a margin."""
    around = MARGIN * max(max(east) - min(east), max(north) - min(north), 1.0)
    return min(east) - around, max(east) + around, min(north) - around, max(north) + around


def _places(edges: Edges) -> dict[str, Any]:
    west, east, south, north = edges
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
        drawn.append(line.encode(**_places(_edges_of(found)), detail=alt.Detail("plot:N"), order=alt.Order("place:Q")))
    return drawn


def _names(found: FieldYields) -> alt.Chart:
    """S or W above each strip, so that the method is read without colour."""
    rows = []
    for one in found.strips:
        left, right = sorted(one.outline.corners, key=lambda corner: -corner[1])[:2]
        rows.append((one.strip.method[0].upper(), (left[0] + right[0]) / 2, (left[1] + right[1]) / 2))
    frame = pl.DataFrame(rows, schema=["letter", "east_m", "north_m"], orient="row")
    return _letters(frame, _edges_of(found))


def _letters(frame: pl.DataFrame, edges: Edges) -> alt.Chart:
    letters: alt.Chart = alt.Chart(frame).mark_text(fontSize=12, fontWeight="bold", dy=-7, color=INK)
    return letters.encode(**_places(edges), text=alt.Text("letter:N"))


def _to_scale(layers: Sequence[alt.Chart], edges: Edges) -> alt.LayerChart:
    west, east, south, north = edges
    width = min(WIDTH, HIGHEST * (east - west) / (north - south))
    height = width * (north - south) / (east - west)
    return one_picture(layers, edge=BAND, faint_axes=True, width=round(width), height=round(height))
