"""Pairs as they were handed in: checked, incomplete ones counted out, names turned into whole numbers.

Every difference is standing minus windrowed. A name is a field's, with its farm's before it where farms are named:
equal names on two farms are two fields.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import polars as pl
from numpy.typing import ArrayLike, NDArray

from analytics.errors import BadInput
from analytics.statistics.levels import levels

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Marked = NDArray[np.bool_]
Texts = Sequence[str | None] | pl.Series
Years = Sequence[int | None] | pl.Series
YesNo = Sequence[bool | None] | pl.Series

LARGEST_VALUE = 1e70  # squares of squares must fit a float
ROUNDING = 1e-13  # of the largest value: a difference below it is the computer's, not the field's
SMALLEST_DIFFERENCE = 1e-70  # as for the largest


class Kind(StrEnum):
    """How the two sides of a pair lie to each other; MIXED only of a field-year, whose pairs are of several kinds."""

    ONE_FIELD = "one_field"  # halves or strips of one field
    TWO_FIELDS = "two_fields"  # soil and history differ along with the method
    MATCHED = "matched"  # matched after harvest, possible once yields are known
    UNKNOWN = "unknown"
    MIXED = "mixed"


class Allocation(StrEnum):
    """How it was settled which side stands. Blank is not known, never chosen."""

    DRAWN = "drawn"
    CHOSEN = "chosen"
    NOT_KNOWN = "not_known"


KINDS = tuple(Kind)
ALLOCATIONS = tuple(Allocation)
KIND_OF_LAYOUT = {
    "split field": Kind.ONE_FIELD,
    "strips": Kind.ONE_FIELD,
    "neighbouring fields": Kind.TWO_FIELDS,
    "matched after harvest": Kind.MATCHED,
}
ALLOCATION_OF_WORDS = {"drawn by lot": Allocation.DRAWN, "chosen": Allocation.CHOSEN}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pairs:
    """Complete pairs, one row each, shape (pairs,).

    year : number 0, 1, ... of the crop year, pointing into crop_years, which are in time order
    farm : number pointing into farms, which is empty where no farm is named
    standing_field, windrowed_field : numbers pointing into fields; without named fields each row has one of its own and
        fields is empty
    kind, allocation : numbers pointing into KINDS and ALLOCATIONS
    is_early : the windrowed side is known to have been cut early; is_early_unknown : not known whether it was
    barred : why a pair is out of every answer, fixed before looking; None where it counts
    row : place among the rows given, 0 the first
    left_out : rows lacking a side
    """

    standing: Floats
    windrowed: Floats
    year: Whole
    crop_years: list[int | None]
    farm: Whole
    farms: list[str]
    standing_field: Whole
    windrowed_field: Whole
    fields: list[str]
    are_fields_named: bool
    kind: Whole
    allocation: Whole
    is_early: Marked
    is_early_unknown: Marked
    barred: list[str | None] | None
    labels: list[str | None]
    row: Whole
    left_out: int

    @property
    def counted(self) -> Marked:
        """Pairs that are not barred, shape (pairs,)."""
        if self.barred is None:
            return np.ones(self.standing.size, dtype=bool)
        return np.array([reason is None for reason in self.barred], dtype=bool)

    @property
    def rounding(self) -> float:
        """Size below which a difference is only the computer's rounding."""
        largest = max(np.abs(self.standing).max(initial=0.0), np.abs(self.windrowed).max(initial=0.0))
        return max(ROUNDING * float(largest), SMALLEST_DIFFERENCE)

    @property
    def differences(self) -> Floats:
        """Standing minus windrowed, shape (pairs,); one below rounding is 0."""
        apart = self.standing - self.windrowed
        return np.where(np.abs(apart) <= self.rounding, 0.0, apart)

    def field_words(self, number: int) -> str | None:
        """The field of one pair, or both fields; None where none was given."""
        if not self.are_fields_named:
            return None
        standing, windrowed = int(self.standing_field[number]), int(self.windrowed_field[number])
        if standing == windrowed:
            return self.fields[standing]
        return f"{self.fields[standing]} / {self.fields[windrowed]}"


