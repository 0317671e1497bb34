"""What a comparison answers: plain, frozen results that screens, paper and the terminal all read.

Every difference is standing minus windrowed, in the unit that stands beside it. Unknown is None, never NaN.
"""

from dataclasses import dataclass
from enum import StrEnum


class Finding(StrEnum):
    """What may be said about a difference at the level that was fixed beforehand."""

    STANDING_HIGHER = "standing_higher"  # the interval lies above 0
    STANDING_LOWER = "standing_lower"  # the interval lies below 0
    NO_DIFFERENCE_THAT_MATTERS = "no_difference_that_matters"  # two one-sided tests hold inside the margin
    NOT_SETTLED = "not_settled"
    TOO_FEW = "too_few"  # too few replicates, or no spread, to judge by


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """One of the two questions, answered.

    method : how it was computed, for a checker ("paired t over field-years", ...)
    scope : what it rests on, as a phrase ("14 field-years over 5 years", "this field, this year")
    replicates : how many independent values the spread was judged from
    reason : why nothing can be said; only for TOO_FEW
    small : the difference is real and yet inside the margin
    better : "standing", "windrowed", or None when no real difference was found
    year_sd, field_sd, prediction_low, prediction_high : only for years to come; year_sd is the square root of tau2
    """

    finding: Finding
    reason: str | None = None
    method: str
    scope: str
    replicates: int
    estimate: float | None = None
    std_error: float | None = None
    df: float | None = None
    low: float | None = None
    high: float | None = None
    p_value: float | None = None
    equivalence_p: float | None = None
    small: bool = False
    better: str | None = None
    year_sd: float | None = None
    field_sd: float | None = None
    prediction_low: float | None = None
    prediction_high: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ExactTests:
    """Companions that need no normal distribution, on the field-year differences."""

    sign_flip_p: float | None
    wilcoxon_p: float | None
    sign_test_p: float | None
    hodges_lehmann: float | None
    hodges_lehmann_low: float | None
    hodges_lehmann_high: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Planning:
    """What could have been seen, and what it would take to see the margin in 8 of 10 such trials.

    detectable_difference : smallest true difference that 80 % of trials like these fields would find
    field_years_needed : field-years in all for the margin, by the spread of these fields; None if unknown
    years_needed : years for the margin in the broad question, with as many field-years a year as now; None if unknown
    """

    detectable_difference: float | None
    field_years_needed: int | None
    years_needed: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class YearResult:
    """One crop year alone; the interval is a paired t over its field-years, None with fewer than two."""

    crop_year: int | None
    field_years: int
    estimate: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PairDifference:
    """One pair as it was compared."""

    crop_year: int | None
    field: str | None
    pair: str | None
    standing: float
    windrowed: float
    difference: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """Both answers when one field-year, or one year, is left out."""

    crop_year: int | None
    field: str | None  # None: the whole year is left out
    these_fields: Answer
    years_to_come: Answer


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """Something that weakens a comparison: a stable code for machines and a sentence for people."""

    code: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Standing against windrowed for one measure, both questions, and all that they rest on.

    direction : "higher" or "lower", whichever is better
    margin : the difference that matters, in `unit`; None when none was given
    left_out : pairs lacking a side
    mean_standing, mean_windrowed : averaged strips to field-year to all, so that they differ by the estimate
    """

    measure: str
    unit: str
    direction: str
    level: float
    margin: float | None
    pairs: int
    field_years: int
    years: int
    left_out: int
    mean_standing: float | None
    mean_windrowed: float | None
    these_fields: Answer
    years_to_come: Answer
    exact: ExactTests
    planning: Planning
    by_year: tuple[YearResult, ...]
    pair_differences: tuple[PairDifference, ...]
    cautions: tuple[Caution, ...]
