"""A growers' group: agreement with R's lme4, pbkrtest and lmerTest, what records can tell apart, speed and memory."""

import time
import tracemalloc
from functools import cache

import numpy as np
import pytest

from analytics.pool.model import pooled_mean
from analytics.statistics.crossed import crossed_mean
from tests.calibration.pool import covered, simulate
from tests.published.loader import Draws, agreed, published

CASE = published("farms_and_years")
SMALL = [name for name in CASE["data"] if name != "two_thousand"]
NUMBERS = ("estimate", "std_error", "df", "farm_sd", "year_sd", "farm_year_sd", "place_sd", "rest_sd", "prediction_sd")


def generated(seed, farms, years, fields, share, mean, sds):
    """The sets of several_years.R, number by number: x <- 16807 x mod (2^31 - 1)."""
    draws = Draws(seed)
    of_year = [draws.normal() for _ in range(years)]
    rows = []
    for farm in range(1, farms + 1):
        of_farm = draws.normal()
        of_place = [draws.normal() for _ in range(fields)]
        for year in range(1, years + 1):
            of_both = draws.normal()
            if draws.uniform() < share or year == 1:
                for place in range(1, fields + 1):
                    if draws.uniform() < 0.7:
                        d = mean + sds[0] * of_year[year - 1] + sds[1] * of_farm + sds[2] * of_both
                        d = d + sds[3] * of_place[place - 1] + sds[4] * draws.normal()
                        rows.append((round(d, 3), farm, year, place))
    return [np.array(column) for column in zip(*rows, strict=True)]


def rows_of(name):
    data = CASE["data"][name]
    if "d" in data:
        return [np.array(data[column]) for column in ("d", "farm", "year")]
    return generated(**data)


@cache
def fitted(name):
    """A set's model, worked out once for all who look at it."""
    return pooled_mean(*rows_of(name))


@pytest.mark.parametrize("name", CASE["data"])
def test_agrees_with_lme4(name):
    """R 4.2.2: pbkrtest 0.5.2 on small sets, lmerTest 3.1.3 on 2,000 farms; data sources in the file."""
    got, expected = fitted(name), CASE["expected"][name]
    assert sum(farm.field_years for farm in got.farms) == expected["rows"]["value"]
    for number in NUMBERS:
        if number in expected:
            assert getattr(got, number) == agreed(expected[number]), number
    assert [farm.shrunken for farm in got.farms][:20] == agreed(expected["shrunken_farms"])
    assert got.method == ("Kenward-Roger" if name in SMALL else "Satterthwaite")
    assert got.another_farm_sd == pytest.approx(np.hypot(got.std_error, got.farm_sd), rel=1e-9)


def test_these_farms_in_years_to_come_leave_out_that_farms_differ():
    """Above 3,000 field-years nothing is added for the variances' own doubt, so the file's formula is all of it."""
    got = fitted("two_thousand")
    assert got.these_farms_std_error == agreed(CASE["expected"]["two_thousand"]["these_farms_model_se"])


@pytest.mark.parametrize("name", SMALL)
def test_these_farms_are_nearer_than_farms_of_the_kind(name):
    got = fitted(name)
    least = CASE["expected"][name]["these_farms_model_se"]["value"]
    assert least * 0.9999 <= got.these_farms_std_error < got.std_error < got.another_farm_sd < got.prediction_sd
    assert got.these_farms_df > 1


def test_these_farms_are_those_of_farms_taken_as_fixed():
    """Balanced, d ~ farm + (1|year): the mean over the farms has the variance of the year means, with Y - 1 df."""
    random = np.random.default_rng(7)
    farm, year = np.divmod(np.arange(40), 5)
    d = 3 * random.normal(size=8)[farm] + random.normal(size=5)[year] * 2 + random.normal(size=40)
    got = pooled_mean(d, farm, year)
    by_year = d.reshape(8, 5).mean(0)
    assert got.these_farms_std_error == pytest.approx(by_year.std(ddof=1) / 5**0.5, rel=1e-6)
    assert got.these_farms_df == pytest.approx(4, rel=1e-6)