def complete_pairs(
    standing: ArrayLike,
    windrowed: ArrayLike,
    *,
    crop_year: Years | None = None,
    farm: Texts | None = None,
    field: Texts | None = None,
    standing_field: Texts | None = None,
    windrowed_field: Texts | None = None,
    pair: Texts | None = None,
    layout: Texts | None = None,
    allocation: Texts | None = None,
    early_cut: YesNo | None = None,
    barred: Texts | None = None,
) -> Pairs:
    """The rows that have both sides; None or NaN is a missing side. Every other argument: one value a row, or None.

    crop_year : whole years; without it all pairs are of one year
    farm : equal field names on two farms are two fields
    field, or standing_field and windrowed_field : without them each row has a field of its own
    pair : a label carried along
    layout : a key of KIND_OF_LAYOUT; "matched after harvest" is a kind of its own, else two field names go before it
    allocation : a key of ALLOCATION_OF_WORDS
    early_cut : whether the windrowed side was cut before the stage that was fixed
    barred : a reason, fixed before looking, why a pair is in no answer; None where it counts
    Raises BadInput naming the row, counted from 1, and what is allowed there.
    """
    values = {"standing": _numbers("standing", standing), "windrowed": _numbers("windrowed", windrowed)}
    rows = values["standing"].size
    columns = {
        "crop_year": crop_year,
        "farm": farm,
        "field": field,
        "standing_field": standing_field,
        "windrowed_field": windrowed_field,
        "pair": pair,
        "layout": layout,
        "allocation": allocation,
        "early_cut": early_cut,
        "barred": barred,
    }
    for name, column in (values | columns).items():
        if column is not None and len(column) != rows:
            raise BadInput(f"{name}: {len(column)} rows given; allowed {rows}, as many as standing has.")
    if (standing_field is None) != (windrowed_field is None) or (field is not None and standing_field is not None):
        raise BadInput("field: allowed is field, or standing_field and windrowed_field together, or none of them.")
    kept = np.flatnonzero(~(np.isnan(values["standing"]) | np.isnan(values["windrowed"])))
    years = np.zeros(kept.size, dtype=np.int64) if crop_year is None else _years(crop_year, kept)
    found_years, year = levels(years)
    of_farm, farms = np.zeros(kept.size, dtype=np.int64), list[str]()
    if farm is not None:
        of_farm, named_farms = _coded(_required("farm", farm, kept))
        farms = named_farms.to_list()
    sides, fields = _fields(farms, of_farm, field, standing_field, windrowed_field, kept)
    kinds = _layout_kinds(layout, kept)
    if standing_field is not None:
        by_name = np.where(sides[0] == sides[1], KINDS.index(Kind.ONE_FIELD), KINDS.index(Kind.TWO_FIELDS))
        kinds = np.where(kinds == KINDS.index(Kind.MATCHED), kinds, by_name)
    is_early, is_early_unknown = np.zeros(kept.size, dtype=bool), np.ones(kept.size, dtype=bool)
    if early_cut is not None:
        early = [early_cut[row] for row in kept.tolist()]
        is_early = np.array([value is True for value in early], dtype=bool)
        is_early_unknown = np.array([value is None for value in early], dtype=bool)
    reasons = None if barred is None else [barred[row] for row in kept.tolist()]
    return Pairs(
        standing=values["standing"][kept],
        windrowed=values["windrowed"][kept],
        year=year,
        crop_years=[None] if crop_year is None and kept.size else found_years.tolist(),
        farm=of_farm,
        farms=farms,
        standing_field=sides[0],
        windrowed_field=sides[1],
        fields=fields,
        are_fields_named=field is not None or standing_field is not None,
        kind=kinds,
        allocation=_words(allocation, kept, ALLOCATION_OF_WORDS, ALLOCATIONS, Allocation.NOT_KNOWN, "allocation"),
        is_early=is_early,
        is_early_unknown=is_early_unknown,
        barred=reasons,
        labels=[None] * kept.size if pair is None else _texts(pair, kept).to_list(),
        row=kept,
        left_out=rows - kept.size,
    )


def averages(values: Floats, group: Whole) -> Floats:
    """Mean of each group 0, 1, ..., shape (groups,)."""
    return np.bincount(group, weights=values) / np.bincount(group)


def _numbers(name: str, values: ArrayLike) -> Floats:
    try:
        numbers = np.atleast_1d(np.asarray(values, dtype=np.float64))
    except (TypeError, ValueError) as fault:
        raise BadInput(f"{name}: {fault}; allowed numbers, blank where a side is missing.") from None
    if numbers.ndim != 1:
        raise BadInput(f"{name}: an array of shape {numbers.shape} given; allowed one value per pair.")
    if (too_large := np.flatnonzero(np.abs(numbers) > LARGEST_VALUE)).size:  # NaN is not larger
        row = int(too_large[0])
        raise BadInput(f"row {row + 1}, {name}: {numbers[row]:g} given; allowed a finite number, or blank if unknown.")
    return numbers


