"""One state of a joint as the strength functions take it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from .. import tables, threads
from ..arrays import plain
from ..materials import Screw
from ..strength.areas import tan_half_angle
from ..strength.strip import StripInputs
from ..threads.profile import Thread
from .records import Joint
from .sizes import sizes
from .wall import boss_wall_factor, certified_wall_factor


def stress_area(joint: Joint) -> float:
    """Tensile stress area of the screw, mm2; of strong inch screws by the stricter formula.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    float, mm2
    """
    return screw_stress_area(joint.thread, joint.screw, joint.screw_class)


def screw_stress_area(thread: Thread, screw: Screw, screw_class: str) -> float:
    """Return the same of a screw that is in no joint.

    Parameters
    ----------
    thread : Thread
    screw : Screw
    screw_class : str
        Such as "6g", "2A" or "medium".

    Returns
    -------
    float, mm2
    """
    strong = screw.tensile_min > tables.constant("high_strength_screw").value
    return threads.stress_area(
        thread,
        high_strength=strong and thread.system == "unified",
        screw_class=screw_class,
    )


def mode_inputs(
    joint: Joint,
    state: str,
    length: ArrayLike,
    *,
    position: str | None = None,
    parent_shear: ArrayLike | None = None,
    parent_tensile: ArrayLike | None = None,
    flow_stress: ArrayLike | None = None,
) -> StripInputs:
    """Return one state, or an array of them over lengths and parents.

    Parameters
    ----------
    joint : Joint
    state : "original" or "repaired"
    length : array_like, mm
        Engaged length of full thread.
    position : tolerance position other than the joint's
    parent_shear, parent_tensile, flow_stress : array_like, MPa
        Strengths of other parents than the joint's; all broadcast.

    Returns
    -------
    StripInputs
    """
    at = sizes(joint, state, position=position)
    given = (parent_shear, parent_tensile, flow_stress)
    shear, tensile, flow = (
        plain(own if other is None else other)
        for other, own in zip(given, joint.strengths, strict=True)
    )
    return StripInputs(
        state=state,
        length=plain(length),
        pitch=joint.thread.pitch,
        major_basic=joint.thread.major,
        external_major=at.crest,
        external_pitch_diameter=at.screw_pitch,
        internal_minor=at.inner_minor,
        internal_pitch_diameter=at.hole_pitch,
        hole_minor=at.hole_minor,
        hole_major_basic=at.hole_major,
        parent_shear=shear,
        parent_tensile=tensile,
        screw_tensile_min=joint.screw.tensile_min,
        screw_tensile_max=joint.screw.tensile_max,
        screw_shear=joint.screw.tensile_min * joint.screw.shear_over_tensile,
        stress_area=stress_area(joint),
        boss_diameter=np.nan if joint.boss_diameter is None else joint.boss_diameter,
        tan_half_angle=tan_half_angle(joint.thread.flank_angle),
        screw_major=at.screw_major,
        insert_pitch_diameter=at.inner_pitch,
        wire_shear=joint.wire_shear.value,
        flow_stress=flow,
        wall_factor=certified_wall_factor(
            joint, state, at.hole_major, length, shear=shear, flow=flow
        ),
        boss_wall_factor=boss_wall_factor(joint, at.hole_major),
    )
