"""One state of a joint as the strength functions take it.

Its diameters stand at a tolerance position, the same one for screw, hole and insert.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from .. import inserts, tables, threads
from ..arrays import not_negative, plain
from ..errors import InputError, check_known, looked_up
from ..materials import Screw
from ..strength.areas import tan_half_angle
from ..strength.strip import STATES, StripInputs
from ..threads.profile import BasicDiameters, InternalLimits, Thread
from .records import Joint, MeasuredDiameters, StateSizes
from .wall import boss_wall_factor, certified_wall_factor


def sizes(joint: Joint, state: str, *, position: str | None = None) -> StateSizes:
    """Return the diameters of one state at the joint's tolerance position, or at another.

    The thread inside the fitted insert has the class of the hole that holds it, so the screw
    meets the same limits before and after a repair to the same class.

    Parameters
    ----------
    joint : Joint
    state : str
        "original" or "repaired".
    position : str, optional

    Returns
    -------
    StateSizes

    Raises
    ------
    UnknownNameError
        If there is no such state or position.
    InputError
        If the position is "measured" and no diameters were.
    """
    check_known("state", state, STATES)
    at = position or joint.tolerance_position
    given = joint.measured if at == "measured" else MeasuredDiameters()
    if given is None:
        raise InputError("tolerance_position: measured, but no measured diameters are given")
    thread = joint.thread
    basic, enlarged = basic_diameters(thread), inserts.enlarged_diameters(thread)
    screw = threads.external_limits(thread, joint.screw_class)
    major = _at(at, screw.major_min, screw.major_max, basic.major, given.screw_major)
    if state == "original":
        hole = threads.internal_limits(thread, joint.hole_class)
        pitch, minor = _hole(at, hole, basic, given.hole_pitch, given.hole_minor)
        crest, inside, references = major, (pitch, minor), hole.references
    else:
        hole = inserts.insert_hole(thread, joint.insert_hole_class)
        pitch, minor = _hole(at, hole, enlarged, given.insert_hole_pitch, given.insert_hole_minor)
        inner_class = inserts.fitted_class(thread, joint.insert_hole_class)
        inner = threads.internal_limits(thread, inner_class)
        inside = _hole(at, inner, basic)
        outside = inserts.insert_outside(thread, joint.screw_class)
        # A screw that was measured is no measurement of the insert.
        crest = _at(at, outside.minimum, outside.maximum, enlarged.major, None)
        references = (*hole.references, *inner.references, *outside.references)
    return StateSizes(
        crest=crest,
        hole_pitch=pitch,
        hole_minor=minor,
        hole_major=thread.major if state == "original" else enlarged.major,
        screw_major=major,
        screw_pitch=_at(at, screw.pitch_min, screw.pitch_max, basic.pitch, given.screw_pitch),
        inner_pitch=inside[0],
        inner_minor=inside[1],
        thread_height=(crest - minor) / (basic.major - basic.minor),
        references=(*screw.references, *references),
    )


def _at(at: str, worst: float, other: float, basic: float, measured: float | None) -> float:
    """One diameter; a size that does not exist yet has its limit at minimum material."""
    by_position = {
        "minimum-material": worst,
        "mean": (worst + other) / 2,
        "basic": basic,
        "measured": worst if measured is None else measured,
    }
    return looked_up("tolerance position", at, by_position)


def _hole(
    at: str, limits: InternalLimits, basic: BasicDiameters, *measured: float | None
) -> tuple[float, float]:
    """Pitch and minor diameter of a tapped hole."""
    # The basic sizes: limits are rounded, and a position with an allowance (G) starts beyond them.
    of_pitch, of_minor = measured or (None, None)
    return (
        _at(at, limits.pitch_max, limits.pitch_min, basic.pitch, of_pitch),
        _at(at, limits.minor_max, limits.minor_min, basic.minor, of_minor),
    )


def counted_on(joint: Joint, state: str = "repaired") -> StateSizes:
    """Return the sizes of one state at the worst end of what is accepted.

    Parameters
    ----------
    joint : Joint
    state : str

    Returns
    -------
    StateSizes
    """
    basic = joint.tolerance_position == "basic"
    return sizes(joint, state, position="minimum-material" if basic else None)


def accepted_hole(joint: Joint, state: str = "repaired") -> InternalLimits:
    """Return the limits of size of a hole to be tapped that the strength allows.

    Those of its class where the strength is taken at minimum material or at basic sizes; else no
    larger hole than the one calculated with.

    Parameters
    ----------
    joint : Joint
    state : str
        "repaired", or "original" for the thread of a screw alone.

    Returns
    -------
    InternalLimits
    """
    limits = (
        inserts.insert_hole(joint.thread, joint.insert_hole_class)
        if state == "repaired"
        else threads.internal_limits(joint.thread, joint.hole_class)
    )
    at = counted_on(joint, state)
    return replace(
        limits,
        minor_min=min(limits.minor_min, at.hole_minor),
        minor_max=at.hole_minor,
        pitch_min=min(limits.pitch_min, at.hole_pitch),
        pitch_max=at.hole_pitch,
    )


def undamaged(joint: Joint) -> Joint:
    """Return the joint with its original hole measured no larger than the limits of its class.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    Joint
    """
    given = joint.measured
    if given is None:
        return joint
    hole = threads.internal_limits(joint.thread, joint.hole_class)
    sound = replace(
        given,
        hole_pitch=min(given.hole_pitch or hole.pitch_max, hole.pitch_max),
        hole_minor=min(given.hole_minor or hole.minor_max, hole.minor_max),
    )
    return replace(joint, measured=sound)


def outside_class(joint: Joint) -> Iterator[tuple[str, float, float]]:
    """Measured diameters that their class would refuse, and that cost strength.

    Parameters
    ----------
    joint : Joint

    Yields
    ------
    tuple of str, float, float
        Name, measured size and limit, mm.
    """
    given = joint.measured
    if given is None:
        return
    screw = threads.external_limits(joint.thread, joint.screw_class)
    hole = threads.internal_limits(joint.thread, joint.hole_class)
    insert_hole = inserts.insert_hole(joint.thread, joint.insert_hole_class)
    limits = {
        "screw_major": screw.major_min,
        "screw_pitch": screw.pitch_min,
        "hole_minor": hole.minor_max,
        "hole_pitch": hole.pitch_max,
        "insert_hole_minor": insert_hole.minor_max,
        "insert_hole_pitch": insert_hole.pitch_max,
    }
    for name, limit in limits.items():
        size = getattr(given, name)
        # A small screw and a large hole cost strength.
        if size is not None and (size < limit if name.startswith("screw") else size > limit):
            yield name, size, limit


def basic_diameters(thread: Thread) -> BasicDiameters:
    """Basic diameters of the thread itself: those of its insert hole, shifted back inwards.

    Both holes carry the same profile, so one statement of it serves both.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    BasicDiameters
    """
    hole = inserts.enlarged_diameters(thread)
    shift = hole.major - thread.major
    return BasicDiameters(minor=hole.minor - shift, pitch=hole.pitch - shift, major=thread.major)


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
    return threads.stress_area(
        thread, high_strength=is_high_strength(thread, screw), screw_class=screw_class
    )


def is_high_strength(thread: Thread, screw: Screw) -> bool:
    """Whether the stricter stress area applies: a Unified screw above 180 ksi.

    Parameters
    ----------
    thread : Thread
    screw : Screw

    Returns
    -------
    bool
    """
    strong = screw.tensile_min > tables.constant("high_strength_screw").value
    return strong and thread.system == "unified"


def mode_inputs(
    joint: Joint,
    state: str,
    length: ArrayLike,
    *,
    position: str | None = None,
    strengths: Iterable[ArrayLike] | None = None,
) -> StripInputs:
    """Return one state, or an array of them over lengths and parents.

    Parameters
    ----------
    joint : Joint
    state : "original" or "repaired"
    length : array_like, mm
        Engaged length of full thread.
    position : tolerance position other than the joint's
    strengths : iterable of three array_like, MPa, optional
        Shear and tensile strength and flow stress of other parents than the joint's; all
        broadcast.

    Returns
    -------
    StripInputs
    """
    (length,) = not_negative(length=length)
    at = sizes(joint, state, position=position)
    shear, tensile, flow = map(plain, joint.strengths if strengths is None else strengths)
    return StripInputs(
        state=state,
        length=length,
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