def _years(column: Years, kept: Whole) -> Whole:
    if (whole := np.asarray(column)).dtype.kind in "iu":  # the usual case, and the quick one
        return whole[kept].astype(np.int64)
    years = []
    for row in kept.tolist():
        value = column[row]
        if isinstance(value, str | bool | None) or not float(value).is_integer():
            raise BadInput(f"row {row + 1}, crop_year: {value!r} given; allowed a whole year, on every row or on none.")
        years.append(int(value))
    return np.asarray(years, dtype=np.int64)


def _fields(
    farms: list[str],
    of_farm: Whole,
    field: Texts | None,
    standing: Texts | None,
    windrowed: Texts | None,
    kept: Whole,
) -> tuple[tuple[Whole, Whole], list[str]]:
    """Numbers of the standing and of the windrowed field, and the names that they point into; farms as in Pairs."""
    given = {"field": field, "standing_field": standing, "windrowed_field": windrowed}
    named = [_required(name, column, kept) for name, column in given.items() if column is not None]
    if not named:
        alone = np.arange(kept.size, dtype=np.int64)
        return (alone, alone), []
    codes, names = _coded(pl.concat(named))
    if farms:
        codes, both = _coded(pl.Series(np.tile(of_farm, len(named)) * names.len() + codes))
        names = pl.Series(farms).gather(both // names.len()) + ", " + names.gather(both % names.len())
    return (codes[: kept.size], codes[-kept.size :] if kept.size else codes), names.to_list()


def _required(name: str, column: Texts, kept: Whole) -> pl.Series:
    texts = _texts(column, kept)
    if texts.null_count():
        row = int(kept[int(texts.is_null().arg_true()[0])])
        raise BadInput(f"row {row + 1}, {name}: blank given; allowed a {_noun(name)}'s name, on every row or on none.")
    return texts


def _noun(name: str) -> str:
    return name.removeprefix("standing_").removeprefix("windrowed_")


def _layout_kinds(layout: Texts | None, kept: Whole) -> Whole:
    return _words(layout, kept, KIND_OF_LAYOUT, KINDS, Kind.UNKNOWN, "layout")


def _words(
    column: Texts | None,
    kept: Whole,
    known: dict[str, Kind] | dict[str, Allocation],
    order: tuple[Kind, ...] | tuple[Allocation, ...],
    blank: Kind | Allocation,
    name: str,
) -> Whole:
    """Numbers pointing into `order`; a blank is `blank`. Raises BadInput for a word that is not known."""
    numbers = {word: order.index(kind) for word, kind in known.items()}
    empty = order.index(blank)
    if column is None:
        return np.full(kept.size, empty, dtype=np.int64)
    texts = _texts(column, kept)
    codes, words = _coded(texts)
    for code, word in enumerate(words):
        if word not in numbers:
            row = int(kept[int(np.flatnonzero(codes == code)[0])])
            raise BadInput(f'row {row + 1}, {name}: "{word}" given; allowed {", ".join(numbers)}, or blank.')
    return np.array([*(numbers[word] for word in words), empty], dtype=np.int64)[codes]


def _coded(values: pl.Series) -> tuple[Whole, pl.Series]:
    """A number for each value, -1 for a blank, and the values that the numbers point into, as they appear."""
    found = values.drop_nulls().unique(maintain_order=True)
    numbered = pl.DataFrame({"value": found, "code": np.arange(found.len())})
    joined = pl.DataFrame({"value": values}).join(numbered, on="value", how="left", maintain_order="left")
    return joined["code"].fill_null(-1).to_numpy().astype(np.int64), found


def _texts(column: Texts, kept: Whole) -> pl.Series:
    """The kept rows as text; None, NaN and "" are null."""
    try:
        texts = pl.Series("text", column, dtype=pl.String)
    except TypeError:  # a row that is no text
        values = [None if value is None or value != value else str(value) for value in column]
        texts = pl.Series("text", values, dtype=pl.String)
    texts = texts.gather(kept) if kept.size < texts.len() else texts
    return texts.set(texts == "", None)
