"""The small calibration: fixed seeds, a few kinds of farm, and bounds that a broken method would not pass.

With 4,000 farms a rate of 95 % has a standard error of 0.34; the bounds leave four of them around the figures of the
full run (DEVELOPERS.md).
"""

import numpy as np
import pytest

from analytics.statistics.comparison import compare
from analytics.statistics.results import Finding
from tests.calibration.full import METHODS, cells, measured, table
from tests.calibration.simulated import (
    MARGIN,
    Cell,
    narrow_truth,
    plain_over_loads,
    plain_over_pairs,
    plain_over_strips,
    simulate,
    these_fields,
    years_to_come,
)

FARMS = 4_000
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
@pytest.mark.parametrize("year_sd", [0.0, 0.5, 1.0, 2.0])
def test_years_to_come_covers_its_truth(field_years, year_sd):
    cell = Cell(field_years=field_years, strips=0, year_sd=year_sd)
    broad = years_to_come(cell, simulate(cell, FARMS, np.random.default_rng(11)))
    assert 0.930 < broad.covers(0.0, 0.95) < 0.980
    assert 0.875 < broad.covers(0.0, 0.90) < 0.945
    assert broad.called_equivalent(0.0) < 0.065


@pytest.mark.parametrize("field_years", [(3,), (6,), (3, 3), (1, 6), (2, 2, 2), (1, 2, 3), (4, 4, 4, 4)])
@pytest.mark.parametrize("year_sd", [0.0, 2.0])
def test_these_fields_cover_their_truth_in_the_years_on_record(field_years, year_sd):
    cell = Cell(field_years=field_years, strips=2, year_sd=year_sd)
    farms = simulate(cell, FARMS, np.random.default_rng(12))
    narrow, truth = these_fields(cell, farms), narrow_truth(cell, farms)
    assert 0.935 < narrow.covers(truth, 0.95) < 0.965
    assert 0.880 < narrow.covers(truth, 0.90) < 0.920
    assert narrow.called_equivalent(truth) < 0.065


def test_one_pair_a_year_is_careful_about_the_years_on_record():
    cell = Cell(field_years=(1, 1, 1, 1, 1), strips=1, year_sd=1.0)
    farms = simulate(cell, FARMS, np.random.default_rng(13))
    assert these_fields(cell, farms).covers(narrow_truth(cell, farms), 0.95) > 0.965


@pytest.mark.parametrize(
    ("plain", "most"), [(plain_over_pairs, 0.70), (plain_over_strips, 0.50), (plain_over_loads, 0.40)]
)
def test_a_plain_paired_t_is_far_too_sure_when_years_differ(plain, most):
    cell = Cell(field_years=(4, 4, 4, 4), strips=3, year_sd=2.0)
    farms = simulate(cell, FARMS, np.random.default_rng(14))
    assert plain(farms).covers(0.0, 0.95) < most
    assert years_to_come(cell, farms).covers(0.0, 0.95) > 0.935


def test_a_plain_paired_t_is_right_where_it_should_be():
    """One strip a field and no spread between years: field-years are then independent. Loads never are."""
    cell = Cell(field_years=(3, 3, 3), strips=1, year_sd=0.0)
    farms = simulate(cell, FARMS, np.random.default_rng(15))
    assert 0.935 < plain_over_pairs(farms).covers(0.0, 0.95) < 0.965
    assert plain_over_strips(farms).covers(0.0, 0.95) == plain_over_pairs(farms).covers(0.0, 0.95)
    assert plain_over_loads(farms).covers(0.0, 0.95) < 0.85


@pytest.mark.parametrize(
    "field_years", [(5,), (1, 1), (1, 1, 1), (2, 3), (1, 2, 1), (1, 6, 2), (3, 3, 3, 3), (6, 1, 1, 1)]
)
@pytest.mark.parametrize("truth", [0.0, MARGIN])
def test_the_simulated_formulas_are_those_of_compare(field_years, truth):
    cell = Cell(field_years=field_years, strips=0, year_sd=1.0)
    farms = simulate(cell, 20, np.random.default_rng(sum(field_years)))
    narrow = these_fields(cell, farms)
    broad = years_to_come(cell, farms) if len(field_years) > 1 else None
    crop_year = np.repeat(np.arange(len(field_years)), field_years)
    for farm in range(20):
        rows = strips_of(farms.differences[farm] + truth, farms.strips[farm], crop_year)
        got = compare(**rows, measure="yield", unit="bu/ac", margin=MARGIN)
        for interval, answer in ((narrow, got.these_fields), (broad, got.years_to_come)):
            if interval is None or (interval is narrow and sum(field_years) == 1):
                assert answer.finding is Finding.TOO_FEW
                continue
            estimate, std_error = interval.estimate[farm] + truth, interval.std_error[farm]
            assert answer.estimate == pytest.approx(estimate, rel=1e-9, abs=1e-9)
            assert answer.std_error == pytest.approx(std_error, rel=1e-9)
            assert answer.df == interval.df
            if answer.finding is Finding.TOO_FEW:
                continue
            real = answer.finding in (Finding.STANDING_HIGHER, Finding.STANDING_LOWER)
            covered = one_farm(interval, farm).covers(-truth, 0.95) == 1.0
            assert covered == (answer.low <= 0 <= answer.high) == (not real)
            if truth:
                equivalent = answer.small or answer.finding is Finding.NO_DIFFERENCE_THAT_MATTERS
                assert (one_farm(interval, farm).called_equivalent(0.0) == 1.0) == equivalent


def strips_of(differences, strips, crop_year):
    """Rows for compare: every field-year's strips scatter around its difference, which stays their mean."""
    random = np.random.default_rng(16)
    rows = {"standing": [], "windrowed": [], "crop_year": [], "field": []}
    for number, (difference, count) in enumerate(zip(differences, strips, strict=True)):
        scatter = random.normal(size=count)
        for strip in difference + scatter - scatter.mean():
            rows["standing"].append(40 + strip)
            rows["windrowed"].append(40.0)
            rows["crop_year"].append(int(crop_year[number]))
            rows["field"].append(f"field {number}")
    return rows


def one_farm(interval, farm):
    return type(interval)(
        estimate=interval.estimate[farm : farm + 1], std_error=interval.std_error[farm : farm + 1], df=interval.df
    )


def test_the_table_names_every_miss():
    """A cell with coverage far off must not vanish among the others."""
    rates = {f"{label}_{level}": 95.0 for label in ("narrow", *METHODS) for level in ("95", "90", "equivalent")}
    rows = [{"shape": shape, "cell": cell} | rates for shape, cell in cells()]
    assert "3 years or more: none." in table(rows, 50, 1)
    missed = next(row for row in rows if row["cell"] == Cell(field_years=(2, 2, 2), strips=0, year_sd=0.5))
    missed |= {"broad_95": 60.0, "again": 61.0}
    text = table(rows, 50, 1)
    assert "3 years or more: 1." in text
    assert "- (2, 2, 2), strips mixed, spread 0.5: 60.00 %; with 1,000 farms more 61.00 %" in text
    assert "| 3 | 2 a year | 60.0 / 95.0 / 95.0 |" in text


def test_every_cell_is_run_with_its_own_seed_and_reproducibly():
    name, cell = cells()[200]
    assert measured((name, cell, 500, 1, 200)) == measured((name, cell, 500, 1, 200))
    assert measured((name, cell, 500, 1, 200)) != measured((name, cell, 500, 1, 201))
