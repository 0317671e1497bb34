"""How every picture is put together: its layers, its letters, the line around it and its axes, in one step.

The library that draws them copies all layers of a picture at each step that is taken with it (`properties`,
`configure_axis` and so on), which took two thirds of a picture's time.
"""

from collections.abc import Sequence
from typing import Any

import altair as alt

from analytics.answer.marks import BAND, INK

FONT = "system-ui, -apple-system, 'Segoe UI', Roboto, 'DejaVu Sans', sans-serif"


def one_picture(
    layers: Sequence[alt.Chart], *, edge: str | None = None, faint_axes: bool = False, **frame: Any
) -> alt.LayerChart:
    """The layers over each other, the first at the bottom.

    edge : colour of the line around, none by default; frame : its height, and its width or title where it has one
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
    return alt.LayerChart(layer=layers, config=config, **frame)
