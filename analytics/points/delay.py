"""How long grain takes from the knife to the sensor, found on the field: neighbouring passes that ran opposite ways.

Good and poor ground lies in two passes side by side in one place. With a wrong delay each pass shows it too late, and
the two, running opposite ways, show it on either side of the place; the right delay lines them up.
"""

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.points.passes import arrived_later, pass_list

# Below 0: the monitor moved it too far itself. Whole seconds, as monitors log: between two points the straight line
# would smooth, and smooth passes are alike.
TRIED_S = np.arange(-8.0, 29.0)
AROUND_S = 10  # the parabola goes through so many seconds on both sides of the lowest point (our choice, no source)
BIN_M = 10.0
FEWEST_BINS = 12
MOST_PAIRS = 40  # of neighbours; more take time and tell little
MOST_APART_M = 40.0  # between two passes that may be neighbours
TRIM_M = 20.0  # at both ends, where the combine fills and empties
FEWEST_PAIRS = 3  # below it nothing is said (our choice, no source)


@dataclass(frozen=True, slots=True, kw_only=True)
class Delay:
    """The delay that lines neighbours up best, and how well it is known.

    seconds : null where the passes cannot tell
    low, high : the middle half of what single pairs of neighbours say
    pairs : pairs of neighbouring passes it rests on
    curve : how unlike neighbours are at each of TRIED_S (1 less their correlation, the mean over pairs)
    """

    seconds: float | None
    low: float | None
    high: float | None
    pairs: int
    curve: tuple[tuple[float, float], ...] = ()


def find_delay(rows: pl.DataFrame, *, gap_s: float, fewest_points: float) -> Delay:
    """The delay that lines up neighbouring opposite passes of a file, as from in_passes; unknown where there are none.

    What is compared is each pass against its own mean, so that a method that yields more does not matter.
    """
    pairs = _opposite_neighbours(pass_list(rows, fewest_points=max(fewest_points, FEWEST_BINS)))
    if len(pairs) < FEWEST_PAIRS:
        return Delay(seconds=None, low=None, high=None, pairs=len(pairs))
    wanted = sorted({number for pair in pairs for number in pair[:2]})
    # What was logged after a pass, with the header up, holds the end of its grain.
    kept = rows.filter(pl.col("pass").is_in([*wanted, *(number + 1 for number in wanted)]))
    passes = kept["pass"].to_numpy()
    is_inner = (kept["into_m"].to_numpy() > TRIM_M) & (kept["left_m"].to_numpy() > TRIM_M)
    east, north, distance = (kept[name].to_numpy() for name in ("east_m", "north_m", "distance_m"))
    lasted = kept["lasted_s"].to_numpy()
    unlike = np.full((len(pairs), len(TRIED_S)), np.nan)
    places = {number: np.flatnonzero((passes == number) & is_inner) for number in wanted}
    for at, seconds in enumerate(TRIED_S):
        grain = arrived_later(kept, float(seconds), gap_s=gap_s) * lasted
        for row, (first, second, heading) in enumerate(pairs):
            angle = np.radians(heading)
            sides = []
            for number in (first, second):
                inside = places[number]
                along = east[inside] * np.sin(angle) + north[inside] * np.cos(angle)
                sides.append(_profile(along, grain[inside], distance[inside]))
            unlike[row, at] = _unlike(*sides)
    told = unlike[~np.isnan(unlike).any(axis=1)]
    if len(told) < FEWEST_PAIRS:
        return Delay(seconds=None, low=None, high=None, pairs=len(told))
    curve = told.mean(axis=0)
    each = [_lowest(row) for row in told]
    low, high = np.percentile(each, [25, 75])
    return Delay(
        seconds=round(_lowest(curve), 1),
        low=round(float(low), 1),
        high=round(float(high), 1),
        pairs=len(told),
        curve=tuple(zip(TRIED_S.tolist(), curve.round(4).tolist(), strict=True)),
    )


def _opposite_neighbours(passes: pl.DataFrame) -> list[tuple[int, int, float]]:
    """Passes beside each other on the ground that ran opposite ways: their numbers and the common heading."""
    if passes.is_empty():
        return []
    beside = passes.with_columns(
        next_pass=pl.col("pass").shift(-1).over("group"),
        next_runs=pl.col("runs_on").shift(-1).over("group"),
        apart=pl.col("across_m").shift(-1).over("group") - pl.col("across_m"),
    ).filter(pl.col("runs_on") != pl.col("next_runs"), pl.col("apart") < MOST_APART_M)
    longest = beside.sort("length_m", "pass", descending=[True, False]).head(MOST_PAIRS)
    return list(longest.select("pass", "next_pass", "heading").iter_rows())


def _profile(along: NDArray[np.float64], grain: NDArray[np.float64], distance: NDArray[np.float64]) -> dict[int, float]:
    """Grain a metre in each BIN_M along the field, by number of the bin."""
    is_known = ~np.isnan(grain)
    bins = np.floor(along[is_known] / BIN_M).astype(np.int64)
    if not len(bins):
        return {}
    first = bins.min()
    kg = np.bincount(bins - first, weights=grain[is_known])
    metres = np.bincount(bins - first, weights=distance[is_known])
    return {int(at + first): kg[at] / metres[at] for at in np.flatnonzero(metres > BIN_M / 4)}


def _unlike(one: dict[int, float], other: dict[int, float]) -> float:
    """1 less the correlation over the bins that both have; nan with too few of them."""
    shared = sorted(one.keys() & other.keys())
    if len(shared) < FEWEST_BINS:
        return float("nan")
    first, second = (np.array([side[at] for at in shared]) for side in (one, other))
    spread = first.std() * second.std()
    return (
        float("nan") if spread == 0 else 1 - float(((first - first.mean()) * (second - second.mean())).mean() / spread)
    )


def _lowest(curve: NDArray[np.float64]) -> float:
    """Where a curve over TRIED_S is lowest: the vertex of the parabola through its lowest point and those around it."""
    at = int(np.argmin(curve))
    near = slice(max(at - AROUND_S, 0), at + AROUND_S + 1)
    bend, slope, _ = np.polyfit(TRIED_S[near], curve[near], 2)
    vertex = -slope / (2 * bend) if bend > 0 else TRIED_S[at]
    return float(np.clip(vertex, TRIED_S[near][0], TRIED_S[near][-1]))