def test_another_farms_own_mean_is_judged_by_the_farms_on_record():
    """Farms far apart, years alike: the spread between eight farms has seven degrees of freedom, as has the range."""
    random = np.random.default_rng(7)
    farm, year = np.divmod(np.arange(40), 5)
    got = pooled_mean(30 * random.normal(size=8)[farm] + random.normal(size=40), farm, year)
    assert got.another_farm_df == pytest.approx(7, rel=0.01)
    assert got.another_farm_sd == pytest.approx(got.farm_sd * (1 + 1 / 8) ** 0.5, rel=0.01)


def test_no_range_rests_on_less_than_two_degrees_of_freedom():
    """Years alike and one farm alone with a second place: less than half a degree, and 246 bushels either way."""
    farm = [int(digit) for digit in "0000011112222233334566667777888"]
    year = [int(digit) for digit in "1234501230123413450502340123234"]
    place = [0] * 4 + [1] + [0] * 26
    d = [2.5, 0.9, 3.0, -8.2, -0.4, 10.6, 4.3, -0.2, 7.6, -1.2, -4.0, 7.9, -10.8, -7.5, 6.4, 2.9, -9.5, 6.5, -3.6, 6.6]
    d += [-0.3, 5.3, 10.4, 7.1, -4.8, -8.5, -4.6, -3.6, -1.0, -0.8, 6.6]
    got = pooled_mean(d, farm, year, place)
    assert got.year_sd == 0
    assert (got.these_farms_df, got.another_farm_df) == (2, 2)


def test_equal_field_names_on_two_farms_are_two_places():
    d, farm, year, place = rows_of("six_apart")
    named = pooled_mean(d, farm, year, [f"field {number}" for number in place])
    apart = pooled_mean(d, farm, year, farm * 100 + place)
    assert named == apart


def test_farms_that_are_alike_and_differ_cancel_in_the_whole():
    """Four farms with true effects +3, -3, +2, -2 once gave "a single new field between 1 less and 1 more"."""
    random = np.random.default_rng(9)
    farm, year = np.repeat(np.arange(4), 4), np.tile(np.repeat([1, 2], 2), 4)
    d = np.array([3.0, -3.0, 2.0, -2.0])[farm] + 0.1 * random.normal(size=16)
    got = pooled_mean(d, farm, year)
    assert got.farm_sd > 2
    assert got.another_farm_sd > 2.5
    assert [round(one.shrunken) for one in got.farms] == [3, -3, 2, -2]


def test_a_farm_with_few_field_years_is_drawn_further():
    random = np.random.default_rng(3)
    farm = np.append(np.repeat(np.arange(6), 12), 6)
    year = np.append(np.tile(np.repeat(np.arange(4), 3), 6), 0)
    d = np.append(random.normal(size=6)[farm[:-1]] + random.normal(size=72), 2.0)
    got = pooled_mean(d, farm, year)
    assert (got.farms[-1].field_years, got.farms[-1].raw) == (1, 2.0)
    *many, few = [(one.shrunken - got.estimate) / (one.raw - got.estimate) for one in got.farms]
    assert 0 < few < min(many) < 1.2


@pytest.mark.parametrize(
    ("farm", "year", "place", "missing"),
    [
        ([1, 1, 2, 2, 3, 3], [1, 2, 1, 2, 1, 2], None, {"farm_year_sd", "place_sd"}),
        ([1, 1, 2, 2, 3, 3], [1, 1, 2, 2, 1, 1], None, {"farm_year_sd", "place_sd"}),
        ([1, 1, 1, 1, 2, 2, 3, 3], [1, 1, 2, 2, 1, 2, 1, 2], [1, 2, 1, 2, 1, 1, 1, 1], set()),
        ([1, 1, 2, 2, 3, 3], [1, 2, 1, 2, 1, 2], [1, 1, 1, 1, 1, 1], {"farm_year_sd", "place_sd"}),
        ([1, 2, 3, 4], [1, 2, 1, 2], None, {"farm_sd", "farm_year_sd", "place_sd"}),
    ],
)
def test_effects_that_the_records_cannot_tell_apart_are_none(farm, year, place, missing):
    d = np.random.default_rng(1).normal(size=len(farm))
    got = pooled_mean(d, farm, year, place)
    assert {name for name in NUMBERS if getattr(got, name) is None} == missing


