"""Tightening of one state of a joint: what each possible friction makes of the torque."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import Floats, not_negative, positive
from ..errors import InputError
from .torque_preload import (
    PER_NM,
    Band,
    nut_factor,
    preload,
    thread_coefficient,
    torque,
    torque_coefficient,
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FrictionLine:
    """One friction with one error of the tool: preload and twist that go together.

    Attributes
    ----------
    thread_friction, head_friction : float or ndarray
    preload : float or ndarray, N, as tightened
    twist_nm : float or ndarray, N·m, through the shank: that of the thread and the whole
        prevailing torque, which acts below the head
    """

    thread_friction: Floats
    head_friction: Floats
    preload: Floats
    twist_nm: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StateTightening:
    """Torque and preload of one state.

    Attributes
    ----------
    torque_nm : stated torque, N·m, without prevailing torque
    nut_factor : Band of K; least with the lowest friction
    coefficient : Band, mm; torque per preload by friction
    preload : Band, N
    maximum : line of the maximum preload
    twisted : line of the greatest twist at a low head friction
    minimum : line of the minimum preload

    Notes
    -----
    Under every load the worst stress of the screw lies on `maximum` or on `twisted`: pull and
    twist are both affine in each friction over the torque coefficient, which is affine as well, so
    that the stress is quasi-convex in each friction and greatest at an end of its range; head
    friction lowers both, and so its lower end counts.
    """

    torque_nm: Floats
    nut_factor: Band
    coefficient: Band
    preload: Band
    maximum: FrictionLine
    twisted: FrictionLine
    minimum: FrictionLine

    @property
    def lines(self) -> Mapping[str, FrictionLine]:
        """The lines by name."""
        return {"maximum": self.maximum, "twisted": self.twisted, "minimum": self.minimum}


def tighten(
    *,
    torque_nm: ArrayLike | None = None,
    preload: ArrayLike | None = None,
    major: ArrayLike,
    pitch: ArrayLike,
    pitch_diameter: ArrayLike,
    bearing_diameter: ArrayLike,
    thread_friction: tuple[ArrayLike, ArrayLike],
    head_friction: tuple[ArrayLike, ArrayLike],
    tool_accuracy: ArrayLike | None = None,
    preload_scatter: ArrayLike | None = None,
    prevailing_nm: ArrayLike = 0.0,
    flank_angle: ArrayLike = 60.0,
) -> StateTightening:
    """Torque, preload and twist of the original or of the repaired hole.

    Call it once for each: the thread's friction and the prevailing torque differ.

    Parameters
    ----------
    torque_nm, preload : array_like, N·m or N
        Give one. A torque is without prevailing torque (`STATED_TORQUE`). A preload is turned
        into the torque that gives it at middle friction.
    major, pitch, pitch_diameter, bearing_diameter : array_like, mm
        Of the screw; see `torque_coefficient`. The same for both states.
    thread_friction, head_friction : (minimum, maximum)
    tool_accuracy, preload_scatter : array_like
        Give one, plus or minus, as a fraction: the error of the tool's torque, to which the
        band of friction is added, or a published scatter of the preload, which has friction in
        it already and is laid about the middle one.
    prevailing_nm : array_like, N·m
        Maximum prevailing torque. It is measured at each hole and added to the torque at the
        wrench, so that only the tool's error of it reaches the preload; all of it twists.
    flank_angle : array_like, degrees

    Returns
    -------
    StateTightening

    Raises
    ------
    InputError
        Both or neither of torque and preload, of tool accuracy and preload scatter; a range whose
        ends are swapped; an accuracy or a scatter of 1 or more.

    Notes
    -----
    A published scatter does not say how much of it is friction. The maximum preload is taken as
    the tool's doing, at middle friction, and the minimum as that of the friction: either has the
    more twist.

    Source: tightening-model: worst cases combined, none assumed rare. Derived.
    """
    if (torque_nm is None) == (preload is None):
        raise InputError("give either torque_nm or preload")
    if (tool_accuracy is None) == (preload_scatter is None):
        raise InputError("give either tool_accuracy or preload_scatter")
    ranges = {"thread_friction": thread_friction, "head_friction": head_friction}
    for name, ends in ranges.items():
        low, high = not_negative(**{f"{name} (minimum)": ends[0], f"{name} (maximum)": ends[1]})
        if np.any(low > high):
            raise InputError(f"{name} must be (minimum, maximum), got {ends[0]} and {ends[1]}")
    scattered = preload_scatter is not None
    (error,) = not_negative(error=np.asarray(preload_scatter if scattered else tool_accuracy))
    if np.any(error >= 1):
        name = "preload_scatter" if scattered else "tool_accuracy"
        raise InputError(f"{name} must be below 1, got {np.nanmax(error):g}")
    (running,) = not_negative(prevailing_nm=prevailing_nm)
    screw = {"pitch": pitch, "pitch_diameter": pitch_diameter, "flank_angle": flank_angle}

    def lever(in_thread: ArrayLike, under_head: ArrayLike) -> Floats:
        return torque_coefficient(
            **screw,
            bearing_diameter=bearing_diameter,
            thread_friction=in_thread,
            head_friction=under_head,
        )

    def line(in_thread: ArrayLike, under_head: ArrayLike, force: Floats) -> FrictionLine:
        twist = np.asarray(force) * thread_coefficient(**screw, thread_friction=in_thread)
        return FrictionLine(
            thread_friction=np.asarray(in_thread)[()],
            head_friction=np.asarray(under_head)[()],
            preload=force,
            twist_nm=(twist / PER_NM + running)[()],
        )

    middle = _middle(thread_friction), _middle(head_friction)
    lowest, highest = ((thread_friction[end], head_friction[end]) for end in (0, 1))
    coefficient = Band(least=lever(*lowest), middle=lever(*middle), highest=lever(*highest))
    if torque_nm is None:
        assert preload is not None  # refused above
        stated = torque(preload, coefficient=coefficient.middle)
    else:
        stated = positive(torque_nm=torque_nm)[0][()]
    centre = _preload(stated, coefficient.middle, running, 0.0)
    if not scattered:
        maximum, twisted, minimum = (
            line(*friction, _preload(stated, lever(*friction), running, sign * error))
            for friction, sign in (
                (lowest, 1),
                ((thread_friction[1], head_friction[0]), 1),
                (highest, -1),
            )
        )
    else:
        rough = _rougher(middle, lever, 1 / (1 - error))
        maximum = line(*middle, ((1 + error) * centre)[()])
        twisted = minimum = line(*rough, ((1 - error) * centre)[()])
    return StateTightening(
        torque_nm=stated,
        nut_factor=Band(
            least=nut_factor(coefficient.least, major=major),
            middle=nut_factor(coefficient.middle, major=major),
            highest=nut_factor(coefficient.highest, major=major),
        ),
        coefficient=coefficient,
        preload=Band(least=minimum.preload, middle=centre, highest=maximum.preload),
        maximum=maximum,
        twisted=twisted,
        minimum=minimum,
    )


def _middle(ends: tuple[ArrayLike, ArrayLike]) -> Floats:
    return (np.asarray(ends[0]) + np.asarray(ends[1])) / 2


def _preload(stated_nm: ArrayLike, lever: Floats, prevailing: Floats, error: ArrayLike) -> Floats:
    """Preload where the wrench stands at the stated torque plus the prevailing one, with error."""
    at_wrench = (np.asarray(stated_nm) + prevailing) * (1 + np.asarray(error))
    return preload(at_wrench, coefficient=lever, prevailing_nm=prevailing)


def _rougher(
    friction: tuple[Floats, ...], lever: Callable[..., Floats], times: Floats
) -> tuple[Floats, Floats]:
    """Return thread and head friction raised together until the lever is so many times as long."""
    smooth = lever(0.0, 0.0)
    full = lever(*friction)
    factor = (full * times - smooth) / (full - smooth)
    return friction[0] * factor, friction[1] * factor
