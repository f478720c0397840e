"""The published methods against each other over a range of threads and parents."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .. import case as cases
from ..strength.methods import METHODS
from ..study.evaluation import evaluate

#: Coarse threads and parents of four kinds: wrought, cast, magnesium, grey iron.
THREADS = ("M4", "M5", "M6", "M8", "M10", "M12", "M16", "M20", "M24", "1/4-20 UNC", "1/2-13 UNC")
PARENTS = ("6061-T6", "356.0-T6-sand", "AZ91C-T6-sand", "EN-GJL-250")


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodRange:
    """Thread-stripping load of one method over that of the reference method, all joints.

    Attributes
    ----------
    title : document
    joints : how many joints the method gives a value for, of both conditions
    original, repaired : least and greatest ratio to the reference method
    change : least and greatest ratio of repaired to original
    for_wire_inserts : whether the document is about such inserts
    """

    title: str
    joints: int
    original: tuple[float, float]
    repaired: tuple[float, float]
    change: tuple[float, float]
    for_wire_inserts: bool


def ranges(parents: tuple[str, ...] = PARENTS) -> tuple[MethodRange, ...]:
    """Evaluate every thread in every parent, 1.5 diameters of insert, by every method."""
    found: dict[str, list[tuple[float, float, float]]] = {}
    for thread in THREADS:
        for parent in parents:
            case = cases.read(
                {
                    "thread": thread, "screw": "8.8", "parent": parent, "engagement": "1.5 D",
                    "insert_length": "1.5 D",
                }
            )  # fmt: skip
            original, repaired = (
                {m.method: m for m in state.modes if m.mode == "parent_thread_strip"}
                for state in evaluate(case).states.values()
            )
            before, after = (
                next(m.capacity for m in some.values() if m.primary)
                for some in (original, repaired)
            )
            for name, mode in original.items():
                other = repaired[name]
                if not mode.primary and math.isfinite(mode.capacity + other.capacity):
                    loads = mode.capacity / before, other.capacity / after
                    ratio = other.capacity / mode.capacity
                    found.setdefault(name, []).append((*loads, ratio))
    return tuple(
        MethodRange(
            title=METHODS[name.removesuffix("_unfactored")].title
            + (", without its factors" if name.endswith("_unfactored") else ""),
            joints=len(some),
            original=_ends([each[0] for each in some]),
            repaired=_ends([each[1] for each in some]),
            change=_ends([each[2] for each in some]),
            for_wire_inserts=METHODS[name.removesuffix("_unfactored")].for_wire_inserts,
        )
        for name, some in found.items()
    )


def _ends(values: list[float]) -> tuple[float, float]:
    return min(values), max(values)
