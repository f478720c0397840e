"""All that the test pieces show, group by group, in the order a report tells it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from ..errors import InputError
from .comparison import Agreement, Comparison, compare, test_over_prediction
from .distributions import Fit, Scatter, fits, scatter
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
    cautions: tuple[str, ...]

    def bound(self, claim: str, method: str = "normal") -> Bound:
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
    not_compared: str
    note: str

    def cautions(self) -> tuple[str, ...]:
        """Return what the record cannot show, once each."""
        found = [c for group in self.groups for c in group.cautions]
        return tuple(dict.fromkeys([*found, self.not_compared] if self.not_compared else found))

    def sentences(self) -> tuple[str, ...]:
        """Return the three sentences of a report: bounds, comparison, prediction."""
        said = []
        for group in self.groups:
            if not group.bounds:
                continue
            low, scatter = group.bound("99/95"), group.scatter
            assert scatter is not None  # a bound takes more pieces than a scatter
            said.append(
                f"{group.group.name}: {low.n} pieces, mean {scatter.mean / 1000:.2f} kN, "
                f"scatter {100 * scatter.cov:.1f} %, 99/95 bound {low.value / 1000:.2f} kN "
                "(normal)."
            )
        if self.comparison:
            said.append(self.comparison.sentence())
        said.extend(f"{g.group.name}, {a.sentence()}" for g in self.groups for a in g.agreement)
        return tuple(said)

    def bound_columns(self) -> dict[str, object]:
        """Tidy columns of every bound."""
        rows = [(g.group, b) for g in self.groups for b in g.bounds]
        return {
            "state": np.array([group.state for group, _ in rows]),
            "size": np.array([group.size for group, _ in rows]),
            "engagement_mm": np.array([group.engagement for group, _ in rows]),
            "claim": np.array([bound.claim for _, bound in rows]),
            "method": np.array([bound.method for _, bound in rows]),
            "n": np.array([bound.n for _, bound in rows]),
            "factor": np.array([bound.factor for _, bound in rows]),
            "bound_N": np.array([bound.value for _, bound in rows]),
            "note": np.array([bound.note for _, bound in rows]),
        }


def evidence(
    tests: PullTests,
    *,
    seed: int,
    predictions: Mapping[str, Mapping[str, ArrayLike]] = MappingProxyType({}),
    confidence: float = 0.95,
    system: str = "SI",
) -> Evidence:
    """Evaluate a record of pull tests.

    Parameters
    ----------
    tests : PullTests
    seed : of the permutation test, printed in the report
    predictions : by state, then by method: predicted load, N
        For records with one group of a state.
    confidence : of the intervals
    system : of the cautions, "SI", "inch" or "both"

    Returns
    -------
    Evidence
    """
    groups = tests.groups()
    found = tuple(
        _group_evidence(group, predictions.get(group.state, {}), confidence, system)
        for group in groups
    )
    comparison, why = None, ""
    by_state = {
        state: [g for g in groups if g.state == state] for state in ("original", "repaired")
    }
    if any(len(of_state) != 1 for of_state in by_state.values()):
        why = "The states are not compared: that takes one size and engagement of each."
    else:
        original, repaired = by_state["original"][0], by_state["repaired"][0]
        if original.size != repaired.size:
            why = "The states are not compared: the sizes differ."
        elif min(len(original.load), len(repaired.load)) < 2:
            why = "The states are not compared: that takes two pieces of each or more."
        elif np.ptp(original.load) == 0 and np.ptp(repaired.load) == 0:
            why = "The states are not compared: the loads do not scatter at all."
        else:
            comparison = compare(original.load, repaired.load, seed=seed, confidence=confidence)
    return Evidence(groups=found, comparison=comparison, not_compared=why, note=tests.note)


def _group_evidence(
    group: Group, predictions: Mapping[str, ArrayLike], confidence: float, system: str
) -> GroupEvidence:
    n = len(group.load)
    enough = n >= 3 and np.ptp(group.load) > 0
    caution = group.caution(system=system)
    return GroupEvidence(
        group=group,
        scatter=scatter(group.load, confidence=confidence) if n >= 2 else None,
        fits=fits(group.load) if enough else (),
        bounds=tuple(
            bound
            for coverage, sure in CLAIMS.values()
            for bound in bounds(group.load, coverage=coverage, confidence=sure)
        )
        if enough
        else (),
        agreement=test_over_prediction(group.load, predictions, confidence=confidence),
        cautions=((caution,) if caution else ()) + cannot_show(n),
    )


def load_columns(tests: PullTests) -> dict[str, object]:
    """Tidy columns of the pieces, for a strip chart by state."""
    return {
        "piece": tests.piece,
        "state": tests.state,
        "size": tests.size,
        "engagement_mm": tests.engagement,
        "load_N": tests.load,
        "mode": tests.mode,
    }
