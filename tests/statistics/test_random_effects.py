"""Random effects over years: agreement with R's metafor, the boundary at zero, and balance."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.statistics.random_effects import hartung_knapp, reml_tau2
from tests.published.loader import agreed, published


@pytest.mark.parametrize("name", ["meta_bcg", "meta_normand1999", "meta_raudenbush1985", "meta_viechtbauer2005"])
def test_reml_with_hartung_knapp_agrees_with_metafor_to_a_millionth(name):
    """metafor 3.8.1, rma(method="REML", test="knha"); data sources in each file."""
    case = published(name)
    expected = case["expected"]["REML_hartung_knapp"]
    got = hartung_knapp(case["data"]["yi"], case["data"]["vi"])
    for mine, key in ((got.estimate, "estimate"), (got.std_error, "se"), (got.tau2, "tau2")):
        assert float(mine) == pytest.approx(expected[key]["value"], rel=1e-6)
    assert got.df == len(case["data"]["yi"]) - 1


def batch_means(name, batch, value):
    data = published(name)["data"]
    labels, values = np.array(data[batch]), np.array(data[value])
    means = np.array([values[labels == label].mean() for label in np.unique(labels)])
    within = sum(
        np.square(values[labels == label] - values[labels == label].mean()).sum() for label in np.unique(labels)
    )
    per_batch = values.size // means.size
    return means, within / (values.size - means.size) / per_batch


def test_balanced_batches_of_dyestuff():
    """Davies and Goldsmith 1972; lme4 and pbkrtest: estimate, SE, variance between batches, Kenward-Roger df 5."""
    expected = published("dyestuff")["expected"]
    means, variance = batch_means("dyestuff", "batch", "yield")
    got = hartung_knapp(means, np.full(6, variance))
    assert float(got.estimate) == agreed(expected["estimate"])
    assert float(got.std_error) == agreed(expected["se"])
    assert float(got.tau2) == agreed(expected["variances"]["Batch"])
    assert got.df == agreed(expected["kenward_roger_df"])


def test_zero_between_variance_of_dyestuff2():
    """Box and Tiao 1973, simulated so that the between-batch variance is exactly 0."""
    expected = published("dyestuff2")["expected"]
    means, variance = batch_means("dyestuff2", "batch", "yield")
    got = hartung_knapp(means, np.full(6, variance))
    assert float(got.tau2) == 0 == expected["variances"]["Batch"]["value"]
    assert float(got.estimate) == agreed(expected["estimate"])
    assert float(got.std_error) == pytest.approx(means.std(ddof=1) / 6**0.5, rel=1e-12)


def test_nested_batches_of_pastes():
    """Davies and Goldsmith 1972: ten batches of three casks of two assays; the analysis of batch means."""
    expected = published("pastes")["expected"]["batch_means_analysis"]
    data = published("pastes")["data"]
    means, _ = batch_means("pastes", "batch", "strength")
    casks = np.array(data["strength"]).reshape(10, 3, 2).mean(axis=2)
    got = hartung_knapp(means, np.full(10, casks.var(axis=1, ddof=1).mean() / 3))
    assert float(got.std_error) == agreed(expected["se"])
    assert got.df == expected["df"]["value"]


means_and_variances = st.integers(2, 40).flatmap(
    lambda years: st.tuples(
        st.lists(st.floats(-50, 50), min_size=years, max_size=years),
        st.lists(st.floats(1e-3, 1e3), min_size=years, max_size=years),
    )
)


def restricted_log_likelihood(values, variances, tau2):
    """Written from the definition (Viechtbauer 2005), as a second opinion."""
    weights = 1 / (variances + tau2)
    mean = np.average(values, weights=weights)
    return -0.5 * (np.log(1 / weights).sum() + np.log(weights.sum()) + (weights * (values - mean) ** 2).sum())


@given(means_and_variances)
def test_no_other_tau2_is_more_likely(case):
    values, variances = map(np.array, case)
    tau2 = float(reml_tau2(values, variances))
    best = restricted_log_likelihood(values, variances, tau2)
    largest = max(np.square(values - values.mean()).sum() * 10, variances.max())
    others = [restricted_log_likelihood(values, variances, t) for t in np.append(0, np.geomspace(1e-9, largest, 400))]
    assert tau2 >= 0
    assert best >= max(others) - 1e-9


def slope(values, variances, tau2):
    """Of the restricted log likelihood, from whole matrices: (y' P P y - tr P) / 2 (Viechtbauer 2005)."""
    weights = np.diag(1 / (variances + tau2))
    row = weights.sum(0)
    p = weights - np.outer(row, row) / row.sum()
    return (values @ p @ p @ values - np.trace(p)) / 2


def test_the_likelihood_turns_within_a_billionth_of_tau2():
    """Also where variances are thousands apart, so that the slope is anything but straight."""
    random = np.random.default_rng(9)
    values, variances = random.normal(0, 3, (200, 6)), np.exp(random.normal(0, 3, (200, 6)))
    found = reml_tau2(values, variances)
    assert (found > 0).sum() > 100
    for row in np.flatnonzero(found > 0):
        below, above = (slope(values[row], variances[row], found[row] * (1 + side * 1e-9)) for side in (-1, 1))
        assert below > 0 > above


def test_equal_means_have_no_variance_between_years():
    assert float(reml_tau2([3.0, 3.0, 3.0], [1.0, 2.0, 4.0])) == 0
    assert float(hartung_knapp([3.0, 3.0, 3.0], [1.0, 2.0, 4.0]).std_error) == 0


def test_years_known_exactly_leave_the_plain_t():
    values = np.array([1.0, 4.0, 2.5])
    got = hartung_knapp(values, np.zeros(3))
    assert float(got.tau2) == pytest.approx(values.var(ddof=1))
    assert float(got.std_error) == pytest.approx(values.std(ddof=1) / 3**0.5)


@given(st.lists(st.floats(-50, 50), min_size=2, max_size=40), st.floats(0, 100))
def test_equal_variances_give_the_t_test_on_year_means(values, variance):
    got = hartung_knapp(values, np.full(len(values), variance))
    assert float(got.estimate) == pytest.approx(np.mean(values), abs=1e-9)
    assert float(got.std_error) == pytest.approx(np.std(values, ddof=1) / len(values) ** 0.5, abs=1e-9)


def test_many_farms_at_once_equal_each_alone():
    random = np.random.default_rng(7)
    values, variances = random.normal(size=(50, 5)), random.uniform(0.05, 2, (50, 5))
    variances[:5] = 0.7  # some rows in balance among others that are not
    together = hartung_knapp(values, variances)
    for row in range(50):
        alone = hartung_knapp(values[row], variances[row])
        assert together.estimate[row] == pytest.approx(float(alone.estimate), rel=1e-12)
        assert together.tau2[row] == pytest.approx(float(alone.tau2), rel=1e-9, abs=1e-12)


@pytest.mark.parametrize(("values", "variances"), [([1.0], [1.0]), ([1.0, 2.0], [1.0, 0.0]), ([1.0, 2.0], [1.0, -2.0])])
def test_one_year_or_a_variance_of_zero_among_others_is_refused(values, variances):
    with pytest.raises(ValueError, match="at least 2 years"):
        reml_tau2(values, variances)
