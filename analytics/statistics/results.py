"""What a comparison answers: plain, frozen results that screens, paper and the terminal all read.

Every difference is standing minus windrowed, in the unit that stands beside it. Unknown is None, never NaN.
"""

from dataclasses import dataclass
from enum import StrEnum

from analytics.statistics.crossed import Shrunken
from analytics.statistics.given_pairs import Allocation
from analytics.statistics.replicates import FieldYear, PairDifference, YearResult

MOST_LISTED = 10_000  # pairs, field-years and places that are carried one by one unless all are asked for


class Finding(StrEnum):
    """What may be said about a difference at the level that was fixed beforehand."""

    STANDING_HIGHER = "standing_higher"  # the interval lies above 0
    STANDING_LOWER = "standing_lower"  # the interval lies below 0
    NO_DIFFERENCE_THAT_MATTERS = "no_difference_that_matters"  # two one-sided tests hold inside the margin
    DEPENDS_ON_YEAR = "depends_on_year"  # some years above zero and some below, by more than chance explains
    NOT_SETTLED = "not_settled"
    TOO_FEW = "too_few"  # too few replicates, or no spread, to judge by


class Basis(StrEnum):
    """Which pairs an answer rests on."""

    ALL = "all"  # all but those matched after harvest, where enough remain without them
    ONE_FIELD = "one_field"
    DRAWN_BY_LOT = "drawn_by_lot"


class Question(StrEnum):
    """These fields in these years, or this farm in years to come."""

    THESE_FIELDS = "these_fields"
    YEARS_TO_COME = "years_to_come"


