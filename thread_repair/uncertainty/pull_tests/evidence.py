"""All that the test pieces show, group by group, in the order a report tells it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from ...arrays import fraction
from ...errors import InputError
from ...facts import Fact, Value, fact, force, number, share
from ...strength.strip import STATES
from .comparison import Agreement, Comparison, compare, test_over_prediction
from .distributions import Fit, Scatter, fits, scatter
from .planning import cannot_show
from .records import Group, PullTests
from .tolerance import CLAIMS, Bound, bounds

#: Chance of naming a piece where all are of one normal population.
SIGNIFICANCE = 0.05


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


def farthest(group: Group) -> Outlier | None:
    """Test the piece farthest from the mean; None for fewer than three, or loads all alike.

    Parameters
    ----------
    group : Group

    Returns
    -------
    Outlier or None
    """
    n = len(group.load)
    if n < 3 or np.ptp(group.load) == 0:
        return None
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
    note: str

    def cautions(self) -> tuple[Fact, ...]:
        """Return what the record cannot show, once each."""
        found = [c for group in self.groups for c in group.cautions]
        found += [] if self.not_compared is None else [self.not_compared]
        return tuple(each for at, each in enumerate(found) if each not in found[:at])


def evidence(
    tests: PullTests,
    *,
    seed: int,
    predictions: Mapping[str, Mapping[str, ArrayLike]] = MappingProxyType({}),
    confidence: float = 0.95,
) -> Evidence:
    """Evaluate a record of pull tests.

    Parameters
    ----------
    tests : PullTests
    seed : of the permutation test, printed in the report
    predictions : by state, then by method: predicted load, N
        For records with one group of a state.
    confidence : of the intervals

    Returns
    -------
    Evidence
    """
    groups = tests.groups()
    found = tuple(
        _group_evidence(group, predictions.get(group.state, {}), confidence) for group in groups
    )
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
        elif np.ptp(before) == 0 and np.ptp(after) == 0:
            why = "alike"
        else:
            comparison = compare(before, after, seed=seed, confidence=confidence)
    return Evidence(
        groups=found,
        comparison=comparison,
        not_compared=fact(f"not_compared_{why}", "caution") if why else None,
        note=tests.note,
    )


def _group_evidence(
    group: Group, predictions: Mapping[str, ArrayLike], confidence: float
) -> GroupEvidence:
    n = len(group.load)
    scatters = n >= 2 and np.ptp(group.load) > 0
    caution = group.caution()
    outlier = farthest(group)
    said = [caution] if caution else []
    if outlier is not None and outlier.found:
        said.append(outlier.fact(**group.values))
    return GroupEvidence(
        group=group,
        scatter=scatter(group.load, confidence=confidence) if n >= 2 else None,
        fits=fits(group.load) if scatters and n >= 3 else (),
        bounds=tuple(
            bound
            for coverage, sure in CLAIMS.values()
            for bound in bounds(group.load, coverage=coverage, confidence=sure)
        )
        if scatters
        else (),
        agreement=test_over_prediction(group.load, predictions, confidence=confidence),
        cautions=(*said, *cannot_show(n)),
        outlier=outlier,
    )
