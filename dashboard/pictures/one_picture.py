"""How every picture is put together: its layers, its letters, the line around it and its axes, in one step.

The library that draws them copies all layers of a picture at each step that is taken with it (`properties`,
`configure_axis` and so on), which took two thirds of a picture's time.
"""

from collections.abc import Sequence
from typing import Any

import altair as alt
import polars as pl

from analytics.answer.marks import BAND, INK

FONT = "system-ui, -apple-system, 'Segoe UI', Roboto, 'DejaVu Sans', sans-serif"


def one_picture(
    layers: Sequence[alt.Chart], *, edge: str | None = None, faint_axes: bool = False, **frame: Any
) -> alt.LayerChart:
    """The layers over each other, the first at the bottom; one without a row costs as much as any and is left out.

    edge : colour of the line around, none by default; frame : its height, and its width, title and params if it has any
    """
    axis = alt.AxisConfig(labelFontSize=12, titleFontSize=12, titleFontWeight="normal", labelColor=INK, titleColor=INK)
    if faint_axes:
        axis.domainColor = BAND
    config = alt.Config(
        font=FONT,
        mark=alt.MarkConfig(aria=False),  # the picture is told in words beside it
        view=alt.ViewConfig(stroke=edge),
        axis=axis,
        title=alt.TitleConfig(anchor="start", fontSize=13, color=INK),
    )
    drawn = [layer for layer in layers if not (isinstance(layer.data, pl.DataFrame) and layer.data.is_empty())]
    return alt.LayerChart(layer=drawn, config=config, **frame)
