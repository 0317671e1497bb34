"""The way of the combine: time, distance and grain of each point, passes, and grain moved to where it was cut."""

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.points.outlines import northward
from analytics.points.reading import PointFile

TURN_DEG = 45.0  # of heading within a few points, where nothing else tells one pass from the next (our choice)
TURN_POINTS = 5
HOLE = 1.5  # times the usual seconds and the metres logged; beyond it a row before a point was not read (our choice)


def in_passes(file: PointFile, *, gap_s: float) -> pl.DataFrame:
    """A row for each point in the order driven, by machine.

    Columns: number (from 0), seconds, east_m, north_m, lasted_s (since the point before), distance_m, speed_m_s,
    heading (degrees from north), kg (of grain, as read), kg_s, grain_moisture_pct, header_up, machine, and pass (from
    1), into_m and left_m: metres from its start and to its end.

    gap_s : a longer break begins a new pass, and is no time in which grain came in
    """
    rows = file.points
    is_first = (pl.col("machine") != pl.col("machine").shift()).fill_null(True)
    rows = rows.with_columns(
        is_first=is_first,
        lasted=pl.col("seconds").diff(),
        step_east=pl.col("east_m").diff(),
        step_north=pl.col("north_m").diff(),
    )
    usual = rows.filter(~pl.col("is_first"), pl.col("lasted").is_between(0, gap_s, closed="right"))["lasted"].median()
    is_broken = pl.col("is_first") | (pl.col("lasted") > gap_s)
    rows = rows.with_columns(
        is_broken=is_broken,
        lasted_s=pl.when(is_broken).then(pl.lit(usual)).otherwise(pl.col("lasted")).cast(pl.Float32),
        driven=pl.when(~is_broken).then((pl.col("step_east") ** 2 + pl.col("step_north") ** 2).sqrt()),
        heading=pl.arctan2("step_east", "step_north").degrees() % 360,
    )
    rows = rows.with_columns(heading=pl.when(is_broken | (pl.col("driven") == 0)).then(None).otherwise("heading"))
    rows = rows.with_columns(heading=pl.col("heading").forward_fill().backward_fill().fill_null(0).cast(pl.Float32))
    return _numbered(_with_grain(_with_distance(rows, file), file), file)


def _with_distance(rows: pl.DataFrame, file: PointFile) -> pl.DataFrame:
    """Metres since the point before: as logged, by speed and time, or by the two places.

    Where a row between could not be read, the metres logged are those of the last second alone and its grain's too:
    then the way between the two places counts, and `bridged` says by how much more a mass has to be.
    """
    usual = rows["driven"].median()
    driven = pl.col("driven").fill_null(pl.lit(usual))
    rows = rows.with_columns(bridged=pl.lit(1.0))
    if "distance_m" in file.columns:
        is_hole = (pl.col("driven") > HOLE * pl.col("distance_m")) & (
            pl.col("lasted_s") > HOLE * pl.col("lasted_s").median()
        )
        bridged = pl.when(is_hole & (pl.col("distance_m") > 0)).then(pl.col("driven") / pl.col("distance_m"))
        rows = rows.with_columns(bridged=bridged.fill_null(1.0))
        distance = (pl.col("distance_m") * pl.col("bridged")).fill_null(driven)
    elif "speed_m_s" in file.columns and file.has_time:
        distance = (pl.col("speed_m_s") * pl.col("lasted_s")).fill_null(driven)
    else:
        distance = driven
    rows = rows.with_columns(distance_m=distance.cast(pl.Float32))
    if "speed_m_s" in file.columns:
        return rows
    return rows.with_columns(speed_m_s=pl.when(pl.col("lasted_s") > 0).then(pl.col("distance_m") / pl.col("lasted_s")))


def _with_grain(rows: pl.DataFrame, file: PointFile) -> pl.DataFrame:
    """Grain of each point, kg, whichever of mass, flow and yield the file tells; a yield by the width it went by."""
    if "mass_kg" in file.columns:
        grain = pl.col("mass_kg") * pl.col("bridged")
    elif "flow_kg_s" in file.columns:
        grain = pl.col("flow_kg_s") * pl.col("lasted_s")
    else:
        grain = pl.col("wet_kg_ha") * pl.col("distance_m") * pl.col("width_m") / 10_000
    rows = rows.with_columns(kg=grain.cast(pl.Float32))
    return rows.with_columns(kg_s=pl.when(pl.col("lasted_s") > 0).then(pl.col("kg") / pl.col("lasted_s")))


