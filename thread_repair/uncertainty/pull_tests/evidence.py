"""All that the test pieces show, in the order a report tells it.

Group by group: scatter, outliers, bounds, tested over predicted load; then whether the repaired
thread is stronger than the original one.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from ...arrays import FloatArray, fraction, positive
from ...errors import InputError
from ...facts import Fact, Value, count, fact, force, number, share
from ...strength.strip import STATES
from ..intervals import CONFIDENCE, mean_interval
from .distributions import Fit, Scatter, fits, sample, scatter
from .planning import cannot_show
from .records import Group, PullTests
from .tolerance import CLAIMS, Bound, bounds

#: Chance of naming a piece where all are of one normal population.
SIGNIFICANCE = 0.05
#: Random permutations behind the permutation p-value.
PERMUTATIONS = 9_999


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Repaired against original test pieces.

    Attributes
    ----------
    ratio, ratio_low, ratio_high : repaired over original strength with its confidence interval
    welch_p : two-sided p-value of a ratio of 1, of the same test as the interval of the ratio
    permutation_p : the same without assuming a shape
    seed : of the permutations
    """

    n_original: int
    n_repaired: int
    ratio: float
    ratio_low: float
    ratio_high: float
    welch_p: float
    permutation_p: float
    confidence: float = CONFIDENCE
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
            ratio=number(self.ratio),
            low=number(self.ratio_low),
            high=number(self.ratio_high),
            confidence=share(self.confidence),
            originals=count(self.n_original),
            repaired=count(self.n_repaired),
        )


