"""From rows to replicates: pairs are checked, strips averaged to the field-year, field-years put in their years.

Used by comparison.py alone. Every difference is standing minus windrowed.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.errors import BadInput

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

LARGEST_VALUE = 1e70  # squares of squares must fit a float
ROUNDING = 1e-12  # of the largest value: a difference below it is the computer's, not the field's
SMALLEST_DIFFERENCE = 1e-70  # as for the largest


@dataclass(frozen=True, slots=True, kw_only=True)
class Pairs:
    """Complete pairs, one row each, shape (pairs,).

    field_year : number 0, 1, ... of the field-year each pair belongs to, in order of first appearance
    labels : crop_year, field, pair
    left_out : rows lacking a side
    """

    standing: Floats
    windrowed: Floats
    field_year: Whole
    labels: list[tuple[int | None, str | None, str | None]]
    left_out: int

    @property
    def rounding(self) -> float:
        """Size below which a difference is only the computer's rounding."""
        largest = max(np.abs(self.standing).max(initial=0.0), np.abs(self.windrowed).max(initial=0.0))
        return max(ROUNDING * float(largest), SMALLEST_DIFFERENCE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ladder:
    """Field-years, shape (field_years,).

    differences : mean over the strips of each
    year : number 0, 1, ... of its year, pointing into crop_years, which are in time order
    names : what each field-year is called
    strips : the single differences when there is one field-year only, else empty
    """

    differences: Floats
    year: Whole
    crop_years: list[int | None]
    names: list[str]
    strips: Floats

    def without(self, dropped: NDArray[np.bool_]) -> "Ladder":
        """The rest when the marked field-years, shape (field_years,), are left out."""
        kept = ~dropped
        left, year = np.unique(self.year[kept], return_inverse=True)
        return Ladder(
            differences=self.differences[kept],
            year=year,
            crop_years=[self.crop_years[number] for number in left.tolist()],
            names=[name for name, keep in zip(self.names, kept.tolist(), strict=True) if keep],
            strips=np.empty(0),
        )


def complete_pairs(
    standing: ArrayLike,
    windrowed: ArrayLike,
    *,
    crop_year: Sequence[int | None] | None,
    field: Sequence[str | None] | None,
    pair: Sequence[str | None] | None,
) -> Pairs:
    """The rows that have both sides; None or NaN is a missing side. Arguments as for `comparison.compare`.

    Raises BadInput naming the row, counted from 1, and what is allowed there.
    """
    values = {"standing": _numbers("standing", standing), "windrowed": _numbers("windrowed", windrowed)}
    rows = values["standing"].size
    columns = {"crop_year": crop_year, "field": field, "pair": pair}
    for name, column in (values | columns).items():
        if column is not None and len(column) != rows:
            raise BadInput(f"{name}: {len(column)} rows given; allowed {rows}, as many as standing has.")
    kept = np.flatnonzero(~(np.isnan(values["standing"]) | np.isnan(values["windrowed"])))
    unknown: list[None] = [None] * kept.size
    years = unknown if crop_year is None else _years(crop_year, kept)
    fields = unknown if field is None else _fields(field, kept)
    pairs = unknown if pair is None else _texts(pair, kept)
    numbers: dict[tuple[int | None, object], int] = {}
    within_year = kept.tolist() if field is None else fields
    field_year = [numbers.setdefault(key, len(numbers)) for key in zip(years, within_year, strict=True)]
    return Pairs(
        standing=values["standing"][kept],
        windrowed=values["windrowed"][kept],
        field_year=np.asarray(field_year, dtype=np.int64),
        labels=list(zip(years, fields, pairs, strict=True)),
        left_out=rows - kept.size,
    )


def ladder_of(pairs: Pairs) -> Ladder:
    """The pairs, averaged to field-years; a difference below rounding is 0."""
    differences = pairs.standing - pairs.windrowed
    differences = np.where(np.abs(differences) <= pairs.rounding, 0.0, differences)
    means = averages(differences, pairs.field_year)
    first_rows = np.unique(pairs.field_year, return_index=True)[1].tolist()
    labels = [pairs.labels[row] for row in first_rows]
    crop_years = sorted({year for year, _, _ in labels}, key=lambda year: year or 0)
    place = {year: number for number, year in enumerate(crop_years)}
    return Ladder(
        differences=np.where(np.abs(means) <= pairs.rounding, 0.0, means),
        year=np.asarray([place[year] for year, _, _ in labels], dtype=np.int64),
        crop_years=crop_years,
        names=[field or pair or f"row {row + 1}" for (_, field, pair), row in zip(labels, first_rows, strict=True)],
        strips=differences if means.size == 1 and differences.size > 1 else np.empty(0),
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


def _years(column: Sequence[int | None], kept: Whole) -> list[int]:
    if (whole := np.asarray(column)).dtype.kind in "iu":  # the usual case, and the quick one
        known: list[int] = whole[kept].tolist()
        return known
    years = []
    for row in kept.tolist():
        value = column[row]
        if isinstance(value, str | bool | None) or not float(value).is_integer():
            raise BadInput(f"row {row + 1}, crop_year: {value!r} given; allowed a whole year, on every row or on none.")
        years.append(int(value))
    return years


def _fields(column: Sequence[str | None], kept: Whole) -> list[str]:
    texts = _texts(column, kept)
    names = [text for text in texts if text is not None]
    if len(names) < len(texts):
        row = int(kept[texts.index(None)])
        raise BadInput(f"row {row + 1}, field: blank given; allowed a field's name, on every row or on none.")
    return names


def _texts(column: Sequence[str | None], kept: Whole) -> list[str | None]:
    values: list[object] = list(column)
    if kept.size < len(values):
        values = [values[row] for row in kept.tolist()]
    return [None if value is None or value != value or value == "" else str(value) for value in values]