class CarriedBy(StrEnum):
    """The rows of "What carries it": always these, in this order."""

    ONE_FIELD = "one_field"
    TWO_FIELDS = "two_fields"
    MATCHED = "matched"
    DRAWN = "drawn"
    CHOSEN = "chosen"
    NOT_KNOWN = "not_known"
    WITHOUT_EARLY_CUT = "without_early_cut"  # a stage that is not known stays in
    ALL = "all"


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """One of the two questions, answered.

    method : how it was computed, for a checker ("paired t over field-years", ...)
    scope : what it rests on, as a phrase ("14 field-years over 5 years", "this field, this year")
    basis : which pairs it rests on; pairs, field_years, years : how many of them
    allocations : how these pairs were given their methods, each way once
    replicates : how many independent values the spread was judged from
    reason : why nothing can be said; only for TOO_FEW
    low, high : the range at the level. For years to come never narrower than the one that these_fields' method gives on
        the same field-years; then p_value and equivalence_p are the larger of both methods'. std_error and df stay
        those of the broad method
    equivalence_low, equivalence_high : the range at 2 x level - 1, which belongs to NO_DIFFERENCE_THAT_MATTERS
    small : the difference is more than chance explains and its whole range lies inside the margin
    better : "standing", "windrowed", or None when no side is higher by more than chance explains
    year_sd, field_sd : only for years to come; year_sd is the square root of tau2
    prediction_low, prediction_high : for a new field in a new year; only where no place comes back
    """

    finding: Finding
    reason: str | None = None
    method: str
    scope: str
    basis: Basis = Basis.ALL
    allocations: tuple[Allocation, ...] = ()
    pairs: int = 0
    field_years: int = 0
    years: int = 0
    replicates: int
    estimate: float | None = None
    std_error: float | None = None
    df: float | None = None
    low: float | None = None
    high: float | None = None
    p_value: float | None = None
    equivalence_low: float | None = None
    equivalence_high: float | None = None
    equivalence_p: float | None = None
    small: bool = False
    better: str | None = None
    year_sd: float | None = None
    field_sd: float | None = None
    prediction_low: float | None = None
    prediction_high: float | None = None

    @property
    def told_low(self) -> float | None:
        """The lower end of the range at the level, for whoever tells it; None beside TOO_FEW, which tells none."""
        return None if self.finding is Finding.TOO_FEW else self.low

    @property
    def told_high(self) -> float | None:
        """The upper end."""
        return None if self.finding is Finding.TOO_FEW else self.high

    @property
    def shown_low(self) -> float | None:
        """The lower end of the range that belongs to the finding, which is the one to show beside it."""
        return self.equivalence_low if self.finding is Finding.NO_DIFFERENCE_THAT_MATTERS else self.told_low

    @property
    def shown_high(self) -> float | None:
        """The upper end."""
        return self.equivalence_high if self.finding is Finding.NO_DIFFERENCE_THAT_MATTERS else self.told_high


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldsNotTried:
    """What to expect on this farm's fields that were not tried yet; finding is TOO_FEW with a reason, or None.

    low, high : of the average; prediction_low, prediction_high : of a single new field in a new year
    year_sd, place_sd, rest_sd : between years, between places that come back, and the rest; None where not told apart
    """

    finding: Finding | None = None
    reason: str | None = None
    method: str
    estimate: float | None = None
    std_error: float | None = None
    df: float | None = None
    low: float | None = None
    high: float | None = None
    prediction_low: float | None = None
    prediction_high: float | None = None
    year_sd: float | None = None
    place_sd: float | None = None
    rest_sd: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ShrunkenMeans:
    """Years and places drawn towards the average, on the basis of years to come; empty where nothing is known."""

    years: tuple[Shrunken, ...] = ()
    places: tuple[Shrunken, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CarriesRow:
    """One row of "What carries it" for one question: the answer from these pairs alone.

    low, high : None where there are too few to judge
    not_known : pairs in it whose stage at cutting is not known; only in the row without early cut
    """

    row: CarriedBy
    question: Question
    pairs: int
    field_years: int
    years: int
    estimate: float | None
    low: float | None
    high: float | None
    not_known: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class YearsAgree:
    """Whether the years tell the same; both p None where there is no spread within years to judge by.

    highest, lowest : crop years with the highest and the lowest mean; None with one year
    """

    f_p: float | None
    gail_simon_p: float | None
    disagree: bool
    highest: int | None
    lowest: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """One answer with one field-year, or one year, left out; basis and formula held.

    place : None where the whole year is left out
    is_changed : another finding than with it; a fall to too few is none
    """

    question: Question
    crop_year: int | None
    place: str | None
    finding: Finding
    better: str | None
    is_changed: bool
    estimate: float | None
    low: float | None
    high: float | None

    @property
    def words(self) -> str:
        """What was left out: "Creek quarter, 2022", or "2022"."""
        return ", ".join(str(part) for part in (self.place, self.crop_year) if part is not None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Firm:
    """How firm the findings are.

    leave_one_out : for both questions, every field-year (up to a stated number) and every year
    exact_agrees : whether the sign-flip test decides as t does at the level; None where it could not reject
    drawn_by_lot : whether every pair of these fields' basis was drawn by lot; None without pairs
    """

    leave_one_out: tuple[LeftOut, ...] = ()
    exact_agrees: bool | None = None
    drawn_by_lot: bool | None = None

    def changes(self, question: Question) -> tuple[LeftOut, ...]:
        """What one field-year or one year carries: those whose leaving out changes the finding."""
        return tuple(one for one in self.leave_one_out if one.question is question and one.is_changed)


@dataclass(frozen=True, slots=True, kw_only=True)
class HolmMark:
    """A measure looked at together with the others that are not the main one."""

    p: float
    of: int
    also_together: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ExactTests:
    """Companions that need no normal distribution, on the field-year differences.

    is_wilcoxon_exact : False beyond the number whose ranks are counted, where it is the normal approximation
    """

    sign_flip_p: float | None
    wilcoxon_p: float | None
    sign_test_p: float | None
    hodges_lehmann: float | None
    hodges_lehmann_low: float | None
    hodges_lehmann_high: float | None
    is_wilcoxon_exact: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Needed:
    """How many it takes, and for the least and the largest spread that the data do not rule out; None is past 10**9."""

    value: int | None
    low: int | None
    high: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRow:
    """What it takes to see `gap` in 8 of 10 such trials made of pairs of this kind; None where there is no spread.

    field_years : for these fields; years : for years to come, with field_years_a_year in each, the median so far
    """

    kind: CarriedBy
    gap: float
    field_years: Needed | None
    years: Needed | None
    field_years_a_year: float


@dataclass(frozen=True, slots=True, kw_only=True)
class KindSpread:
    """What planning by kind rests on: the spread of field-years within a year, and of year means.

    field_sd, field_df : pooled within years; with one field-year a year over all of them
    year_sd, year_df : standard deviation of year means, years - 1
    """

    kind: CarriedBy
    field_years: int
    years: int
    field_sd: float | None
    field_df: int
    year_sd: float | None
    year_df: int
    field_years_a_year: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Planning:
    """What could have been seen, and what it would take to see the margin in 8 of 10 such trials.

    detectable_difference : smallest true difference that 80 % of trials like these fields would find
    field_years_needed : field-years in all for the margin, by the spread of these fields; None if unknown
    years_needed : years for the margin in the broad question, with as many field-years a year as now; None if unknown
    spreads, rows : the same by kind of pair and for several gaps
    """

    detectable_difference: float | None
    field_years_needed: int | None
    years_needed: int | None
    spreads: tuple[KindSpread, ...] = ()
    rows: tuple[PlanRow, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """Something that weakens a comparison: a stable code for machines and a sentence for people."""

    code: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """How many; left_out : pairs lacking a side; barred : pairs out for a reason that was fixed before looking."""

    pairs: int
    field_years: int
    years: int
    left_out: int
    barred: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Standing against windrowed for one measure, both questions, and all that they rest on.

    direction : "higher" or "lower", whichever is better
    margin : the difference that matters, in `unit`; None when none was given
    is_basis_fixed : the basis was fixed before looking; else it follows from the kinds of pairs
    pairs, field_years, years : of the basis of these fields, as are mean_standing, mean_windrowed, exact, planning,
        by_year, years_agree and firm; all_pairs counts whatever the basis
    left_out : pairs lacking a side
    mean_standing, mean_windrowed : averaged pairs to field-year to all, so that they differ by the estimate
    looks : winters in which there were three years or more to look at, on the basis of years to come
    holm : for this measure among the others, by question; filled where several measures are compared
    places, places_to_come, pair_differences : empty beyond MOST_LISTED rows unless asked for
    """

    measure: str
    unit: str
    direction: str
    level: float
    margin: float | None
    is_basis_fixed: bool
    pairs: int
    field_years: int
    years: int
    left_out: int
    all_pairs: Counts
    mean_standing: float | None
    mean_windrowed: float | None
    these_fields: Answer
    years_to_come: Answer
    fields_not_tried: FieldsNotTried
    shrunken: ShrunkenMeans
    carries: tuple[CarriesRow, ...]
    years_agree: YearsAgree
    firm: Firm
    looks: int
    exact: ExactTests
    planning: Planning
    by_year: tuple[YearResult, ...]
    places: tuple[FieldYear, ...]
    places_to_come: tuple[FieldYear, ...]
    pair_differences: tuple[PairDifference, ...]
    cautions: tuple[Caution, ...]
    holm: tuple[HolmMark | None, HolmMark | None] = (None, None)
