"""Torque to preload and back: the screw as a wedge with friction in the thread and under the head.

Torques are in N·m and say so in their names; everything else is N, mm, MPa.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import FloatArray, Floats, not_negative, positive
from ..errors import InputError
from ..sources import Reference
from ..strength.areas import tan_half_angle

#: N·mm in a N·m.
_PER_NM = 1000.0

REFERENCES = (
    Reference(
        source="vdi-2230-1",
        clause="tightening torque",
        how_known="memory",
        what="torque from preload and friction",
    ),
    Reference(
        source="tightening-model",
        clause="preload_band",
        how_known="derived",
        what="highest and least preload from friction, tool and prevailing torque",
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Band:
    """Least, middle and highest value of a quantity that scatters."""

    least: Floats
    middle: Floats
    highest: Floats


def torque_coefficient(
    *,
    pitch: ArrayLike,
    pitch_diameter: ArrayLike,
    bearing_diameter: ArrayLike,
    thread_friction: ArrayLike,
    head_friction: ArrayLike,
    flank_angle: ArrayLike = 60.0,
) -> Floats:
    """Tightening torque per preload, without prevailing torque.

    Parameters
    ----------
    pitch, pitch_diameter : array_like, mm
    bearing_diameter : array_like, mm
        Mean diameter of the head's bearing face.
    thread_friction, head_friction : array_like
        Friction coefficients.
    flank_angle : array_like, degrees
        Included angle of the profile.

    Returns
    -------
    float or ndarray, mm
        P/(2 pi) + mu_G d2 / (2 cos(angle/2)) + mu_K D_K/2; with 60 degrees the middle term is
        0.577 mu_G d2.

    Raises
    ------
    InputError
        Size not above zero, friction below zero.

    Source: VDI 2230-1, tightening torque. Known from: memory.

    Examples
    --------
    >>> lever = torque_coefficient(pitch=1.25, pitch_diameter=7.188, bearing_diameter=11,
    ...     thread_friction=0.12, head_friction=0.12)
    >>> print(f"{nut_factor(lever, major=8):.3f}")
    0.170
    """
    p, d2, bearing = positive(
        pitch=pitch, pitch_diameter=pitch_diameter, bearing_diameter=bearing_diameter
    )
    thread, head = not_negative(thread_friction=thread_friction, head_friction=head_friction)
    # 1 / cos from the tangent.
    secant = np.hypot(1.0, tan_half_angle(flank_angle))
    return (p / (2 * np.pi) + thread * d2 / 2 * secant + head * bearing / 2)[()]


def nut_factor(coefficient: ArrayLike, *, major: ArrayLike) -> Floats:
    """K of T = K d F.

    Parameters
    ----------
    coefficient : array_like, mm
        `torque_coefficient`.
    major : array_like, mm
        Nominal diameter of the screw.

    Returns
    -------
    float or ndarray

    Source: definition of K, NASA TM-106943 eq. (3), read.
    """
    lever, d = positive(coefficient=coefficient, major=major)
    return (lever / d)[()]


def torque(preload: ArrayLike, *, coefficient: ArrayLike, prevailing_nm: ArrayLike = 0.0) -> Floats:
    """Torque that gives a preload, prevailing torque added.

    Parameters
    ----------
    preload : array_like, N
    coefficient : array_like, mm
        `torque_coefficient`, or K times the nominal diameter.
    prevailing_nm : array_like, N·m
        Torque that a locking insert takes before the head seats.

    Returns
    -------
    float or ndarray, N·m

    Source: VDI 2230-1 (memory); that prevailing torque is added: NASA TM-106943 Table VII note b,
    read.
    """
    force, running = not_negative(preload=preload, prevailing_nm=prevailing_nm)
    (lever,) = positive(coefficient=coefficient)
    return (force * lever / _PER_NM + running)[()]


def preload(
    torque_nm: ArrayLike, *, coefficient: ArrayLike, prevailing_nm: ArrayLike = 0.0
) -> Floats:
    """Preload that a torque gives once the prevailing torque is overcome.

    Parameters
    ----------
    torque_nm, prevailing_nm : array_like, N·m
    coefficient : array_like, mm

    Returns
    -------
    float or ndarray, N

    Raises
    ------
    InputError
        A torque below the prevailing torque: the head would not seat.

    Source: as `torque`.
    """
    applied, lever = positive(torque_nm=torque_nm, coefficient=coefficient)
    (running,) = not_negative(prevailing_nm=prevailing_nm)
    left = applied - running
    if np.any(left < 0):
        raise InputError(
            f"torque_nm must be above the prevailing torque, got {np.nanmin(applied):g} N·m "
            f"against {np.nanmax(running):g} N·m"
        )
    return (left * _PER_NM / lever)[()]


def preload_band(
    torque_nm: ArrayLike,
    *,
    coefficient: Band,
    tool_accuracy: ArrayLike,
    prevailing_nm: tuple[ArrayLike, ArrayLike] = (0.0, 0.0),
) -> Band:
    """Least, middle and highest preload of a torque.

    Parameters
    ----------
    torque_nm : array_like, N·m
        Set torque.
    coefficient : Band, mm
        `torque_coefficient` at the least, middle and highest friction.
    tool_accuracy : array_like
        Error of the tool's torque, plus or minus, as a fraction. Not the scatter of preload of
        the published tool tables: that has friction in it already.
    prevailing_nm : (least, highest), N·m
        A new locking insert may be anywhere up to its limit: (0, limit).

    Returns
    -------
    Band, N
        Highest: strong tool, least friction, least prevailing torque; least: the opposite.

    Raises
    ------
    InputError
        tool_accuracy of 1 or more; the torque does not overcome the prevailing torque.

    Source: tightening-model: worst cases combined, none assumed rare. Derived.
    """
    (accuracy,) = not_negative(tool_accuracy=tool_accuracy)
    (applied,) = positive(torque_nm=torque_nm)
    if np.any(accuracy >= 1):
        raise InputError(f"tool_accuracy must be below 1, got {np.nanmax(accuracy):g}")
    low, high = not_negative(
        prevailing_least_nm=prevailing_nm[0], prevailing_highest_nm=prevailing_nm[1]
    )
    return Band(
        least=preload(
            applied * (1 - accuracy), coefficient=coefficient.highest, prevailing_nm=high
        ),
        middle=preload(applied, coefficient=coefficient.middle, prevailing_nm=(low + high) / 2),
        highest=preload(applied * (1 + accuracy), coefficient=coefficient.least, prevailing_nm=low),
    )


def torque_for_highest_preload(
    limit: ArrayLike,
    *,
    coefficient: Band,
    tool_accuracy: ArrayLike,
    prevailing_nm: tuple[ArrayLike, ArrayLike] = (0.0, 0.0),
) -> Floats:
    """Set torque whose highest preload just reaches a limit; the inverse of `preload_band`.

    Parameters
    ----------
    limit : array_like, N
        Preload not to be passed: of the screw at yield, of the thread before it strips.
    coefficient, tool_accuracy, prevailing_nm : as `preload_band`

    Returns
    -------
    float or ndarray, N·m

    Source: tightening-model; derived.
    """
    (accuracy,) = not_negative(tool_accuracy=tool_accuracy)
    reached = np.asarray(
        torque(limit, coefficient=coefficient.least, prevailing_nm=prevailing_nm[0])
    )
    return (reached / (1 + accuracy))[()]


def torque_for_least_preload(
    need: ArrayLike,
    *,
    coefficient: Band,
    tool_accuracy: ArrayLike,
    prevailing_nm: tuple[ArrayLike, ArrayLike] = (0.0, 0.0),
) -> Floats:
    """Set torque whose least preload just reaches what is needed; the inverse of `preload_band`.

    Parameters
    ----------
    need : array_like, N
        Preload that must be there: against opening of the joint.
    coefficient, tool_accuracy, prevailing_nm : as `preload_band`

    Returns
    -------
    float or ndarray, N·m

    Source: tightening-model; derived.
    """
    (accuracy,) = not_negative(tool_accuracy=tool_accuracy)
    needed = np.asarray(
        torque(need, coefficient=coefficient.highest, prevailing_nm=prevailing_nm[1])
    )
    return (needed / (1 - accuracy))[()]


def strip_torque(
    strip_load: ArrayLike,
    *,
    coefficient: Band,
    prevailing_nm: tuple[ArrayLike, ArrayLike] = (0.0, 0.0),
) -> Band:
    """Torque at the screw that would strip the thread.

    Parameters
    ----------
    strip_load : array_like, N
        Pull-out strength of the state.
    coefficient : Band, mm
    prevailing_nm : (least, highest), N·m

    Returns
    -------
    Band, N·m
        The least value is reached with the least friction: an oiled thread strips at less torque.

    Notes
    -----
    The screw may yield or break first: compare `yield_preload`. Torque turns the thread as well
    as pulling it; the strip load is taken as that of a straight pull.

    Source: `torque` at the strip load; derived.
    """
    low, high = prevailing_nm
    return Band(
        least=torque(strip_load, coefficient=coefficient.least, prevailing_nm=low),
        middle=torque(
            strip_load,
            coefficient=coefficient.middle,
            prevailing_nm=(np.asarray(low) + np.asarray(high)) / 2,
        ),
        highest=torque(strip_load, coefficient=coefficient.highest, prevailing_nm=high),
    )


def yield_preload(
    *,
    yield_strength: ArrayLike,
    pitch: ArrayLike,
    pitch_diameter: ArrayLike,
    minor_diameter: ArrayLike,
    thread_friction: ArrayLike,
    utilisation: ArrayLike = 1.0,
    flank_angle: ArrayLike = 60.0,
) -> Floats:
    """Preload at which pull and twist of tightening bring the screw's thread to yield.

    Parameters
    ----------
    yield_strength : array_like, MPa
        Least 0.2 % proof strength of the screw.
    pitch, pitch_diameter, minor_diameter : array_like, mm
        Minor diameter: of the screw's thread at the root, d3.
    thread_friction : array_like
        Higher friction, more twist, less preload.
    utilisation : array_like
        Part of the yield strength to use; published tables use 0.9.
    flank_angle : array_like, degrees

    Returns
    -------
    float or ndarray, N
        A0 times utilisation times yield strength over sqrt(1 + 3 (2 d2/d0 tan)^2), tan the
        tangent of lead plus friction angle, d0 = (d2 + d3)/2. Yield starts at the surface
        (elastic twist); a fully plastic section would carry about 8 % more.

    Source: VDI 2230-1, assembly preload, with elastic torsion, which reproduces its table of
    assembly preloads. Known from: memory.

    Examples
    --------
    >>> f = yield_preload(yield_strength=640, pitch=1.25, pitch_diameter=7.188,
    ...     minor_diameter=6.466, thread_friction=0.12, utilisation=0.9)
    >>> print(f"{f / 1000:.1f} kN")
    17.2 kN
    """
    rp, p, d2, d3, used = positive(
        yield_strength=yield_strength,
        pitch=pitch,
        pitch_diameter=pitch_diameter,
        minor_diameter=minor_diameter,
        utilisation=utilisation,
    )
    (friction,) = not_negative(thread_friction=thread_friction)
    secant = np.hypot(1.0, tan_half_angle(flank_angle))
    d0 = (d2 + d3) / 2
    twist: FloatArray = 2 * d2 / d0 * (p / (np.pi * d2) + friction * secant)
    return (np.pi / 4 * d0**2 * used * rp / np.sqrt(1 + 3 * twist**2))[()]
