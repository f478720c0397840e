"""One-sided tolerance factors against printed tables.

Printed factors stand in `data/printed/tolerance.csv`.

- MIL-HDBK-17-1F, volume 1, chapter 8: approximations of the one-sided factors for n >= 16 (normal)
  and for the Weibull bound. Known from: MEMORY.
- Anderson-Darling, 5 % points with estimated parameters: 0.752 (normal, times 1 + 0.75/n + 2.25/n2)
  and 0.757 (Weibull, times 1 + 0.2/sqrt(n)); Journal of the American Statistical Association 69
  (1974) 730 and later tables of the same author. Known from: MEMORY.

The noncentral t distribution of SciPy, an independent library, is where the factors come from; an
integral over the chi distribution that uses only the normal and gamma functions checks it here.
"""

import math

import numpy as np
import pytest
from scipy import integrate, stats

from thread_repair.uncertainty.pull_tests.distributions import (
    anderson_darling,
    standard_logs,
)
from thread_repair.uncertainty.pull_tests.tolerance import k_factor, weibull_factor


@pytest.mark.parametrize("n", [3, 12, 40])
def test_factor_meets_its_own_definition(n):
    """P(mean - k s <= quantile) = 95 %, integrated over the distribution of s."""
    k = k_factor(n, coverage=0.99, confidence=0.95)
    z = stats.norm.ppf(0.99)

    def covered(s):
        return (
            stats.norm.cdf(math.sqrt(n) * (k * s - z))
            * 2
            * (n - 1)
            * s
            * stats.chi2.pdf((n - 1) * s**2, n - 1)
        )

    chance, _ = integrate.quad(covered, 0, 6, limit=200, points=[0.5, 1.0, 1.5])
    assert chance == pytest.approx(0.95, abs=1e-6)


@pytest.mark.parametrize("n", [16, 20, 30, 50, 100])
def test_mil_hdbk_17_approximation_of_the_normal_factors(n):
    a = 2.326 + math.exp(1.34 - 0.522 * math.log(n) + 3.87 / n)
    b = 1.282 + math.exp(0.958 - 0.520 * math.log(n) + 3.19 / n)
    assert k_factor(n, coverage=0.99, confidence=0.95) == pytest.approx(a, rel=0.005)
    assert k_factor(n, coverage=0.90, confidence=0.95) == pytest.approx(b, rel=0.005)


@pytest.mark.parametrize("n", [16, 20, 30, 50, 100])
def test_mil_hdbk_17_approximation_of_the_weibull_factors(n):
    """There the bound is quantile x exp(-V / (shape sqrt n)); ours is scale x exp(-w / shape)."""
    b = 3.803 + math.exp(1.79 - 0.516 * math.log(n) + 5.1 / (n - 1))
    a = 6.649 + math.exp(2.55 - 0.526 * math.log(n) + 4.76 / n)
    for coverage, v in ((0.90, b), (0.99, a)):
        printed = -math.log(-math.log(coverage)) + v / math.sqrt(n)
        assert weibull_factor(n, coverage=coverage, confidence=0.95) == pytest.approx(
            printed, rel=0.01
        )


@pytest.mark.parametrize("n", [10, 20, 50])
def test_anderson_darling_five_per_cent_points(n):
    normal = anderson_darling(standard_logs(n, shape="normal", draws=20_000), "normal")
    weibull = anderson_darling(standard_logs(n, shape="weibull", draws=20_000), "weibull")
    corrected = np.quantile(normal, 0.95) * (1 + 0.75 / n + 2.25 / n**2)
    assert corrected == pytest.approx(0.752, abs=0.02)
    # the correction for n is the author's fit to simulations, good to 0.03
    assert np.quantile(weibull, 0.95) * (1 + 0.2 / math.sqrt(n)) == pytest.approx(0.757, abs=0.03)
