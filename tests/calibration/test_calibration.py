"""The small calibration: fixed seeds, a few kinds of farm, and bounds that a broken method would not pass.

With 4,000 farms a rate of 95 % has a standard error of 0.34; the bounds leave four of them around the figures of the
full run (README.md).
"""

from dataclasses import replace
from functools import partial

import numpy as np
import pytest

from analytics.statistics.comparison import compare
from analytics.statistics.results import Finding
from tests.calibration.full import (
    looked_every_year,
    mixed_rates,
    normal_cells,
    normal_rates,
    returning_cells,
    returning_rates,
)
from tests.calibration.simulated import (
    MARGIN,
    Cell,
    answered_ahead,
    answered_here,
    plain_over_all,
    simulate,
)
from tests.calibration.tables import AGAIN, normal_table

FARMS = 4_000
IN_THE_LONG_FORM = partial(pytest.param, marks=pytest.mark.slow)
SHAPES = [
    (3, 3, 3),
    (1, 1, 6),
    (1, 2, 3),
    (1, 1, 1, 1),
    (2, 2, 2, 2, 2, 2),
    (6, 1, 1, 1, 1, 1),
    (2, 6, 2, 6, 2, 6, 2, 6),
]


@pytest.mark.parametrize("field_years", SHAPES)
@pytest.mark.parametrize("year_sd", [0.0, IN_THE_LONG_FORM(0.5), 1.0, IN_THE_LONG_FORM(2.0)])
def test_years_to_come_hold_the_truth(field_years, year_sd):
    rates = normal_rates(Cell(field_years=field_years, year_sd=year_sd), FARMS, np.random.default_rng(11))
    assert 93.0 < rates["ahead_95"] < 99.5
    assert 87.5 < rates["ahead_90"] < 98.0
    assert rates["ahead_same"] < 6.5
    assert rates["narrower"] == 0


@pytest.mark.parametrize("field_years", [(3,), (6,), (3, 3), (1, 6), (2, 2, 2), (1, 2, 3), (4, 4, 4, 4)])
@pytest.mark.parametrize("year_sd", [0.0, 2.0])
def test_these_fields_hold_their_truth_in_the_years_on_record(field_years, year_sd):
    farms = simulate(Cell(field_years=field_years, year_sd=year_sd), FARMS, np.random.default_rng(12))
    assert 93.5 < answered_here(farms).covers(farms.truth_here) < 96.5
    assert 88.0 < answered_here(farms, level=0.90).covers(farms.truth_here) < 92.0


def test_one_pair_a_year_is_careful_about_the_years_on_record():
    farms = simulate(Cell(field_years=(1,) * 5, year_sd=1.0), FARMS, np.random.default_rng(13))
    assert answered_here(farms).covers(farms.truth_here) > 96.5


def test_a_plain_paired_t_is_far_too_sure_when_years_differ():
    farms = simulate(Cell(field_years=(4, 4, 4, 4), year_sd=2.0), FARMS, np.random.default_rng(14))
    assert plain_over_all(farms).covers(0.0) < 70
    assert answered_ahead(farms).covers(0.0) > 93.5


def test_a_bad_wind_year_in_eight_is_what_no_range_protects_against():
    """Said in README: with six years on record, years that did not happen yet are not in the range."""
    farms = simulate(Cell(field_years=(2,) * 6, years="wind", year_sd=0.5), FARMS, np.random.default_rng(15))
    assert 60 < answered_ahead(farms).covers(0.0) < 85
    assert answered_ahead(farms).above(0.0) > 15


def test_neighbours_that_are_alike_make_these_fields_too_sure_and_not_years_to_come():
    farms = simulate(Cell(field_years=(3,) * 6, rest="alike", alike=0.6), FARMS, np.random.default_rng(16))
    assert answered_here(farms).covers(farms.truth_here) < 85
    assert answered_ahead(farms).covers(0.0) > 92


@pytest.mark.parametrize("farms", [60, IN_THE_LONG_FORM(200)])
def test_fields_that_come_back_are_held_by_the_crossed_model_alone(farms):
    name, cell = returning_cells()[0]
    rates = returning_rates(cell, farms, np.random.default_rng(17))
    assert name == "the same 3 fields, 6 years"
    assert rates["crossed"] > 90
    assert rates["new"] > 90
    assert rates["ahead_of_the_kind"] < 85
    assert rates["ahead_same_fields"] > 90