def test_needs_two_farms_and_two_years():
    with pytest.raises(ValueError, match="1 farms and 2 years: it takes 2 of each"):
        pooled_mean([1.0, 2.0, 4.0], [1, 1, 1], [1, 1, 2])


def test_one_farm_beside_others_without_farm_effects_is_the_crossed_model():
    """Where farms are single places that come back, the group's model is that of places and years."""
    data = published("crossed_years")["data"]["sleep_in_turn"]
    pool, crossed = (
        pooled_mean(data["d"], data["place"], data["year"]),
        crossed_mean(data["d"], data["year"], data["place"]),
    )
    assert (pool.estimate, pool.std_error, pool.df) == pytest.approx(
        (crossed.estimate, crossed.std_error, crossed.df), rel=1e-6
    )
    assert [one.shrunken for one in pool.farms] == pytest.approx(
        [one.shrunken for one in crossed.shrunken_places], rel=1e-6
    )


@pytest.mark.parametrize("part", ["like the rest", "unlike the rest", "without any spread"])
def test_where_a_climb_begins_changes_nothing(monkeypatch, part):
    """Of 300 farms every third is looked at first, to see where to begin."""
    random = np.random.default_rng(4)
    farm, year = np.divmod(np.repeat(np.arange(300 * 4), 2), 4)
    d = 2 * random.normal(size=300)[farm] + random.normal(size=4)[year] + random.normal(size=farm.size)
    d = np.where(farm % 3 > 0, d, {"like the rest": d, "unlike the rest": d % 1, "without any spread": 1.0}[part])
    got = pooled_mean(d, farm, year)
    monkeypatch.setattr("analytics.statistics.reml.FARMS_AT_FIRST", 300)
    whole = pooled_mean(d, farm, year)
    for number in ("estimate", "std_error", "df", "farm_sd", "year_sd", "rest_sd", "another_farm_df"):
        assert getattr(got, number) == pytest.approx(getattr(whole, number), rel=1e-6), number


def test_half_a_million_field_years_of_two_thousand_farms():
    """Three of the two seconds and a fifth of the memory that the whole comparison of such a file may take."""
    random = np.random.default_rng(2)
    farm, year = np.divmod(np.repeat(np.arange(12_000), 42), 6)
    d = random.normal(size=2000)[farm] + random.normal(size=6)[year] + 2 * random.normal(size=farm.size)
    tracemalloc.start()
    start = time.process_time()
    got = pooled_mean(d, farm, year)
    took = time.process_time() - start
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert got.farm_sd == pytest.approx(1, abs=0.1)
    assert took < 3
    assert most < 120e6


IN_THE_LONG_FORM = [pytest.param(shape, 150, marks=pytest.mark.slow) for shape in ((8, 4), (8, 8))]


@pytest.mark.parametrize(("shape", "groups"), [((8, 4), 25), *IN_THE_LONG_FORM])
def test_covers_what_it_says(shape, groups):
    """Small; the full table is tests/calibration/pool.md. 25 groups: standard error 4.4 in 100; 150: 1.8."""
    farms, years = shape
    held = [
        covered(
            *simulate(farms=farms, years=years, fields=2, farm_sd=1.0, year_sd=1.0, random=np.random.default_rng(k))
        )
        for k in range(groups)
    ]
    for rate in np.mean(held, axis=0):
        assert 0.89 < rate <= 1
