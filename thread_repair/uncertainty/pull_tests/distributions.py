"""How do the loads of like pieces scatter, and does a normal, lognormal or Weibull shape fit."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from ...arrays import FloatArray, positive, read_only
from ...errors import InputError
from ...facts import Fact, Term, Value, count, fact, number
from ..intervals import CONFIDENCE, mean_interval

#: Simulated samples behind a p-value or a Weibull factor, and their fixed seed: these are constants
#: of n, the same in every report.
DRAWS = 20_000
SEED = 20_000
#: Simulated samples are no larger: beyond, the statistic no longer changes with n.
LARGEST = 500
#: Fewer specimens than these would rarely reject any distribution.
FEW = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """Mean of a sample with its confidence interval, and spread, unit of the sample."""

    n: int
    mean: float
    mean_low: float
    mean_high: float
    sd: float
    least: float
    confidence: float = CONFIDENCE

    @property
    def cov(self) -> float:
        """Standard deviation over mean."""
        return self.sd / self.mean


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """A fitted distribution and the Anderson-Darling check of it.

    Attributes
    ----------
    shape : "normal" (location mean, spread sd), "lognormal" (median, log sd) or "weibull" (scale,
        shape parameter)
    location, spread : the two parameters, in that order
    statistic : A-squared
    p_value : chance of as great a statistic if the shape is right, by simulation
    n : pieces
    """

    shape: str
    location: float
    spread: float
    statistic: float
    p_value: float
    n: int

    @property
    def rejected(self) -> bool:
        """Whether the sample contradicts the shape at 5 %."""
        return self.p_value < 0.05

    def fact(self, **of: Value) -> Fact:
        """Whether it can be rejected, and what so few specimens can say about it."""
        found = "rejected" if self.rejected else "not_rejected"
        few = "" if self.rejected or self.n >= FEW else "_few"
        return fact(
            f"distribution_{found}{few}",
            distribution=Term("distribution", self.shape),
            specimens=count(self.n),
            statistic=number(self.statistic),
            p=number(self.p_value),
            **of,
        )


def sample(values: ArrayLike, *, least: int = 2, apart: bool = False) -> FloatArray:
    """Return loads as a flat array, or refuse what no statistic can be taken of.

    Parameters
    ----------
    values : array_like, N, shape (n,)
    least : int, optional
    apart : bool, optional
        Whether they have to differ.

    Returns
    -------
    ndarray, N, shape (n,)

    Raises
    ------
    InputError
        Fewer than `least` values, any not a number above zero, or, if `apart`, all the same.
    """
    found = np.atleast_1d(positive(values=values)[0]).ravel()
    if np.any(np.isnan(found)):
        raise InputError(f"value {int(np.argmax(np.isnan(found))) + 1} is not a number")
    if found.size < least:
        raise InputError(f"this needs {least} test pieces or more, got {found.size}")
    if apart and np.ptp(found) == 0:
        raise InputError("all test pieces have the same load: nothing can be told of their scatter")
    return found


def scatter(values: ArrayLike) -> Scatter:
    """Mean, standard deviation and their intervals, of a normal population.

    Parameters
    ----------
    values : array_like, two or more

    Returns
    -------
    Scatter

    Examples
    --------
    >>> found = scatter([24.1, 25.3, 24.8, 26.0, 25.1])
    >>> print(f"{found.mean:.2f} ({found.mean_low:.2f} to {found.mean_high:.2f})")
    25.06 (24.20 to 25.92)
    """
    x = sample(values)
    n, sd = x.size, float(x.std(ddof=1))
    mean, mean_low, mean_high = map(float, mean_interval(x))
    return Scatter(
        n=n,
        mean=mean,
        mean_low=mean_low,
        mean_high=mean_high,
        sd=sd,
        least=float(x.min()),
    )


def fits(values: ArrayLike) -> tuple[Fit, ...]:
    """Fit every shape and check it.

    Parameters
    ----------
    values : array_like, N, three or more, not all alike

    Returns
    -------
    tuple of Fit: normal, lognormal, Weibull

    Raises
    ------
    InputError
        If all test pieces have the same load.

    Notes
    -----
    Normal and lognormal by mean and standard deviation (n - 1), Weibull (two parameters, from
    zero) by greatest likelihood. The p-value comes from 20,000 simulated samples of the same size,
    fitted the same way: the statistic's distribution does not depend on the true parameters, so
    that no table for large samples is needed.
    """
    x = sample(values, least=3, apart=True)
    logs = np.log(x)
    scale, k = weibull_fit(logs[None, :])
    fitted = {
        "normal": (x, x.mean(), x.std(ddof=1)),
        "lognormal": (logs, np.exp(logs.mean()), logs.std(ddof=1)),
        "weibull": (logs, scale[0], k[0]),
    }
    found = []
    for shape, (of, location, spread) in fitted.items():
        statistic = float(anderson_darling(of[None, :], shape)[0])
        null = _null(min(x.size, LARGEST), "weibull" if shape == "weibull" else "normal")
        above = null.size - int(np.searchsorted(null, statistic))
        found.append(
            Fit(
                shape=shape,
                location=float(location),
                spread=float(spread),
                statistic=statistic,
                p_value=(above + 1) / (null.size + 1),
                n=x.size,
            )
        )
    return tuple(found)


def weibull_fit(logs: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Scale and shape parameter of greatest likelihood, one of each sample.

    Parameters
    ----------
    logs : ndarray, shape (samples, n)
        Logarithms of the values.

    Returns
    -------
    scale, shape : ndarray, shape (samples,)
    """
    top = logs.max(axis=1, keepdims=True)
    y = logs - top  # keeps the powers from overflowing
    mean = y.mean(axis=1)
    k = 1.2 / y.std(axis=1)
    for _ in range(60):
        power = np.exp(k[:, None] * y)
        total = power.sum(axis=1)
        first = (power * y).sum(axis=1) / total
        second = (power * y * y).sum(axis=1) / total
        step = (first - 1 / k - mean) / (second - first**2 + 1 / k**2)
        k = np.maximum(k - step, k / 3)
        if np.all(np.abs(step) < 1e-10 * k):
            break
    scale = np.exp(top[:, 0]) * np.mean(np.exp(k[:, None] * y), axis=1) ** (1 / k)
    return scale, k


