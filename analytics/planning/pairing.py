"""Next season's trial on paper: pairs proposed by likeness, strips, and what such a plan could show.

A pair is two halves or strips of one field, or two fields that are alike. Which side stands is for the lot to say.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count, pairwise
from math import inf, sqrt

import numpy as np
import scipy
from numpy.typing import NDArray

from analytics.errors import BadInput
from analytics.planning.field_rules import FieldFacts, PlanningRule, can_be_split
from analytics.statistics.power import detectable_difference
from analytics.statistics.results import CarriedBy, Comparison, Needed
from analytics.trade.numbers_as_text import amount
from analytics.trade.units import per_bu_ac

MOST_STRIP_PAIRS = 10  # our choice, no source
# Between site-years; our own rough derivation from the ranges printed by C. Holzapfel, C. Vera, D. Phelps and L. Nyborg
# (2011) Cultivar considerations and pod sealants for straight-combining canola in Saskatchewan, Soils and Crops,
# University of Saskatchewan (abstract): +142 to +370 and -276 to -413 kg/ha at half of eight site-years.
USUAL_SD_BU_AC = 4.0
UNALIKE = 6.0  # cost at which two fields are no pair; our choice, no source
ALIKE_ACRES = 1.25  # times the smaller field, up to which two are taken for equally large; our choice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedSide:
    """A piece of ground that would be harvested one way."""

    field: str
    plot: str

    @property
    def words(self) -> str:
        """Field and plot as one name, unique within a crop year."""
        return f"{self.field}, {self.plot}"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedPair:
    """Two sides, not yet told which is standing; what differs between them, in words."""

    pair: str
    layout: str
    first: PlannedSide
    second: PlannedSide
    differs: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()


# --- pairs by likeness


def differences(one: FieldFacts, other: FieldFacts, *, far_km: float) -> tuple[float, tuple[str, ...], tuple[str, ...]]:
    """How unlike two fields are: a cost, what differs, and what cannot be compared.

    A different soil, lie or variety costs 1, a step of weeds or stand 1, a week between seedings 1, a field twice as
    large 1, `far_km` on the way 1, a distance that is not on record 1 unless the two were paired before. The weights
    are our choice, no source.
    """
    cost, differs, unknown = 0.0, [], []
    for name, here, there in (
        ("soil", one.soil, other.soil),
        ("topography", one.topography, other.topography),
        ("variety", one.variety, other.variety),
        ("crop before", one.last_crop, other.last_crop),
    ):
        if here is None or there is None:
            unknown.append(name)
        elif here != there:
            cost += 1
            differs.append(f"{name}: {here} against {there}")
    for name, here, there, steps in (
        ("weeds", one.weed_pressure, other.weed_pressure, ("low", "medium", "high")),
        ("stand", one.stand, other.stand, ("thin", "average", "heavy")),
    ):
        if here not in steps or there not in steps:
            unknown.append(name)
        elif here != there:
            cost += abs(steps.index(here) - steps.index(there))
            differs.append(f"{name}: {here} against {there}")
    if one.seeded_on is None or other.seeded_on is None:
        unknown.append("seeding day")
    elif one.seeded_on != other.seeded_on:
        days = abs((one.seeded_on - other.seeded_on).days)
        cost += days / 7
        differs.append(f"seeded {days} {'day' if days == 1 else 'days'} apart")
    if not one.acres or not other.acres:
        unknown.append("acres")
    else:
        ratio = max(one.acres, other.acres) / min(one.acres, other.acres)
        cost += float(np.log2(ratio))
        if ratio > ALIKE_ACRES:
            differs.append(f"acres: {one.acres:g} against {other.acres:g}")
    km = one.distances.get(other.field)
    if km is None:
        cost += other.field not in one.partners
        unknown.append("distance")
    else:
        cost += km / far_km
        differs.append(f"{amount(km, 'km', 1)} apart")
    return cost, tuple(differs), tuple(unknown)


def propose_pairs(
    fields: Sequence[FieldFacts], rules: Mapping[str, PlanningRule], *, names_taken: Collection[str] = ()
) -> tuple[list[PlannedPair], list[str]]:
    """Pairs for these fields, and the names of those left without partner.

    names_taken : names that pairs of that crop year have already

    A field that the rule "partner" calls large enough is split into halves, the strongest layout. The others are
    matched by likeness: scipy's assignment solver finds the cheapest partner for everyone at once, where staying alone
    costs UNALIKE. A round of three or more is then cut into its cheapest pairs, so it may fall short of the very best.
    """
    split = [one for one in fields if can_be_split(one, rules["partner"].threshold)]
    single = [one for one in fields if one not in split]
    pairs = [
        PlannedPair(
            pair=name,
            layout="split field",
            first=PlannedSide(field=one.field, plot="first half"),
            second=PlannedSide(field=one.field, plot="second half"),
        )
        for name, one in zip(_free_names("H", names_taken), split, strict=False)
    ]
    far_km = rules["distance"].threshold or inf
    matched = _matched(single, far_km)
    for name, (here, there) in zip(_free_names("N", names_taken), matched, strict=False):
        one, other = single[here], single[there]
        _, differs, unknown = differences(one, other, far_km=far_km)
        pairs.append(
            PlannedPair(
                pair=name,
                layout="neighbouring fields",
                first=PlannedSide(field=one.field, plot="whole"),
                second=PlannedSide(field=other.field, plot="whole"),
                differs=differs,
                unknown=unknown,
            )
        )
    taken = {place for pair in matched for place in pair}
    return pairs, [one.field for place, one in enumerate(single) if place not in taken]


def _free_names(letter: str, taken: Collection[str]) -> Iterator[str]:
    return (name for name in (f"{letter}{number}" for number in count(1)) if name not in taken)


def _matched(fields: Sequence[FieldFacts], far_km: float) -> list[tuple[int, int]]:
    if len(fields) < 2:
        return []
    cost = np.array([[differences(one, other, far_km=far_km)[0] for other in fields] for one in fields])
    np.fill_diagonal(cost, UNALIKE)
    cost = (cost + cost.T) / 2
    partner = scipy.optimize.linear_sum_assignment(cost)[1]
    found, seen = [], set()
    for start in range(len(fields)):
        if start in seen:
            continue
        ring = [start]
        while (following := int(partner[ring[-1]])) != start:
            ring.append(following)
        seen.update(ring)
        found += _cheapest_pairs(ring, cost)
    return [pair for pair in found if cost[pair] < UNALIKE]


def _cheapest_pairs(ring: list[int], cost: NDArray[np.float64]) -> list[tuple[int, int]]:
    """The neighbours of a ring taken two by two, from the start that costs least; an odd one stays alone."""
    if len(ring) < 2:
        return []
    ways = [[*ring[start:], *ring[:start]] for start in range(len(ring))]
    pairings = [list(pairwise(way))[::2] for way in ways]
    return min(pairings, key=lambda pairs: sum(float(cost[pair]) for pair in pairs))


def strip_pairs(field: str, how_many: int) -> list[PlannedPair]:
    """Strips side by side in one field, two a pair. Raises BadInput for a number of pairs that is not 2 to 10.

    Source of the usual number: Mississippi State University Extension, P3930 (4 to 6 blocks).
    """
    if not 2 <= how_many <= MOST_STRIP_PAIRS:
        raise BadInput(f"strip pairs in {field}: {how_many} given; allowed 2 to {MOST_STRIP_PAIRS}. 4 to 6 are usual.")
    return [
        PlannedPair(
            pair=f"{field} {number}",
            layout="strips",
            first=PlannedSide(field=field, plot=f"strip {2 * number - 1}"),
            second=PlannedSide(field=field, plot=f"strip {2 * number}"),
        )
        for number in range(1, how_many + 1)
    ]


# --- what the plan could show


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPower:
    """What the plan could show for yield, in `unit`: the smallest true gap that 8 of 10 such trials would find.

    alone : this season's field-years by themselves; None with fewer than 3
    together : with what is on record of this kind; None when that is fewer than 3
    after_three : with two more seasons of this size behind it
    for_margin : field-years of this kind in all until they could show the margin, with the least and the most that the
        doubt about the spread allows; None if unknown
    margin : the difference that matters; None when none is set
    sd, basis : the spread of field-year differences assumed, and where it comes from
    """

    unit: str
    field_years: int
    alone: float | None
    together: float | None
    after_three: float | None
    for_margin: Needed | None
    margin: float | None
    sd: float
    basis: str


def plan_power(comparison: Comparison, *, field_years: int, in_one_field: bool) -> PlanPower:
    """For a season of `field_years` more field-years; strips of one field make one of them.

    comparison : of yield, as it stands now
    in_one_field : every planned pair lies in one field; then the spread of such pairs counts, else that of all pairs
    """
    if field_years < 1:
        raise BadInput(f"field-years: {field_years} given; allowed 1 or more. Choose fields first.")
    level = comparison.level
    kind = CarriedBy.ONE_FIELD if in_one_field else CarriedBy.ALL
    spread = next((one for one in comparison.planning.spreads if one.kind is kind), None)
    known, years = (0, 0) if spread is None else (spread.field_years, spread.years)
    sd = USUAL_SD_BU_AC * per_bu_ac(comparison.unit)
    basis = "our own rough figure from published trials (4 bu/ac), since this farm's is not known yet"
    if spread is not None and spread.field_sd is not None:
        what = "where one field was cut both ways" if in_one_field else "of every kind"
        sd, basis = spread.field_sd, f"the spread of {known} field-years on record {what}"

    def smallest(replicates: int, seasons: int) -> float | None:
        if replicates < 3:
            return None
        df = replicates - seasons if replicates >= 2 * seasons else replicates - 1
        return detectable_difference(std_error=sd / sqrt(replicates), df=df, level=level)

    rows = [row for row in comparison.planning.rows if row.kind is kind and row.gap == comparison.margin]
    return PlanPower(
        unit=comparison.unit,
        field_years=field_years,
        alone=smallest(field_years, 1),
        together=smallest(known + field_years, years + 1),
        after_three=smallest(known + 3 * field_years, years + 3),
        for_margin=rows[0].field_years if rows else None,
        margin=comparison.margin,
        sd=sd,
        basis=basis,
    )
