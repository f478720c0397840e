"""Torque to preload and back: the screw as a wedge with friction in the thread and under the head.

Torques are in N·m and say so in their names; everything else is N, mm, MPa.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from .. import inserts, tables
from ..arrays import Floats, broadcast, finite, first_at, not_negative, number_above_zero, positive
from ..errors import InputError
from ..strength.areas import tan_half_angle
from ..threads.profile import Thread

#: N·mm in a N·m.
PER_NM = 1000.0

REFERENCES = tables.cited("torque_preload")


class Band(NamedTuple):
    """Least, middle and highest value of a quantity that scatters."""

    least: Floats
    middle: Floats
    highest: Floats

    def map(self, function: Callable[[Floats], Floats]) -> Band:
        """Return the band of a function that rises with the quantity."""
        return Band(*map(function, self))


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewShape:
    """What the wedge formula and the twist need of the screw, mm and degrees.

    Attributes
    ----------
    pitch, pitch_diameter, major, flank_angle : of the thread; the angle is the included one
    minor_diameter : of the screw's thread at the root, d3
    bearing_diameter : mean diameter of the head's bearing face
    """

    pitch: float
    pitch_diameter: float
    minor_diameter: float = np.nan
    bearing_diameter: float = np.nan
    major: float = np.nan
    flank_angle: float = 60.0

    def __post_init__(self) -> None:
        positive(**{name: getattr(self, name) for name in self.__slots__})

    def thread_lever(self, friction: ArrayLike) -> Floats:
        """Torque in the thread per preload, mm: what twists the screw's shank.

        P/(2 pi) + mu_G d2 / (2 cos(angle/2)). Source: VDI 2230-1, tightening torque. Known from:
        memory.
        """
        (mu,) = not_negative(thread_friction=friction)
        # 1 / cos from the tangent.
        secant = np.hypot(1.0, tan_half_angle(self.flank_angle))
        return (self.pitch / (2 * np.pi) + mu * self.pitch_diameter / 2 * secant)[()]

    def lever(self, in_thread: ArrayLike, under_head: ArrayLike) -> Floats:
        """Tightening torque per preload, mm, without prevailing torque.

        P/(2 pi) + mu_G d2 / (2 cos(angle/2)) + mu_K D_K/2; with 60 degrees the middle term is
        0.577 mu_G d2. Source: VDI 2230-1, tightening torque. Known from: memory.

        Examples
        --------
        >>> screw = ScrewShape(pitch=1.25, pitch_diameter=7.188, bearing_diameter=11)
        >>> print(f"{nut_factor(screw.lever(0.12, 0.12), major=8):.3f}")
        0.170
        """
        inside, head = not_negative(thread_friction=in_thread, head_friction=under_head)
        return (self.thread_lever(inside) + head * self.bearing_diameter / 2)[()]

    @property
    def core(self) -> float:
        """Diameter of the stressed section, mm: the mean of pitch and root diameter."""
        return (self.pitch_diameter + self.minor_diameter) / 2

    def stress(self, load: ArrayLike, twist_nm: ArrayLike) -> Floats:
        """Stress under pull, N, and twist, N·m, by the distortion energy, MPa.

        sqrt(s^2 + 3 t^2) with s = 4 N / (pi d0^2), t = 16 M / (pi d0^3), d0 = (d2 + d3)/2: at the
        surface, elastic twist. Source: VDI 2230-1, assembly preload, with elastic torsion. Known
        from: memory.

        Examples
        --------
        >>> screw = ScrewShape(pitch=1.25, pitch_diameter=7.188, minor_diameter=6.466)
        >>> print(f"{screw.stress(10e3, 10.0):.0f}")
        389
        """
        (force,), (twist,) = finite(load=load), not_negative(twist_nm=twist_nm)
        broadcast(load=force, twist_nm=twist)
        pull = force * 4 / (np.pi * self.core**2)
        shear = twist * PER_NM * 16 / (np.pi * self.core**3)
        return np.sqrt(pull**2 + 3 * shear**2)[()]

    def yield_preload(
        self, yield_strength: ArrayLike, *, friction: ArrayLike, prevailing_nm: ArrayLike = 0.0
    ) -> Floats:
        """Preload at which pull and twist of tightening bring the screw's thread to yield, N.

        Parameters
        ----------
        yield_strength : array_like, MPa
            Least 0.2 % proof strength of the screw.
        friction : array_like
            In the thread. Higher friction, more twist, less preload.
        prevailing_nm : array_like, N·m
            Torque of a locking insert: all of it passes through the shank.

        Returns
        -------
        float or ndarray, N
            The preload F at which `stress` of F and F times `thread_lever` plus the prevailing
            torque is the yield strength; zero where the prevailing torque alone does it. Yield
            starts at the surface (elastic twist); a fully plastic section would carry about 8 %
            more.

        Source: VDI 2230-1, assembly preload, with elastic torsion, which reproduces its table of
        assembly preloads. Known from: memory.

        Examples
        --------
        >>> screw = ScrewShape(pitch=1.25, pitch_diameter=7.188, minor_diameter=6.466)
        >>> print(f"{screw.yield_preload(0.9 * 640, friction=0.12) / 1000:.1f} kN")
        17.2 kN
        """
        rp, running, mu = positive(
            "prevailing_nm",
            "friction",
            yield_strength=yield_strength,
            prevailing_nm=prevailing_nm,
            friction=friction,
        )
        # Shear stress is k s + t, with s the tensile stress: s^2 + 3 (k s + t)^2 = limit^2.
        k = 4 / self.core * self.thread_lever(mu)
        t = running * PER_NM * 16 / (np.pi * self.core**3)
        root = np.sqrt(np.maximum((1 + 3 * k**2) * rp**2 - 3 * t**2, 0.0))
        stress = np.maximum((root - 3 * k * t) / (1 + 3 * k**2), 0.0)
        return (np.pi / 4 * self.core**2 * stress)[()]


def screw_shape(
    thread: Thread, stress_area: float, bearing_diameter: float | None = None
) -> ScrewShape:
    """Return the shape of a screw whose stressed section has its stress area.

    Parameters
    ----------
    thread : Thread
    stress_area : float, mm2
        That of the mean of pitch and root diameter.
    bearing_diameter : float, mm, optional
        Mean diameter of the head's bearing face; else what is common for the thread.

    Returns
    -------
    ScrewShape

    Examples
    --------
    >>> from thread_repair.threads import thread
    >>> print(f"{screw_shape(thread('M8'), 36.61).core:.3f}")
    6.827
    """
    number_above_zero(stress_area=stress_area)
    hole = inserts.enlarged_diameters(thread)
    pitch_diameter = thread.major - (hole.major - hole.pitch)  # not rounded to a micrometre
    ratio = tables.constant("bearing_diameter_over_major").value
    return ScrewShape(
        pitch=thread.pitch,
        pitch_diameter=pitch_diameter,
        minor_diameter=2 * float(np.sqrt(4 * stress_area / np.pi)) - pitch_diameter,
        bearing_diameter=ratio * thread.major if bearing_diameter is None else bearing_diameter,
        major=thread.major,
        flank_angle=thread.flank_angle,
    )


def nut_factor(coefficient: ArrayLike, *, major: ArrayLike) -> Floats:
    """K of T = K d F.

    Parameters
    ----------
    coefficient : array_like, mm
        `ScrewShape.lever`.
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
        `ScrewShape.lever`, or K times the nominal diameter.
    prevailing_nm : array_like, N·m
        Torque that a locking insert takes before the head seats.

    Returns
    -------
    float or ndarray, N·m

    Source: VDI 2230-1 (memory); that prevailing torque is added: NASA TM-106943 Table VII note b,
    read.
    """
    force, running, lever = positive(
        "preload",
        "prevailing_nm",
        preload=preload,
        prevailing_nm=prevailing_nm,
        coefficient=coefficient,
    )
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
    applied, lever, running = positive(
        "prevailing_nm", torque_nm=torque_nm, coefficient=coefficient, prevailing_nm=prevailing_nm
    )
    left = applied - running
    if (left < 0).any():
        where, (applied_nm, running_nm) = first_at(left < 0, applied, running)
        raise InputError.of(
            "torque_below_prevailing", applied=applied_nm, running=running_nm, where=where
        )
    return (left * PER_NM / lever)[()]
