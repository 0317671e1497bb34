"""From points to a yield of each strip: cut, moved by the delay, scaled, cleaned; and how it hangs on each of these."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np
import polars as pl

from analytics.errors import BadInput
from analytics.points.cleaning import STEPS, clean
from analytics.points.cutting import cut
from analytics.points.delay import Delay, find_delay
from analytics.points.outlines import Corner, Outline, from_corners
from analytics.points.passes import arrived_later, in_passes
from analytics.points.reading import PointFile, clock
from analytics.points.strips import Strip
from analytics.trade.numbers_as_text import exact

DELAYS_SHOWN = (-6.0, -4.0, -2.0, 0.0, 2.0, 4.0, 6.0)  # seconds around the one that is used
FULL_COVER = (0.9, 1.1)  # passes of an outline that cover less or more of it are asked about (our choice, no source)


@dataclass(frozen=True, slots=True, kw_only=True)
class StripYield:
    """What the points say of one strip. Yields are wet, dockage still in, kg/ha, scaled where a scale is known.

    kg_ha, uncleaned_kg_ha : after cleaning; and all the monitor logged in the outline, without delay, by its area
    logged_kg_ha : all it logged of the strip at the delay used, ends and nonsense still in, by the strip's area
    monitor_kg : all the monitor logged in the strip, as read
    weight_kg : what the strip brought by the cleaned yield, unscaled, as the monitor weighs
    covered : how much of the strip its passes cover at the width they were cut; 1 where it is made of passes
    removed : points by step of the cleaning, all steps
    hours : in the strip, the turns behind its passes counted; null, as day is, where the file has no time
    day : local
    """

    strip: Strip
    outline: Outline
    area_m2: float
    points: int
    kept: int
    removed: Mapping[str, int]
    covered: float
    scale_factor: float | None
    kg_ha: float
    uncleaned_kg_ha: float
    logged_kg_ha: float
    moisture_pct: float | None
    monitor_kg: float
    weight_kg: float
    hours: float | None
    day: date | None

    @property
    def is_scaled(self) -> bool:
        """Whether a certified scale stands behind the yield."""
        return self.scale_factor is not None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FieldYields:
    """The strips of one field as the points say, in the order from left to right.

    delay_s : what was used; delay : what the passes say
    field_monitor_kg : all the monitor logged in the file, as read
    by_delay : the yields, kg/ha by plot, at each delay that was tried; None stands for uncleaned
    points : those of the strips, as from clean, for the picture; their column strip counts into plots
    """

    file: PointFile
    strips: tuple[StripYield, ...]
    thresholds: Mapping[str, float]
    delay: Delay
    delay_s: float
    field_monitor_kg: float
    certified_kg: float | None
    by_delay: Mapping[float | None, Mapping[str, float]]
    points: pl.DataFrame = field(repr=False)
    plots: tuple[str, ...]


def yields_of(
    file: PointFile,
    strips: Sequence[Strip],
    thresholds: Mapping[str, float],
    *,
    delay_s: float | None = None,
    certified_kg: float | None = None,
    hours_from_utc: float = 0.0,
    step: Callable[[str], None] = lambda _: None,
) -> FieldYields:
    """Every strip's yield.

    delay_s : null for the one that lines up neighbouring passes, and 0 where they cannot tell
    certified_kg : of the whole field, where all of it went over a certified scale and into this file
    hours_from_utc : of local time, for the day of harvest of a file in UTC
    Raises BadInput where a strip has no point, or nothing of it is left, and for a number that cannot be.
    """
    for name, value, (low, high) in (
        ("certified kg", certified_kg, (1, 50_000_000)),
        ("delay, s", delay_s, (-60, 120)),
        ("hours from UTC", hours_from_utc, (-14, 14)),
    ):
        if value is not None and not low <= value <= high:
            raise BadInput(f"{name}: {exact(value)} given; allowed {exact(low)} to {exact(high)}.")
    step("finding the passes")
    rows = in_passes(file, gap_s=thresholds["gap_s"])
    outlines = _outlines(strips, rows)
    step("cutting the points to strips")
    inside = rows.join(_cut(rows, strips, outlines), on="number", maintain_order="left")
    step("finding the delay")
    delay = find_delay(rows, gap_s=thresholds["gap_s"], fewest_points=thresholds["fewest_points"])
    used = delay_s if delay_s is not None else delay.seconds or 0.0
    hours = _hours(rows, inside) if file.has_time else {}
    field_kg = float(rows["kg"].cast(pl.Float64).sum())
    read_kg = dict(inside.group_by("strip").agg(_total(pl.col("kg"))).iter_rows())
    scales = _scales(strips, read_kg, certified_kg, field_kg)
    tried: dict[float | None, Mapping[str, float]] = {}
    chosen: tuple[StripYield, ...] = ()

    def local(seconds: float) -> date | None:
        return clock(seconds + (hours_from_utc * 3600 if file.is_utc else 0)).date() if file.has_time else None

    for seconds in sorted({round(used + off, 1) for off in DELAYS_SHOWN} | {0.0}) if file.has_time else [used]:
        step(f"cleaning at a delay of {seconds:.1f} s")
        cleaned = _cleaned(rows, inside, outlines, scales, thresholds, seconds)
        sums = _sums(cleaned, thresholds)
        found = tuple(
            _strip_yield(
                strip,
                outlines[at],
                sums[at],
                scales[at],
                thresholds,
                monitor_kg=read_kg[at],
                day=local(sums[at]["middle_s"]),
                hours=hours.get(at),
            )
            for at, strip in enumerate(strips)
        )
        tried[seconds] = {one.strip.plot: one.kg_ha for one in found}
        if seconds == round(used, 1):
            chosen, points = found, cleaned
    tried[None] = {one.strip.plot: one.uncleaned_kg_ha for one in chosen}
    return FieldYields(
        file=file,
        strips=_left_to_right(chosen),
        thresholds=thresholds,
        delay=delay,
        delay_s=round(used, 1),
        field_monitor_kg=field_kg,
        certified_kg=certified_kg,
        by_delay=tried,
        points=points,
        plots=tuple(strip.plot for strip in strips),
    )


def _outlines(strips: Sequence[Strip], rows: pl.DataFrame) -> dict[int, Outline]:
    return {at: strip.outline or _around(strip, rows) for at, strip in enumerate(strips)}


def _around(strip: Strip, rows: pl.DataFrame) -> Outline:
    """The oblong around the passes of a strip, half a cut wider on both sides."""
    mine = rows.filter(pl.col("pass").is_in(sorted(strip.passes)), ~pl.col("header_up").fill_null(False))
    if mine.is_empty():
        raise BadInput(f"{strip.plot}: no point in the passes given; allowed numbers as the list of passes has them.")
    doubled = np.radians(2 * mine["heading"].to_numpy())
    angle = np.arctan2(np.sin(doubled).mean(), np.cos(doubled).mean()) / 2
    east, north = mine["east_m"].to_numpy(), mine["north_m"].to_numpy()
    along, across = east * np.sin(angle) + north * np.cos(angle), east * np.cos(angle) - north * np.sin(angle)
    aside = strip.cut_width_m / 2
    box = [
        (u, v)
        for u, v in (
            (along.min(), across.min() - aside),
            (along.min(), across.max() + aside),
            (along.max(), across.max() + aside),
            (along.max(), across.min() - aside),
        )
    ]
    corners: list[Corner] = [
        (float(u * np.sin(angle) + v * np.cos(angle)), float(u * np.cos(angle) - v * np.sin(angle))) for u, v in box
    ]
    return from_corners(corners, strip.plot)


def _cut(rows: pl.DataFrame, strips: Sequence[Strip], outlines: Mapping[int, Outline]) -> pl.DataFrame:
    """Columns number, strip, method, cut_width_m: the points of the strips."""
    drawn = {at: outlines[at] for at, strip in enumerate(strips) if not strip.passes}
    found = [cut(rows, drawn)] if drawn else []
    given = [(number, at) for at, strip in enumerate(strips) for number in sorted(strip.passes)]
    if given:
        of_passes = pl.DataFrame(given, schema={"pass": pl.Int32, "strip": pl.Int32}, orient="row")
        found.append(rows.select("number", "pass").join(of_passes, on="pass").select("number", "strip"))
    about = pl.DataFrame(
        [(at, strip.method, strip.cut_width_m) for at, strip in enumerate(strips)],
        schema={"strip": pl.Int32, "method": pl.String, "cut_width_m": pl.Float64},
        orient="row",
    )
    inside = pl.concat(found).join(about, on="strip").sort("number")
    empty = [strip.plot for at, strip in enumerate(strips) if at not in set(inside["strip"].unique())]
    if empty:
        raise BadInput(
            f"{', '.join(empty)}: no point lies in it; allowed strips on the ground of the points. Check the corners: "
            "longitude comes first."
        )
    return inside


def _hours(rows: pl.DataFrame, inside: pl.DataFrame) -> dict[int, float]:
    """Hours by strip: of the points in it, and of those with the header up that come behind them."""
    driven = rows.select("number", "lasted_s", "header_up", "machine").join(
        inside.select("number", "strip"), on="number", how="left", maintain_order="left"
    )
    counted = driven.with_columns(pl.col("strip").forward_fill().over("machine").alias("last_strip")).filter(
        pl.col("strip").is_not_null() | pl.col("header_up").fill_null(False)
    )
    sums = counted.drop_nulls("last_strip").group_by("last_strip").agg(pl.col("lasted_s").cast(pl.Float64).sum() / 3600)
    return dict(sums.iter_rows())


def _scales(
    strips: Sequence[Strip], read_kg: Mapping[int, float], certified_kg: float | None, field_kg: float
) -> dict[int, float | None]:
    """What the monitor's kg are multiplied by: by the strip's own ticket, else the field's; null without either."""
    whole = None if certified_kg is None else certified_kg / field_kg
    return {
        at: whole if strip.certified_kg is None else strip.certified_kg / read_kg[at] for at, strip in enumerate(strips)
    }


