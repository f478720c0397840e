"""Is the repaired thread stronger than the original one, and does the prediction hold."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from ...arrays import FloatArray, fraction, positive
from ...errors import InputError
from ...facts import Fact, Value, count, fact, number, share
from .distributions import sample

#: Random permutations behind the permutation p-value.
PERMUTATIONS = 9_999


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Repaired against original test pieces.

    Attributes
    ----------
    ratio, ratio_low, ratio_high : repaired over original strength with its confidence interval
    difference, difference_low, difference_high : of the means, N
    welch_p : two-sided p-value of a ratio of 1, of the same test as the interval of the ratio
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

    @property
    def verdict(self) -> str:
        """What the interval of the ratio shows: stronger, weaker or not decided."""
        if self.ratio_low > 1:
            return "stronger"
        return "weaker" if self.ratio_high < 1 else "not decided"

    @property
    def contradicted(self) -> bool:
        """Whether the test that assumes no shape decides otherwise than the interval."""
        return (self.permutation_p < 1 - self.confidence) == (self.verdict == "not decided")

    def fact(self) -> Fact:
        """What was found."""
        return fact(
            f"comparison_{self.verdict.replace(' ', '_')}",
            "info",
            ratio=number(self.ratio),
            low=number(self.ratio_low),
            high=number(self.ratio_high),
            confidence=share(self.confidence),
            originals=count(self.n_original),
            repaired=count(self.n_repaired),
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

    Raises
    ------
    InputError
        If all test pieces of each state have the same load.

    Notes
    -----
    The ratio, its interval and `welch_p` are one test, of the means of the logarithms with Welch's
    degrees of freedom: the interval leaves out 1 where the p-value lies below 1 - confidence. Strip
    loads are products, their relative scatter is alike, and the interval cannot reach below zero.
    For scatters of a few per cent this is the ratio of the means within 0.1 %. The permutation test
    counts how often a split of the pooled pieces gives as great a Welch statistic; it holds for any
    shape. Source of the degrees of freedom: Biometrika 34 (1947) 28. Known from: memory.
    """
    from scipy import stats  # half a second, for a case with test pieces only

    first, second = sample(original), sample(repaired)
    fraction(confidence=confidence)
    if np.ptp(first) == 0 and np.ptp(second) == 0:
        raise InputError("all test pieces of each state have the same load: no interval exists")

    def statistic(x: FloatArray, y: FloatArray, axis: int) -> FloatArray:
        apart = y.mean(axis=axis) - x.mean(axis=axis)
        error = x.var(axis=axis, ddof=1) / x.shape[axis] + y.var(axis=axis, ddof=1) / y.shape[axis]
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.asarray(np.abs(apart) / np.sqrt(error))

    logs = np.log(first), np.log(second)
    by_ratio = stats.ttest_ind(*logs[::-1], equal_var=False)
    by_difference = stats.ttest_ind(second, first, equal_var=False)
    permuted = stats.permutation_test(
        logs,
        statistic,
        vectorized=True,
        alternative="greater",
        n_resamples=PERMUTATIONS,
        batch=max(1, 2_000_000 // (first.size + second.size)),  # keeps the memory small
        rng=seed,
    )
    ratio_ends = by_ratio.confidence_interval(confidence)
    ends = by_difference.confidence_interval(confidence)
    return Comparison(
        n_original=first.size,
        n_repaired=second.size,
        ratio=math.exp(logs[1].mean() - logs[0].mean()),
        ratio_low=math.exp(ratio_ends.low),
        ratio_high=math.exp(ratio_ends.high),
        difference=float(second.mean() - first.mean()),
        difference_low=float(ends.low),
        difference_high=float(ends.high),
        welch_p=float(by_ratio.pvalue),
        permutation_p=float(permuted.pvalue),
        confidence=confidence,
        seed=seed,
    )


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

    def values(self) -> dict[str, Value]:
        """What a fact about it names."""
        return {
            "ratio": number(self.ratio),
            "low": number(self.low),
            "high": number(self.high),
            "least": number(self.least),
            "confidence": share(self.confidence),
        }


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

    Raises
    ------
    InputError
        If a method predicts neither one load nor one for each piece.
    """
    tested = sample(loads, least=1)
    fraction(confidence=confidence)
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
