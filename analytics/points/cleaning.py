"""Points that say nothing about the crop taken out, step by step in a fixed order, alike for both methods.

The order is that of Simbahan, Dobermann and Ping 2004 (Agronomy Journal 96:1091-1102, abstract): header, delay, start
and end of a pass, outliers, biological limits, neighbours, short pieces and overlaps. A step sees only what the steps
before it left, and each point carries the name of the first step that took it out.
"""

from collections.abc import Mapping

import numpy as np
import polars as pl

from analytics.points.outlines import Outline

# The steps in their order.
HEADER = "header up"
DELAY = "no grain yet for its place"
HEADLAND = "headland"
START_END = "start or end of a pass"
OUTLIER = "flow, distance, moisture or speed far off"
LIMITS = "more or less than grows"
NEIGHBOURS = "unlike its neighbours"
SHORT = "short piece of a pass"
SPOT = "on one spot"
OVERLAP = "ground cut before"
STEPS = (HEADER, DELAY, HEADLAND, START_END, OUTLIER, LIMITS, NEIGHBOURS, SHORT, SPOT, OVERLAP)
STEP = pl.Enum(STEPS)  # a number a point, told as its word
WATCHED = ("kg_s", "distance_m", "grain_moisture_pct", "speed_m_s")
NEIGHBOURS_SEEN = 11
FEWEST_SEEN = 5
NOTHING_DIFFERS = 1e-6  # spread of a column in which every value is the same


def clean(points: pl.DataFrame, outlines: Mapping[int, Outline], thresholds: Mapping[str, float]) -> pl.DataFrame:
    """The points of the strips with what became of each.

    points : as from in_passes, with kg and kg_s scaled and moved by the delay (null where nothing came), and strip,
        method, cut_width_m
    outlines : by strip
    Added: kg_ha (at the width as it was cut), piece (a pass within a strip), ends_m (to the nearer end of the
        strip), new_share (of the cut, that was new ground), removed_by (one of STEPS, null where it is kept).
    """
    rows = _beside(points, outlines)
    rows = rows.with_columns(
        kg_ha=pl.when(pl.col("distance_m") > 0).then(
            pl.col("kg") / (pl.col("distance_m") * pl.col("cut_width_m")) * 10_000
        ),
        removed_by=pl.lit(None, dtype=STEP),
    )
    rows = _remove(rows, pl.col("header_up"), HEADER)
    rows = _remove(rows, pl.col("kg").is_null() | pl.col("kg").is_nan(), DELAY)
    rows = _remove(rows, pl.col("ends_m") < thresholds["headland_m"], HEADLAND)
    is_at_an_end = (pl.col("into_m") < thresholds["start_m"]) | (pl.col("left_m") < thresholds["end_m"])
    rows = _remove(rows, is_at_an_end, START_END)
    rows = _remove(rows, pl.any_horizontal(_is_far_off(name, thresholds["outlier_sd"]) for name in WATCHED), OUTLIER)
    grows = pl.col("kg_ha").is_between(thresholds["lowest_kg_ha"], thresholds["highest_kg_ha"])
    rows = _remove(rows, ~grows, LIMITS)
    around = pl.when(pl.col("removed_by").is_null()).then(pl.col("kg_ha"))
    middle = around.rolling_median(NEIGHBOURS_SEEN, min_samples=FEWEST_SEEN, center=True).over("piece")
    rows = _remove(rows, (pl.col("kg_ha") - middle).abs() > thresholds["neighbour_share"] * middle, NEIGHBOURS)
    left = pl.col("removed_by").is_null().sum().over("piece")
    rows = _remove(rows, left < thresholds["fewest_points"], SHORT)
    rows = _remove(rows, (pl.col("distance_m") < thresholds["spot_m"]) | pl.col("kg_ha").is_null(), SPOT)
    rows = rows.join(_new_ground(rows), on="piece", how="left", maintain_order="left")
    return _remove(rows, pl.col("new_share") < thresholds["overlap_share"], OVERLAP)


def _remove(rows: pl.DataFrame, is_out: pl.Expr, step: str) -> pl.DataFrame:
    is_first = pl.col("removed_by").is_null() & is_out.fill_null(False)
    return rows.with_columns(removed_by=pl.when(is_first).then(pl.lit(step, dtype=STEP)).otherwise("removed_by"))


def _is_far_off(name: str, how_far: float) -> pl.Expr:
    """Whether a value lies so many standard deviations from the mean of what is left of its method."""
    left = pl.when(pl.col("removed_by").is_null()).then(pl.col(name).cast(pl.Float64))
    spread = left.std().over("method")
    return (spread > NOTHING_DIFFERS) & ((pl.col(name) - left.mean().over("method")).abs() > how_far * spread)


def _beside(points: pl.DataFrame, outlines: Mapping[int, Outline]) -> pl.DataFrame:
    """Each point's place in its strip: along_m and across_m by the strip's heading, and ends_m to its nearer end."""
    about = []
    for strip, outline in outlines.items():
        angle = np.radians(outline.heading)
        ends = [east * np.sin(angle) + north * np.cos(angle) for east, north in outline.corners]
        about.append(
            (strip, np.sin(angle), np.cos(angle), float(np.mean(sorted(ends)[:2])), float(np.mean(sorted(ends)[2:])))
        )
    schema = {"strip": pl.Int32, "sin": pl.Float64, "cos": pl.Float64, "near": pl.Float64, "far": pl.Float64}
    joined = points.join(
        pl.DataFrame(about, schema=schema, orient="row"), on="strip", how="left", maintain_order="left"
    )
    along = pl.col("east_m") * pl.col("sin") + pl.col("north_m") * pl.col("cos")
    return joined.with_columns(
        along_m=along,
        across_m=pl.col("east_m") * pl.col("cos") - pl.col("north_m") * pl.col("sin"),
        ends_m=pl.min_horizontal(along - pl.col("near"), pl.col("far") - along),
        piece=pl.struct("strip", "pass").rank("dense").cast(pl.Int32),
    ).drop("sin", "cos", "near", "far")


def _new_ground(rows: pl.DataFrame) -> pl.DataFrame:
    """Columns piece, new_share: how much of its cut was new ground, by the nearest pass in the strip cut before it."""
    pieces = (
        rows.filter(~pl.col("header_up").fill_null(False))
        .group_by("piece", "strip", "cut_width_m")
        .agg(
            pl.col("across_m").median().alias("across"),
            pl.col("along_m").min().alias("near"),
            pl.col("along_m").max().alias("far"),
            pl.col("seconds").min().alias("started"),
        )
        .sort("strip", "started", "piece")
    )
    shares = []
    for (_,), group in pieces.group_by("strip", maintain_order=True):
        across, near, far = (group[name].to_numpy() for name in ("across", "near", "far"))
        for place, (piece, width) in enumerate(group.select("piece", "cut_width_m").iter_rows()):
            beside = (near[:place] < far[place]) & (far[:place] > near[place])
            gaps = np.abs(across[:place][beside] - across[place])
            shares.append((piece, min(1.0, float(gaps.min()) / width) if len(gaps) else 1.0))
    return pl.DataFrame(shares, schema={"piece": pl.Int32, "new_share": pl.Float64}, orient="row")
