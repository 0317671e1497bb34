"""Planning by kind of pair: field-years and years for a row of gaps, each with what the spread's own doubt gives."""

import numpy as np
import pytest
from scipy import stats

from analytics.errors import BadInput
from analytics.statistics.comparison import compare
from analytics.statistics.power import replicates_needed
from analytics.statistics.results import CarriedBy

YIELD = {"measure": "yield", "unit": "bu/ac"}
QUIET = [1.0, -0.5, 0.4, 0.9, -0.8, 0.2, 0.6, -0.3]
LOUD = [6.0, -4.0, 9.0, 2.0]


def planned(**options):
    """Eight field-years of one field over four years, four of two fields."""
    return compare(
        QUIET + LOUD,
        np.zeros(12),
        crop_year=[2021, 2021, 2022, 2022, 2023, 2023, 2024, 2024, 2021, 2022, 2023, 2024],
        standing_field=[f"F{place}" for place in range(12)],
        windrowed_field=[f"F{place}" if place < 8 else f"G{place}" for place in range(12)],
        **(YIELD | {"margin": 1.0} | options),
    ).planning


def test_one_field_needs_a_fraction_of_what_two_fields_need():
    """Said before of both together: "169 field-years"; by fields cut both ways 53."""
    rows = {(row.kind, row.gap): row for row in planned().rows}
    assert {kind for kind, _ in rows} == {CarriedBy.ONE_FIELD, CarriedBy.TWO_FIELDS, CarriedBy.ALL}
    assert {gap for _, gap in rows} == {1.0, 2.0, 3.0, 5.0}
    one, two = rows[CarriedBy.ONE_FIELD, 1.0], rows[CarriedBy.TWO_FIELDS, 1.0]
    assert one.field_years.value * 10 < two.field_years.value


def test_the_spread_within_years_and_its_doubt():
    spread = planned().spreads[0]
    years = np.array(QUIET).reshape(4, 2)
    within = (np.square(years - years.mean(1, keepdims=True)).sum() / 4) ** 0.5
    assert (spread.kind, spread.field_years, spread.years) == (CarriedBy.ONE_FIELD, 8, 4)
    assert (spread.field_sd, spread.field_df) == (pytest.approx(within), 4)
    assert (spread.year_sd, spread.year_df) == (pytest.approx(years.mean(1).std(ddof=1)), 3)
    assert spread.field_years_a_year == 2
    row = next(row for row in planned().rows if row.kind is CarriedBy.ONE_FIELD and row.gap == 2.0)
    for found, tail in ((row.field_years.low, 0.975), (row.field_years.high, 0.025)):
        sd = within * (4 / stats.chi2.ppf(tail, 4)) ** 0.5
        assert found == replicates_needed(difference=2.0, sd=sd, level=0.95, blocks=4, fewest=8)
    assert row.field_years.low <= row.field_years.value <= row.field_years.high
    sd = spread.year_sd
    assert row.years.value == replicates_needed(difference=2.0, sd=sd, level=0.95, fewest=3)


def test_one_field_year_a_year_has_one_spread_for_both():
    spread = next(spread for spread in planned().spreads if spread.kind is CarriedBy.TWO_FIELDS)
    sd = np.std(LOUD, ddof=1)
    assert (spread.field_sd, spread.field_df, spread.year_sd, spread.year_df) == (
        pytest.approx(sd), 3, pytest.approx(sd), 3,
    )  # fmt: skip


def test_gaps_are_multiples_of_the_margin_or_as_given():
    assert {row.gap for row in planned(margin=0.5).rows} == {0.5, 1.0, 1.5, 2.5}
    assert {row.gap for row in planned(gaps=(1.0, 4.0)).rows} == {1.0, 4.0}
    assert planned(margin=None).rows == ()
    with pytest.raises(BadInput, match=r"gaps: -1\.0 given"):
        planned(gaps=(-1.0,))


def test_too_few_of_a_kind_are_not_planned_by():
    plan = compare([1.0, 2.0], [0.0, 0.5], field=["A", "B"], margin=1.0, **YIELD).planning
    assert (plan.rows, plan.spreads) == ((), ())


def test_a_spread_of_nothing_needs_nothing_that_could_be_said():
    plan = compare([1.0] * 4, [0.0] * 4, margin=1.0, **YIELD).planning
    assert {(row.field_years, row.years) for row in plan.rows} == {(None, None)}
