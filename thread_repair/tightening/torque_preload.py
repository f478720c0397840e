"""Torque to preload and back: the screw as a wedge with friction in the thread and under the head.

Torques are in N·m and say so in their names; everything else is N, mm, MPa.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import Floats, not_negative, positive
from ..errors import InputError
from ..strength.areas import tan_half_angle
from ..tables import cited

#: N·mm in a N·m.
PER_NM = 1000.0

REFERENCES = cited("torque_preload")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Band:
    """Least, middle and highest value of a quantity that scatters."""

    least: Floats
    middle: Floats
    highest: Floats

    def map(self, function: Callable[[Floats], Floats]) -> Band:
        """Return the band of a function that rises with the quantity."""
        return Band(
            least=function(self.least),
            middle=function(self.middle),
            highest=function(self.highest),
        )


def thread_coefficient(
    *,
    pitch: ArrayLike,
    pitch_diameter: ArrayLike,
    thread_friction: ArrayLike,
    flank_angle: ArrayLike = 60.0,
) -> Floats:
    """Torque in the thread per preload: what twists the screw's shank.

    Parameters
    ----------
    pitch, pitch_diameter : array_like, mm
    thread_friction : array_like
    flank_angle : array_like, degrees

    Returns
    -------
    float or ndarray, mm
        P/(2 pi) + mu_G d2 / (2 cos(angle/2)).

    Raises
    ------
    InputError
        Size not above zero, friction below zero.

    Source: VDI 2230-1, tightening torque. Known from: memory.
    """
    p, d2 = positive(pitch=pitch, pitch_diameter=pitch_diameter)
    (thread,) = not_negative(thread_friction=thread_friction)
    # 1 / cos from the tangent.
    secant = np.hypot(1.0, tan_half_angle(flank_angle))
    return (p / (2 * np.pi) + thread * d2 / 2 * secant)[()]


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
    (bearing,) = positive(bearing_diameter=bearing_diameter)
    (head,) = not_negative(head_friction=head_friction)
    in_thread = thread_coefficient(
        pitch=pitch,
        pitch_diameter=pitch_diameter,
        thread_friction=thread_friction,
        flank_angle=flank_angle,
    )
    return (in_thread + head * bearing / 2)[()]


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
    return (force * lever / PER_NM + running)[()]


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
    return (left * PER_NM / lever)[()]


def strip_torque(strip_load: ArrayLike, *, coefficient: Band) -> Band:
    """Torque at the screw that would strip the thread, without prevailing torque.

    Parameters
    ----------
    strip_load : array_like, N
        Pull-out strength of the state.
    coefficient : Band, mm

    Returns
    -------
    Band, N·m
        The minimum is reached with the lowest friction: an oiled thread strips at less torque.

    Notes
    -----
    The screw may yield or break first: compare `yield_preload`. Torque turns the thread as well
    as pulling it; the strip load is taken as that of a straight pull.

    Source: `torque` at the strip load; derived.
    """
    return coefficient.map(lambda lever: torque(strip_load, coefficient=lever))


def equivalent_stress(
    load: ArrayLike, twist_nm: ArrayLike, *, pitch_diameter: ArrayLike, minor_diameter: ArrayLike
) -> Floats:
    """Stress of a screw under pull and twist, by the distortion energy.

    Parameters
    ----------
    load : array_like, N
    twist_nm : array_like, N·m
        Torque through the shank.
    pitch_diameter, minor_diameter : array_like, mm

    Returns
    -------
    float or ndarray, MPa
        sqrt(s^2 + 3 t^2) with s = 4 N / (pi d0^2), t = 16 M / (pi d0^3), d0 = (d2 + d3)/2: at the
        surface, elastic twist.

    Source: VDI 2230-1, assembly preload, with elastic torsion. Known from: memory.

    Examples
    --------
    >>> print(f"{equivalent_stress(10e3, 10.0, pitch_diameter=7.188, minor_diameter=6.466):.0f}")
    389
    """
    (twist,) = not_negative(twist_nm=twist_nm)
    d2, d3 = positive(pitch_diameter=pitch_diameter, minor_diameter=minor_diameter)
    d0 = (d2 + d3) / 2
    pull = np.asarray(load) * 4 / (np.pi * d0**2)
    shear = twist * PER_NM * 16 / (np.pi * d0**3)
    return np.sqrt(pull**2 + 3 * shear**2)[()]


def yield_preload(
    *,
    yield_strength: ArrayLike,
    pitch: ArrayLike,
    pitch_diameter: ArrayLike,
    minor_diameter: ArrayLike,
    thread_friction: ArrayLike,
    flank_angle: ArrayLike = 60.0,
    prevailing_nm: ArrayLike = 0.0,
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
    flank_angle : array_like, degrees
    prevailing_nm : array_like, N·m
        Torque of a locking insert: all of it passes through the shank.

    Returns
    -------
    float or ndarray, N
        The preload F at which `equivalent_stress` of F and F times `thread_coefficient` plus the
        prevailing torque is the yield strength; zero where the prevailing torque alone does it.
        Yield starts at the surface (elastic twist); a fully plastic section would carry about 8 %
        more.

    Source: VDI 2230-1, assembly preload, with elastic torsion, which reproduces its table of
    assembly preloads. Known from: memory.

    Examples
    --------
    >>> f = yield_preload(yield_strength=0.9 * 640, pitch=1.25, pitch_diameter=7.188,
    ...     minor_diameter=6.466, thread_friction=0.12)
    >>> print(f"{f / 1000:.1f} kN")
    17.2 kN
    """
    rp, d2, d3 = positive(
        yield_strength=yield_strength, pitch_diameter=pitch_diameter, minor_diameter=minor_diameter
    )
    (running,) = not_negative(prevailing_nm=prevailing_nm)
    d0 = (d2 + d3) / 2
    # Shear stress is k s + t, with s the tensile stress: s^2 + 3 (k s + t)^2 = limit^2.
    arm = thread_coefficient(
        pitch=pitch,
        pitch_diameter=pitch_diameter,
        thread_friction=thread_friction,
        flank_angle=flank_angle,
    )
    k = 4 / d0 * arm
    t = running * PER_NM * 16 / (np.pi * d0**3)
    root = np.sqrt(np.maximum((1 + 3 * k**2) * rp**2 - 3 * t**2, 0.0))
    stress = np.maximum((root - 3 * k * t) / (1 + 3 * k**2), 0.0)
    return (np.pi / 4 * d0**2 * stress)[()]
