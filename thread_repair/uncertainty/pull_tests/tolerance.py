"""What load do 99 % or 90 % of all such pieces carry, with 95 % confidence."""

import math
from bisect import bisect_right
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from ... import tables
from ...arrays import FloatArray, Floats, finite, fraction, plain
from ...errors import InputError, looked_up
from ...facts import Fact, count, fact
from .distributions import DRAWS, sample, standard_logs, weibull_fit

#: Coverage and confidence of the two usual claims: as of an A and a B basis.
CLAIMS = {"99/95": (0.99, 0.95), "90/95": (0.90, 0.95)}
#: A bound below this share of the least piece comes from too few pieces, not from the metal: strip
#: loads of one lot scatter by a few per cent (a choice, common practice without a number).
SAYS_NOTHING = 0.5

#: Weibull factors are simulated up to this many pieces and shrunk by 1/sqrt(n) beyond.
_LARGEST = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """A one-sided lower tolerance bound.

    Attributes
    ----------
    value : N, NaN where the sample cannot give the bound
    coverage, confidence : share of the population above, and how sure that is
    method : one of `METHODS`
    n : pieces
    factor : standard deviations (normal, lognormal) or Weibull factor below the centre; rank of
        the order statistic; exponent of the ratio of two pieces (Hanson-Koopmans)
    note : why there is no value, or what limits it
    rank : of the order statistic, or of the upper of the two pieces (Hanson-Koopmans); else 0
    """

    value: float
    coverage: float
    confidence: float
    method: str
    n: int
    factor: float
    note: Fact | None
    rank: int

    @property
    def claim(self) -> str:
        """The claim in the usual form, "99/95"."""
        return f"{100 * self.coverage:g}/{100 * self.confidence:g}"

    @property
    def useful(self) -> float:
        """The value, N; NaN where it says how few the pieces are, and nothing of the metal."""
        return self.value if self.note is None else math.nan


def k_factor(n: ArrayLike, *, coverage: float, confidence: float) -> Floats:
    """One-sided tolerance factor of a normal population, mean and spread unknown.

    Parameters
    ----------
    n : array_like, pieces, two or more
    coverage : share of the population above mean - k sd
    confidence : how sure that is

    Returns
    -------
    float or ndarray

    Raises
    ------
    InputError
        If there are fewer than two pieces.

    Notes
    -----
    k = t'(confidence; n - 1, z sqrt(n)) / sqrt(n) with the noncentral t distribution and the
    normal quantile z of the coverage. Source: ISO 16269-6. Known from: memory; the values agree
    with the tables of NBS Handbook 91 (tests/published).

    Examples
    --------
    >>> print(f"{k_factor(10, coverage=0.99, confidence=0.95):.3f}")
    3.981
    """
    fraction(coverage=coverage, confidence=confidence)
    (pieces,) = finite(n=n)
    if np.any(~(pieces >= 2)):
        raise InputError(f"a tolerance factor needs two pieces or more, got {np.min(pieces):g}")
    root = np.sqrt(pieces)
    shift = special.ndtri(coverage) * root
    return plain(special.nctdtrit(pieces - 1, shift, confidence) / root)


def bound(values: ArrayLike, method: str, *, coverage: float, confidence: float) -> Bound:
    """Lower tolerance bound by one method, saying where the sample says nothing.

    Parameters
    ----------
    values : array_like, N, shape (n,)
    method : one of `METHODS`
    coverage, confidence : float, 0 to 1

    Returns
    -------
    Bound

    Raises
    ------
    InputError
        For fewer than two pieces, three by a Weibull population, or pieces of one load; for a claim
        without printed factors.
    UnknownNameError
        Naming the nearest method.

    Notes
    -----
    Normal: mean - k sd. Lognormal: the normal bound of the logarithms. Weibull (two parameters):
    scale exp(-w / shape) with the factor w of `weibull_factor`.

    Order statistic: the r-th smallest piece, r of `order_statistic_rank`, without any assumed
    shape; NaN where the pieces are too few.

    Hanson-Koopmans: by two pieces, x(j) (x(1) / x(j))^k, ascending x. It holds for every shape
    whose distribution function of the logarithm has a concave logarithm, the normal, lognormal and
    Weibull shapes among them. Factors as printed in CMH-17-1G; between two printed numbers of
    pieces that of the smaller one, which is the greater factor.
    """
    by_method = looked_up("method", method, METHODS)
    x = np.sort(sample(values, apart=True))
    value, factor, rank = by_method(x, coverage, confidence)
    note, specimens = None, count(x.size)
    if not value > 0:
        value, note = math.nan, fact("limit_says_nothing", "caution", specimens=specimens)
    elif value < SAYS_NOTHING * x[0]:
        note = fact("limit_says_little", "caution", specimens=specimens)
    return Bound(
        value=value,
        coverage=coverage,
        confidence=confidence,
        method=method,
        n=x.size,
        factor=factor,
        note=note,
        rank=rank,
    )


