"""How far the published methods agree, and what is open before a report can be final."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from ..facts import Fact, count, fact, force, number
from ..joint.criterion import unconfirmed
from ..joint.margins import Margin
from ..joint.records import Evaluation
from ..strength.methods import METHODS
from ..tightening import Preloads


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodLoad:
    """Strip load of the parent's thread by one published method, N.

    `margin` of a condition is against the greatest ultimate demand on it; NaN without a load.
    `comparable` is False where the document is not about wire thread inserts, or has no value.
    """

    method: str
    title: str
    original: float
    repaired: float
    original_margin: float
    repaired_margin: float
    comparable: bool

    @property
    def ratio(self) -> float:
        """Repaired over original."""
        return self.repaired / self.original


def method_loads(evaluation: Evaluation, margins: Iterable[Margin]) -> tuple[MethodLoad, ...]:
    """Return the strip load by every published method, with its margin at the greatest load.

    Parameters
    ----------
    evaluation : Evaluation
    margins : iterable of Margin

    Returns
    -------
    tuple of MethodLoad
    """
    demand = {state: 0.0 for state in evaluation.states}
    for each in margins:
        if each.against == "ultimate":
            demand[each.state] = max(demand[each.state], each.demand)
    loads = {
        name: {
            mode.method.removesuffix("_unfactored"): mode.capacity
            for mode in state.modes
            if mode.mode == "parent_thread_strip" and not mode.primary
        }
        for name, state in evaluation.states.items()
    }
    return tuple(
        MethodLoad(
            method=method.id,
            title=method.title,
            original=before,
            repaired=after,
            original_margin=_margin(before, demand["original"]),
            repaired_margin=_margin(after, demand["repaired"]),
            comparable=method.for_wire_inserts and math.isfinite(before) and math.isfinite(after),
        )
        for method in METHODS.values()
        for before, after in (
            (
                loads["original"].get(method.id, math.nan),
                loads["repaired"].get(method.id, math.nan),
            ),
        )
    )


def _margin(load: float, demand: float) -> float:
    return load / demand - 1 if demand > 0 else math.nan


def confidence(found: tuple[MethodLoad, ...]) -> tuple[Fact, ...]:
    """Return how far the methods agree, and what the lowest of them leaves.

    Parameters
    ----------
    found : tuple of MethodLoad

    Returns
    -------
    tuple of Fact
    """
    known = [each for each in found if each.comparable]
    ratios = [each.ratio for each in known]
    lowest = min(known, key=lambda each: each.repaired)
    said = [
        fact(
            "method_ratios",
            "info",
            methods=count(len(known)),
            lowest=number(min(ratios)),
            highest=number(max(ratios)),
        )
    ]
    if math.isnan(lowest.repaired_margin):
        said.append(
            fact("lowest_method", "info", method=lowest.title, repaired=force(lowest.repaired))
        )
    else:
        said.append(
            fact(
                "lowest_method_margin",
                "info",
                method=lowest.title,
                repaired=force(lowest.repaired),
                margin=number(lowest.repaired_margin),
                original_margin=number(lowest.original_margin),
            )
        )
    return tuple(said)


def open_points(evaluation: Evaluation, preloads: Preloads | None) -> tuple[Fact, ...]:
    """Return what has to be settled before the report is issued as final.

    Parameters
    ----------
    evaluation : Evaluation
    preloads : Preloads, optional

    Returns
    -------
    tuple of Fact
    """
    return tuple(_open(evaluation, preloads))


def _open(evaluation: Evaluation, preloads: Preloads | None) -> Iterator[Fact]:
    waiting = unconfirmed(evaluation)
    if waiting:
        many = "several" if len(waiting) > 1 else "one"
        yield fact(f"open_values_{many}", "caution", values=count(len(waiting)))
    if preloads is not None:
        yield from (each for each in preloads.facts if each.id == "open_insert_friction")
    yield fact("open_insert_hole_limits", "caution")
