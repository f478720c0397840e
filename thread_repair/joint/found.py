"""The hole as it was found: what of it a new hole has to remove, and whether it does."""

from __future__ import annotations

from collections.abc import Iterator

from .. import inserts
from ..facts import length
from .criterion import Criterion
from .records import Joint

#: Conditions in which the hole of the insert itself is damaged.
SPOILED = ("insert-pulled-out", "oversize")
#: Lengths that agree to a nanometre are the same.
_ROUNDING = 1e-6


def damaged_diameter(joint: Joint) -> float | None:
    """Return the diameter at which metal is missing, mm: as measured, or by the condition.

    An insert that pulled out took the thread of its hole with it, to the basic major diameter. A
    thread of the screw's own size is removed by every hole for its insert: None.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    float, mm or None
    """
    if joint.damaged_diameter is None and joint.hole_condition == "insert-pulled-out":
        return inserts.enlarged_diameters(joint.thread).major
    return joint.damaged_diameter


def found_criteria(joint: Joint, minor_max: float) -> Iterator[Criterion]:
    """Whether a new thread finds sound metal: it does where its hole, drilled out, removes all.

    Parameters
    ----------
    joint : Joint
        With the hole as found.
    minor_max : float, mm
        Greatest minor diameter of the hole that is to be tapped.

    Yields
    ------
    Criterion
    """
    if joint.hole_condition == "cracked":
        yield Criterion(id="no_crack", met=False)
    damage = damaged_diameter(joint)
    if damage is not None:
        yield Criterion(
            id="hole_as_found",
            required=length(minor_max),
            repaired=length(damage),
            met=damage <= minor_max + _ROUNDING,
        )
