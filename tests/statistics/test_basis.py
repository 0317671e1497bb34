"""Which pairs the headline rests on, and what each kind of pair says alone."""

import numpy as np
import pytest

from analytics.statistics.comparison import compare
from analytics.statistics.results import Basis, CarriedBy, Finding, Question

YIELD = {"measure": "yield", "unit": "bu/ac"}


def compared(rows, **options):
    """rows : difference, year, standing field, windrowed field, layout, allocation, early cut."""
    columns = list(zip(*rows, strict=True))
    names = ("crop_year", "standing_field", "windrowed_field", "layout", "allocation", "early_cut")
    given = dict(zip(names, map(list, columns[1:]), strict=True))
    return compare(list(columns[0]), np.zeros(len(rows)), **given, **(YIELD | options))


def one_field(difference, year, name, *, drawn=None, early=None):
    return (difference, year, name, name, "split field", drawn, early)


def two_fields(difference, year, name, *, drawn="chosen", early=None):
    return (difference, year, name, name + "'", "neighbouring fields", drawn, early)


def matched(difference, year, name):
    return (difference, year, name, name + "'", "matched after harvest", "chosen", None)


THREE = [one_field(0.2, 2021, "A"), one_field(-0.4, 2022, "B"), one_field(0.6, 2023, "C")]
SEPARATE = [two_fields(6.0, 2021, "D"), two_fields(7.5, 2022, "E"), two_fields(5.0, 2023, "F")]


def test_fields_cut_both_ways_carry_the_headline_where_there_are_three():
    """Said before of both together: a real difference, all of it from separate, chosen fields."""
    got = compared(THREE + SEPARATE)
    assert (got.these_fields.basis, got.years_to_come.basis) == (Basis.ONE_FIELD, Basis.ONE_FIELD)
    assert (got.pairs, got.field_years, got.all_pairs.pairs) == (3, 3, 6)
    assert got.these_fields.estimate == pytest.approx(0.4 / 3)
    assert got.these_fields.finding is Finding.NOT_SETTLED
    assert [pair.in_these for pair in got.pair_differences] == [True] * 3 + [False] * 3


def test_two_fields_cut_both_ways_are_not_enough():
    got = compared(THREE[:2] + SEPARATE)
    assert (got.these_fields.basis, got.field_years) == (Basis.ALL, 5)


def test_each_question_has_its_own_basis():
    rows = [one_field(0.2, 2021, "A"), one_field(-0.4, 2021, "B"), one_field(0.6, 2022, "C")]
    got = compared(rows + SEPARATE)
    assert (got.these_fields.basis, got.years_to_come.basis) == (Basis.ONE_FIELD, Basis.ALL)
    assert (got.these_fields.field_years, got.years_to_come.field_years) == (3, 6)
    assert (got.field_years, got.years_to_come.years) == (3, 3)
    assert [pair.in_to_come for pair in got.pair_differences] == [True] * 6
    assert len(got.places) == 3
    assert len(got.places_to_come) == 6


def test_pairs_matched_after_harvest_are_out_where_three_remain():
    rows = [*SEPARATE, matched(20.0, 2022, "M"), matched(21.0, 2024, "N")]
    got = compared(rows)
    assert (got.field_years, got.years_to_come.years) == (3, 3)
    assert [pair.in_these for pair in got.pair_differences] == [True] * 3 + [False] * 2
    fewer = compared(rows[1:])
    assert (fewer.field_years, fewer.years_to_come.years) == (4, 3)
    assert fewer.these_fields.basis is Basis.ALL


@pytest.mark.parametrize(("basis", "pairs"), [(Basis.ALL, 6), (Basis.ONE_FIELD, 3), (Basis.DRAWN_BY_LOT, 2), (None, 3)])
def test_a_basis_fixed_before_looking_is_kept(basis, pairs):
    rows = [one_field(0.2, 2021, "A", drawn="drawn by lot"), *THREE[1:], *SEPARATE[:2]]
    rows.append(two_fields(5.0, 2023, "F", drawn="drawn by lot"))
    got = compared(rows, basis=basis)
    assert got.pairs == pairs
    assert got.is_basis_fixed == (basis is not None)


