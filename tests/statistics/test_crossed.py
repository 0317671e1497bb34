"""Places that come back: agreement with R's lme4 and pbkrtest, boundaries, scale, the likelihood by its definition."""

import itertools
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.statistics.crossed import crossed_mean
from analytics.statistics.reml import fit_at, reml
from analytics.statistics.variance_components import sums_of_field_years
from tests.published.loader import Draws, agreed, published

CASE = published("crossed_years")
SMALL = [name for name, data in CASE["data"].items() if "d" in data]
NUMBERS = ("estimate", "std_error", "df", "year_sd", "place_sd", "rest_sd", "prediction_sd")


def crossed_of(data):
    return crossed_mean(data["d"], data["year"], data["place"])


@pytest.mark.parametrize("name", SMALL)
def test_agrees_with_lme4_and_pbkrtest(name):
    """R 4.2.2, lme4 1.1.31, pbkrtest 0.5.2; data sources in the file. One part in ten thousand."""
    expected, got = CASE["expected"][name], crossed_of(CASE["data"][name])
    for number in NUMBERS:
        if number in expected:
            assert getattr(got, number) == agreed(expected[number]), number
    assert [one.shrunken for one in got.shrunken_places] == agreed(expected["shrunken_places"])
    assert got.method == "Kenward-Roger"


@pytest.mark.parametrize("name", [name for name in SMALL if "shrunken_years" in CASE["expected"][name]])
def test_years_are_drawn_towards_the_mean_as_lme4_draws_them(name):
    expected, got = CASE["expected"][name], crossed_of(CASE["data"][name])
    assert [one.shrunken for one in got.shrunken_years] == agreed(expected["shrunken_years"])
    values, years = np.array(CASE["data"][name]["d"]), np.array(CASE["data"][name]["year"])
    for one in got.shrunken_years:
        assert one.field_years == (years == one.name).sum()
        assert one.raw == pytest.approx(values[years == one.name].mean(), abs=1e-12)


@pytest.mark.parametrize("name", ["dyestuff_one_a_year", "dyestuff2_one_a_year", "immer_one_a_year"])
def test_one_field_a_year_leaves_the_years_in_the_rest(name):
    got = crossed_of(CASE["data"][name])
    assert got.year_sd is None
    assert got.shrunken_years == ()


@pytest.mark.parametrize("name", ["neither", "neither_uneven", "dyestuff2_one_a_year"])
def test_variances_at_zero_stay_in_the_degrees_of_freedom(name):
    data = CASE["data"][name]
    got = crossed_of(data)
    assert got.place_sd == 0
    assert got.year_sd in (0, None)
    assert got.df < len(set(data["place"]))


def generated(seed, *, years, places, share, mean, year_sd, place_sd, rest_sd):
    """The large set of several_years.R, number by number."""
    draws = Draws(seed)
    of_year = [draws.normal() for _ in range(years)]
    rows = []
    for place in range(1, places + 1):
        of_place = draws.normal()
        for year in range(1, years + 1):
            if draws.uniform() < share:
                d = mean + year_sd * of_year[year - 1] + place_sd * of_place + rest_sd * draws.normal()
                rows.append((round(d, 3), year, place))
    return [np.array(column) for column in zip(*rows, strict=True)]


def test_four_thousand_field_years_agree_with_lme4_and_lmertest():
    """Above 3,000 field-years Satterthwaite; R's lmerTest 3.1.3, whose information is numerical."""
    expected = CASE["expected"]["large"]
    d, year, place = generated(**CASE["data"]["large"])
    assert d.size == expected["rows"]["value"]
    got = crossed_mean(d, year, place)
    for number in NUMBERS:
        assert getattr(got, number) == agreed(expected[number]), number
    assert [one.shrunken for one in got.shrunken_years] == agreed(expected["shrunken_years"])
    assert [one.shrunken for one in got.shrunken_places][:20] == agreed(expected["shrunken_places"])
    assert got.method == "Satterthwaite"


@pytest.mark.parametrize("name", ["penicillin_uneven", "immer", "neither_uneven", "dyestuff_one_a_year", "sleep_few"])
@pytest.mark.parametrize(("times", "plus"), [(1e6, 0.0), (1e-6, 0.0), (1.0, 1e6), (-3.0, 7.0)])
def test_unit_and_offset_change_nothing_else(name, times, plus):
    data = CASE["data"][name]
    plain, other = crossed_of(data), crossed_of(data | {"d": [times * d + plus for d in data["d"]]})
    assert other.estimate == pytest.approx(times * plain.estimate + plus, rel=1e-8, abs=1e-8 * abs(times))
    assert other.df == pytest.approx(plain.df, rel=1e-6)
    for number in ("std_error", "year_sd", "place_sd", "rest_sd", "prediction_sd"):
        was = getattr(plain, number)
        if was is not None:
            size = abs(times) * plain.prediction_sd
            assert getattr(other, number) == pytest.approx(abs(times) * was, rel=1e-6, abs=1e-6 * size)


