"""What a screen and the terminal say of strips out of points: rows of tables, and sentences with what to watch."""

from collections.abc import Sequence

import polars as pl

from analytics.points.cleaning import STEPS
from analytics.points.neighbours import Alike, ProposedPair
from analytics.points.strip_yields import FULL_COVER, FieldYields, StripYield
from analytics.records.columns import METHODS
from analytics.trade.numbers_as_text import amount, count, counted, number, percent_words
from analytics.trade.units import KG_HA_PER_BU_AC

UNIT = "bu/ac"
NOT_SETTLED_BY_POINTS = (
    "Points are not replicates: each strip counts once, however many points it has. A monitor that is 3 % off is off "
    "by more than a bushel."
)
UNSCALED = (
    "Unscaled: no certified weight stands behind these yields, so they carry no answer. Give what a certified scale "
    "says the whole field brought, and they are scaled to it."
)
LIKELY_FACTOR = 1.5  # a monitor further off than this, either way, is asked about; our choice, no source
WIDTHS = "A windrowed pass is as wide as the windrower's cut, not as the pick-up. The acres come from the outline."


def bu_ac(kg_ha: float) -> str:
    """A yield in the unit that is shown."""
    return number(kg_ha / KG_HA_PER_BU_AC, 1)


def points_read_words(found: FieldYields) -> str:
    """What was read and what is left: "7,520 points in monitor.csv, 28 of them unreadable; 6,871 lie in 12 strips"."""
    file = found.file
    odd = f", {number(file.unreadable, 0)} of them unreadable" if file.unreadable else ""
    inside = sum(one.points for one in found.strips)
    kept = sum(one.kept for one in found.strips)
    return (
        f"{count(file.rows, 'point')} in {file.name}{odd}; {number(inside, 0)} lie in "
        f"{count(len(found.strips), 'strip')}, and {number(kept, 0)} are left after cleaning "
        f"({percent_words(round(1 - kept / inside, 3))} taken out)."
    )


def strip_rows(found: FieldYields) -> pl.DataFrame:
    """A row a strip from left to right, all text."""
    return pl.DataFrame(
        [
            {
                "strip": one.strip.plot,
                "method": one.strip.method,
                "points": number(one.points, 0),
                "left": number(one.kept, 0),
                UNIT: bu_ac(one.kg_ha),
                "uncleaned": bu_ac(one.uncleaned_kg_ha),
                "moisture, %": number(one.moisture_pct, 1),
                "covered, %": number(one.covered * 100, 0),
                "hours": number(one.hours, 2),
                "scaled": "no" if one.scale_factor is None else f"x {number(one.scale_factor, 3)}",
            }
            for one in found.strips
        ]
    )


def removal_rows(found: FieldYields) -> pl.DataFrame:
    """A row a step of the cleaning in its order: points taken out and their share, by method; all text."""
    totals = {method: sum(one.points for one in found.strips if one.strip.method == method) for method in METHODS}
    rows = []
    for step in STEPS:
        row = {"taken out": step}
        for method in METHODS:
            gone = sum(one.removed[step] for one in found.strips if one.strip.method == method)
            share = f" ({number(100 * gone / totals[method], 1)} %)" if totals[method] else ""
            row[method] = f"{number(gone, 0)}{share}"
        rows.append(row)
    return pl.DataFrame(rows)


def mean_difference(pairs: Sequence[ProposedPair], yields: dict[str, float]) -> float:
    """Mean of standing minus windrowed over the pairs, in the unit of `yields` by plot."""
    each = [yields[pair.standing.strip.plot] - yields[pair.windrowed.strip.plot] for pair in pairs]
    return sum(each) / len(each)


def difference_rows(found: FieldYields, pairs: Sequence[ProposedPair]) -> pl.DataFrame:
    """The mean difference of the pairs at each delay that was tried, and uncleaned; all text."""
    rows = []
    for delay, yields in found.by_delay.items():
        used = delay == found.delay_s
        named = "uncleaned, no delay" if delay is None else f"{number(delay, 1)} s{' (used)' if used else ''}"
        difference = mean_difference(pairs, dict(yields)) / KG_HA_PER_BU_AC
        rows.append({"delay": named, f"standing minus windrowed, {UNIT}": number(difference, 2, sign=True)})
    return pl.DataFrame(rows)


def neighbour_rows(pairs: Sequence[ProposedPair]) -> pl.DataFrame:
    """A row a pair: both strips, both yields and the difference; all text."""
    return pl.DataFrame(
        [
            {
                "pair": pair.name,
                "standing": pair.standing.strip.plot,
                f"standing, {UNIT}": bu_ac(pair.standing.kg_ha),
                "windrowed": pair.windrowed.strip.plot,
                f"windrowed, {UNIT}": bu_ac(pair.windrowed.kg_ha),
                "difference": number((pair.standing.kg_ha - pair.windrowed.kg_ha) / KG_HA_PER_BU_AC, 1, sign=True),
            }
            for pair in pairs
        ]
    )


def pass_rows(listed: pl.DataFrame) -> pl.DataFrame:
    """A row a pass, as from pass_list: its number, what tells it from others, and where it lies; all text."""
    if listed.is_empty():
        return pl.DataFrame({"pass": ["none was found"]})
    return listed.select(
        pl.col("pass").cast(pl.String),
        pl.col("group").cast(pl.String),
        pl.col("heading").round(0).cast(pl.Int64).cast(pl.String).alias("heading, degrees"),
        pl.col("across_m").round(1).cast(pl.String).alias("across, m"),
        pl.col("length_m").cast(pl.Float64).round(0).cast(pl.Int64).cast(pl.String).alias("length, m"),
        pl.col("points").cast(pl.String),
    )


