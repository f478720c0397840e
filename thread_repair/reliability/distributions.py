"""The shapes in which an input scatters.

Every distribution maps a probability and a standard normal value to the input's value, so that
the same record serves quasi-random points and the search for a design point far in the tail.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Protocol, TypeAlias

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from ..arrays import FloatArray
from ..errors import InputError


class Distribution(Protocol):
    """What the simulation asks of an input that scatters."""

    def from_uniform(self, u: ArrayLike, /) -> FloatArray:
        """Value below which the fraction `u` of the population lies; 0 < u < 1."""

    def from_normal(self, z: ArrayLike, /) -> FloatArray:
        """Value at the same probability as the standard normal value `z`."""

    @property
    def mean(self) -> float:
        """Mean of the population."""

    @property
    def sd(self) -> float:
        """Standard deviation of the population."""


#: An input: one number, or a distribution of it. Told apart by `isinstance(x, (int, float))`:
#: asking the protocol instead would take most of the time of a search for a design point.
Quantity: TypeAlias = "float | Distribution"


@dataclass(frozen=True, slots=True, kw_only=True)
class Uniform:
    """Every value from `low` to `high` equally likely: only the limits are known."""

    low: float
    high: float

    def __post_init__(self) -> None:
        _ascending(self, low=self.low, high=self.high)

    def from_uniform(self, u: ArrayLike) -> FloatArray:
        """See `Distribution`."""
        return np.asarray(self.low + (self.high - self.low) * np.asarray(u, dtype=np.float64))

    def from_normal(self, z: ArrayLike) -> FloatArray:
        """See `Distribution`."""
        return self.from_uniform(np.asarray(special.ndtr(z)))

    @property
    def mean(self) -> float:
        """See `Distribution`."""
        return (self.low + self.high) / 2

    @property
    def sd(self) -> float:
        """See `Distribution`."""
        return (self.high - self.low) / math.sqrt(12)


@dataclass(frozen=True, slots=True, kw_only=True)
class Triangular:
    """Limits and the most likely value between them."""

    low: float
    mode: float
    high: float

    def __post_init__(self) -> None:
        _ascending(self, low=self.low, high=self.high)
        if not self.low <= self.mode <= self.high:
            raise InputError(
                f"mode of a triangular distribution must lie between low "
                f"{self.low:g} and high {self.high:g}, got {self.mode:g}"
            )

    def from_uniform(self, u: ArrayLike) -> FloatArray:
        """See `Distribution`."""
        u = np.asarray(u, dtype=np.float64)
        width, rise = self.high - self.low, self.mode - self.low
        left = self.low + np.sqrt(u * (width * rise))
        right = self.high - np.sqrt((1 - u) * (width * (width - rise)))
        return np.where(u * width < rise, left, right)

    def from_normal(self, z: ArrayLike) -> FloatArray:
        """See `Distribution`."""
        z = np.asarray(z, dtype=np.float64)
        lower, upper = special.ndtr(z), special.ndtr(-z)
        width, rise = self.high - self.low, self.mode - self.low
        left = self.low + np.sqrt(lower * (width * rise))
        right = self.high - np.sqrt(upper * (width * (width - rise)))
        return np.asarray(np.where(lower * width < rise, left, right))

    @property
    def mean(self) -> float:
        """See `Distribution`."""
        return (self.low + self.mode + self.high) / 3

    @property
    def sd(self) -> float:
        """See `Distribution`."""
        a, c, b = self.low, self.mode, self.high
        return math.sqrt((a * a + b * b + c * c - a * b - a * c - b * c) / 18)


@dataclass(frozen=True, slots=True, kw_only=True)
class TruncatedNormal:
    """A normal process whose pieces outside the limits are sorted out.

    `location` and `scale` are those of the process before sorting.
    """

    location: float
    scale: float
    low: float
    high: float

    def __post_init__(self) -> None:
        _ascending(self, low=self.low, high=self.high)
        _above_zero(self, scale=self.scale)
        if not self.low <= self.location <= self.high:
            raise InputError(
                f"location of a truncated normal distribution must lie between low "
                f"{self.low:g} and high {self.high:g}, got {self.location:g}"
            )

    def _ends(self) -> tuple[float, float]:
        return (
            (self.low - self.location) / self.scale,
            (self.high - self.location) / self.scale,
        )

    def from_uniform(self, u: ArrayLike) -> FloatArray:
        """See `Distribution`."""
        low, high = (float(p) for p in special.ndtr(self._ends()))
        z = special.ndtri(low + (high - low) * np.asarray(u, dtype=np.float64))
        return np.asarray(self.location + self.scale * z)

    def from_normal(self, z: ArrayLike) -> FloatArray:
        """See `Distribution`."""
        return self.from_uniform(np.asarray(special.ndtr(z)))

    @property
    def mean(self) -> float:
        """See `Distribution`."""
        a, b = self._ends()
        return self.location + self.scale * (_density(a) - _density(b)) / self._inside()

    @property
    def sd(self) -> float:
        """See `Distribution`."""
        a, b = self._ends()
        inside = self._inside()
        shift = (_density(a) - _density(b)) / inside
        return self.scale * math.sqrt(1 + (a * _density(a) - b * _density(b)) / inside - shift**2)

    def _inside(self) -> float:
        low, high = special.ndtr(self._ends())
        return float(high - low)


@dataclass(frozen=True, slots=True, kw_only=True)
class Beta:
    """A bell or a lopsided hump between two limits, by two shape parameters."""

    low: float
    high: float
    a: float
    b: float

    def __post_init__(self) -> None:
        _ascending(self, low=self.low, high=self.high)
        _above_zero(self, a=self.a, b=self.b)

    def from_uniform(self, u: ArrayLike) -> FloatArray:
        """See `Distribution`. Interpolated in a table, within 1/2000 of the range."""
        x, p = _beta_table(self.a, self.b)
        return np.asarray(
            self.low + (self.high - self.low) * np.interp(np.asarray(u, dtype=np.float64), p, x)
        )

    def from_normal(self, z: ArrayLike) -> FloatArray:
        """See `Distribution`."""
        fraction = special.betaincinv(self.a, self.b, special.ndtr(z))
        return np.asarray(self.low + (self.high - self.low) * fraction)

    @property
    def mean(self) -> float:
        """See `Distribution`."""
        return self.low + (self.high - self.low) * self.a / (self.a + self.b)

    @property
    def sd(self) -> float:
        """See `Distribution`."""
        total = self.a + self.b
        return (self.high - self.low) * math.sqrt(self.a * self.b / (total + 1)) / total


@cache
def _beta_table(a: float, b: float) -> tuple[FloatArray, FloatArray]:
    # The exact inverse costs a microsecond a value, ten times the rest of the simulation.
    x = np.linspace(0, 1, 2001)
    return x, np.asarray(special.betainc(a, b, x))


@dataclass(frozen=True, slots=True, kw_only=True)
class Normal:
    """The sum of many small causes. `mean` and `sd` in the unit of the input."""

    mean: float
    sd: float

    def __post_init__(self) -> None:
        _above_zero(self, sd=self.sd)

    def from_uniform(self, u: ArrayLike) -> FloatArray:
        """See `Distribution`."""
        return self.from_normal(special.ndtri(u))

    def from_normal(self, z: ArrayLike) -> FloatArray:
        """See `Distribution`."""
        return np.asarray(self.mean + self.sd * np.asarray(z, dtype=np.float64))


@dataclass(frozen=True, slots=True, kw_only=True)
class Lognormal:
    """The product of many small causes; never negative. `log_sd` is about the cov when small."""

    median: float
    log_sd: float

    def __post_init__(self) -> None:
        _above_zero(self, median=self.median, log_sd=self.log_sd)

    def from_uniform(self, u: ArrayLike) -> FloatArray:
        """See `Distribution`."""
        return self.from_normal(special.ndtri(u))

    def from_normal(self, z: ArrayLike) -> FloatArray:
        """See `Distribution`."""
        return np.asarray(self.median * np.exp(self.log_sd * np.asarray(z, dtype=np.float64)))

    @property
    def mean(self) -> float:
        """See `Distribution`."""
        return self.median * math.exp(self.log_sd**2 / 2)

    @property
    def sd(self) -> float:
        """See `Distribution`."""
        return self.mean * math.sqrt(math.expm1(self.log_sd**2))


@dataclass(frozen=True, slots=True, kw_only=True)
class Weibull:
    """The weakest link: `scale` is passed by 37 % of the pieces; from zero, two parameters."""

    scale: float
    shape: float

    def __post_init__(self) -> None:
        _above_zero(self, scale=self.scale, shape=self.shape)

    def from_uniform(self, u: ArrayLike) -> FloatArray:
        """See `Distribution`."""
        return self._at(-np.log1p(-np.asarray(u, dtype=np.float64)))

    def from_normal(self, z: ArrayLike) -> FloatArray:
        """See `Distribution`."""
        return self._at(-special.log_ndtr(-np.asarray(z, dtype=np.float64)))

    def _at(self, hazard: FloatArray) -> FloatArray:
        return np.asarray(self.scale * hazard ** (1 / self.shape))

    @property
    def mean(self) -> float:
        """See `Distribution`."""
        return self.scale * math.gamma(1 + 1 / self.shape)

    @property
    def sd(self) -> float:
        """See `Distribution`."""
        return self.mean * weibull_cov(self.shape)


def weibull_cov(shape: float) -> float:
    """Return standard deviation over mean of a Weibull distribution from zero."""
    first, second = math.lgamma(1 + 1 / shape), math.lgamma(1 + 2 / shape)
    return math.sqrt(math.expm1(second - 2 * first))


def check_fraction(**values: float) -> None:
    """Refuse a probability, coverage or confidence that does not lie between 0 and 1."""
    for name, value in values.items():
        if not 0 < value < 1:
            raise InputError(f"{name} must lie between 0 and 1 (0.95 is 95 %), got {value:g}")


def _density(z: float) -> float:
    return math.exp(-z * z / 2) / math.sqrt(2 * math.pi)


def _ascending(owner: object, *, low: float, high: float) -> None:
    if not low < high:
        raise InputError(
            f"{type(owner).__name__}: low must be below high, got {low:g} and {high:g}"
        )


def _above_zero(owner: object, **values: float) -> None:
    for name, value in values.items():
        if not value > 0 or not math.isfinite(value):
            raise InputError(f"{type(owner).__name__}: {name} must be above zero, got {value:g}")