def test_a_biased_kind_does_not_reach_the_headline():
    for name, here, pooled, ahead, pooled_ahead in mixed_rates(1_000, np.random.default_rng(18)):
        assert (here > 92, ahead > 92) == (True, True), name
        if name.endswith("bias 5"):
            assert (pooled < 50, pooled_ahead < 80) == (True, True), name


def test_looking_every_winter_finds_more_than_one_look():
    rates = looked_every_year(FARMS, np.random.default_rng(19))
    assert rates["at the first look"] < 6.5
    assert rates["at one look of eight"] > rates["at the first look"] + 3


@pytest.mark.parametrize(
    ("cell", "check"),
    [
        (Cell(field_years=(3,) * 3, rest="t3"), lambda rest: abs(np.median(rest)) < 0.05),
        (Cell(field_years=(3,) * 3, rest="skewed"), lambda rest: np.median(rest) < -0.2),
        (Cell(field_years=(3,) * 3, rounding=0.4), lambda rest: np.allclose(rest / 0.4, np.round(rest / 0.4))),
        (Cell(field_years=(3,) * 3, spread=(1.0, 3.0)), lambda rest: rest[:, 3:6].std() > 2 * rest[:, :3].std()),
        (Cell(field_years=(2,) * 4, year_sd=2, years="skewed"), lambda rest: np.median(rest) < -0.2),
        (Cell(field_years=(1,) * 3, bias=5), lambda rest: abs(rest.mean() - 5) < 0.1),
    ],
)
def test_each_kind_of_farm_is_what_it_says(cell, check):
    farms = simulate(cell, 2_000, np.random.default_rng(20))
    assert check(farms.differences)


def test_places_are_new_the_same_or_in_rotation():
    cell = Cell(field_years=(2,) * 4)
    assert cell.place_of.tolist() == [0, 1, 2, 3, 4, 5, 6, 7]
    assert replace(cell, places="same").place_of.tolist() == [0, 1] * 4
    assert replace(cell, places="rotation").place_of.tolist() == [0, 1, 2, 3, 4, 5, 0, 1]


@pytest.mark.parametrize(
    "field_years", [(5,), (1, 1), (1, 1, 1), (2, 3), (1, 2, 1), (1, 6, 2), (3, 3, 3, 3), (6, 1, 1, 1)]
)
@pytest.mark.parametrize("truth", [0.0, MARGIN])
def test_the_simulated_ranges_are_those_of_compare(field_years, truth):
    cell = Cell(field_years=field_years, year_sd=1.0)
    farms = simulate(cell, 4, np.random.default_rng(sum(field_years)))
    narrow = answered_here(farms, shift=truth)
    broad = answered_ahead(farms, shift=truth) if len(field_years) > 1 else None
    for farm in range(4):
        got = compare(
            farms.differences[farm] + truth,
            np.zeros(sum(field_years)),
            crop_year=cell.year_of.tolist(),
            measure="yield",
            unit="bu/ac",
            margin=MARGIN,
        )
        for answered, answer in ((narrow, got.these_fields), (broad, got.years_to_come)):
            if answered is None:
                assert answer.finding is Finding.TOO_FEW
                continue
            assert (answer.low, answer.high) == pytest.approx((answered.low[farm], answered.high[farm]), rel=1e-9)
            assert answer.equivalence_p == pytest.approx(answered.equivalence_p[farm], rel=1e-9)


def test_the_table_names_every_miss():
    """A cell with coverage far off must not vanish among the others."""
    names = ("here_95", "here_90", "ahead_95", "ahead_90", "alone_95", "plain_95")
    rates = dict.fromkeys(names, 95.0) | {"ahead_same": 4.0, "narrower": 0.0}
    rows = [{"shape": shape, "cell": cell} | rates for shape, cell in normal_cells()]
    assert "three years or more: none." in "\n".join(normal_table(rows, 50, 1))
    missed = next(row for row in rows if row["cell"] == Cell(field_years=(2, 2, 2), year_sd=0.5))
    missed |= {"ahead_95": 60.0, "again": 61.0}
    text = "\n".join(normal_table(rows, 50, 1))
    assert "three years or more: 1." in text
    assert f"- (2, 2, 2), spread 0.5: 60.00 %; with {AGAIN * 50:,} farms more 61.00 %" in text
    assert "| 3 | 2 a year | 60.0 / 95.0 / 95.0 |" in text


def test_a_cell_is_run_reproducibly():
    _, cell = normal_cells()[100]
    once, again, other = (normal_rates(cell, 500, np.random.default_rng(seed)) for seed in (1, 1, 2))
    assert once == again != other
