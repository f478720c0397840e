"""The hole as it was found, and what the trade does with such a hole."""

from __future__ import annotations

from ..facts import Fact, Term, Value, fact, length
from ..joint.criterion import damaged_diameter
from ..joint.records import Joint
from ..workshop.spoiled import spoiled


def found(joint: Joint) -> tuple[Fact, ...]:
    """Return the condition, the size of the damage and the usual action; of a stripped hole none.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    tuple of Fact

    Examples
    --------
    >>> from .. import case as cases
    >>> from ..case import physical
    >>> case = cases.read({"thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "1 D",
    ...     "insert_length": "1 D", "hole_condition": "cracked"})
    >>> [each.id for each in found(physical.joint(case))]
    ['hole_found']
    """
    damage = damaged_diameter(joint)
    if joint.hole_condition == "stripped" and damage is None:
        return ()
    choice = spoiled(joint.thread, joint.hole_condition, edge_distance=joint.edge_distance)
    values: dict[str, Value] = {
        "finding": Term("finding", joint.hole_condition),
        "action": choice.reason,
    }
    level = "info" if joint.hole_condition in ("stripped", "worn") else "limit"
    if damage is None:
        return (fact("hole_found", level, **values), *choice.notes)
    return (fact("hole_found_size", level, **values, damage=length(damage)), *choice.notes)