def _cleaned(
    rows: pl.DataFrame,
    inside: pl.DataFrame,
    outlines: Mapping[int, Outline],
    scales: Mapping[int, float | None],
    thresholds: Mapping[str, float],
    seconds: float,
) -> pl.DataFrame:
    """The points of the strips with the grain that was cut at each, scaled, and what became of them."""
    factors = pl.DataFrame(
        [(at, 1.0 if scale is None else scale) for at, scale in scales.items()],
        schema={"strip": pl.Int32, "scale": pl.Float64},
        orient="row",
    )
    moved = inside.join(factors, on="strip", how="left", maintain_order="left")
    if seconds:
        arrived = arrived_later(rows, seconds, gap_s=thresholds["gap_s"])[moved["number"].to_numpy()]
        moved = moved.with_columns(kg_s=pl.Series(arrived)).with_columns(
            pl.col("kg_s").fill_nan(None),
            kg=(pl.col("kg_s") * pl.col("lasted_s")).fill_nan(None),
        )
    scaled = moved.with_columns(pl.col("kg", "kg_s").cast(pl.Float64) * pl.col("scale"))
    return clean(scaled, outlines, thresholds)


def _sums(cleaned: pl.DataFrame, thresholds: Mapping[str, float]) -> dict[int, dict[str, float]]:
    """By strip, what its yield is made of, in kg, m and m2 (as driven, by the width of the cut), and its points by step
    of the cleaning. All strips at once: a look at the points for each number takes ten times as long.
    """
    is_kept, is_down = pl.col("removed_by").is_null(), ~pl.col("header_up").fill_null(False)
    is_moist = is_kept & pl.col("grain_moisture_pct").is_not_null()
    # A pass that is not left out for what it overlaps is a whole one: its place is shaky, and the width may be wrong.
    is_whole = pl.col("new_share").fill_null(1.0) >= thresholds["overlap_share"]
    share = pl.when(is_whole).then(1.0).otherwise("new_share")
    ground = pl.col("distance_m").cast(pl.Float64) * pl.col("cut_width_m") * share
    sums = cleaned.group_by("strip").agg(
        points=pl.len(),
        kept=is_kept.sum(),
        middle_s=pl.col("seconds").median(),
        kept_kg=_total(pl.col("kg"), is_kept),
        kept_m=_total(pl.col("distance_m"), is_kept),
        down_m2=_total(ground, is_down),
        inner_m2=_total(ground, is_down & (pl.col("ends_m") >= thresholds["headland_m"])),
        down_kg=_total(pl.col("kg").fill_nan(None), is_down),
        moist_kg=_total(pl.col("kg"), is_moist),
        water_kg_pct=_total(pl.col("grain_moisture_pct") * pl.col("kg"), is_moist),
        **{step: (pl.col("removed_by") == step).sum() for step in STEPS},
    )
    return {row.pop("strip"): row for row in sums.iter_rows(named=True)}