def on_record_rows(strips: pl.DataFrame) -> pl.DataFrame:
    """A row a strip on record: columns of monitor_strips with method, is_scaled and yield_bu_ac; all text."""
    return pl.DataFrame(
        [
            {
                "strip": row["plot"],
                "method": row["method"],
                f"{UNIT} at one moisture": number(row["yield_bu_ac"], 1),
                "scaled": f"x {number(row['scale_factor'], 3)}" if row["is_scaled"] else "no",
                "points": number(row["points"], 0),
                "left": number(row["kept"], 0),
                "delay, s": number(row["delay_s"], 1),
                "file": row["file_name"],
            }
            for row in strips.iter_rows(named=True)
        ]
    )


def delay_words(found: FieldYields) -> str:
    """How the delay was found, or that it could not be."""
    delay = found.delay
    if not found.file.has_time:
        return "The file has no time, so no delay between the knife and the sensor is taken off."
    if delay.seconds is None:
        return (
            f"{counted(delay.pairs, 'pair')} of neighbouring passes ran opposite ways: too few to find the delay. "
            f"Used is {number(found.delay_s, 1)} s."
        )
    told = (
        f"Neighbouring passes that ran opposite ways line up best at a delay of {number(delay.seconds, 1)} s (half of "
        f"{delay.pairs} pairs of passes say {number(delay.low, 1)} to {number(delay.high, 1)} s)."
    )
    return told if found.delay_s == delay.seconds else f"{told} Used is {number(found.delay_s, 1)} s, as given."


def scale_words(found: FieldYields) -> str:
    """What the yields were scaled to, or that they were not."""
    if not all(one.is_scaled for one in found.strips):
        return UNSCALED
    far_off = [
        f"{one.strip.plot} by {number(one.scale_factor, 2)}"
        for one in found.strips
        if one.scale_factor is not None and not 1 / LIKELY_FACTOR <= one.scale_factor <= LIKELY_FACTOR
    ]
    far = " That is far off for a monitor: is the certified weight that of this grain, all of it, in kilograms?"
    asked = far if far_off else ""
    if found.certified_kg is None:
        told = f" Multiplied are {', '.join(far_off)}.{asked}" if far_off else ""
        return f"Each strip is scaled to its own certified weight.{told}"
    factor = found.certified_kg / found.field_monitor_kg
    return (
        f"Scaled before cleaning: the monitor logged {number(found.field_monitor_kg, 0)} kg, a certified scale says "
        f"{number(found.certified_kg, 0)} kg, so everything is multiplied by {number(factor, 3)}.{asked}"
    )


def middle_words(found: FieldYields) -> str:
    """How far the cleaning took the yield from all that was logged, by method: where one moved more, look why."""
    told = []
    for method in METHODS:
        strips = [one for one in found.strips if one.strip.method == method]
        if strips:
            logged = sum(one.logged_kg_ha * one.area_m2 for one in strips)
            off = round(sum(one.kg_ha * one.area_m2 for one in strips) / logged - 1, 3)
            told.append(f"{percent_words(abs(off))} {'less' if off < 0 else 'more'} {method}")
    return (
        "A strip's yield is that of its middle: its ends and what is nonsense are left out, while a certified weight "
        f"holds the ends too. It is {' and '.join(told)} than all that was logged on the strips."
    )


def alike_words(found: Alike) -> str:
    """How much strips of this field differ without any reason, beside the spread of the pairs."""
    pairs = (
        f" The differences of the pairs spread by {amount(found.pair_spread_kg_ha / KG_HA_PER_BU_AC, UNIT, 1)}."
        if found.pair_spread_kg_ha is not None
        else ""
    )
    if found.spread_kg_ha is None:
        return (
            "No two neighbours were cut alike, so nothing here says how much strips of this field differ without any "
            f"reason.{pairs}"
        )
    return (
        f"Strips of this field differ without any reason: {counted(len(found.differences_kg_ha), 'pair').lower()} of "
        f"neighbours cut alike lie {amount(found.spread_kg_ha / KG_HA_PER_BU_AC, UNIT, 1)} apart (standard deviation)."
        f"{pairs}"
    )


def points_cautions(found: FieldYields) -> list[str]:
    """What to watch before the strips are believed."""
    said = [_cover_words(one) for one in found.strips if not FULL_COVER[0] <= one.covered <= FULL_COVER[1]]
    if any(one.moisture_pct is None for one in found.strips):
        said.append("No moisture in the file: type it with the loads, or the yield at one moisture stays unknown.")
    if any(one.strip.dockage_pct is None for one in found.strips):
        said.append("Dockage is not given for every strip: type it with the loads, or its yield stays unknown.")
    own = {one.strip.certified_kg is None for one in found.strips}
    if len(own) == 2:
        said.append("Some strips are scaled to a ticket of their own and others are not: weigh all of them alike.")
    return [*said, WIDTHS, NOT_SETTLED_BY_POINTS]


def _cover_words(one: StripYield) -> str:
    return (
        f"{one.strip.plot}: its passes cover {percent_words(round(one.covered, 2))} of the outline at a cut of "
        f"{number(one.strip.cut_width_m, 1)} m. Check the width of the cut and the corners; the yield hangs on both."
    )