def bounds(values: ArrayLike, *, coverage: float, confidence: float) -> tuple[Bound, ...]:
    """Return the bound by every method, so that they are seen side by side.

    Without an assumed shape it is one order statistic where the pieces are many enough, else two.

    Parameters
    ----------
    values : array_like, N, shape (n,)
    coverage, confidence : float, 0 to 1

    Returns
    -------
    tuple of Bound
    """
    claim = {"coverage": coverage, "confidence": confidence}
    n = np.size(values)
    free = "order_statistic" if order_statistic_rank(n, **claim) else "hanson_koopmans"
    shapes = ("normal", "lognormal", "weibull") if n >= 3 else ("normal", "lognormal")
    return tuple(bound(values, method, **claim) for method in (*shapes, free))


def _normal(x: FloatArray, coverage: float, confidence: float) -> tuple[float, float, int]:
    k = float(k_factor(x.size, coverage=coverage, confidence=confidence))
    return float(x.mean() - k * x.std(ddof=1)), k, 0


def _lognormal(x: FloatArray, coverage: float, confidence: float) -> tuple[float, float, int]:
    value, k, _ = _normal(np.log(x), coverage, confidence)
    return math.exp(value), k, 0


def _weibull(x: FloatArray, coverage: float, confidence: float) -> tuple[float, float, int]:
    logs = np.log(sample(x, least=3, apart=True))
    w = weibull_factor(x.size, coverage=coverage, confidence=confidence)
    scale, shape = (float(p[0]) for p in weibull_fit(logs[None, :]))
    return scale * math.exp(-w / shape), w, 0


def _order_statistic(x: FloatArray, coverage: float, confidence: float) -> tuple[float, float, int]:
    r = order_statistic_rank(x.size, coverage=coverage, confidence=confidence)
    return float(x[r - 1]) if r else math.nan, float(r), r


def _hanson_koopmans(x: FloatArray, coverage: float, confidence: float) -> tuple[float, float, int]:
    claim = next((c for c, pair in CLAIMS.items() if pair == (coverage, confidence)), "")
    printed = {int(row["n"]): row for row in tables.rows("hanson_koopmans.csv", claim=claim)}
    if not printed:
        raise InputError(f"factors are printed for {' and '.join(CLAIMS)}, not for this claim")
    row = printed[max(n for n in printed if n <= x.size)]
    rank, k = int(row["rank"]), float(row["factor"])
    return float(x[rank - 1] * (x[0] / x[rank - 1]) ** k), k, rank


#: Value, factor and rank of each bound, from the ascending loads, coverage and confidence.
METHODS: Mapping[str, Callable[[FloatArray, float, float], tuple[float, float, int]]] = {
    "normal": _normal,
    "lognormal": _lognormal,
    "weibull": _weibull,
    "order_statistic": _order_statistic,
    "hanson_koopmans": _hanson_koopmans,
}


@cache
def weibull_factor(n: int, *, coverage: float, confidence: float) -> float:
    """Factor w of the Weibull bound: quantile of shape x ln(scale / true quantile), estimates.

    Parameters
    ----------
    n : int
        Pieces, three or more.
    coverage, confidence : float, 0 to 1

    Returns
    -------
    float

    Notes
    -----
    For complete samples fitted by greatest likelihood that quantity has the same distribution
    whatever the population, so that simulated samples of the standard population give the factor,
    within 1 % of its excess over the value for an endless sample. Source: Technometrics 11 (1969)
    445. Known from: memory.
    """
    fraction(coverage=coverage, confidence=confidence)
    endless = -math.log(-math.log(coverage))
    scale, shape = weibull_estimates(n)
    pivot = shape * (np.log(scale) + endless)
    excess = float(np.quantile(pivot, confidence)) - endless
    return endless + excess * math.sqrt(min(n, _LARGEST) / n)


def weibull_estimates(n: int) -> tuple[FloatArray, FloatArray]:
    """Scale and shape fitted to simulated samples of the Weibull population whose two are 1.

    Parameters
    ----------
    n : int
        Pieces of a sample; of more than a thousand, a thousand.

    Returns
    -------
    scale, shape : ndarray
    """
    size = min(n, _LARGEST)
    draws = max(4000, min(DRAWS, 2_000_000 // size))
    return weibull_fit(standard_logs(size, shape="weibull", draws=draws))


def order_statistic_rank(n: int, *, coverage: float, confidence: float) -> int:
    """Rank of the piece that is the distribution-free bound, 0 where n is too small.

    Parameters
    ----------
    n : int
    coverage, confidence : float, 0 to 1

    Returns
    -------
    int

    Notes
    -----
    The greatest rank r for which the chance that fewer than r of n pieces lie below the quantile is
    at most 1 - confidence; 29 pieces give 90/95 and 299 give 99/95 with r = 1. Source: ISO 16269-6,
    distribution-free intervals. Known from: memory.

    Examples
    --------
    >>> [order_statistic_rank(n, coverage=0.90, confidence=0.95) for n in (28, 29, 46)]
    [0, 1, 2]
    """
    fraction(coverage=coverage, confidence=confidence)
    below = 1 - coverage
    # Rank r holds when P(binomial(n, below) <= r - 1) <= 1 - confidence, which grows with r.
    return bisect_right(range(n), 1 - confidence, key=lambda r: special.bdtr(r, n, below))
