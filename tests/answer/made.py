"""Comparisons made up for tests of words: numbers as given, all else as 14 field-years of yield would have it."""

from analytics.statistics.given_pairs import Allocation, Kind
from analytics.statistics.replicates import PairDifference
from analytics.statistics.results import (
    Answer,
    Basis,
    CarriedBy,
    CarriesRow,
    Comparison,
    Counts,
    ExactTests,
    FieldsNotTried,
    Finding,
    Firm,
    Planning,
    Question,
    ShrunkenMeans,
    YearsAgree,
)


def answer(finding, estimate=None, low=None, high=None, **other):
    better = {Finding.STANDING_HIGHER: "standing", Finding.STANDING_LOWER: "windrowed"}.get(finding)
    given = {
        "method": "paired t",
        "scope": "14 field-years over 5 years",
        "replicates": 14,
        "field_years": 14,
        "years": 5,
        "equivalence_low": low,
        "equivalence_high": high,
        "better": better,
    }
    return Answer(finding=finding, estimate=estimate, low=low, high=high, **(given | other))


def pair(kind=Kind.UNKNOWN, allocation=Allocation.NOT_KNOWN, **other):
    given = {"crop_year": 2023, "field": "North", "pair": "A", "standing": 41.3, "windrowed": 40.0, "difference": 1.3}
    return PairDifference(kind=kind, allocation=allocation, **(given | other))


def carries(**estimates):
    """Every row of both questions; `two_fields=(6.7, 1.2, 12.3)` gives a row its numbers."""
    return tuple(
        CarriesRow(
            row=row,
            question=question,
            pairs=7 if row in estimates else 0,
            field_years=7 if row in estimates else 0,
            years=4 if row in estimates else 0,
            estimate=estimates.get(row, (None,))[0],
            low=estimates[row][1] if row in estimates else None,
            high=estimates[row][2] if row in estimates else None,
        )
        for question in Question
        for row in CarriedBy
    )


def comparison(these_fields, years_to_come=None, **other):
    """14 field-years over 5 years of yield, pairs of a kind that nobody told, unless said otherwise."""
    planning = Planning(
        detectable_difference=other.pop("detectable_difference", None),
        field_years_needed=other.pop("field_years_needed", None),
        years_needed=other.pop("years_needed", None),
    )
    prediction_low, prediction_high = other.pop("new_field", (None, None))
    pairs, field_years, years = (
        other.pop(name, value) for name, value in (("pairs", 22), ("field_years", 14), ("years", 5))
    )
    one_year = "There is only one year; at least 3 years are needed."
    given = {
        "measure": "yield",
        "unit": "bu/ac",
        "direction": "higher",
        "level": 0.95,
        "margin": 1.0,
        "is_basis_fixed": False,
        "left_out": 2,
        "all_pairs": Counts(pairs=pairs, field_years=field_years, years=years, left_out=2),
        "mean_standing": 41.3,
        "mean_windrowed": 40.0,
        "fields_not_tried": FieldsNotTried(
            method="t over year means", prediction_low=prediction_low, prediction_high=prediction_high
        ),
        "shrunken": ShrunkenMeans(),
        "carries": carries(),
        "years_agree": YearsAgree(f_p=None, gail_simon_p=None, disagree=False, highest=None, lowest=None),
        "firm": Firm(exact_agrees=True, drawn_by_lot=None),
        "looks": 3,
        "exact": ExactTests(
            sign_flip_p=0.012,
            wilcoxon_p=0.0004,
            sign_test_p=None,
            hodges_lehmann=1.25,
            hodges_lehmann_low=0.4,
            hodges_lehmann_high=None,
        ),
        "by_year": (),
        "places": (),
        "places_to_come": (),
        "pair_differences": (),
        "cautions": (),
    }
    return Comparison(
        these_fields=these_fields,
        years_to_come=years_to_come or answer(Finding.TOO_FEW, reason=one_year, replicates=1, years=1),
        planning=planning,
        pairs=pairs,
        field_years=field_years,
        years=years,
        **(given | other),
    )


ONE_FIELD, DRAWN = Basis.ONE_FIELD, Basis.DRAWN_BY_LOT
HIGHER, LOWER = Finding.STANDING_HIGHER, Finding.STANDING_LOWER
SAME, OPEN, FEW = Finding.NO_DIFFERENCE_THAT_MATTERS, Finding.NOT_SETTLED, Finding.TOO_FEW
BY_YEAR = Finding.DEPENDS_ON_YEAR
HERE, AHEAD = Question.THESE_FIELDS, Question.YEARS_TO_COME