def test_the_order_of_rows_and_the_names_change_nothing():
    data = CASE["data"]["penicillin_uneven"]
    order = np.random.default_rng(5).permutation(len(data["d"]))
    plain = crossed_of(data)
    other = crossed_mean(
        np.array(data["d"])[order],
        np.array(data["year"])[order] + 2000,
        np.array([f"field {place:03}" for place in data["place"]])[order],
    )
    for number in NUMBERS:
        assert getattr(other, number) == pytest.approx(getattr(plain, number), rel=1e-9)
    assert [one.shrunken for one in other.shrunken_places] == pytest.approx(
        [one.shrunken for one in plain.shrunken_places], rel=1e-9
    )
    assert other.shrunken_places[0].name == "field 001"


def test_refuses_places_that_never_come_back_and_numbers_that_do_not_differ():
    with pytest.raises(ValueError, match="one of them twice"):
        crossed_mean([1.0, 2.0, 3.0], [1, 1, 2], ["a", "b", "c"])
    with pytest.raises(ValueError, match="it takes 2 places"):
        crossed_mean([1.0, 2.0, 3.0], [1, 2, 3], ["a", "a", "a"])
    with pytest.raises(ValueError, match="must be numbers that differ"):
        crossed_mean([2.0, 2.0, 2.0, 2.0], [1, 1, 2, 2], ["a", "b", "a", "b"])
    with pytest.raises(ValueError, match="must be numbers that differ"):
        crossed_mean([2.0, float("nan"), 2.0, 1.0], [1, 1, 2, 2], ["a", "b", "a", "b"])


@pytest.mark.parametrize("left", [0.0, 1e-9])
def test_records_that_years_and_places_explain_whole_have_an_answer_too(left):
    """Nothing is left for the rest: it is kept just above zero, so that no number is lost."""
    random = np.random.default_rng(4)
    place, year = np.divmod(np.arange(30), 6)
    d = random.normal(size=5)[place] + random.normal(size=6)[year] + left * random.normal(size=30)
    got = crossed_mean(d, year, place)
    assert 0 < got.rest_sd < 0.01 * min(got.year_sd, got.place_sd)
    assert 4 < got.df < 20
    assert 0 < got.std_error < got.prediction_sd


@pytest.mark.parametrize("seed", range(6))
def test_a_handful_of_field_years_has_an_answer_too(seed):
    """Four or five rows, some of which years and places could fit exactly."""
    random = np.random.default_rng(seed)
    rows = [("a", 1), ("b", 1), ("a", 2), ("c", 3), ("b", 3)][: 4 + seed % 2]
    got = crossed_mean(random.normal(size=len(rows)), [year for _, year in rows], [place for place, _ in rows])
    assert np.isfinite([getattr(got, number) for number in NUMBERS]).all()
    assert got.std_error > 0
    assert got.df > 0


def dense(d, blocks, variances, covariates=None):
    """REML, score, information and what Kenward and Roger need, from N x N matrices, as a second opinion."""
    x = np.column_stack([np.ones(d.size)] if covariates is None else [np.ones(d.size), covariates])
    v = sum(variance * block for variance, block in zip(variances, blocks, strict=True))
    inverse = np.linalg.inv(v)
    phi = np.linalg.inv(x.T @ inverse @ x)
    p = inverse - inverse @ x @ phi @ x.T @ inverse
    log_likelihood = -(np.linalg.slogdet(v)[1] - np.linalg.slogdet(phi)[1] + d @ p @ d) / 2
    score = [(d @ p @ g @ p @ d - np.trace(p @ g)) / 2 for g in blocks]
    expected = [[np.trace(p @ g @ p @ h) / 2 for h in blocks] for g in blocks]
    observed = [[d @ p @ g @ p @ h @ p @ d - np.trace(p @ g @ p @ h) / 2 for h in blocks] for g in blocks]
    twice = [[x.T @ inverse @ g @ inverse @ h @ inverse @ x for h in blocks] for g in blocks]
    return phi, log_likelihood, score, expected, observed, twice


def same(code):
    return (code[:, None] == code[None, :]).astype(float)


@pytest.mark.parametrize("effects", [("rest", "place", "year"), ("rest", "place", "farm_year", "farm", "year"),
                                     ("rest", "farm_year", "farm", "year"), ("rest", "farm")])  # fmt: skip
