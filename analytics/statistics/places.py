"""Places and field-years: the replicates. Which pairs share a field, and which places come back in other years.

Within a crop year a place is the connected component of fields that pairs join: one field cut both ways is a place, a
field paired with four neighbours makes one place of five fields, A against B and B against A are one. A field-year is
one place in one crop year, its difference the mean of its pairs. Across years a place is the same where the set of
standing fields and the set of windrowed fields are both the same.
"""

from dataclasses import dataclass

import numpy as np
import scipy

from analytics.statistics.given_pairs import KINDS, Floats, Kind, Marked, Pairs, Whole, averages
from analytics.statistics.levels import levels

Both = tuple[frozenset[int], frozenset[int]]  # numbers of the standing fields, and of the windrowed ones


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FieldYears:
    """Field-years of the pairs that were selected, shape (field_years,), oldest year first.

    selected : which of all complete pairs they are made of, shape (pairs,)
    of_pair : the field-year that each selected pair belongs to, shape (selected pairs,)
    year : number 0, 1, ... pointing into crop_years
    place : number 0, 1, ... of the place; the same number in two years is the same place
    overlapping : places of several years that share a field and yet are not the same, counted
    kind : number pointing into KINDS
    strips : the single differences where they are the replicates: one place, one field, one year; else empty
    """

    selected: Marked
    of_pair: Whole
    first_pair: Whole
    difference: Floats
    standing: Floats
    windrowed: Floats
    pairs: Whole
    year: Whole
    crop_years: list[int | None]
    place: Whole
    kind: Whole
    overlapping: int
    strips: Floats

    @property
    def count(self) -> int:
        """How many field-years."""
        return int(self.difference.size)

    @property
    def years(self) -> int:
        """How many crop years."""
        return len(self.crop_years)

    @property
    def places(self) -> int:
        """How many different places."""
        return int(self.place.max(initial=-1)) + 1

    @property
    def do_places_come_back(self) -> bool:
        """Whether any place is there in more than one year."""
        return self.places < self.count


def field_years(pairs: Pairs, selected: Marked) -> FieldYears:
    """The selected pairs, marked in shape (pairs,), put into places and averaged to field-years."""
    rows = np.flatnonzero(selected)
    standing_field, windrowed_field = pairs.standing_field[rows], pairs.windrowed_field[rows]
    if pairs.are_fields_named:
        of_pair, first = _components(pairs.year[rows], standing_field, windrowed_field)
    else:
        of_pair, first = _apart(pairs.year[rows])
    difference = averages(pairs.differences[rows], of_pair)
    kind = pairs.kind[rows]
    kinds = np.where(
        np.bincount(of_pair, weights=kind != kind[first][of_pair]) > 0, KINDS.index(Kind.MIXED), kind[first]
    )
    left, year = levels(pairs.year[rows][first])
    place, overlapping = np.arange(first.size), 0
    if pairs.are_fields_named:
        place, overlapping = _places(standing_field, windrowed_field, of_pair, first)
    return FieldYears(
        selected=selected,
        of_pair=of_pair,
        first_pair=rows[first],
        difference=np.where(np.abs(difference) <= pairs.rounding, 0.0, difference),
        standing=averages(pairs.standing[rows], of_pair),
        windrowed=averages(pairs.windrowed[rows], of_pair),
        pairs=np.bincount(of_pair),
        year=year,
        crop_years=[pairs.crop_years[number] for number in left.tolist()],
        place=place,
        kind=kinds,
        overlapping=overlapping,
        strips=_strips(pairs, rows, first.size),
    )


def place_names(pairs: Pairs, found: FieldYears) -> list[str]:
    """What the place of each field-year is called: its field, or its fields standing and windrowed with a stroke."""
    first_pairs = found.first_pair.tolist()
    if not pairs.are_fields_named:
        return [pairs.labels[row] or f"row {int(pairs.row[row]) + 1}" for row in first_pairs]
    names = [pairs.field_words(row) or "" for row in first_pairs]
    rows = np.flatnonzero(found.selected)
    first = np.searchsorted(rows, found.first_pair)
    sets = _several_fields(pairs.standing_field[rows], pairs.windrowed_field[rows], found.of_pair, first)
    for number, both in sets.items():
        names[number] = " / ".join(" + ".join(sorted(pairs.fields[code] for code in side)) for side in both)
    return names