def anderson_darling(samples: FloatArray, shape: str) -> FloatArray:
    """A-squared of each sample against the shape fitted to it.

    Parameters
    ----------
    samples : ndarray, shape (samples, n)
        Values (normal) or their logarithms (lognormal, Weibull).
    shape : "normal", "lognormal" or "weibull"

    Returns
    -------
    ndarray, shape (samples,)

    Notes
    -----
    A2 = -n - sum (2i - 1)/n [ln F(x_i) + ln(1 - F(x_(n+1-i)))], ascending x.
    Source: Journal of the American Statistical Association 69 (1974) 730. Known from: memory.
    """
    x = np.sort(samples, axis=1)
    n = x.shape[1]
    if shape == "weibull":
        scale, k = weibull_fit(x)
        hazard = np.exp(k[:, None] * (x - np.log(scale)[:, None]))
        log_below, log_above = np.log(-np.expm1(-hazard)), -hazard
    else:
        z = (x - x.mean(axis=1, keepdims=True)) / x.std(axis=1, ddof=1, keepdims=True)
        log_below, log_above = special.log_ndtr(z), special.log_ndtr(-z)
    weight = (2 * np.arange(1, n + 1) - 1) / n
    return np.asarray(-n - np.sum(weight * (log_below + log_above[:, ::-1]), axis=1))


def standard_logs(n: int, *, shape: str, draws: int) -> FloatArray:
    """Return simulated samples of the standard population: normal values, or Weibull logarithms.

    Parameters
    ----------
    n : int
    shape : str
    draws : int

    Returns
    -------
    ndarray
    """
    generator = np.random.default_rng([SEED, n])
    if shape == "weibull":
        return np.log(generator.standard_exponential((draws, n)))
    return generator.standard_normal((draws, n))


@cache
def _null(n: int, shape: str) -> FloatArray:
    draws = max(2000, min(DRAWS, 2_000_000 // n))
    return read_only(np.sort(anderson_darling(standard_logs(n, shape=shape, draws=draws), shape)))