def compare(original: ArrayLike, repaired: ArrayLike, *, seed: int) -> Comparison:
    """Compare two groups of loads that differ in nothing but the state.

    Parameters
    ----------
    original, repaired : array_like, N, two or more of each
    seed : of the permutations, printed in the report

    Returns
    -------
    Comparison

    Raises
    ------
    InputError
        If all test pieces of a state have the same load.

    Notes
    -----
    The ratio, its interval and `welch_p` are one test, of the means of the logarithms with Welch's
    degrees of freedom: the interval leaves out 1 where the p-value lies below 5 %. Strip
    loads are products, their relative scatter is alike, and the interval cannot reach below zero.
    For scatters of a few per cent this is the ratio of the means within 0.1 %. The permutation test
    counts how often a split of the pooled pieces gives as great a Welch statistic; it holds for any
    shape. Source of the degrees of freedom: Biometrika 34 (1947) 28. Known from: memory.
    """
    from scipy import stats  # half a second, for a case with test pieces only

    first, second = sample(original, apart=True), sample(repaired, apart=True)

    def statistic(x: FloatArray, y: FloatArray, axis: int) -> FloatArray:
        apart = y.mean(axis=axis) - x.mean(axis=axis)
        error = x.var(axis=axis, ddof=1) / x.shape[axis] + y.var(axis=axis, ddof=1) / y.shape[axis]
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.asarray(np.abs(apart) / np.sqrt(error))

    logs = np.log(first), np.log(second)
    by_ratio = stats.ttest_ind(*logs[::-1], equal_var=False)
    permuted = stats.permutation_test(
        logs,
        statistic,
        vectorized=True,
        alternative="greater",
        n_resamples=PERMUTATIONS,
        batch=max(1, 2_000_000 // (first.size + second.size)),  # keeps the memory small
        rng=seed,
    )
    ratio_ends = by_ratio.confidence_interval(CONFIDENCE)
    return Comparison(
        n_original=first.size,
        n_repaired=second.size,
        ratio=math.exp(logs[1].mean() - logs[0].mean()),
        ratio_low=math.exp(ratio_ends.low),
        ratio_high=math.exp(ratio_ends.high),
        welch_p=float(by_ratio.pvalue),
        permutation_p=float(permuted.pvalue),
        seed=seed,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """Tested over predicted load of one method.

    `ratio` is the geometric mean with its confidence interval (NaN for a single piece, or ratios
    all alike); `cov` the scatter of the single ratios.
    """

    method: str
    n: int
    ratio: float
    low: float
    high: float
    cov: float
    least: float
    greatest: float
    confidence: float = CONFIDENCE

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


def over_prediction(
    loads: ArrayLike, predictions: Mapping[str, ArrayLike]
) -> tuple[Agreement, ...]:
    """Compare tested loads with the prediction of each method.

    Parameters
    ----------
    loads : array_like, N
    predictions : by method name, N, one number or one for each piece
        Predict with the measured sizes and strength of the pieces where they are known: with
        minimum values the ratio holds their reserve as well as the method's.

    Returns
    -------
    tuple of Agreement, in the order of `predictions`

    Raises
    ------
    InputError
        If a method predicts neither one load nor one for each piece.
    """
    tested = sample(loads, least=1)
    n, found = tested.size, []
    for method, predicted in predictions.items():
        expected = positive(**{f"prediction by {method}": predicted})[0]
        if np.any(np.isnan(expected)) or expected.shape not in ((), tested.shape):
            raise InputError(f"{method} must predict one load, or one for each of the {n} pieces")
        ratio = tested / expected
        logs, low, high, cov = np.log(ratio), math.nan, math.nan, math.nan
        if np.ptp(ratio) > 0:
            _, low, high = map(math.exp, mean_interval(logs))
            cov = float(ratio.std(ddof=1) / ratio.mean())
        found.append(
            Agreement(
                method=method,
                n=n,
                ratio=math.exp(logs.mean()),
                low=low,
                high=high,
                cov=cov,
                least=float(ratio.min()),
                greatest=float(ratio.max()),
            )
        )
    return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlier:
    """The piece farthest from the mean of its like, and the distance that chance explains.

    `distance` and `critical` are in standard deviations; `load` is in N.
    """

    piece: str
    load: float
    distance: float
    critical: float
    n: int

    @property
    def found(self) -> bool:
        """Whether the piece lies beyond what chance explains."""
        return self.distance > self.critical

    def fact(self, **of: Value) -> Fact:
        """What the test says of the specimen."""
        return fact(
            "outlier" if self.found else "no_outlier",
            "limit" if self.found else "info",
            specimen=self.piece,
            load=force(self.load),
            distance=number(self.distance),
            critical=number(self.critical),
            significance=share(SIGNIFICANCE),
            **of,
        )


def critical_distance(n: int, *, significance: float = SIGNIFICANCE) -> float:
    """Greatest distance from the mean that chance explains, in standard deviations.

    Parameters
    ----------
    n : pieces, three or more
    significance : of the test on both sides

    Returns
    -------
    float

    Raises
    ------
    InputError
        If there are fewer than three pieces.

    Notes
    -----
    (n - 1) / sqrt(n) sqrt(t2 / (n - 2 + t2)) with the t quantile of n - 2 degrees of freedom at
    significance / (2 n). Source: ASTM E178. Known from: memory.

    Examples
    --------
    >>> print(f"{critical_distance(10):.3f}")
    2.290
    """
    fraction(significance=significance)
    if n < 3:
        raise InputError(f"a test for outliers needs three pieces or more, got {n}")
    t2 = float(special.stdtrit(n - 2, significance / (2 * n))) ** 2
    return (n - 1) / math.sqrt(n) * math.sqrt(t2 / (n - 2 + t2))


def farthest(group: Group) -> Outlier:
    """Test the piece farthest from the mean.

    Parameters
    ----------
    group : three pieces or more, whose loads are not all alike

    Returns
    -------
    Outlier
    """
    n = len(group.load)
    distance = np.abs(group.load - group.load.mean()) / group.load.std(ddof=1)
    index = int(np.argmax(distance))
    return Outlier(
        piece=group.piece[index],
        load=float(group.load[index]),
        distance=float(distance[index]),
        critical=critical_distance(n),
        n=n,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupEvidence:
    """What one group of like pieces shows. Empty where it has too few pieces."""

    group: Group
    scatter: Scatter | None
    fits: tuple[Fit, ...]
    bounds: tuple[Bound, ...]
    agreement: tuple[Agreement, ...]
    cautions: tuple[Fact, ...]
    outlier: Outlier | None

    @property
    def useful(self) -> Mapping[str, float]:
        """The tolerance bounds that count and are above zero, N, by claim."""
        found = {claim: self.governing(claim) for claim in CLAIMS}
        return {claim: each.useful for claim, each in found.items() if each and each.useful > 0}

    def governing(self, claim: str) -> Bound | None:
        """Return the bound that counts: the least by a shape that the pieces do not contradict.

        The pieces cannot tell such shapes apart, so that the least holds whichever is right. Where
        every shape is contradicted, or too few pieces can contradict one, it is the bound by order
        statistics. None where the group has no bound; a value of NaN says that the pieces show
        nothing.
        """
        sound = {fit.shape for fit in self.fits if not fit.rejected}
        of_claim = [bound for bound in self.bounds if bound.claim == claim]
        chosen = [bound for bound in of_claim if bound.method in sound] or of_claim[-1:]
        return min(chosen, key=lambda bound: np.nan_to_num(bound.value, nan=-1.0), default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What a record of pull tests shows.

    `comparison` is None where the states are not comparable; `not_compared` then says why.
    """

    groups: tuple[GroupEvidence, ...]
    comparison: Comparison | None
    not_compared: Fact | None

    def cautions(self) -> tuple[Fact, ...]:
        """Return what the record cannot show, once each."""
        found = [c for group in self.groups for c in group.cautions]
        found += [] if self.not_compared is None else [self.not_compared]
        return tuple(each for at, each in enumerate(found) if each not in found[:at])


def evidence(
    tests: PullTests,
    *,
    seed: int,
    predictions: Mapping[tuple[str, str, float], Mapping[str, ArrayLike]] = MappingProxyType({}),
) -> Evidence:
    """Evaluate a record of pull tests.

    Parameters
    ----------
    tests : PullTests
    seed : of the permutation test, printed in the report
    predictions : by `Group.key`, then by method: predicted load, N

    Returns
    -------
    Evidence
    """
    groups = tests.groups()
    found = tuple(_group_evidence(group, predictions.get(group.key, {})) for group in groups)
    comparison, why = None, ""
    originals, repairs = ([g for g in groups if g.state == state] for state in STATES)
    if len(originals) != 1 or len(repairs) != 1:
        why = "groups"
    elif originals[0].size != repairs[0].size:
        why = "sizes"
    else:
        before, after = originals[0].load, repairs[0].load
        if min(len(before), len(after)) < 2:
            why = "few"
        elif np.ptp(before) == 0 or np.ptp(after) == 0:
            why = "alike"
        else:
            comparison = compare(before, after, seed=seed)
            # A screw that breaks says "at least": that makes no thread the weaker one.
            weaker = {"stronger": originals, "weaker": repairs}.get(comparison.verdict, [])
            if any("screw_tension" in group.modes for group in weaker):
                comparison, why = None, "screws"
    return Evidence(
        groups=found,
        comparison=comparison,
        not_compared=fact(f"not_compared_{why}", "caution") if why else None,
    )


def _group_evidence(group: Group, predictions: Mapping[str, ArrayLike]) -> GroupEvidence:
    n = len(group.load)
    scatters = n >= 2 and np.ptp(group.load) > 0
    caution = group.caution()
    outlier = farthest(group) if scatters and n >= 3 else None
    said = [caution] if caution else []
    if n >= 2 and not scatters:
        said.append(fact("loads_alike", "caution", specimens=count(n), **group.values))
    if outlier is not None and outlier.found:
        said.append(outlier.fact(**group.values))
    return GroupEvidence(
        group=group,
        scatter=scatter(group.load) if scatters else None,
        fits=fits(group.load) if scatters and n >= 3 else (),
        bounds=tuple(
            bound
            for coverage, sure in CLAIMS.values()
            for bound in bounds(group.load, coverage=coverage, confidence=sure)
        )
        if scatters
        else (),
        agreement=over_prediction(group.load, predictions),
        cautions=(*said, *cannot_show(n)),
        outlier=outlier,
    )