def _strip_yield(
    strip: Strip,
    outline: Outline,
    sums: Mapping[str, float],
    scale: float | None,
    thresholds: Mapping[str, float],
    *,
    monitor_kg: float,
    day: date | None,
    hours: float | None,
) -> StripYield:
    """One strip, from the sums over its points as cleaned; monitor_kg : over those as read."""
    removed = {step: int(sums[step]) for step in STEPS}
    if not sums["kept"]:
        most = max(removed, key=lambda one: removed[one])
        raise BadInput(
            f"{strip.plot}: none of {sums['points']:,} points is left; most went as {most!r}. Check the width of the "
            "cut, the units and the thresholds."
        )
    factor = 1.0 if scale is None else scale
    trimmed = 1 - 2 * thresholds["headland_m"] / _length_m(outline)
    area = sums["down_m2"] if strip.passes else outline.area_m2
    covered = 1.0 if strip.passes or trimmed <= 0 else sums["inner_m2"] / (outline.area_m2 * trimmed)
    kg_ha = sums["kept_kg"] / (sums["kept_m"] * strip.cut_width_m) * 10_000 * covered
    return StripYield(
        strip=strip,
        outline=outline,
        area_m2=area,
        points=int(sums["points"]),
        kept=int(sums["kept"]),
        removed=removed,
        covered=covered,
        scale_factor=scale,
        kg_ha=kg_ha,
        uncleaned_kg_ha=monitor_kg * factor / area * 10_000,
        logged_kg_ha=sums["down_kg"] / area * 10_000,
        moisture_pct=sums["water_kg_pct"] / sums["moist_kg"] if sums["moist_kg"] else None,
        monitor_kg=monitor_kg,
        weight_kg=kg_ha / factor * area / 10_000,
        hours=hours,
        day=day,
    )


def _total(of: pl.Expr, where: pl.Expr | None = None) -> pl.Expr:
    """A sum in double precision, 0 over no row."""
    values = of.cast(pl.Float64)
    return (values if where is None else values.filter(where)).sum()


def _length_m(outline: Outline) -> float:
    return outline.area_m2 / outline.width_m


def _left_to_right(strips: Sequence[StripYield]) -> tuple[StripYield, ...]:
    """In the order in which they lie across their common heading."""
    angle = math.radians(strips[0].outline.heading)

    def across(one: StripYield) -> float:
        east, north = one.outline.middle
        return east * math.cos(angle) - north * math.sin(angle)

    return tuple(sorted(strips, key=across))
