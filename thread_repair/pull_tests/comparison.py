"""Is the repaired thread stronger than the original one, and does the prediction hold."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from ..arrays import FloatArray, positive
from ..errors import InputError
from ..reliability.distributions import check_fraction
from ..sources import Reference
from .distributions import sample

REFERENCES = (
    Reference(
        source="welch-1947",
        clause="-",
        how_known="memory",
        what="difference of two means when the spreads differ",
    ),
)

#: Random permutations behind the permutation p-value.
PERMUTATIONS = 9_999


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Repaired against original test pieces.

    Attributes
    ----------
    ratio, ratio_low, ratio_high : repaired over original strength with its confidence interval
    difference, difference_low, difference_high : of the means, N
    welch_p : two-sided p-value of equal means
    permutation_p : the same without assuming a shape
    seed : of the permutations
    """

    n_original: int
    n_repaired: int
    ratio: float
    ratio_low: float
    ratio_high: float
    difference: float
    difference_low: float
    difference_high: float
    welch_p: float
    permutation_p: float
    confidence: float
    seed: int
    references: tuple[Reference, ...] = REFERENCES

    @property
    def verdict(self) -> str:
        """What the interval of the ratio shows: stronger, weaker or not decided."""
        if self.ratio_low > 1:
            return "stronger"
        return "weaker" if self.ratio_high < 1 else "not decided"

    def sentence(self) -> str:
        """Say in a sentence what was found."""
        found = {
            "stronger": "the repaired thread is the stronger one",
            "weaker": "the repaired thread is the weaker one",
            "not decided": "these pieces do not decide which is stronger",
        }[self.verdict]
        return (
            f"Repaired over original strength is {self.ratio:.3f} "
            f"({100 * self.confidence:.0f} % interval {self.ratio_low:.3f} to "
            f"{self.ratio_high:.3f}, {self.n_original} and {self.n_repaired} pieces): {found}."
        )


def compare(
    original: ArrayLike,
    repaired: ArrayLike,
    *,
    seed: int,
    confidence: float = 0.95,
) -> Comparison:
    """Compare two groups of loads that differ in nothing but the state.

    Parameters
    ----------
    original, repaired : array_like, N, two or more of each
    seed : of the permutations, printed in the report
    confidence : of the two-sided intervals

    Returns
    -------
    Comparison

    Notes
    -----
    The ratio and its interval come from the means of the logarithms with Welch's degrees of
    freedom: strip loads are products, their relative scatter is alike, and the interval cannot
    reach below zero. For scatters of a few per cent this is the ratio of the means within 0.1 %.
    The permutation test counts how often a random split of the pooled pieces gives as great a
    Welch statistic; it holds for any shape. Source of the degrees of freedom: Biometrika 34 (1947)
    28. Known from: memory.
    """
    first, second = sample(original), sample(repaired)
    check_fraction(confidence=confidence)
    if np.ptp(first) == 0 and np.ptp(second) == 0:
        raise InputError("all test pieces of each state have the same load: no interval exists")
    ratio, low, high = ratio_interval(first, second, confidence=confidence)
    difference, half, p = _welch(first, second, confidence)
    return Comparison(
        n_original=first.size,
        n_repaired=second.size,
        ratio=ratio,
        ratio_low=low,
        ratio_high=high,
        difference=difference,
        difference_low=difference - half,
        difference_high=difference + half,
        welch_p=p,
        permutation_p=_permutation_p(first, second, seed),
        confidence=confidence,
        seed=seed,
    )


def ratio_interval(
    original: ArrayLike, repaired: ArrayLike, *, confidence: float = 0.95
) -> tuple[float, float, float]:
    """Ratio of repaired to original strength with its interval (see `compare`).

    Returns
    -------
    ratio, low, high
    """
    x, y = np.log(sample(original)), np.log(sample(repaired))
    centre, half, _ = _welch(x, y, confidence)
    return math.exp(centre), math.exp(centre - half), math.exp(centre + half)


def _welch(x: FloatArray, y: FloatArray, confidence: float) -> tuple[float, float, float]:
    """Difference of the means y - x, half its interval, and its two-sided p-value."""
    a, b = x.var(ddof=1) / x.size, y.var(ddof=1) / y.size
    error = math.sqrt(a + b)
    freedom = (a + b) ** 2 / (a**2 / (x.size - 1) + b**2 / (y.size - 1))
    difference = float(y.mean() - x.mean())
    half = float(special.stdtrit(freedom, (1 + confidence) / 2)) * error
    return difference, half, float(2 * special.stdtr(freedom, -abs(difference) / error))