def _components(year: Whole, standing: Whole, windrowed: Whole) -> tuple[Whole, Whole]:
    """The field-year of each pair, numbered by year and first appearance, and each field-year's first pair."""
    fields = int(max(standing.max(initial=0), windrowed.max(initial=0))) + 1
    one, other = year * fields + standing, year * fields + windrowed
    if np.array_equal(one, other):
        label = one
    else:
        nodes, numbers = np.unique(np.concatenate((one, other)), return_inverse=True)
        ends = numbers[: one.size], numbers[one.size :]
        joined = scipy.sparse.coo_array((np.ones(one.size, dtype=np.int8), ends), shape=(nodes.size, nodes.size))
        label = scipy.sparse.csgraph.connected_components(joined, directed=False)[1][ends[0]]
    first, of_pair = _numbered(label)
    order = np.argsort(year[first], kind="stable")  # oldest first, then as they appear
    new = np.empty(order.size, dtype=np.int64)
    new[order] = np.arange(order.size)
    return new[of_pair], first[order]


def _apart(year: Whole) -> tuple[Whole, Whole]:
    """The same where no field is named: each pair is a field-year of its own."""
    order = np.argsort(year, kind="stable")
    of_pair = np.empty(order.size, dtype=np.int64)
    of_pair[order] = np.arange(order.size)
    return of_pair, order


def _numbered(label: Whole) -> tuple[Whole, Whole]:
    """The first row of each label, in order of appearance, and which of these each row belongs to."""
    number = levels(label)[1]
    first = np.empty(int(number.max(initial=-1)) + 1, dtype=np.int64)
    first[number[::-1]] = np.arange(number.size)[::-1]  # what is written last, the first row, stays
    order = np.argsort(first)
    new = np.empty(order.size, dtype=np.int64)
    new[order] = np.arange(order.size)
    return first[order], new[number]


def _places(standing: Whole, windrowed: Whole, of_pair: Whole, first: Whole) -> tuple[Whole, int]:
    """The place of each field-year, and how many places share a field with a place that is not the same."""
    fields = int(max(standing.max(initial=0), windrowed.max(initial=0))) + 1
    names = standing[first] * fields + windrowed[first]  # one field a side, the usual case, names a place
    sets: dict[Both, int] = {}
    for number, both in _several_fields(standing, windrowed, of_pair, first).items():
        names[number] = fields * fields + sets.setdefault(both, len(sets))
    held, place = _numbered(names)
    if np.array_equal(standing, windrowed):
        return place, 0
    used = np.concatenate((standing, windrowed)) * held.size + np.tile(place[of_pair], 2)
    used = np.unique(used)  # a field and a place it belongs to, each once
    shared = np.bincount(used // held.size, minlength=fields) > 1
    return place, int(np.unique(used[shared[used // held.size]] % held.size).size)


def _several_fields(standing: Whole, windrowed: Whole, of_pair: Whole, first: Whole) -> dict[int, Both]:
    """The fields on both sides of each field-year that has more than one on a side; first: its first pair."""
    differs = (standing != standing[first][of_pair]) | (windrowed != windrowed[first][of_pair])
    inside = np.flatnonzero(np.isin(of_pair, of_pair[differs]))
    sides: dict[int, tuple[set[int], set[int]]] = {}
    for number, one, other in zip(
        of_pair[inside].tolist(), standing[inside].tolist(), windrowed[inside].tolist(), strict=True
    ):
        both = sides.setdefault(number, (set(), set()))
        both[0].add(one)
        both[1].add(other)
    return {number: (frozenset(one), frozenset(other)) for number, (one, other) in sides.items()}


def _strips(pairs: Pairs, rows: Whole, count: int) -> Floats:
    """Strips stand for themselves where there is one place in one year, and it is one field. Pairs that share fields
    do not: the fields' own difference is in each of them alike.
    """
    two = KINDS.index(Kind.TWO_FIELDS), KINDS.index(Kind.MATCHED)
    if count != 1 or rows.size < 2 or np.isin(pairs.kind[rows], two).any():
        return np.empty(0)
    return pairs.differences[rows]
