"""What a thin boss costs: the certified wall factor beside the published one."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import FloatArray
from ..sources import Reference
from ..strength.collapse.wall_factor import REFERENCES, wall_coefficient, wall_factor
from .records import Joint

#: Range of the table: boss and engagement over the major diameter of the hole tapped.
BOSS_RANGE = (1.2, 3.0)
ENGAGEMENT_RANGE = (0.5, 3.0)
#: Engagements the load is followed over, fine beside the rows of the table.
_ENGAGEMENTS = np.linspace(*ENGAGEMENT_RANGE, 251)
_ENGAGEMENTS.flags.writeable = False
#: The wall is said to cost strength where even the certified upper bound is this far below 1;
#: the lower bound alone lies a few per cent below 1 in any wall, which is its gap and no loss.
_CERTAIN_LOSS = 0.005


def certified_wall_factor(
    joint: Joint, state: str, hole_major: float, length: ArrayLike
) -> FloatArray | None:
    """Wall factor of one state by the table of certified bounds; None without a boss.

    The lower bound where the wall certainly costs strength, 1 where it does not, NaN for a boss
    below the table. A longer thread holds at least what a shorter one does, since its further
    threads may carry nothing; so the load never falls with the engagement. A thread shorter than
    the table loses less than its first value says; one longer than it is given no more load.
    """
    if joint.boss_diameter is None:
        return None
    ratio = min(joint.boss_diameter / hole_major, BOSS_RANGE[1])
    lower, upper = (
        wall_factor(
            ratio, joint.boss_support, state, engagement_over_major=_ENGAGEMENTS, bound=bound
        )
        for bound in ("lower", "upper")
    )
    kept = np.where(upper > 1 - _CERTAIN_LOSS, 1.0, lower)
    load = np.maximum.accumulate(kept * _ENGAGEMENTS)
    engagement = np.asarray(length, dtype=np.float64) / hole_major
    within = np.maximum(engagement, ENGAGEMENT_RANGE[0])  # np.interp holds the last load beyond
    factor: FloatArray = np.interp(within, _ENGAGEMENTS, load) / within
    return factor


def flow_stress(tensile: float, yield_: float) -> float:
    """Stress at which a boss wall gives way, MPa: between yield and rupture; no rule is known.

    The mean of yield and tensile strength; the tensile strength where the yield is not known
    (NaN), which flatters the wall.
    """
    return tensile if math.isnan(yield_) else (tensile + yield_) / 2


def boss_wall_factor(joint: Joint) -> float:
    """Share of flow stress times wall area that a boss wall is certain to carry."""
    return wall_coefficient(joint.boss_support)


def references(joint: Joint) -> tuple[Reference, ...]:
    """Where the wall factor comes from, if there is a boss."""
    return () if joint.boss_diameter is None else REFERENCES
