"""What was averaged and compared, one by one: pairs, field-years and years; plain, frozen results."""

from dataclasses import dataclass

from analytics.statistics.given_pairs import Allocation, Kind


@dataclass(frozen=True, slots=True, kw_only=True)
class YearResult:
    """One crop year alone; its range from the spread pooled over years where years are blocks, else from its own."""

    crop_year: int | None
    field_years: int
    estimate: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldYear:
    """One place in one crop year: the mean of its pairs, on the basis of one question."""

    crop_year: int | None
    place: str
    kind: Kind
    pairs: int
    standing: float
    windrowed: float
    difference: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PairDifference:
    """One pair as it was compared.

    place : of the basis it is in, these fields before years to come; in no basis, its own field or fields
    in_these, in_to_come : whether the answer rests on it
    share : of it in the estimate for these fields, 1 for all pairs together; whatever is summed over pairs by their
        shares is averaged over places as the estimate is
    barred : why it is in neither, fixed before looking
    """

    crop_year: int | None
    field: str | None
    pair: str | None
    standing: float
    windrowed: float
    difference: float
    place: str | None = None
    kind: Kind = Kind.UNKNOWN
    allocation: Allocation = Allocation.NOT_KNOWN
    in_these: bool = True
    in_to_come: bool = True
    share: float = 0.0
    barred: str | None = None
