"""Does it depend on ...: the fixed list of what a difference may go with, over all pairs. To look at, not to conclude.

Field-years with something differ from others in more than that, and methods may have been chosen by it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from analytics.errors import BadInput
from analytics.statistics.depends_on import Moderator, NotAsked, moderator
from analytics.statistics.given_pairs import ALLOCATIONS, KINDS, Allocation, Kind, Marked, Pairs, Whole, YesNo
from analytics.statistics.places import FieldYears, field_years
from analytics.statistics.proportions import holm_adjusted

TWO_FIELDS, DRAWN, EARLY_CUT = "two_fields", "drawn_by_lot", "early_cut"
ASKED = (TWO_FIELDS, DRAWN, EARLY_CUT, "shatter_tolerant", "preharvest_product", "same_variety")
UNKNOWN = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class DependsOn:
    """One line of the list.

    found : both groups and their difference, or the reason why the records cannot say
    holm_p : adjusted for all lines that could be computed; None where this one could not
    left_out : field-years whose pairs differ in it, or of which it is not known
    """

    name: str
    found: Moderator | NotAsked
    holm_p: float | None
    left_out: int


def depends_on(
    pairs: Pairs, facts: Mapping[str, YesNo], *, level: float = 0.95, found: FieldYears | None = None
) -> tuple[DependsOn, ...]:
    """Every line of ASKED, in order, over all pairs that are not barred.

    facts : shatter_tolerant, preharvest_product, same_variety; one value per row as given, complete or not; a line
        without its fact is not known for any pair
    found : the field-years of all pairs that are not barred, where they are at hand
    """
    if unknown := set(facts) - set(ASKED):
        raise BadInput(f"facts: {', '.join(sorted(unknown))} given; allowed {', '.join(ASKED[3:])}.")
    everything = found or field_years(pairs, pairs.counted)
    lines = []
    for name in ASKED:
        is_so = of_field_years(pairs, everything, name, facts)
        kept = is_so != UNKNOWN
        told = moderator(everything.difference[kept], everything.year[kept], is_so[kept] == 1, level=level)
        lines.append(DependsOn(name=name, found=told, holm_p=None, left_out=int((~kept).sum())))
    adjusted = holm_adjusted([None if isinstance(line.found, NotAsked) else line.found.fixed.p for line in lines])
    return tuple(replace(line, holm_p=p) for line, p in zip(lines, adjusted, strict=True))


def of_field_years(pairs: Pairs, found: FieldYears, name: str, facts: Mapping[str, YesNo]) -> Whole:
    """1 with it, 0 without it, -1 where its pairs differ or it is not known, shape (field_years,)."""
    own = _coded(pairs, name, facts)[found.selected]
    lowest, highest = np.full(found.count, 1), np.full(found.count, UNKNOWN)
    if (own != UNKNOWN).any():
        np.minimum.at(lowest, found.of_pair, own)
        np.maximum.at(highest, found.of_pair, own)
    return np.where(lowest == highest, lowest, UNKNOWN)


def _coded(pairs: Pairs, name: str, facts: Mapping[str, YesNo]) -> Whole:
    """1 with it, 0 without it, -1 not known, for each pair."""
    if name == TWO_FIELDS:
        return _between(pairs.kind == KINDS.index(Kind.TWO_FIELDS), pairs.kind == KINDS.index(Kind.ONE_FIELD))
    if name == DRAWN:
        drawn, chosen = (ALLOCATIONS.index(one) for one in (Allocation.DRAWN, Allocation.CHOSEN))
        return _between(pairs.allocation == drawn, pairs.allocation == chosen)
    if name == EARLY_CUT:
        return _between(pairs.is_early, ~pairs.is_early & ~pairs.is_early_unknown)
    values = facts.get(name)
    if values is None:
        return np.full(pairs.standing.size, UNKNOWN)
    given = [values[row] for row in pairs.row.tolist()]
    return _between(np.array([one is True for one in given]), np.array([one is False for one in given]))


def _between(is_so: Marked, is_not: Marked) -> Whole:
    return np.where(is_so, 1, np.where(is_not, 0, UNKNOWN)).astype(np.int64)
