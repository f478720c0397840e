"""Tolerance bounds of CMH-17-1G, chapter 8.5, and of the paper behind them, as reproduced.

- Composite Materials Handbook, volume 1 (CMH-17-1G), SAE International 2012: one-sided normal
  factors, ranks (Tables 8.5.12, 8.5.13), Hanson-Koopmans factors (8.5.14, 8.5.15).
- M. Vangel, One-sided nonparametric tolerance limits, Communications in Statistics - Simulation and
  Computation 23 (1994) 1137-1154: factors for the median.
- Results of two programs for the handbook (STAT17 rev. 5 and ASAP, 2008) for 18 pieces, and the
  significance levels they give by the handbook's formulas (the formulas: from MEMORY).

Read in the tests of the R package cmstatr at 365f2fd, which quote them.
"""

import math

import numpy as np
import pytest
from scipy import integrate, stats

from thread_repair import tables
from thread_repair.uncertainty.pull_tests.distributions import anderson_darling
from thread_repair.uncertainty.pull_tests.tolerance import bound
from thread_repair.verification.quantities import sample, two_piece_confidence


@pytest.mark.parametrize(
    ("name", "shape", "level"),
    [
        ("eighteen", "normal", 0.465),
        ("eighteen", "lognormal", 0.480),
        ("eighteen", "weibull", 0.179),
        ("other", "normal", 0.084),
    ],
)
def test_anderson_darling_statistic(name, shape, level):
    """The handbook's level from our statistic; formulas as in MIL-HDBK-17-1F, 8.3 (MEMORY)."""
    values = sample(name)
    x = np.array(values) if shape == "normal" else np.log(values)
    n = x.size
    statistic = float(anderson_darling(x[None, :], shape)[0])
    if shape == "weibull":
        star = (1 + 0.2 / math.sqrt(n)) * statistic
        found = 1 / (1 + math.exp(-0.10 + 1.24 * math.log(star) + 4.48 * star))
    else:
        star = (1 + 4 / n - 25 / n**2) * statistic
        found = 1 / (1 + math.exp(-0.48 + 0.78 * math.log(star) + 4.58 * star))
    assert found == pytest.approx(level, abs=6e-4)


@pytest.mark.parametrize(
    ("n", "rank", "coverage", "factor"),
    [(2, 2, 0.99, 80.0), (10, 6, 0.9, 2.137), (245, 245, 0.99, 1.04426)],
)
def test_confidence_by_another_integration(n, rank, coverage, factor):
    below = 1 - coverage

    def missed(u):
        return stats.beta.pdf(u, rank, n - rank + 1) * (1 - (below / u) ** (1 / factor)) ** (
            rank - 1
        )

    chance = 1 - integrate.quad(missed, below, 1, limit=400, epsabs=1e-12)[0]
    found = two_piece_confidence(factor, n=n, rank=rank, coverage=coverage)
    assert found == pytest.approx(chance, abs=1e-9)
    assert found == pytest.approx(0.95, abs=1e-4)


def test_the_table_of_factors_is_whole():
    assert len(tables.rows("hanson_koopmans.csv")) == 27 + 105


def test_a_bound_by_two_of_eighteen_pieces():
    """Table 8.5.15, 18 pieces: 152.338 (128.5218/152.338)^2.4966 = 99.6."""
    found = bound(sample("eighteen"), "hanson_koopmans", coverage=0.99, confidence=0.95)
    assert found.value == pytest.approx(152.338 * (128.5218 / 152.338) ** 2.4966)
    assert found.value == pytest.approx(99.6, abs=0.1)
