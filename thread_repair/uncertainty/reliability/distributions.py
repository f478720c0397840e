"""How an input scatters: a number, or a frozen distribution of `scipy.stats`."""

import math
from typing import Protocol, TypeAlias

import numpy as np
from numpy.typing import ArrayLike
from scipy import special, stats

from ...arrays import FloatArray, finite, number_above_zero
from ...errors import InputError, unknown


class Distribution(Protocol):
    """What the simulation asks of an input that scatters."""

    def ppf(self, q: ArrayLike, /) -> FloatArray:
        """Value below which the fraction `q` of the population lies."""

    def isf(self, q: ArrayLike, /) -> FloatArray:
        """Value above which the fraction `q` of the population lies."""

    def mean(self) -> float:
        """Mean of the population."""

    def std(self) -> float:
        """Standard deviation of the population."""


#: An input: one number, or a distribution of it. Told apart by `isinstance(x, (int, float))`:
#: asking the protocol instead would take most of the time of a search for a design point.
Quantity: TypeAlias = "float | Distribution"

#: Fraction of the population below a basis value. A and B: 99 % and 90 % of the population exceed
#: the value (with 95 % confidence). S and minimum promise no fraction; they are read as A, which is
#: what lot-release requirements are commonly taken for. Characteristic is the Eurocodes' word.
BELOW_BASIS = {"A": 0.01, "B": 0.10, "S": 0.01, "minimum": 0.01, "characteristic": 0.05}
#: Bases whose value is the mean itself. What is given for information only, or estimated from a
#: hardness by the lowest of published ratios, promises no share of the pieces; as the mean of the
#: population it gives the lowest one.
MEAN_BASES = ("typical", "informative", "measured", "mean", "estimated")


def at_normal(of: Distribution, z: ArrayLike) -> FloatArray:
    """Value at the same probability as the standard normal value `z`, exact in both tails.

    Parameters
    ----------
    of : Distribution
    z : array_like

    Returns
    -------
    ndarray
    """
    z = np.asarray(z, dtype=np.float64)
    low, tail = z < 0, special.ndtr(-np.abs(z))
    # SciPy takes this one's logarithms, for ends that no size has: most of the time of a report.
    if getattr(getattr(of, "dist", None), "name", "") == "truncnorm":
        least, most, middle, spread = of.args  # type: ignore[attr-defined]
        within = special.ndtr(most) - special.ndtr(least)
        end = special.ndtri(special.ndtr(np.where(low, least, -most)) + tail * within)
        return np.asarray(middle + spread * np.where(low, end, -end))
    found = np.empty(z.shape)
    found[low], found[~low] = of.ppf(tail[low]), of.isf(tail[~low])
    return found


def uniform(low: float, high: float) -> Distribution | float:
    """Every value between two limits equally likely; the one value where they are the same.

    Parameters
    ----------
    low, high : float

    Returns
    -------
    Distribution | float
    """
    if not _apart(low, high):
        return low
    return stats.uniform(low, high - low)


def tolerance(low: float, high: float) -> Distribution | float:
    """Distribution of a size between its limits; the one value where they are the same.

    Parameters
    ----------
    low, high : float

    Returns
    -------
    Distribution | float

    Raises
    ------
    InputError
        If the limits stand in the wrong order.

    Notes
    -----
    A normal process in the middle of the tolerance, which spans six standard deviations; what lies
    outside is sorted out. Common practice, no published source: a choice, not a fact of the part.

    Examples
    --------
    >>> size = tolerance(7.188, 7.348)
    >>> print(f"{size.mean():.3f} {size.std():.4f}")
    7.268 0.0263
    """
    if not _apart(low, high):
        return low
    return stats.truncnorm(-3, 3, (low + high) / 2, (high - low) / 6)


def _apart(low: float, high: float) -> bool:
    finite(low=low, high=high)
    if not low <= high:
        raise InputError(f"limits of a size: low must be below high, got {low:g} and {high:g}")
    return low < high


def strength(value: float, *, basis: str, cov: float) -> Distribution:
    """Distribution of a strength of which a basis value and the relative scatter are given.

    Parameters
    ----------
    value : MPa
        The value the source gives.
    basis : a name of `BELOW_BASIS` or `MEAN_BASES`
        What the value is. A, S and minimum: the 1 % point of the population; characteristic: the
        5 % point; B: the 10 % point; typical, informative, measured and mean: the mean.
    cov : standard deviation over mean; assumed or measured by the engineer.

    Returns
    -------
    Distribution
        Lognormal: the product of many small causes, never negative.

    Raises
    ------
    InputError, UnknownNameError

    Notes
    -----
    An A value is exceeded by 99 % of the population with 95 % confidence: the true 1 % point most
    likely lies higher. Taking it as the 1 % point leaves that reserve out of the calculation.
    Source: MIL-HDBK-17-1F, definitions of the bases. Known from: memory.

    Examples
    --------
    >>> implied = strength(186, basis="A", cov=0.04)
    >>> print(f"{implied.mean():.1f} {implied.std():.2f}")
    204.3 8.17
    """
    number_above_zero(strength=value, cov=cov)
    if not 0 < cov < 0.4:
        raise InputError(f"cov of a strength must lie between 0 and 0.4 (0.04 is 4 %), got {cov:g}")
    log_sd = math.sqrt(math.log1p(cov**2))
    if basis in MEAN_BASES:
        shift = log_sd**2 / 2
    elif basis in BELOW_BASIS:
        shift = log_sd * float(special.ndtri(BELOW_BASIS[basis]))
    else:
        raise unknown("basis", basis, (*BELOW_BASIS, *MEAN_BASES))
    return stats.lognorm(log_sd, scale=value * math.exp(-shift))
