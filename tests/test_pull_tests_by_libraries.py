"""Statistics of test pieces against general libraries, with which they share only SciPy's functions.

statsmodels 0.15 (S. Seabold and J. Perktold, Proc. 9th Python in Science Conf., 2010) and lifelines
0.30 (C. Davidson-Pilon, J. Open Source Softw. 4 (40), 2019, 1317); both references from memory.
"""

import math

import numpy as np
import pytest
from lifelines import WeibullFitter
from scipy import stats
from statsmodels.stats.diagnostic import normal_ad
from statsmodels.stats.oneway import anova_oneway
from statsmodels.stats.power import TTestIndPower, TTestPower
from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.weightstats import CompareMeans, DescrStatsW

from thread_repair.uncertainty.pull_tests.distributions import fits, scatter
from thread_repair.uncertainty.pull_tests.evidence import compare
from thread_repair.uncertainty.pull_tests.planning import pieces_for_bound, pieces_for_ratio
from thread_repair.uncertainty.pull_tests.tolerance import (
    CLAIMS,
    bound,
    k_factor,
    order_statistic_rank,
)


def fit(loads, shape):
    return {each.shape: each for each in fits(loads)}[shape]


pytestmark = pytest.mark.slow

LOADS = np.random.default_rng(11).lognormal(math.log(36e3), 0.04, 9)
OTHERS = np.random.default_rng(12).lognormal(math.log(39e3), 0.07, 6)


@pytest.mark.parametrize("n", [5, 12, 80])
def test_weibull_fit_agrees_with_lifelines(n):
    loads = stats.weibull_min.rvs(25, scale=25e3, size=n, random_state=n)
    theirs = WeibullFitter().fit(loads / 25e3)  # it starts near 1
    ours = fit(loads, "weibull")
    # lifelines stops once the likelihood is flat to about a part in a million
    assert ours.location == pytest.approx(25e3 * theirs.lambda_, rel=1e-5)
    assert ours.spread == pytest.approx(theirs.rho_, rel=1e-3)


def test_weibull_bound_of_many_pieces_agrees_with_lifelines_interval_of_the_quantile():
    """Of 2000 pieces the interval by the observed information is as good as the exact one."""
    n, (coverage, confidence) = 2000, CLAIMS["90/95"]
    loads = stats.weibull_min.rvs(25, size=n, random_state=4)
    theirs = WeibullFitter().fit(loads)
    at = -math.log(coverage)  # the quantile is scale x at^(1/shape)
    quantile = theirs.lambda_ * at ** (1 / theirs.rho_)
    slope = np.array([1 / theirs.lambda_, -math.log(at) / theirs.rho_**2])  # of its logarithm
    error = math.sqrt(slope @ theirs.variance_matrix_.to_numpy() @ slope)
    expected = quantile * math.exp(-stats.norm.ppf(confidence) * error)
    assert error > 5e-4  # else the bound would say nothing of the interval
    found = bound(loads, "weibull", coverage=coverage, confidence=confidence).value
    assert math.log(quantile / found) == pytest.approx(math.log(quantile / expected), rel=0.1)


@pytest.mark.parametrize("n", [3, 10, 60])
@pytest.mark.parametrize("claim", CLAIMS)
def test_normal_tolerance_factor_agrees_with_the_power_of_a_t_test(n, claim):
    """Mean - k sd exceeds the quantile as seldom as a t test of that level finds its distance."""
    coverage, confidence = CLAIMS[claim]
    k = float(k_factor(n, coverage=coverage, confidence=confidence))
    found = TTestPower().power(
        effect_size=stats.norm.ppf(coverage),
        nobs=n,
        alpha=stats.t.sf(k * math.sqrt(n), n - 1),
        alternative="larger",
    )
    assert found == pytest.approx(1 - confidence, abs=1e-6)


@pytest.mark.parametrize("n", [46, 120, 700])
@pytest.mark.parametrize("claim", CLAIMS)
def test_rank_of_the_order_statistic_agrees_with_exact_binomial_limits(n, claim):
    """Clopper and Pearson's upper limit of the share below, r - 1 pieces of n being below."""
    coverage, confidence = CLAIMS[claim]

    def shown(r):
        limit = proportion_confint(r - 1, n, alpha=2 * (1 - confidence), method="beta")[1]
        return limit <= 1 - coverage

    rank = order_statistic_rank(n, coverage=coverage, confidence=confidence)
    assert (rank == 0 or shown(rank)) and not shown(rank + 1)


def test_scatter_and_normality_agree_with_statsmodels():
    found = scatter(LOADS)
    low, high = DescrStatsW(LOADS).tconfint_mean(alpha=0.05)
    assert [found.mean_low, found.mean_high] == pytest.approx([low, high])
    statistic, p_value = normal_ad(LOADS)
    ours = fit(LOADS, "normal")
    assert ours.statistic == pytest.approx(statistic)
    # Where it decides: theirs is a published curve, for the tail; ours 20,000 simulated samples.
    skewed = np.random.default_rng(14).lognormal(0, 1, 12) ** 0.5
    p_value = normal_ad(skewed)[1]
    assert 0.02 < p_value < 0.1
    assert fit(skewed, "normal").p_value == pytest.approx(p_value, abs=0.01)


def test_repaired_against_original_agrees_with_statsmodels():
    found = compare(LOADS, OTHERS, seed=1)
    logs = CompareMeans(DescrStatsW(np.log(OTHERS)), DescrStatsW(np.log(LOADS)))
    low, high = np.exp(logs.tconfint_diff(alpha=0.05, usevar="unequal"))
    assert [found.ratio_low, found.ratio_high] == pytest.approx([low, high])
    # Welch's analysis of variance of two groups is the same test.
    anova = anova_oneway([np.log(LOADS), np.log(OTHERS)], use_var="unequal", welch_correction=True)
    assert found.welch_p == pytest.approx(anova.pvalue)


def test_planned_numbers_of_pieces_agree_with_statsmodels_power():
    plan = pieces_for_ratio(expected=1.10, cov=0.06)
    distance = math.log(1.10) / math.sqrt(math.log1p(0.06**2))
    chances = [
        TTestIndPower().power(distance, n, 0.025, alternative="larger")
        for n in (plan.n - 1, plan.n)
    ]
    assert chances[0] < 0.80 <= chances[1] == pytest.approx(plan.power, abs=1e-6)
    plan = pieces_for_bound(requirement=33e3, mean=40e3, cov=0.05, coverage=0.99)
    distance = (40 - 33) / (0.05 * 40)  # standard deviations

    def power(n):
        k = float(k_factor(n, coverage=0.99, confidence=0.95))
        level = stats.t.sf(k * math.sqrt(n), n - 1)
        return TTestPower().power(distance, n, level, alternative="larger")

    assert power(plan.n - 1) < 0.80 <= power(plan.n) == pytest.approx(plan.power, abs=1e-6)
