"""Which diameters stand at a tolerance position, the same one for screw, hole and insert."""

from __future__ import annotations

from dataclasses import dataclass, replace

from .. import inserts, threads
from ..errors import InputError
from ..threads.profile import ExternalLimits, InternalLimits, Thread
from .records import Joint, MeasuredDiameters, StateSizes


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
    """
    at = position or joint.tolerance_position
    screw = threads.external_limits(joint.thread, joint.screw_class)
    major, pitch = _screw(joint, screw, at)
    if state == "original":
        hole = threads.internal_limits(joint.thread, joint.hole_class)
        hole_pitch, hole_minor = _hole(joint, hole, at, insert_hole=False)
        return StateSizes(
            crest=major,
            hole_pitch=hole_pitch,
            hole_minor=hole_minor,
            hole_major=joint.thread.major,
            screw_major=major,
            screw_pitch=pitch,
            inner_pitch=hole_pitch,
            inner_minor=hole_minor,
            thread_height=_height(joint, major, hole_minor),
            references=(*screw.references, *hole.references),
        )
    hole = inserts.insert_hole(joint.thread, joint.insert_hole_class)
    hole_pitch, hole_minor = _hole(joint, hole, at, insert_hole=True)
    inner_class = inserts.fitted_class(joint.thread, joint.insert_hole_class)
    inner = threads.internal_limits(joint.thread, inner_class)
    inner_pitch, inner_minor = _at(inner, "minimum-material" if at == "measured" else at)
    outside = inserts.insert_outside(
        joint.thread,
        joint.screw_class,
        "minimum-material" if at == "measured" else at,
        hole_class=joint.insert_hole_class,
    )
    crest = outside.diameter
    if at == "basic":
        crest = inserts.enlarged_diameters(joint.thread).major  # unrounded, as the pitch diameter
    elif at == "measured":
        # The screw's measured distance below basic is lent to the insert, as at every position.
        crest = outside.basic - (joint.thread.major - major)
    return StateSizes(
        crest=crest,
        hole_pitch=hole_pitch,
        hole_minor=hole_minor,
        hole_major=inserts.enlarged_diameters(joint.thread).major,
        screw_major=major,
        screw_pitch=pitch,
        inner_pitch=inner_pitch,
        inner_minor=inner_minor,
        thread_height=_height(joint, crest, hole_minor),
        references=(
            *screw.references,
            *hole.references,
            *inner.references,
            *outside.references,
        ),
    )


def _height(joint: Joint, crest: float, hole_minor: float) -> float:
    """Overlap over the basic thread height: 5/8 H at 60 degrees, 0.6403 P of Whitworth threads."""
    basic = basic_diameters(joint.thread)
    return (crest - hole_minor) / (basic.major - basic.minor)


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
    return replace(
        joint,
        measured=replace(
            given,
            hole_pitch=min(_or(given.hole_pitch, hole.pitch_max), hole.pitch_max),
            hole_minor=min(_or(given.hole_minor, hole.minor_max), hole.minor_max),
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class OutsideClass:
    """A measured size, mm, beyond the limit of its class on the side that costs strength."""

    name: str
    measured: float
    limit: float


def outside_class(joint: Joint) -> tuple[OutsideClass, ...]:
    """Measured sizes that cost strength because they lie outside the limits of their class.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    tuple of OutsideClass
    """
    if joint.measured is None:
        return ()
    screw = threads.external_limits(joint.thread, joint.screw_class)
    hole = threads.internal_limits(joint.thread, joint.hole_class)
    insert_hole = inserts.insert_hole(joint.thread, joint.insert_hole_class)
    given = joint.measured
    # The sign says on which side a size costs strength: a small screw, a large hole.
    limits = (
        ("screw_major", given.screw_major, screw.major_min, -1),
        ("screw_pitch", given.screw_pitch, screw.pitch_min, -1),
        ("hole_minor", given.hole_minor, hole.minor_max, 1),
        ("hole_pitch", given.hole_pitch, hole.pitch_max, 1),
        ("insert_hole_minor", given.insert_hole_minor, insert_hole.minor_max, 1),
        ("insert_hole_pitch", given.insert_hole_pitch, insert_hole.pitch_max, 1),
    )
    return tuple(
        OutsideClass(name=name, measured=size, limit=limit)
        for name, size, limit, sign in limits
        if size is not None and sign * (size - limit) > 0
    )


def _screw(joint: Joint, limits: ExternalLimits, at: str) -> tuple[float, float]:
    if at == "minimum-material":
        return limits.major_min, limits.pitch_min
    if at == "mean":
        return (
            (limits.major_min + limits.major_max) / 2,
            (limits.pitch_min + limits.pitch_max) / 2,
        )
    if at == "basic":
        return joint.thread.major, basic_diameters(joint.thread).pitch
    given = _measured(joint)
    return (
        _or(given.screw_major, limits.major_min),
        _or(given.screw_pitch, limits.pitch_min),
    )


def basic_diameters(thread: Thread) -> inserts.EnlargedDiameters:
    """Basic diameters of the thread itself: those of its insert hole, shifted back inwards.

    Both holes carry the same profile, so one statement of it serves both.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    inserts.EnlargedDiameters
    """
    hole = inserts.enlarged_diameters(thread)
    shift = hole.major - thread.major
    return inserts.EnlargedDiameters(
        minor=hole.minor - shift, pitch=hole.pitch - shift, major=thread.major
    )


def _hole(
    joint: Joint, limits: InternalLimits, at: str, *, insert_hole: bool
) -> tuple[float, float]:
    """Pitch and minor diameter of a tapped hole."""
    if at == "measured":
        given = _measured(joint)
        pitch, minor = (
            (given.insert_hole_pitch, given.insert_hole_minor)
            if insert_hole
            else (given.hole_pitch, given.hole_minor)
        )
        return _or(pitch, limits.pitch_max), _or(minor, limits.minor_max)
    if at == "basic":
        # Position H starts at the basic size; a position with an allowance (G) does not.
        basic = (
            inserts.enlarged_diameters(joint.thread)
            if insert_hole
            else basic_diameters(joint.thread)
        )
        return basic.pitch, basic.minor
    return _at(limits, at)


def _at(limits: InternalLimits, at: str) -> tuple[float, float]:
    if at == "minimum-material":
        return limits.pitch_max, limits.minor_max
    if at == "mean":
        return (
            (limits.pitch_min + limits.pitch_max) / 2,
            (limits.minor_min + limits.minor_max) / 2,
        )
    return limits.pitch_min, limits.minor_min


def _or(measured: float | None, limit: float) -> float:
    """A size that does not exist yet has its limit at minimum material."""
    return limit if measured is None else measured


def _measured(joint: Joint) -> MeasuredDiameters:
    if joint.measured is None:
        raise InputError("tolerance_position: measured, but no measured diameters are given")
    return joint.measured
