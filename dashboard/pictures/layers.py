"""Pictures in the language of the browser's charts (Vega-Lite): layers of marks, each over a frame of its own.

They are written in that language itself: the library that builds it took two thirds of a screen's time and 28 MB. Tests
hold the pictures against that library's schema.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import polars as pl

from analytics.answer.marks import INK

Spec = dict[str, Any]  # a part of a picture in Vega-Lite
KINDS = {"Q": "quantitative", "N": "nominal", "T": "temporal"}
FONT = "system-ui, -apple-system, 'Segoe UI', Roboto, 'DejaVu Sans', sans-serif"
AXES: Spec = {
    "labelFontSize": 12,
    "titleFontSize": 12,
    "titleFontWeight": "normal",
    "labelColor": INK,
    "titleColor": INK,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """Marks of one kind, one for each row of a frame.

    encoding : what the columns say, by channel; click : the name of what a click on a mark selects, and its columns
    """

    rows: pl.DataFrame
    mark: Spec
    encoding: Spec
    click: tuple[str, list[str]] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """Layers over each other, the first at the bottom.

    frame : its height, and its width or title where it has one of its own; config : how axes and frame look
    """

    layers: Sequence[Layer]
    frame: Spec
    config: Spec

    @property
    def specification(self) -> Spec:
        """In Vega-Lite, with the frames as data sets beside it."""
        names = [f"layer {place}" for place in range(len(self.layers))]
        drawn = [
            {"data": {"name": name}, "name": name, "mark": layer.mark, "encoding": layer.encoding}
            for name, layer in zip(names, self.layers, strict=True)
        ]
        clicks = [
            {"name": layer.click[0], "select": {"type": "point", "fields": layer.click[1]}, "views": [name]}
            for name, layer in zip(names, self.layers, strict=True)
            if layer.click
        ]
        return {
            "layer": drawn,
            "params": clicks,
            "config": {"font": FONT, "mark": {"aria": False}, **self.config},  # the picture is told in words beside it
            "datasets": {name: layer.rows for name, layer in zip(names, self.layers, strict=True)},
            **self.frame,
        }


def layer(rows: pl.DataFrame, mark: Spec, **encoding: Any) -> Layer:
    """A layer; channels by name."""
    return Layer(rows=rows, mark=mark, encoding=encoding)


def drawn_as(kind: str, **look: Any) -> Spec:
    """A kind of mark, and what all of them look like."""
    return {"type": kind, **look}


def channel(column: str, **settings: Any) -> Spec:
    """A column and what it holds, "low:Q": a quantity (Q), a name (N) or a time (T)."""
    field, _, kind = column.rpartition(":")
    return {"field": field, "type": KINDS[kind], **settings}


def either(test: str, so: object, otherwise: object) -> Spec:
    """One value where a test of the browser's language holds, else another."""
    return {"condition": {"test": test, "value": so}, "value": otherwise}


def tip() -> Spec:
    """What a mark says when it is pointed at: its column of that name."""
    return channel("tip:N", title=" ")
