"""The outline of a strip on the ground: four corners in metres, from corners, a start and a heading, or a polygon."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from analytics.errors import BadInput

Corner = tuple[float, float]  # metres east and north
ON_A_LINE_M = 0.5  # a corner so near the line between its neighbours is none (our choice, no source)
MOST_OVERLAP_M = 1.0  # two outlines may run into each other by so much: corners are taken by hand (our choice)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """Four corners in metres east and north, against the clock, shape (4, 2)."""

    corners: tuple[Corner, ...]

    @property
    def area_m2(self) -> float:
        """Square metres, by the shoelace formula."""
        return _twice_area(self.corners) / 2

    @property
    def middle(self) -> Corner:
        """The mean of the corners."""
        return sum(east for east, _ in self.corners) / 4, sum(north for _, north in self.corners) / 4

    @property
    def heading(self) -> float:
        """Direction of the longer sides, degrees from north by the clock, from -5 to 175."""
        sides = [self._side(place) for place in range(2)]
        opposite = [self._side(place + 2) for place in range(2)]
        both = [(one[0] - two[0], one[1] - two[1]) for one, two in zip(sides, opposite, strict=True)]
        east, north = max(both, key=lambda side: math.hypot(*side))
        return northward(math.degrees(math.atan2(east, north)))

    @property
    def width_m(self) -> float:
        """Mean of the two shorter sides, metres."""
        lengths = [math.hypot(*self._side(place)) for place in range(4)]
        return min(lengths[0] + lengths[2], lengths[1] + lengths[3]) / 2

    def _side(self, place: int) -> tuple[float, float]:
        (east, north), (next_east, next_north) = self.corners[place % 4], self.corners[(place + 1) % 4]
        return next_east - east, next_north - north


def northward(heading: float) -> float:
    """A line's heading, both ways alike, from -5 to 175 degrees: what runs nearly north is told as running north.

    >>> northward(359.0), northward(200.0)
    (-1.0, 20.0)
    """
    return (heading + 5) % 180 - 5


def from_corners(corners: Sequence[Corner], where: str) -> Outline:
    """The outline with these corners, in either turn, the first perhaps given again at the end.

    Corners on the line between their neighbours are left out.
    where : what the message says it is about
    Raises BadInput for another number than four, and where a side bends inwards or two sides cross.
    """
    kept = list(dict.fromkeys((float(east), float(north)) for east, north in corners))
    while len(kept) > 4 and (spare := _spare(kept)) is not None:
        del kept[spare]
    if len(kept) != 4:
        raise BadInput(f"{where}: {len(kept)} corners given; allowed four. Cut the strip into pieces of four corners.")
    if _twice_area(kept) < 0:
        kept.reverse()
    turns = [_turn(kept[place - 1], kept[place], kept[(place + 1) % 4]) for place in range(4)]
    if min(turns) <= 0:
        raise BadInput(
            f"{where}: the four corners make no strip: a side bends inwards, or two sides cross. Give the corners in "
            "the order in which one would walk around it."
        )
    return Outline(corners=tuple(kept))


def from_start(start: Corner, *, heading_deg: float, length_m: float, width_m: float, where: str) -> Outline:
    """The outline of a strip that begins in the middle of its short side at `start` and runs on at the heading.

    heading_deg : degrees from north, by the clock
    """
    angle = math.radians(heading_deg)
    along = (math.sin(angle), math.cos(angle))
    aside = (along[1] * width_m / 2, -along[0] * width_m / 2)  # to the right
    far = (start[0] + along[0] * length_m, start[1] + along[1] * length_m)
    near_right, near_left = (start[0] + aside[0], start[1] + aside[1]), (start[0] - aside[0], start[1] - aside[1])
    far_right, far_left = (far[0] + aside[0], far[1] + aside[1]), (far[0] - aside[0], far[1] - aside[1])
    return from_corners((near_left, near_right, far_right, far_left), where)


def overlap_m(one: Outline, other: Outline) -> float:
    """How deep two outlines run into each other, metres; 0 where they lie apart.

    The least depth over the directions at right angles to their sides; for convex shapes it is above 0 only where
    they really overlap (the theorem of the separating axis).
    """
    least = math.inf
    for shape in (one, other):
        for place in range(4):
            east, north = shape._side(place)
            length = math.hypot(east, north)
            across = (north / length, -east / length)
            first, second = ([x * across[0] + y * across[1] for x, y in both.corners] for both in (one, other))
            least = min(least, min(max(first), max(second)) - max(min(first), min(second)))
    return max(least, 0.0)


def _spare(corners: Sequence[Corner]) -> int | None:
    """The corner nearest to the line between its neighbours, where it is near enough to be none."""

    def off(place: int) -> float:
        before, after = corners[place - 1], corners[(place + 1) % len(corners)]
        return abs(_turn(before, corners[place], after)) / (math.dist(before, after) or 1.0)

    nearest = min(range(len(corners)), key=off)
    return nearest if off(nearest) <= ON_A_LINE_M else None


def _turn(before: Corner, at: Corner, after: Corner) -> float:
    """Above 0 for a turn against the clock: twice the area of the triangle."""
    return (at[0] - before[0]) * (after[1] - at[1]) - (at[1] - before[1]) * (after[0] - at[0])


def _twice_area(corners: Sequence[Corner]) -> float:
    pairs = zip(corners, [*corners[1:], corners[0]], strict=True)
    return sum(one[0] * two[1] - two[0] * one[1] for one, two in pairs)
