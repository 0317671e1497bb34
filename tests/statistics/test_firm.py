"""How firm: what one field-year or one year carries, whether the exact test decides alike, drawn by lot."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.statistics.comparison import compare
from analytics.statistics.firm import MOST_FIELD_YEARS
from analytics.statistics.results import Basis, Finding, Question
from tests.published.loader import agreed, published

YIELD = {"measure": "yield", "unit": "bu/ac"}


def compared(differences, **options):
    return compare(differences, np.zeros(len(differences)), **(YIELD | options))


def without(differences, columns, rows, **options):
    kept = [place for place in range(len(differences)) if place not in rows]
    return compared(
        [differences[place] for place in kept],
        **{name: [column[place] for place in kept] for name, column in columns.items()},
        **options,
    )


DIFFERENCES = [1.0, 3.0, 2.0, 9.0, 2.5, 1.5, 4.0, 2.0]
COLUMNS = {"crop_year": [1, 1, 2, 2, 3, 3, 4, 4], "field": list("ABABABAB")}


def test_each_field_year_and_each_year_is_left_out_of_both_answers():
    got = compared(DIFFERENCES, **COLUMNS, margin=1.0)
    for question in Question:
        rows = [row for row in got.firm.leave_one_out if row.question is question]
        assert [row.words for row in rows] == [
            "A, 1", "B, 1", "A, 2", "B, 2", "A, 3", "B, 3", "A, 4", "B, 4", "1", "2", "3", "4",
        ]  # fmt: skip
        for place, row in enumerate(rows[8:]):  # what is left has still two field-years a year
            rest = without(DIFFERENCES, COLUMNS, (2 * place, 2 * place + 1), margin=1.0)
            wanted = getattr(rest, question.value)
            assert (row.estimate, row.low, row.high) == pytest.approx((wanted.estimate, wanted.low, wanted.high))
            assert row.finding is wanted.finding


def test_the_formula_is_held():
    """Seven field-years over four years would be no blocks; left out of eight they remain blocks."""
    got = compared(DIFFERENCES, **COLUMNS)
    row = got.firm.leave_one_out[3]
    assert row.words == "B, 2"
    rest = np.array([1.0, 3.0, 2.5, 1.5, 4.0, 2.0])
    squares = sum(np.square(pair - pair.mean()).sum() for pair in rest.reshape(3, 2))
    reach = 3.182446305284263 * (squares / 3 / 7) ** 0.5  # t, 0.975, 7 - 4 df
    assert row.high - row.estimate == pytest.approx(reach)


def test_the_basis_is_held():
    """Three fields cut both ways, less one, do not become all pairs."""
    got = compared(
        [2.0, 2.1, 2.2, -9.0, 9.0],
        standing_field=list("ABCDE"),
        windrowed_field=list("ABCXY"),
        crop_year=[2024] * 5,
    )
    assert got.these_fields.basis is Basis.ONE_FIELD
    assert [row.place for row in got.firm.leave_one_out] == ["A", "B", "C"]
    assert {row.finding for row in got.firm.leave_one_out} == {Finding.TOO_FEW}
    assert got.firm.changes(Question.THESE_FIELDS) == ()  # it rests on three; that is no change


def test_one_field_year_that_carries_the_finding_is_named():
    differences = [1.0, 1.2, 0.9, 1.1, 1.0, -0.9]
    got = compared(differences, field=list("ABCDEF"))
    assert got.these_fields.finding is Finding.NOT_SETTLED
    assert [row.words for row in got.firm.changes(Question.THESE_FIELDS)] == ["F"]
    assert got.firm.changes(Question.THESE_FIELDS)[0].finding is Finding.STANDING_HIGHER


def test_the_outlying_farm_of_preece_carries_the_mean_not_the_finding():
    """Preece 1982 Table 1: without farm 12 (+25) the mean falls and t rises."""
    case = published("preece_barley_12_farms")
    got = compare(case["data"]["first"], case["data"]["second"], **YIELD)
    row, expected = got.firm.leave_one_out[11], case["expected"]["without_farm_12"]
    assert row.place == "row 12"
    assert row.estimate == agreed(expected["mean_difference"])
    assert not row.is_changed


def test_nothing_is_left_out_where_nothing_was_found():
    assert compared([1.0, 2.0, 3.0], field=["A"] * 3).firm.leave_one_out == ()
    assert compared([1.0, 2.0]).firm.leave_one_out == ()
    assert compared([]).firm.leave_one_out == ()


def test_a_rest_without_spread_is_too_few_and_no_change():
    got = compared([2.0, 2.0, 2.0, 3.0], field=list("ABCD"))
    assert got.firm.leave_one_out[3].finding is Finding.TOO_FEW
    assert not got.firm.leave_one_out[3].is_changed


def test_beyond_a_thousand_field_years_only_years_are_left_out():
    count = MOST_FIELD_YEARS + 2
    differences = np.random.default_rng(5).normal(1, 2, count)
    got = compared(differences, crop_year=(2000 + np.arange(count) % 5).tolist())
    assert {row.place for row in got.firm.leave_one_out} == {None}
    assert len(got.firm.leave_one_out) == 10


@given(st.lists(st.tuples(st.integers(-40, 40).map(lambda k: k / 10), st.integers(1, 4)), min_size=3, max_size=6))
def test_leaving_out_is_comparing_the_rest_where_the_formula_stays(rows):
    differences, years = zip(*rows, strict=True)
    names = [f"f{place}" for place in range(len(rows))]
    columns = {"crop_year": list(years), "field": names}
    got = compared(differences, **columns)
    for row in got.firm.leave_one_out:
        if row.question is not Question.THESE_FIELDS:
            continue
        out = [
            place for place in range(len(rows)) if years[place] == row.crop_year and row.place in (None, names[place])
        ]
        rest = without(differences, columns, out)
        assert row.estimate == pytest.approx(rest.these_fields.estimate, abs=1e-9)
        if rest.these_fields.method == got.these_fields.method:
            assert row.finding is rest.these_fields.finding
            if row.low is not None:
                assert (row.low, row.high) == pytest.approx((rest.these_fields.low, rest.these_fields.high), abs=1e-9)


# --- the exact companion


def test_the_exact_test_that_decides_otherwise_is_told():
    """As in the demo's loss: t has p below 0.05 and sign-flip far above."""
    differences = [0.4, 0.4, 0.5, 0.6, 0.2, -0.1, 0.9, 0.5, -0.25]
    got = compared(differences)
    assert got.these_fields.p_value < 0.05
    assert got.exact.sign_flip_p < 0.05
    assert got.firm.exact_agrees is True
    outlier = compared([1.0, 1.0, 1.0, 1.0, 1.0, -0.45])
    assert outlier.these_fields.p_value < 0.05 < outlier.exact.sign_flip_p
    assert outlier.firm.exact_agrees is False


@pytest.mark.parametrize(("count", "level", "known"), [(5, 0.95, False), (6, 0.95, True), (3, 0.75, True)])
def test_it_is_not_asked_where_it_could_not_reject(count, level, known):
    """Of five differences the least p is 2 / 32."""
    got = compared(np.arange(1.0, count + 1), level=level)
    assert (got.firm.exact_agrees is not None) == known


def test_too_many_to_count_leaves_it_open():
    differences = np.random.default_rng(6).normal(0.1, 1, 1500)
    assert compared(differences).firm.exact_agrees is None


# --- drawn by lot


@pytest.mark.parametrize(
    ("allocation", "drawn"),
    [
        (["drawn by lot"] * 3, True),
        (["drawn by lot", "drawn by lot", "chosen"], False),
        (["drawn by lot", "drawn by lot", None], False),
        (None, False),
    ],
)
def test_drawn_by_lot_only_where_every_pair_was(allocation, drawn):
    assert compared([1.0, 2.0, 3.0], allocation=allocation).firm.drawn_by_lot is drawn


def test_no_pair_was_neither_drawn_nor_chosen():
    assert compared([]).firm.drawn_by_lot is None
