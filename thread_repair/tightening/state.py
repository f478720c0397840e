"""Tightening of one state of a joint: the numbers that stand side by side in the report."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import Floats, not_negative
from ..errors import InputError
from ..sources import Reference
from .service import scattered
from .torque_preload import (
    REFERENCES,
    Band,
    nut_factor,
    preload_band,
    strip_torque,
    torque_coefficient,
    torque_for_highest_preload,
    yield_preload,
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StateTightening:
    """Torque, preload and limits of one state.

    Attributes
    ----------
    torque_nm : set torque, N·m
    nut_factor : Band of K; least with the least friction
    coefficient : Band, mm; torque per preload as it scatters: with friction, or by the published
        scatter of the tool
    preload : Band, N, after friction, tool and prevailing torque
    strip_torque_nm : Band, N·m
    yield_preload : float or ndarray, N; screw at yield under pull and twist, highest friction
    most_torque_nm : float or ndarray, N·m; set torque whose highest preload reaches the smaller of
        strip load and the screw's yield preload
    screw_yields_first : whether the screw yields at a lower preload than the thread strips
    """

    torque_nm: Floats
    nut_factor: Band
    coefficient: Band
    preload: Band
    strip_torque_nm: Band
    yield_preload: Floats
    most_torque_nm: Floats
    screw_yields_first: Floats
    references: tuple[Reference, ...] = REFERENCES


def tighten(
    *,
    torque_nm: ArrayLike | None = None,
    preload: ArrayLike | None = None,
    major: ArrayLike,
    pitch: ArrayLike,
    pitch_diameter: ArrayLike,
    minor_diameter: ArrayLike,
    bearing_diameter: ArrayLike,
    thread_friction: tuple[ArrayLike, ArrayLike],
    head_friction: tuple[ArrayLike, ArrayLike],
    strip_load: ArrayLike,
    yield_strength: ArrayLike,
    tool_accuracy: ArrayLike | None = None,
    preload_scatter: ArrayLike | None = None,
    prevailing_nm: tuple[ArrayLike, ArrayLike] = (0.0, 0.0),
    flank_angle: ArrayLike = 60.0,
) -> StateTightening:
    """Torque, preload band and limits of the original or of the repaired hole.

    Call it once for each: the thread's friction, the prevailing torque and the strip load differ.

    Parameters
    ----------
    torque_nm, preload : array_like, N·m or N
        Give one. A preload is turned into the set torque that gives it at middle friction.
    major, pitch, pitch_diameter, minor_diameter, bearing_diameter : array_like, mm
        Of the screw; see `torque_coefficient` and `yield_preload`. The same for both states.
    thread_friction, head_friction : (least, highest)
    strip_load : array_like, N
    yield_strength : array_like, MPa
        Of the screw.
    tool_accuracy, preload_scatter : array_like
        Give one, plus or minus, as a fraction: the error of the tool's torque, to which the
        band of friction is added, or a published scatter of the preload, which has friction in
        it already and is laid about the middle one.
    prevailing_nm : (least, highest), N·m
    flank_angle : array_like, degrees

    Returns
    -------
    StateTightening

    Raises
    ------
    InputError
        Both or neither of torque and preload, of tool accuracy and preload scatter; a range whose
        ends are swapped.

    Source: see `torque_coefficient`, `preload_band`, `strip_torque`, `yield_preload`.
    """
    if (torque_nm is None) == (preload is None):
        raise InputError("give either torque_nm or preload")
    if (tool_accuracy is None) == (preload_scatter is None):
        raise InputError("give either tool_accuracy or preload_scatter")
    ranges = {
        "thread_friction": thread_friction,
        "head_friction": head_friction,
        "prevailing_nm": prevailing_nm,
    }
    for name, ends in ranges.items():
        low, high = not_negative(**{f"{name} (least)": ends[0], f"{name} (highest)": ends[1]})
        if np.any(low > high):
            raise InputError(f"{name} must be (least, highest), got {ends[0]} and {ends[1]}")
    levels = [_ends(ends) for ends in (thread_friction, head_friction)]
    levers = [
        torque_coefficient(
            pitch=pitch,
            pitch_diameter=pitch_diameter,
            bearing_diameter=bearing_diameter,
            thread_friction=in_thread,
            head_friction=under_head,
            flank_angle=flank_angle,
        )
        for in_thread, under_head in zip(*levels, strict=True)
    ]
    lever = Band(least=levers[0], middle=levers[1], highest=levers[2])
    spread, accuracy = lever, tool_accuracy
    if accuracy is None:
        around = scattered(1.0, scatter=np.asarray(preload_scatter))
        middle = np.asarray(lever.middle)
        spread = Band(
            least=(middle / around.highest)[()],
            middle=lever.middle,
            highest=(middle / around.least)[()],
        )
        accuracy = 0.0
    if torque_nm is None:
        set_torque = strip_torque(
            np.asarray(preload), coefficient=lever, prevailing_nm=prevailing_nm
        ).middle
    else:
        set_torque = np.asarray(torque_nm, dtype=np.float64)[()]
    # The screw yields first where friction is highest, but the limit is met with the least
    # friction: both at once is on the safe side.
    at_yield = yield_preload(
        yield_strength=yield_strength,
        pitch=pitch,
        pitch_diameter=pitch_diameter,
        minor_diameter=minor_diameter,
        thread_friction=thread_friction[1],
        flank_angle=flank_angle,
    )
    return StateTightening(
        torque_nm=set_torque,
        nut_factor=Band(
            **{
                name: nut_factor(value, major=major)
                for name, value in zip(("least", "middle", "highest"), levers, strict=True)
            }
        ),
        coefficient=spread,
        preload=preload_band(
            set_torque, coefficient=spread, tool_accuracy=accuracy, prevailing_nm=prevailing_nm
        ),
        strip_torque_nm=strip_torque(strip_load, coefficient=lever, prevailing_nm=prevailing_nm),
        yield_preload=at_yield,
        most_torque_nm=torque_for_highest_preload(
            np.minimum(strip_load, at_yield),
            coefficient=spread,
            tool_accuracy=accuracy,
            prevailing_nm=prevailing_nm,
        ),
        screw_yields_first=(np.asarray(at_yield) < np.asarray(strip_load))[()],
    )


def _ends(ends: tuple[ArrayLike, ArrayLike]) -> tuple[ArrayLike, ArrayLike, ArrayLike]:
    return ends[0], (np.asarray(ends[0]) + np.asarray(ends[1])) / 2, ends[1]