def _numbered(rows: pl.DataFrame, file: PointFile) -> pl.DataFrame:
    if "header_up" not in rows.columns:
        rows = rows.with_columns(header_up=pl.lit(None, dtype=pl.Boolean))
    if "grain_moisture_pct" not in rows.columns:
        rows = rows.with_columns(grain_moisture_pct=pl.lit(None, dtype=pl.Float32))
    changes = [pl.col("is_broken")]
    if "header_up" in file.columns:
        is_up = pl.col("header_up").fill_null(False)
        changes.append(is_up != is_up.shift())
    if "pass_name" in file.columns:
        changes.append(pl.col("pass_name").ne_missing(pl.col("pass_name").shift()))
    if not file.columns & {"header_up", "pass_name"}:
        turned = (pl.col("heading") - pl.col("heading").shift(TURN_POINTS) + 180) % 360 - 180
        is_turning = (turned.abs() > TURN_DEG).fill_null(False)
        changes.append(is_turning != is_turning.shift())
    is_new = pl.any_horizontal(change.fill_null(True) for change in changes)
    rows = rows.with_columns(is_new.cum_sum().cast(pl.Int32).alias("pass"))
    so_far = pl.col("distance_m").cum_sum().over("pass")
    return rows.select(
        pl.int_range(pl.len(), dtype=pl.UInt32).alias("number"),
        "seconds",
        "east_m",
        "north_m",
        "lasted_s",
        "distance_m",
        "speed_m_s",
        "heading",
        "kg",
        "kg_s",
        "grain_moisture_pct",
        "header_up",
        "machine",
        "pass",
        (so_far - pl.col("distance_m")).cast(pl.Float32).alias("into_m"),
        (pl.col("distance_m").sum().over("pass") - so_far).cast(pl.Float32).alias("left_m"),
    )


def arrived_later(rows: pl.DataFrame, delay_s: float, *, gap_s: float) -> NDArray[np.float64]:
    """Grain that was cut at each point, kg a second, shape (points,): what was logged delay_s later; nan for nothing.

    Grain takes seconds from the knife to the sensor. Between two points it is taken as a straight line, and across a
    break of more than gap_s as unknown.
    """
    found = np.full(rows.height, np.nan)
    seconds, flow = rows["seconds"].to_numpy(), rows["kg_s"].to_numpy().astype(np.float64)
    if delay_s == 0:
        return flow
    starts = rows.select((pl.col("machine") != pl.col("machine").shift()).fill_null(True).arg_true()).to_series()
    for start, end in zip(starts, [*starts[1:], rows.height], strict=True):
        moments, flows = seconds[start:end], flow[start:end]
        wanted = moments + delay_s
        after = np.clip(np.searchsorted(moments, wanted), 1, len(moments) - 1) if len(moments) > 1 else None
        if after is None:
            continue
        is_known = (wanted >= moments[0]) & (wanted <= moments[-1]) & (moments[after] - moments[after - 1] <= gap_s)
        found[start:end] = np.where(is_known, np.interp(wanted, moments, flows), np.nan)
    return found


def pass_list(rows: pl.DataFrame, *, fewest_points: float) -> pl.DataFrame:
    """The passes with the header down, a row each: pass, points, length_m, heading (both ways alike, from -5 to 175),
    runs_on (true where it was driven that way, false where the other), across_m (metres to the right of a line
    through the origin along the common heading), group (passes of one heading, from 1) and started (seconds).

    Sorted by group and across_m, so that neighbours on the ground stand beside each other.
    """
    down = rows.filter(~pl.col("header_up").fill_null(False))
    each = (
        down.group_by("pass")
        .agg(
            pl.len().alias("points"),
            pl.col("distance_m").sum().alias("length_m"),
            pl.col("east_m").mean().alias("east"),
            pl.col("north_m").mean().alias("north"),
            (pl.col("heading").radians().sin() * pl.col("distance_m")).sum().alias("sin"),
            (pl.col("heading").radians().cos() * pl.col("distance_m")).sum().alias("cos"),
            pl.col("seconds").min().alias("started"),
        )
        .filter(pl.col("points") >= fewest_points)
        .with_columns(driven=pl.arctan2("sin", "cos").degrees() % 360)
        .sort("length_m", "pass", descending=[True, False])
    )
    if each.is_empty():
        return each.select("pass", "points", "length_m").with_columns(group=pl.lit(0))
    driven, lengths = each["driven"].to_numpy(), each["length_m"].to_numpy()
    group = np.zeros(len(driven), dtype=np.int32)
    axis = np.zeros(len(driven))
    while not group.all():  # the longest pass left names the heading; those within TURN_DEG / 3 of it are its group
        first = int(np.argmin(group > 0))
        near = (group == 0) & (_apart(driven, driven[first]) < TURN_DEG / 3)
        doubled = np.radians(2 * driven[near])
        mean = np.degrees(np.arctan2((np.sin(doubled) * lengths[near]).sum(), (np.cos(doubled) * lengths[near]).sum()))
        group[near], axis[near] = group.max() + 1, northward(mean / 2)
    return (
        each.with_columns(
            group=pl.Series(group),
            heading=pl.Series(axis),
            runs_on=pl.Series(np.cos(np.radians(driven - axis)) > 0),
        )
        .with_columns(
            across_m=pl.col("east") * pl.col("heading").radians().cos()
            - pl.col("north") * pl.col("heading").radians().sin()
        )
        .select("pass", "points", "length_m", "heading", "runs_on", "across_m", "group", "started")
        .sort("group", "across_m")
    )


def _apart(headings: NDArray[np.float64], heading: float) -> NDArray[np.float64]:
    """Degrees between lines of these headings, both ways alike: 0 to 90."""
    apart: NDArray[np.float64] = np.abs(headings - heading) % 180
    return np.minimum(apart, 180 - apart)
