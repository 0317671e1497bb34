"""Strips side by side: which make a pair, how far the two of a pair lie apart, and how far two cut alike do."""

import itertools
import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from analytics.points.strip_yields import StripYield
from analytics.trade.units import KG_HA_PER_BU_AC

STRIPS_SIDE_BY_SIDE = "strips"  # a layout of the records
BESIDE = 1.6  # widths between two middles; farther apart something lies between (our choice, no source)


@dataclass(frozen=True, slots=True, kw_only=True)
class ProposedPair:
    """Two neighbouring strips, one cut each way."""

    name: str
    standing: StripYield
    windrowed: StripYield


@dataclass(frozen=True, slots=True, kw_only=True)
class Alike:
    """How much strips of this field differ without any reason: neighbours that were cut alike.

    differences_kg_ha : of each two, the right one less the left one; both ways of cutting
    spread_kg_ha : the standard deviation of such a difference around 0, null with none
    pair_spread_kg_ha : the standard deviation of the pairs' differences around their mean; null with fewer than two
    """

    differences_kg_ha: tuple[float, ...]
    spread_kg_ha: float | None
    pair_spread_kg_ha: float | None


def neighbours_as_pairs(strips: Sequence[StripYield]) -> tuple[ProposedPair, ...]:
    """Pairs of neighbours cut differently, from left to right, each strip in one pair at most.

    strips : from left to right, as FieldYields has them
    """
    pairs: list[ProposedPair] = []
    place = 0
    while place < len(strips) - 1:
        one, other = strips[place], strips[place + 1]
        if are_beside(one, other) and one.strip.method != other.strip.method:
            standing, windrowed = (one, other) if one.strip.method == "standing" else (other, one)
            pairs.append(ProposedPair(name=f"strips {len(pairs) + 1}", standing=standing, windrowed=windrowed))
            place += 1
        place += 1
    return tuple(pairs)


def compared_wet(pairs: Sequence[ProposedPair], allocation: str | None) -> dict[str, Any]:
    """The pairs as columns for a comparison, by name: wet yields in bu/ac; allocation as in the records, or null."""
    return {
        "standing": [pair.standing.kg_ha / KG_HA_PER_BU_AC for pair in pairs],
        "windrowed": [pair.windrowed.kg_ha / KG_HA_PER_BU_AC for pair in pairs],
        "crop_year": [pair.standing.strip.crop_year for pair in pairs],
        "field": [pair.standing.strip.field for pair in pairs],
        "pair": [pair.name for pair in pairs],
        "layout": [STRIPS_SIDE_BY_SIDE for _ in pairs],
        "allocation": [allocation for _ in pairs],
    }


def are_beside(one: StripYield, other: StripYield) -> bool:
    """Whether nothing as wide as a strip lies between two."""
    width = (one.outline.width_m + other.outline.width_m) / 2
    return math.dist(one.outline.middle, other.outline.middle) < BESIDE * max(width, _sideways(one, other))


def _sideways(one: StripYield, other: StripYield) -> float:
    """How far two middles lie apart along the strips, so that one that begins later is still a neighbour."""
    angle = math.radians(one.outline.heading)
    east, north = (b - a for a, b in zip(one.outline.middle, other.outline.middle, strict=True))
    return abs(east * math.sin(angle) + north * math.cos(angle))


def cut_alike(strips: Sequence[StripYield], pairs: Sequence[ProposedPair]) -> Alike:
    """Neighbours cut alike beside the pairs."""
    differences = tuple(
        other.kg_ha - one.kg_ha
        for one, other in itertools.pairwise(strips)
        if one.strip.method == other.strip.method and are_beside(one, other)
    )
    of_pairs = [pair.standing.kg_ha - pair.windrowed.kg_ha for pair in pairs]
    return Alike(
        differences_kg_ha=differences,
        spread_kg_ha=math.sqrt(sum(one**2 for one in differences) / len(differences)) if differences else None,
        pair_spread_kg_ha=statistics.stdev(of_pairs) if len(of_pairs) > 1 else None,
    )