def test_a_fixed_basis_with_too_few_says_so_and_does_not_fall_back():
    got = compared(THREE + SEPARATE, basis=Basis.DRAWN_BY_LOT)
    assert (got.these_fields.finding, got.pairs, got.all_pairs.pairs) == (Finding.TOO_FEW, 0, 6)
    assert got.these_fields.reason == "There is no complete pair whose method was drawn by lot."
    assert got.years_to_come.basis is Basis.DRAWN_BY_LOT
    two = compared(THREE[:2] + SEPARATE, basis=Basis.ONE_FIELD)
    assert two.these_fields.reason == "There are 2 field-years; at least 3 are needed."


def test_barred_pairs_are_out_of_everything_and_counted():
    barred = [None, None, None, "unscaled", "unscaled", "no label"]
    got = compared(THREE + SEPARATE, barred=barred, basis=Basis.ALL)
    assert (got.pairs, got.all_pairs.pairs) == (3, 3)
    assert got.all_pairs.barred == (("no label", 1), ("unscaled", 2))
    assert [row.pairs for row in got.carries if row.row is CarriedBy.TWO_FIELDS] == [0, 0]
    assert got.pair_differences[5].barred == "no label"


# --- what carries it


def rows_of(comparison, question):
    return {row.row: row for row in comparison.carries if row.question is question}


def test_the_rows_are_always_the_same():
    for got in (compared(THREE), compare([], [], **YIELD)):
        for question in Question:
            assert list(rows_of(got, question)) == list(CarriedBy)
    empty = rows_of(got, Question.THESE_FIELDS)[CarriedBy.ALL]
    assert (empty.pairs, empty.estimate, empty.low) == (0, None, None)


def test_each_row_is_the_answer_of_its_pairs_alone():
    rows = [*THREE, *SEPARATE, matched(20.0, 2022, "M"), one_field(1.0, 2022, "G", drawn="drawn by lot", early=True)]
    got = compared(rows)
    chosen = {
        CarriedBy.ONE_FIELD: [0, 1, 2, 7],
        CarriedBy.TWO_FIELDS: [3, 4, 5],
        CarriedBy.MATCHED: [6],
        CarriedBy.DRAWN: [7],
        CarriedBy.CHOSEN: [3, 4, 5, 6],
        CarriedBy.NOT_KNOWN: [0, 1, 2],
        CarriedBy.WITHOUT_EARLY_CUT: [0, 1, 2, 3, 4, 5],
        CarriedBy.ALL: [0, 1, 2, 3, 4, 5, 7],
    }
    for row, places in chosen.items():
        alone = compared([(*rows[place][:4], None, *rows[place][5:]) for place in places], basis=Basis.ALL)
        for question in Question:
            wanted, found = getattr(alone, question.value), rows_of(got, question)[row]
            assert (found.pairs, found.field_years, found.years) == (len(places), wanted.field_years, wanted.years)
            assert found.estimate == pytest.approx(wanted.estimate)
            judged = wanted.finding is not Finding.TOO_FEW
            assert (found.low, found.high) == (pytest.approx((wanted.low, wanted.high)) if judged else (None, None))


def test_a_stage_that_is_not_known_stays_in_and_is_counted():
    rows = [
        two_fields(1.0, 2021, "A", early=True),
        two_fields(2.0, 2021, "B", early=False),
        two_fields(3.0, 2021, "C"),
        two_fields(4.0, 2021, "D"),
    ]
    without = rows_of(compared(rows), Question.THESE_FIELDS)[CarriedBy.WITHOUT_EARLY_CUT]
    assert (without.pairs, without.not_known, without.estimate) == (3, 2, 3.0)


def test_blank_allocation_is_not_known_and_never_chosen():
    got = rows_of(compared(THREE), Question.THESE_FIELDS)
    assert (got[CarriedBy.NOT_KNOWN].pairs, got[CarriedBy.CHOSEN].pairs, got[CarriedBy.DRAWN].pairs) == (3, 0, 0)
