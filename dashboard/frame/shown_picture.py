"""How a picture reaches the browser.

The library that builds pictures checks every part of them against a schema of 30,000 lines, twice; that took two thirds
of a picture's time. Our pictures are the same but for their rows, and tests check them whole, so here it is left out.
"""

from collections.abc import Callable
from typing import Any, Literal

import altair
import polars as pl
import streamlit as st
from altair.utils import schemapi

from dashboard.frame import on_file

schemapi.disable_debug_mode()


def show_picture(
    chart: altair.LayerChart,
    *,
    key: str,
    alt: str,
    width: Literal["stretch", "content"] = "stretch",
) -> None:
    """Show a picture of layers, with `alt` for those who cannot see it.

    width : of the page, or the picture's own
    """
    st.vega_lite_chart(specification(chart), theme=None, key=key, alt=alt, width=width)


def show_kept_picture(
    draw: Callable[[], altair.LayerChart],
    *of: str | float | None,
    key: str,
    alt: str,
    on_select: Literal["ignore", "rerun"] = "ignore",
) -> Any:  # what was selected, in the framework's own form
    """Show a picture of the records, put together once until the next act; what was selected in it, if asked for.

    draw : puts it together; of : all that it shows beside the records, such as the measure or a price that was typed
    """
    told = _kept(*on_file.kept_under(), key, of, draw)
    return st.vega_lite_chart(told, theme=None, key=key, on_select=on_select, alt=alt, width="stretch")


@st.cache_resource(max_entries=60, show_spinner=False)
def _kept(
    path: str, last_act: str, key: str, of: tuple[str | float | None, ...], _draw: Callable[[], altair.LayerChart]
) -> dict[str, Any]:
    return specification(_draw())


def specification(chart: altair.LayerChart) -> dict[str, Any]:
    """The picture in the language of the browser's charts (Vega-Lite), its frames as named data beside it.

    They are taken out of the chart, which is shown once: a copy of it would cost as much as all the rest. The chart
    itself has the frame that all of its layers share; as rows it would make the framework load a library of 60 MB.
    """
    frames = {}
    for place, part in enumerate([chart, *chart.layer]):
        if isinstance(part.data, pl.DataFrame):
            frames[f"frame {place}"] = part.data
            part.data = altair.NamedData(name=f"frame {place}")
    # As a part of a picture is told: as a whole it would be copied before, which took half of the time.
    context = {"top_level": False, "data": chart.data, "datasets": {}}
    found: dict[str, Any] = altair.TopLevelLayerSpec.to_dict(chart, validate=False, context=context)
    return found | {"$schema": altair.SCHEMA_URL, "datasets": frames}
