"""What must change nothing in a comparison, or only the sign, or only the unit."""

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from analytics.errors import BadInput
from analytics.statistics.another_unit import scaled
from analytics.statistics.comparison import compare
from analytics.statistics.results import Finding
from tests.statistics.zero import YIELD, against_zero

# --- what must change nothing, or only the sign, or only the unit


def farms():
    values = st.integers(0, 800).map(lambda k: k / 10)
    row = st.tuples(values, values, st.integers(2001, 2004), st.sampled_from("ABC"))
    return st.lists(row, min_size=1, max_size=10)


def columns(rows):
    standing, windrowed, years, fields = (list(column) for column in zip(*rows, strict=True))
    return standing, windrowed, years, fields


def numbers(answer):
    return [answer.estimate, answer.std_error, answer.low, answer.high, answer.prediction_low, answer.prediction_high]


def assert_close(got, wanted, *, rel, least):
    if wanted is None:
        assert got is None
    else:
        assert got == pytest.approx(wanted, rel=rel, abs=least)


def assert_same(first, second, sign=1.0, factor=1.0):
    """Answers agree up to sign (which swaps the ends of intervals) and unit."""
    for one, other in ((first.these_fields, second.these_fields), (first.years_to_come, second.years_to_come)):
        estimate, std_error, *ends = numbers(one)
        if sign < 0:
            ends = [ends[1], ends[0], ends[3], ends[2]]
        ours = [std_error, *(None if value is None else sign * value for value in (estimate, *ends))]
        estimate, std_error, *ends = numbers(other)
        for got, wanted in zip([std_error, estimate, *ends], ours, strict=True):
            assert_close(got, None if wanted is None else wanted * factor, rel=1e-6, least=1e-9 * factor)
        assert_close(other.p_value, one.p_value, rel=1e-5, least=1e-12)
        assert_close(other.equivalence_p, one.equivalence_p, rel=1e-5, least=1e-12)
        assert (other.replicates, other.df, other.reason, other.small) == (
            one.replicates,
            one.df,
            one.reason,
            one.small,
        )
    for name in ("sign_flip_p", "wilcoxon_p", "sign_test_p"):
        assert_close(getattr(second.exact, name), getattr(first.exact, name), rel=1e-9, least=0)
    assert second.planning.field_years_needed == first.planning.field_years_needed
    assert second.planning.years_needed == first.planning.years_needed


FLIPPED = {
    Finding.STANDING_HIGHER: Finding.STANDING_LOWER,
    Finding.STANDING_LOWER: Finding.STANDING_HIGHER,
}


@given(farms())
def test_swapping_sides_flips_every_sign_and_nothing_else(rows):
    standing, windrowed, years, fields = columns(rows)
    one = compare(standing, windrowed, crop_year=years, field=fields, margin=1.0, **YIELD)
    other = compare(windrowed, standing, crop_year=years, field=fields, margin=1.0, **YIELD)
    assert_same(one, other, sign=-1.0)
    for answer, flipped in ((one.these_fields, other.these_fields), (one.years_to_come, other.years_to_come)):
        assert flipped.finding is FLIPPED.get(answer.finding, answer.finding)
        assert {answer.better, flipped.better} in ({None}, {"standing", "windrowed"})


@given(farms(), st.integers(-500, 500).map(lambda k: k / 10))
def test_adding_a_constant_to_both_sides_changes_nothing(rows, shift):
    standing, windrowed, years, fields = columns(rows)
    one = compare(standing, windrowed, crop_year=years, field=fields, margin=1.0, **YIELD)
    shifted = compare(
        np.add(standing, shift), np.add(windrowed, shift), crop_year=years, field=fields, margin=1.0, **YIELD
    )
    assert_same(one, shifted)
    assert shifted.these_fields.finding is one.these_fields.finding
    assert shifted.years_to_come.finding is one.years_to_come.finding


