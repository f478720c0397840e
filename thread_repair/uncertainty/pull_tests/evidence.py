"""All that the test pieces show, group by group, in the order a report tells it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from ...errors import InputError
from ...facts import Fact, fact
from .comparison import Agreement, Comparison, compare, test_over_prediction
from .distributions import Fit, Scatter, fits, scatter
from .outliers import Outlier, farthest
from .planning import cannot_show
from .records import Group, PullTests
from .tolerance import CLAIMS, Bound, bounds


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

    def bound(self, claim: str, method: str) -> Bound:
        """Return one bound, such as "99/95" by the normal method.

        Raises
        ------
        InputError
            If the group has too few pieces for it.
        """
        for found in self.bounds:
            if (found.claim, found.method) == (claim, method):
                return found
        raise InputError(
            f"{self.group.name}: no {claim} bound by {method!r} from {len(self.group.load)} pieces"
        )


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
    by_state = {
        state: [g for g in groups if g.state == state] for state in ("original", "repaired")
    }
    if any(len(of_state) != 1 for of_state in by_state.values()):
        why = "groups"
    else:
        original, repaired = by_state["original"][0], by_state["repaired"][0]
        if original.size != repaired.size:
            why = "sizes"
        elif min(len(original.load), len(repaired.load)) < 2:
            why = "few"
        elif np.ptp(original.load) == 0 and np.ptp(repaired.load) == 0:
            why = "alike"
        else:
            comparison = compare(original.load, repaired.load, seed=seed, confidence=confidence)
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
