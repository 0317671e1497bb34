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
    places = {number: np.flatnonzero((passes == number) & is_inner) for number in wanted}
    grain = np.stack([arrived_later(kept, float(seconds), gap_s=gap_s) * lasted for seconds in TRIED_S])
    unlike = np.full((len(pairs), len(TRIED_S)), np.nan)
    for row, (*sides, heading) in enumerate(pairs):
        angle = np.radians(heading)
        bins = np.floor((east * np.sin(angle) + north * np.cos(angle)) / BIN_M).astype(np.int64)
        both = np.concatenate([places[number] for number in sides])
        if len(both):
            bins -= bins[both].min()
            count = int(bins[both].max()) + 1
            unlike[row] = _unlike(
                *(_profiles(bins[at], grain[:, at], distance[at], count) for at in map(places.get, sides))
            )
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


def _profiles(
    bins: NDArray[np.int64], grain: NDArray[np.float64], distance: NDArray[np.float64], count: int
) -> NDArray[np.float64]:
    """Grain a metre in each BIN_M of a pass at each of TRIED_S, shape (TRIED_S, count); nan with too few metres.

    bins, distance : shape (points,); grain : kg, shape (TRIED_S, points), nan where it is not known
    """
    tried, at = np.nonzero(~np.isnan(grain))
    cells, shape = tried * count + bins[at], (len(grain), count)
    kg = np.bincount(cells, weights=grain[tried, at], minlength=len(grain) * count).reshape(shape)
    metres = np.bincount(cells, weights=distance[at], minlength=len(grain) * count).reshape(shape)
    found = np.full(shape, np.nan)
    np.divide(kg, metres, out=found, where=metres > BIN_M / 4)
    return found


def _unlike(one: NDArray[np.float64], other: NDArray[np.float64]) -> NDArray[np.float64]:
    """At each of TRIED_S 1 less the correlation over the bins that both have; nan with too few of them."""
    is_shared = ~np.isnan(one) & ~np.isnan(other)
    shared = is_shared.sum(axis=1)
    off = []
    for side in (one, other):
        known = np.where(is_shared, side, 0.0)
        mean = known.sum(axis=1) / np.maximum(shared, 1)
        off.append(np.where(is_shared, side - mean[:, None], 0.0))
    spread = np.sqrt((off[0] ** 2).sum(axis=1) * (off[1] ** 2).sum(axis=1))
    alike = np.divide((off[0] * off[1]).sum(axis=1), spread, out=np.full(len(one), np.nan), where=spread > 0)
    return np.where(shared >= FEWEST_BINS, 1 - alike, np.nan)


def _lowest(curve: NDArray[np.float64]) -> float:
    """Where a curve over TRIED_S is lowest: the vertex of the parabola through its lowest point and those around it."""
    at = int(np.argmin(curve))
    near = slice(max(at - AROUND_S, 0), at + AROUND_S + 1)
    bend, slope, _ = np.polyfit(TRIED_S[near], curve[near], 2)
    vertex = -slope / (2 * bend) if bend > 0 else TRIED_S[at]
    return float(np.clip(vertex, TRIED_S[near][0], TRIED_S[near][-1]))