@given(farms(), st.randoms(use_true_random=False))
def test_the_order_of_rows_changes_nothing(rows, random):
    shuffled = random.sample(rows, len(rows))
    one, other = (
        compare(standing, windrowed, crop_year=years, field=fields, margin=1.0, **YIELD)
        for standing, windrowed, years, fields in (columns(rows), columns(shuffled))
    )
    assert_same(one, other)
    assert [row.crop_year for row in one.by_year] == [row.crop_year for row in other.by_year]


# The Hodges-Lehmann estimate in a third of the unit ends in a six that is rounded.
WINDROWED = [(0, 2003, "A"), (0.2, 2002, "A"), (30.1, 2001, "B"), (0.8, 2001, "A"), (0.2, 2002, "A"), (0.2, 2001, "C")]
HALFWAY = [(0, *row) for row in (*WINDROWED, (1.1, 2001, "A"))]


@given(farms(), st.sampled_from([56.0425, 50.0, 0.0560425, 1 / 3]))
@example(HALFWAY, 1 / 3)
def test_the_finding_does_not_depend_on_the_unit(rows, factor):
    standing, windrowed, years, fields = columns(rows)
    one = compare(standing, windrowed, crop_year=years, field=fields, margin=1.0, **YIELD)
    converted = scaled(one, factor, "another unit")
    again = compare(
        np.multiply(standing, factor),
        np.multiply(windrowed, factor),
        crop_year=years,
        field=fields,
        measure="yield",
        unit="another unit",
        margin=factor,
    )
    assert_same(one, converted, factor=factor)
    assert_same(one, again, factor=factor)
    for other in (converted, again):
        assert (other.unit, other.margin) == ("another unit", factor)
        assert other.these_fields.finding is one.these_fields.finding
        assert other.years_to_come.finding is one.years_to_come.finding
        assert other.mean_standing == pytest.approx(one.mean_standing * factor)
        assert other.exact.hodges_lehmann == pytest.approx(
            one.exact.hodges_lehmann * factor,
            rel=1e-8,
            abs=1e-8 * max(factor, 1),  # rounded in either unit
        )
        assert [row.difference for row in other.pair_differences] == pytest.approx(
            [row.difference * factor for row in one.pair_differences], abs=1e-9
        )
        assert [row.estimate for row in other.by_year] == pytest.approx(
            [row.estimate * factor for row in one.by_year], abs=1e-9
        )


@pytest.mark.parametrize("factor", [0, -1, float("inf"), float("nan")])
def test_a_unit_needs_a_factor_above_zero(factor):
    with pytest.raises(BadInput, match="factor"):
        scaled(against_zero([1.0, 2.0, 4.0]), factor, "kg/ha")


def test_ten_thousand_pairs_are_a_matter_of_course():
    random = np.random.default_rng(8)
    got = compare(
        random.normal(41, 5, 10_000),
        random.normal(40, 5, 10_000),
        crop_year=random.integers(2001, 2021, 10_000),
        **YIELD,
    )
    assert (got.pairs, got.years, got.these_fields.df) == (10_000, 20, 9_980)
    assert got.exact.sign_flip_p is None
    assert got.exact.wilcoxon_p < 1e-20
    assert got.exact.hodges_lehmann == pytest.approx(got.these_fields.estimate, abs=0.1)


def test_four_strips_treated_alike_spread_as_published():
    """STRIP_NOISE: Ontario Grain Farmer, Cropside, December 2018: 172, 176, 182, 173 bu/ac; mean 175.75, SD 4.5."""
    strips = [172.0, 176.0, 182.0, 173.0]
    answer = compare(strips, [0.0] * 4, field=["one"] * 4, measure="yield", unit="bu/ac").these_fields
    assert (answer.estimate, answer.std_error * 4**0.5) == (pytest.approx(175.75), pytest.approx(4.5, abs=0.01))
    assert answer.scope == "this field, this year"
