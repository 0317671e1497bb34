"""Exact tests against scipy in one run: ratios only, no clock time is a limit by itself."""

from time import perf_counter

import numpy as np
import pytest
from scipy import stats

from analytics.statistics.exact_tests import hodges_lehmann, sign_flip_p, wilcoxon_p


def seconds(call, repeats=1):
    """Quickest of `repeats` calls, and what the last returned."""
    best, result = float("inf"), None
    for _ in range(repeats):
        start = perf_counter()
        result = call()
        best = min(best, perf_counter() - start)
    return best, result


def differences(number):
    return np.random.default_rng(20).normal(1.0, 3.0, number)


@pytest.fixture(scope="module", params=[15, pytest.param(20, marks=pytest.mark.slow)])
def scipy_at_twenty(request):
    """scipy's exact permutation test of the mean of 20 differences, all 2**20 patterns: the yardstick, run once.

    Run on 15, whose p is compared, 20 are taken to need as many times longer as they have more patterns.
    """
    values = differences(request.param)
    took, result = seconds(
        lambda: stats.permutation_test(
            (values,),
            lambda x, axis: x.sum(axis=axis),
            permutation_type="samples",
            n_resamples=np.inf,
            vectorized=True,
        )
    )
    return took * 2 ** (20 - request.param), values, float(result.pvalue)


def test_sign_flip_of_20_is_ten_thousand_times_faster_than_scipy(scipy_at_twenty):
    yardstick, values, scipy_p = scipy_at_twenty
    took, _ = seconds(lambda: sign_flip_p(differences(20)), repeats=50)
    assert sign_flip_p(values) == pytest.approx(scipy_p, rel=1e-9)
    assert yardstick / took > 10_000


def test_forty_off_grid_take_less_than_scipy_for_twenty(scipy_at_twenty):
    """A million times as many patterns."""
    yardstick, _, _ = scipy_at_twenty
    took, p = seconds(lambda: sign_flip_p(np.random.default_rng(40).normal(0.5, 3.0, 40)), repeats=2)
    assert 0 < p < 1
    assert yardstick / took > 8


def test_two_hundred_on_a_grid_take_a_hundredth_of_it(scipy_at_twenty):
    yardstick, _, _ = scipy_at_twenty
    values = np.round(np.random.default_rng(200).normal(0.3, 3.0, 200), 2)
    took, p = seconds(lambda: sign_flip_p(values), repeats=10)
    assert 0 < p < 1
    assert yardstick / took > 400


def test_wilcoxon_of_50_with_ties_costs_at_most_three_times_scipy_without():
    """scipy's exact answer is for untied ranks; ours counts the ranks in hand."""
    values = np.random.default_rng(50).integers(-20, 30, 50) / 2
    untied = np.random.default_rng(51).normal(0.5, 2, 50)
    ours, _ = seconds(lambda: wilcoxon_p(values), repeats=20)
    theirs, scipy_p = seconds(lambda: stats.wilcoxon(untied, method="exact"), repeats=20)
    assert wilcoxon_p(untied) == pytest.approx(scipy_p.pvalue, rel=1e-9)
    assert ours < 10 * theirs  # measured near 1


def test_hodges_lehmann_of_ten_thousand_costs_less_than_its_25_fold_averages_written_out():
    random = np.random.default_rng(10)
    many, some = random.normal(size=10_000), random.normal(size=2_000)

    def written_out():
        rows, columns = np.triu_indices(some.size)
        return np.median((some[rows] + some[columns]) / 2)

    written, median = seconds(written_out, repeats=2)
    ours, _ = seconds(lambda: hodges_lehmann(many, level=0.95), repeats=2)
    assert hodges_lehmann(some, level=0.95).estimate == pytest.approx(median, abs=1e-9)
    assert ours < 12 * written  # 25 times as many averages; measured 1 to 3, on machines that are noisy
