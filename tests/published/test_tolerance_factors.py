"""One-sided tolerance factors against printed tables.

- NBS Handbook 91, Experimental Statistics (1963), table A-7: factors k such that 95 % confidence
  is had that 90, 95, 99 % of a normal population lie above mean - k s. The same numbers stand in
  ISO 16269-6:2014, annex C (mean and spread unknown, one-sided). Known from: MEMORY, to be checked
  in the document. The table was computed before computers did it in full; entries differ from the
  noncentral t by up to 3 in the last digit, hence the tolerance; the integral below decides.
- NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3: n = 43, 90 % coverage, 99 % confidence,
  k = 1.8740. Known from: MEMORY.
- MIL-HDBK-17-1F, volume 1, chapter 8: approximations of the one-sided factors for n >= 16 (normal)
  and for the Weibull bound. Known from: MEMORY.
- Numbers of pieces without an assumed shape: 29, 46, 61, 76, 89 (90/95, ranks 1 to 5) and 299, 473,
  628 (99/95, ranks 1 to 3), as in MIL-HDBK-17-1F, tables of ranks. Known from: MEMORY; follow from
  the binomial distribution.
- Anderson-Darling, 5 % points with estimated parameters: 0.752 (normal, times 1 + 0.75/n + 2.25/n2)
  and 0.757 (Weibull, times 1 + 0.2/sqrt(n)); Journal of the American Statistical Association 69
  (1974) 730 and later tables of the same author. Known from: MEMORY.

The noncentral t distribution of SciPy, an independent library, is where the factors come from; an
integral over the chi distribution that uses only the normal and gamma functions checks it here.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, stats

from thread_repair.uncertainty.pull_tests import k_factor
from thread_repair.uncertainty.pull_tests.distributions import (
    anderson_darling,
    standard_logs,
)
from thread_repair.uncertainty.pull_tests.tolerance import order_statistic_rank, weibull_factor

PRINTED = [  # n, 90 %, 95 %, 99 %, all with 95 % confidence
    (3, 6.158, 7.655, 10.552),
    (4, 4.163, 5.145, 7.042),
    (5, 3.407, 4.202, 5.741),
    (6, 3.006, 3.707, 5.062),
    (7, 2.755, 3.399, 4.641),
    (8, 2.582, 3.188, 4.353),
    (9, 2.454, 3.031, 4.143),
    (10, 2.355, 2.911, 3.981),
    (12, 2.210, 2.736, 3.747),
    (15, 2.068, 2.566, 3.520),
    (20, 1.926, 2.396, 3.295),
    (25, 1.838, 2.292, 3.158),
    (30, 1.778, 2.220, 3.064),
    (50, 1.646, 2.065, 2.863),
]


@pytest.mark.parametrize("row", PRINTED)
def test_handbook_91_table_a7(row):
    n, *printed = row
    found = [k_factor(n, coverage=p, confidence=0.95) for p in (0.90, 0.95, 0.99)]
    np.testing.assert_allclose(found, printed, atol=0.003)


def test_e_handbook_example():
    assert k_factor(43, coverage=0.90, confidence=0.99) == pytest.approx(1.8740, abs=5e-5)


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


@pytest.mark.parametrize(
    ("coverage", "pieces"), [(0.90, (29, 46, 61, 76, 89)), (0.99, (299, 473, 628))]
)
def test_numbers_of_pieces_without_an_assumed_shape(coverage, pieces):
    for rank, n in enumerate(pieces, start=1):
        assert order_statistic_rank(n, coverage=coverage, confidence=0.95) == rank
        assert order_statistic_rank(n - 1, coverage=coverage, confidence=0.95) == rank - 1


@pytest.mark.parametrize("n", [10, 20, 50])
def test_anderson_darling_five_per_cent_points(n):
    normal = anderson_darling(standard_logs(n, shape="normal", draws=20_000), "normal")
    weibull = anderson_darling(standard_logs(n, shape="weibull", draws=20_000), "weibull")
    corrected = np.quantile(normal, 0.95) * (1 + 0.75 / n + 2.25 / n**2)
    assert corrected == pytest.approx(0.752, abs=0.02)
    # the correction for n is the author's fit to simulations, good to 0.03
    assert np.quantile(weibull, 0.95) * (1 + 0.2 / math.sqrt(n)) == pytest.approx(0.757, abs=0.03)