def _permutation_p(x: FloatArray, y: FloatArray, seed: int) -> float:
    generator = np.random.default_rng(seed)
    pooled = np.concatenate([x, y])
    # Blocks keep the memory small for large groups.
    block = max(1, min(PERMUTATIONS, 2_000_000 // pooled.size))
    observed = _statistic(pooled[None, :], x.size)[0]
    reached, left = 0, PERMUTATIONS
    while left:
        count = min(block, left)
        mixed = generator.permuted(np.broadcast_to(pooled, (count, pooled.size)), axis=1)
        reached += int(np.count_nonzero(_statistic(mixed, x.size) >= observed * (1 - 1e-12)))
        left -= count
    return (reached + 1) / (PERMUTATIONS + 1)


def _statistic(pooled: FloatArray, n: int) -> FloatArray:
    x, y = pooled[:, :n], pooled[:, n:]
    error = np.sqrt(x.var(axis=1, ddof=1) / x.shape[1] + y.var(axis=1, ddof=1) / y.shape[1])
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.abs(y.mean(axis=1) - x.mean(axis=1)) / error)


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """Tested over predicted load of one method.

    `ratio` is the geometric mean with its confidence interval (NaN for a single piece); `cov` the
    scatter of the single ratios.
    """

    method: str
    n: int
    ratio: float
    low: float
    high: float
    cov: float
    least: float
    greatest: float
    confidence: float

    @property
    def verdict(self) -> str:
        """Whether the method predicts less, more or what was tested, as far as shown."""
        if self.low > 1:
            return "safe side"
        if self.high < 1:
            return "unsafe side"
        return "agrees" if math.isfinite(self.low) else "not decided"

    def sentence(self) -> str:
        """Say in a sentence how the method fares."""
        text = f"{self.method}: test over prediction {self.ratio:.2f}"
        if math.isfinite(self.low):
            text += f" ({100 * self.confidence:.0f} % interval {self.low:.2f} to {self.high:.2f})"
        lowest = f", lowest piece {self.least:.2f}"
        said = {
            "safe side": "; the method predicts less than was tested",
            "unsafe side": "; the method predicts MORE than was tested",
            "agrees": "; no difference is shown",
            "not decided": "; one piece shows no scatter",
        }[self.verdict]
        return f"{text}{lowest}{said}."


def test_over_prediction(
    loads: ArrayLike,
    predictions: Mapping[str, ArrayLike],
    *,
    confidence: float = 0.95,
) -> tuple[Agreement, ...]:
    """Compare tested loads with the prediction of each method.

    Parameters
    ----------
    loads : array_like, N
    predictions : by method name, N, one number or one for each piece
        Predict with the measured sizes and strength of the pieces where they are known: with
        minimum values the ratio holds their reserve as well as the method's.
    confidence : of the two-sided interval of the mean ratio

    Returns
    -------
    tuple of Agreement, in the order of `predictions`
    """
    tested = sample(loads, least=1)
    check_fraction(confidence=confidence)
    found = []
    for method, predicted in predictions.items():
        expected = positive(**{f"prediction by {method}": predicted})[0]
        if np.any(np.isnan(expected)) or expected.shape not in ((), tested.shape):
            raise InputError(
                f"{method} must predict one load, or one for each of the {tested.size} pieces"
            )
        ratio = tested / expected
        logs = np.log(ratio)
        half, cov = math.nan, math.nan
        if tested.size > 1:
            quantile = float(special.stdtrit(tested.size - 1, (1 + confidence) / 2))
            half = quantile * float(logs.std(ddof=1)) / math.sqrt(tested.size)
            cov = float(ratio.std(ddof=1) / ratio.mean())
        centre = float(logs.mean())
        found.append(
            Agreement(
                method=method,
                n=tested.size,
                ratio=math.exp(centre),
                low=math.exp(centre - half),
                high=math.exp(centre + half),
                cov=cov,
                least=float(ratio.min()),
                greatest=float(ratio.max()),
                confidence=confidence,
            )
        )
    return tuple(found)


# pytest takes any name that begins like this for a test where it is imported.
test_over_prediction.__test__ = False  # type: ignore[attr-defined]
