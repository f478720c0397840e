"""Tolerance bounds of CMH-17-1G, chapter 8.5, and of the paper behind them, as reproduced.

- Composite Materials Handbook, volume 1 (CMH-17-1G), SAE International 2012: one-sided normal
  factors, ranks (Tables 8.5.12, 8.5.13), Hanson-Koopmans factors (8.5.14, 8.5.15).
- M. Vangel, One-sided nonparametric tolerance limits, Communications in Statistics - Simulation and
  Computation 23 (1994) 1137-1154: factors for the median.
- Results of two programs for the handbook (STAT17 rev. 5 and ASAP, 2008) for 18 pieces, and the
  significance levels they give by the handbook's formulas (the formulas: from MEMORY).

Read in the tests of the R package cmstatr at 365f2fd, which quote them.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from printed_values import printed
from scipy import integrate, stats

from thread_repair import tables
from thread_repair.uncertainty.pull_tests import (
    hanson_koopmans_bound,
    k_factor,
    lognormal_bound,
    normal_bound,
    weibull_bound,
)
from thread_repair.uncertainty.pull_tests.distributions import anderson_darling
from thread_repair.uncertainty.pull_tests.tolerance import order_statistic_rank

EIGHTEEN = [
    137.4438, 139.5395, 150.89, 141.4474, 141.8203, 151.8821, 143.9245, 132.9732, 136.6419,
    138.1723, 148.7668, 143.283, 143.5429, 141.7023, 137.4732, 152.338, 144.1589, 128.5218,
]  # fmt: skip
OTHERS = [
    79.9109621761937, 77.9447436346388, 79.717168019752, 87.3547460860547, 76.2404769192413,
    75.7026911300246, 79.5952709280298, 76.7833784980155, 77.5791472067831, 78.4164523339268,
    79.2819398818745, 77.6346481930964, 81.2182937743241, 81.1826431730731, 86.0561762573461,
    82.1837784884495, 80.7564920650884, 79.3614980225488,
]  # fmt: skip


def test_normal_factors():
    rows = printed("cmh_17_normal_factors")
    assert len(rows) == 272
    for coverage in ("0.9", "0.99"):
        some = [row for row in rows if row["coverage"] == coverage]
        n = [int(row["n"]) for row in some]
        found = k_factor(n, coverage=float(coverage), confidence=0.95)
        # the 90/95 column carries a rounding of its own up to 0.0017
        atol = 0.002 if coverage == "0.9" else 0.0006
        np.testing.assert_allclose(found, [float(row["factor"]) for row in some], atol=atol)


@pytest.mark.parametrize("coverage", ["0.9", "0.99"])
def test_ranks(coverage):
    rows = [row for row in printed("cmh_17_ranks") if row["coverage"] == coverage]
    assert len(rows) > 99
    for row in rows:
        n, rank = int(row["n_least"]), int(row["rank"])
        found = [
            order_statistic_rank(pieces, coverage=float(coverage), confidence=0.95)
            for pieces in (n, n - 1)
        ]
        agrees = found == [rank, rank - 1]
        assert agrees is not bool(row["known_difference"]), row
        assert found[0] == rank  # a misprint asks for more pieces, never for fewer


def confidence_of(factor, *, n, rank, coverage):
    """Chance that x(j) (x(1)/x(j))^k lies below the quantile, for the worst shape of its kind.

    For the shape with a straight log F the pieces are exponential below the top: with E ascending
    exponential order statistics, -ln F of x(1) is E(n), of x(j) E(n-j+1); their difference is the
    greatest of j - 1 exponentials, independent of E(n-j+1), and exp(-E(n-j+1)) is beta (j, n-j+1).
    The bound holds where E(n-j+1) + k (E(n) - E(n-j+1)) >= -ln(1 - coverage).
    """
    below = 1 - coverage

    def missed(u):
        return stats.beta.pdf(u, rank, n - rank + 1) * (1 - (below / u) ** (1 / factor)) ** (
            rank - 1
        )

    return 1 - integrate.quad(missed, below, 1, limit=400, epsabs=1e-12)[0]


def test_hanson_koopmans_factors_hold_their_confidence():
    rows = tables.rows("hanson_koopmans.csv")
    assert len(rows) == 27 + 105
    for row in rows:
        coverage = {"90/95": 0.90, "99/95": 0.99}[row["claim"]]
        found = confidence_of(
            float(row["factor"]), n=int(row["n"]), rank=int(row["rank"]), coverage=coverage
        )
        # the factors of 90/95 are printed to 0.001
        assert found == pytest.approx(0.95, abs=1e-4), row


def test_the_paper_behind_them():
    for row in printed("vangel_1994_factors"):
        n = int(row["n"])
        found = confidence_of(
            float(row["factor"]), n=n, rank=(n + 1) // 2, coverage=float(row["coverage"])
        )
        assert found == pytest.approx(float(row["confidence"]), abs=1e-5), row


@pytest.mark.parametrize(
    ("bound", "b", "a", "within"),
    [
        # the programs take the factors of n >= 16 from formulas, good to a few units of 1e-4
        (normal_bound, 129.287, 120.336, 2e-4),
        (lognormal_bound, 129.664, 121.710, 2e-4),
        # theirs by a formula, ours by simulation
        (weibull_bound, 125.441, 109.150, 1e-3),
    ],
)
def test_eighteen_pieces(bound, b, a, within):
    for coverage, value in ((0.90, b), (0.99, a)):
        found = bound(EIGHTEEN, coverage=coverage, confidence=0.95).value
        assert found == pytest.approx(value, rel=within)


@pytest.mark.parametrize(
    ("values", "shape", "level"),
    [
        (EIGHTEEN, "normal", 0.465),
        (EIGHTEEN, "lognormal", 0.480),
        (EIGHTEEN, "weibull", 0.179),
        (OTHERS, "normal", 0.084),
    ],
)
def test_anderson_darling_statistic(values, shape, level):
    """The handbook's level from our statistic; formulas as in MIL-HDBK-17-1F, 8.3 (MEMORY)."""
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


def test_a_bound_by_two_of_eighteen_pieces():
    """Table 8.5.15, 18 pieces: 152.338 (128.5218/152.338)^2.4966 = 99.6."""
    found = hanson_koopmans_bound(EIGHTEEN, coverage=0.99, confidence=0.95)
    assert found.value == pytest.approx(152.338 * (128.5218 / 152.338) ** 2.4966)
    assert found.value == pytest.approx(99.6, abs=0.1)
