"""Tightening of one state of a joint: what each possible friction makes of the torque."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import Floats, not_negative, plain, positive
from ..errors import InputError
from .records import ScrewShape
from .torque_preload import PER_NM, Band, nut_factor, preload, torque


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
    shape: ScrewShape,
    *,
    torque_nm: ArrayLike | None = None,
    preload: ArrayLike | None = None,
    thread_friction: tuple[ArrayLike, ArrayLike],
    head_friction: tuple[ArrayLike, ArrayLike],
    error: ArrayLike,
    scattered: bool = False,
    prevailing_nm: ArrayLike = 0.0,
) -> StateTightening:
    """Torque, preload and twist of the original or of the repaired hole.

    Call it once for each: the thread's friction and the prevailing torque differ.

    Parameters
    ----------
    shape : ScrewShape
    torque_nm, preload : array_like, N·m or N
        Give one. A torque is without prevailing torque (`STATED_TORQUE`). A preload is turned
        into the torque that gives it at middle friction.
    thread_friction, head_friction : (minimum, maximum)
    error : array_like
        Plus or minus, as a fraction: of the tool's torque, to which the band of friction is added.
    scattered : bool
        Whether the error is a published scatter of the preload, which has friction in it already
        and is laid about the middle one.
    prevailing_nm : array_like, N·m
        Maximum prevailing torque. It is measured at each hole and added to the torque at the
        wrench, so that only the tool's error of it reaches the preload; all of it twists.

    Returns
    -------
    StateTightening

    Raises
    ------
    InputError
        Both or neither of torque and preload; a range whose ends are swapped; an error of 1 or
        more.

    Notes
    -----
    A published scatter does not say how much of it is friction. The maximum preload is taken as
    the tool's doing, at middle friction, and the minimum as that of the friction: either has the
    more twist.

    Source: tightening-model: worst cases combined, none assumed rare. Derived.
    """
    if (torque_nm is None) == (preload is None):
        raise InputError("give either torque_nm or preload")
    ranges = {"thread_friction": thread_friction, "head_friction": head_friction}
    for name, ends in ranges.items():
        low, high = not_negative(**{f"{name} (minimum)": ends[0], f"{name} (maximum)": ends[1]})
        if np.any(low > high):
            raise InputError(f"{name} must be (minimum, maximum), got {ends[0]} and {ends[1]}")
    error, running = not_negative(error=error, prevailing_nm=prevailing_nm)
    if np.any(error >= 1):
        raise InputError(f"error must be below 1, got {np.nanmax(error):g}")

    lever = shape.lever

    def line(in_thread: ArrayLike, under_head: ArrayLike, force: Floats) -> FrictionLine:
        # The lever without friction under the head is that of the thread.
        twist = np.asarray(force) * lever(in_thread, 0.0)
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
        nut_factor=coefficient.map(lambda each: nut_factor(each, major=shape.major)),
        coefficient=coefficient,
        preload=Band(least=minimum.preload, middle=centre, highest=maximum.preload),
        maximum=maximum,
        twisted=twisted,
        minimum=minimum,
    )


def _middle(ends: tuple[ArrayLike, ArrayLike]) -> Floats:
    return plain((np.asarray(ends[0]) + np.asarray(ends[1])) / 2)


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