@pytest.mark.parametrize("covariate", [False, True])
def test_the_sums_are_those_of_the_whole_matrix(effects, covariate):
    random = np.random.default_rng(3)
    place, year = np.divmod(np.flatnonzero(random.random(48) < 0.7), 4)
    place = np.unique(place, return_inverse=True)[1]
    farm = place % 3
    d = random.normal(size=place.size) * 3 + 20
    x = (random.random(place.size) < 0.5).astype(float)[:, None] if covariate else None
    rows = sums_of_field_years(d, effects=effects, year=year, farm=farm, place=place, covariates=x)
    codes = {"rest": np.arange(d.size), "place": place, "farm_year": farm * 4 + year, "farm": farm, "year": year}
    blocks = [same(codes[effect]) for effect in effects]
    for variances in ([0.7, 0.4, 0.3, 0.2, 0.1], [0.7, 0.0, 0.3, 0.0, 0.2], [0.5, 0.0, 0.0, 0.0, 0.0]):
        chosen = np.array(variances[: len(effects)])
        got = fit_at(rows, chosen)
        phi, log_likelihood, score, expected, observed, twice = dense((d - rows.centre) / rows.unit, blocks, chosen, x)
        assert got.phi == pytest.approx(phi, rel=1e-9)
        assert got.log_likelihood == pytest.approx(log_likelihood, rel=1e-9)
        assert got.score == pytest.approx(np.array(score), rel=1e-8, abs=1e-8)
        assert got.expected == pytest.approx(np.array(expected), rel=1e-8)
        assert got.observed == pytest.approx(np.array(observed), rel=1e-7, abs=1e-8)
        symmetric = np.array(twice) + np.array(twice).swapaxes(0, 1)
        assert got.twice + got.twice.swapaxes(0, 1) == pytest.approx(symmetric, rel=1e-8, abs=1e-10)


def test_many_farms_go_through_in_parts(monkeypatch):
    """The same numbers whether farms are taken all at once or one by one."""
    random = np.random.default_rng(8)
    place, year = np.divmod(np.arange(60), 4)
    args = {"effects": ("rest", "place", "farm_year", "farm", "year"), "year": year, "farm": place % 5, "place": place}
    rows = sums_of_field_years(random.normal(size=60), **args)
    variances = np.array([0.6, 0.2, 0.1, 0.3, 0.2])
    whole = fit_at(rows, variances)
    monkeypatch.setattr("analytics.statistics.variance_components.AT_ONCE", 1)
    parts = fit_at(rows, variances)
    assert parts.log_likelihood == pytest.approx(whole.log_likelihood, rel=1e-12)
    assert parts.score == pytest.approx(whole.score, rel=1e-9)
    assert parts.expected == pytest.approx(whole.expected, rel=1e-9)
    assert parts.twice == pytest.approx(whole.twice, rel=1e-9)


designs = st.tuples(
    st.integers(2, 6), st.integers(2, 6), st.integers(0, 2**32 - 1), st.sampled_from([0.0, 0.3, 1.0, 5.0]),
    st.sampled_from([0.0, 0.3, 1.0, 5.0]),
)  # fmt: skip


@settings(max_examples=8)
@given(designs)
def test_no_point_of_a_fine_grid_is_likelier(design):
    years, places, seed, year_sd, place_sd = design
    random = np.random.default_rng(seed)
    kept = np.flatnonzero(random.random(years * places) < 0.75)
    year, place = (np.unique(code, return_inverse=True)[1] for code in np.divmod(kept, places))
    if place.size < 4 or np.bincount(place).max() < 2 or np.bincount(year).max() < 2:
        return
    of_year, of_place = random.normal(size=years) * year_sd, random.normal(size=places) * place_sd
    d = of_year[year] + of_place[place] + random.normal(size=kept.size)
    rows = sums_of_field_years(d, effects=("rest", "place", "year"), year=year, place=place)
    best = reml(rows)
    steps = [0.0, *np.geomspace(1e-2, 10, 3)]
    for variances in itertools.product(np.geomspace(1e-3, 3, 5), steps, steps):
        assert fit_at(rows, np.array(variances)).log_likelihood <= best.log_likelihood + 1e-7


def test_three_hundred_field_years_take_under_a_tenth_of_a_second():
    """60 fields, 20 seasons, each field one year in four; the fastest of five, as the machine may be busy."""
    place, year = np.divmod(np.arange(1200), 20)
    kept = (place + year) % 4 == 0
    random = np.random.default_rng(2)
    d = random.normal(size=20)[year] + random.normal(size=60)[place] + 2 * random.normal(size=1200)
    took = []
    for _ in range(5):
        start = time.process_time()
        crossed_mean(d[kept], year[kept], place[kept])
        took.append(time.process_time() - start)
    assert kept.sum() == 300
    assert min(took) < 0.1
