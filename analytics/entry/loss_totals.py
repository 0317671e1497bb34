"""What loss checks lack for a total, said while they are typed and the pans are still at hand."""

from collections.abc import Sequence

import polars as pl

from analytics.entry.typed_rows import Row
from analytics.records.columns import METHODS, PLOT_KEY
from analytics.records.form import Records


def loss_lacks(rows: Sequence[Row], records: Records) -> list[str]:
    """For each plot of typed loss checks that no total can be told of yet: what it lacks, and what its partner does.

    rows : every check of these plots, those on record among them; as in the view plot_loss, a total needs a count on
        the ground behind the header and a pan
    """
    found: dict[tuple[object, ...], set[object]] = {}
    for row in rows:
        found.setdefault(tuple(row.values[name] for name in PLOT_KEY), set()).add(row.values["place"])
    lines = []
    for plot, places in found.items():
        for one in (plot, *_partners(plot, records)):
            seen = set(places) if one == plot else set(_on_plot(records["loss_checks"], one)["place"])
            if lacks := _loss_lacks(seen, _on_plot(records["plots"], one)):
                lines.append(f"{', '.join(map(str, one[1:]))}: a total loss needs {lacks} too.")
    return lines


def _loss_lacks(places: set[object], plot: pl.DataFrame) -> str:
    is_windrowed = plot.height > 0 and plot["method"][0] == "windrowed"
    behind = f"a count on the ground behind the {'pick-up' if is_windrowed else 'header'}"
    needed = {"ground behind header": behind, "pan behind combine": "a pan behind the combine"}
    return " and ".join(words for place, words in needed.items() if place not in places)


def _on_plot(table: pl.DataFrame, plot: tuple[object, ...]) -> pl.DataFrame:
    return table.filter(pl.all_horizontal(pl.col(name) == pl.lit(of) for name, of in zip(PLOT_KEY, plot, strict=True)))


def _partners(plot: tuple[object, ...], records: Records) -> list[tuple[object, ...]]:
    """The plot on the other side of its pair; none where it is in no pair."""
    year, *place = plot
    found: list[tuple[object, ...]] = []
    for pair in records["pairs"].filter(pl.col("crop_year") == pl.lit(year)).iter_rows(named=True):
        sides = [(pair[f"{side}_field"], pair[f"{side}_plot"]) for side in METHODS]
        if tuple(place) in sides:
            found += [(year, *side) for side in sides if side != tuple(place) and None not in side]
    return found
