"""What a thin boss costs: the certified wall factor beside the published one."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import FloatArray
from ..sources import Reference
from ..strength.collapse.wall_factor import REFERENCES, wall_coefficient, wall_factor
from .records import Joint

#: Range of the table: boss and engagement over the major diameter of the hole tapped.
BOSS_RANGE = (1.2, 3.0)
ENGAGEMENT_RANGE = (0.5, 3.0)
#: The wall is said to cost strength where even the certified upper bound is this far below 1;
#: the lower bound alone lies some percent below 1 in any wall, which is its gap and no loss.
_CERTAIN_LOSS = 0.005


def certified_wall_factor(
    joint: Joint, state: str, hole_major: float, length: ArrayLike
) -> FloatArray | None:
    """Wall factor of one state by the table of certified bounds; None without a boss.

    The lower bound where the wall certainly costs strength, 1 where it does not, NaN for a boss
    below the table. An engagement outside the table takes the value at its end: a shorter one
    loses less than that; a longer one is limited by the boss wall, a mode of its own.
    """
    if joint.boss_diameter is None:
        return None
    ratio = np.minimum(joint.boss_diameter / hole_major, BOSS_RANGE[1])
    engagement = np.clip(np.asarray(length, dtype=np.float64) / hole_major, *ENGAGEMENT_RANGE)
    lower, upper = (
        wall_factor(ratio, joint.boss_support, state, engagement_over_major=engagement, bound=bound)
        for bound in ("lower", "upper")
    )
    factor: FloatArray = np.where(upper > 1 - _CERTAIN_LOSS, 1.0, lower)
    return factor


def boss_wall_factor(joint: Joint) -> float:
    """Share of flow stress times wall area that a boss wall is certain to carry."""
    return wall_coefficient(joint.boss_support)


def references(joint: Joint) -> tuple[Reference, ...]:
    """Where the wall factor comes from, if there is a boss."""
    return () if joint.boss_diameter is None else REFERENCES
