"""On which area does a thread shear off.

Both areas are cylinders cut by the other thread's crest: the hole's thread shears on a cylinder
of the screw's major diameter, the screw's thread on one of the hole's minor diameter.
"""

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import Floats, first_at, positive
from ..errors import GeometryError, InputError
from ..threads.profile import TAN_30


def tan_half_angle(flank_angle: ArrayLike) -> Floats:
    """Tangent of half the included angle of the thread profile.

    Parameters
    ----------
    flank_angle : array_like, degrees
        Included angle: 60 for ISO metric and unified threads, 55 for Whitworth.

    Returns
    -------
    float or ndarray

    Raises
    ------
    InputError
        If the angle is not between 0 and 180 degrees.

    Source: geometry.

    Examples
    --------
    >>> print(f"{tan_half_angle(55):.4f}")
    0.5206
    """
    (angle,) = positive(flank_angle=flank_angle)
    if (angle >= 180).any():
        raise InputError(f"flank_angle must be below 180 degrees, got {np.nanmax(angle):g}")
    return np.tan(np.radians(angle / 2))[()]


def strip_area_internal(
    length: ArrayLike,
    pitch: ArrayLike,
    screw_major: ArrayLike,
    hole_pitch_diameter: ArrayLike,
    *,
    tan_half_angle: ArrayLike = TAN_30,
) -> Floats:
    r"""Shear area of the internal thread on the cylinder of the screw's major diameter.

    Parameters
    ----------
    length, pitch, screw_major, hole_pitch_diameter : array_like, mm
        Engaged length of full thread, pitch, major diameter of the external thread (for an
        insert hole the outside of the fitted insert) and pitch diameter of the tapped hole.
        Broadcast against each other; NaN gives NaN.
    tan_half_angle : array_like, optional
        Tangent of half the flank angle: `TAN_30` for 60 degree threads; `tan_half_angle`
        of 55 for Whitworth threads.

    Returns
    -------
    float or ndarray, mm2

    Raises
    ------
    InputError
        If a size is not above zero (the length may be zero).
    GeometryError
        If the screw's crest does not reach into the hole's thread, or reaches past its sharp
        root: the sizes do not belong to one joint. That the screw's major diameter exceeds the
        hole's minor diameter is the caller's check.

    Notes
    -----
    .. math:: A = \pi d \frac{L}{P} \left[\frac{P}{2} + (d - D_2) \tan\alpha\right]

    The least area takes the least major diameter and the greatest pitch diameter. The form with
    another flank angle is the same geometry; the document prints it for 60 degrees only.

    Source: FED-STD-H28/2B (1991), Appendix B; same form in ASME B1.1 Appendix B. Known from:
    memory; its values agree with a printed table of areas (tests/published).

    Examples
    --------
    M8x1.25 6H/6g at minimum material, one diameter engaged (printed: 134.63 mm2):

    >>> print(f"{strip_area_internal(8, 1.25, 7.760, 7.348):.2f}")
    134.63
    """
    diameters = {"screw_major": screw_major, "hole_pitch_diameter": hole_pitch_diameter}
    return _strip_area(length, pitch, tan_half_angle, 1, **diameters)


def strip_area_external(
    length: ArrayLike,
    pitch: ArrayLike,
    hole_minor: ArrayLike,
    screw_pitch_diameter: ArrayLike,
    *,
    tan_half_angle: ArrayLike = TAN_30,
) -> Floats:
    r"""Shear area of the external thread on the cylinder of the hole's minor diameter.

    Parameters
    ----------
    length, pitch, hole_minor, screw_pitch_diameter : array_like, mm
        Engaged length of full thread, pitch, minor diameter of the internal thread and pitch
        diameter of the screw. Broadcast against each other; NaN gives NaN.
    tan_half_angle : array_like, optional
        Tangent of half the flank angle: `TAN_30` for 60 degree threads; `tan_half_angle`
        of 55 for Whitworth threads.

    Returns
    -------
    float or ndarray, mm2

    Raises
    ------
    InputError
        If a size is not above zero (the length may be zero).
    GeometryError
        If the hole's crest does not reach into the screw's thread, or reaches past its sharp
        root.

    Notes
    -----
    .. math:: A = \pi D_1 \frac{L}{P} \left[\frac{P}{2} + (d_2 - D_1) \tan\alpha\right]

    The least area takes the greatest minor diameter and the least pitch diameter.

    Source: FED-STD-H28/2B (1991), Appendix B; same form in ASME B1.1 Appendix B. Known from:
    memory; its values agree with a printed table of areas (tests/published).

    Examples
    --------
    M8x1.25 6H/6g at minimum material, one diameter engaged (printed: 97.290 mm2):

    >>> print(f"{strip_area_external(8, 1.25, 6.912, 7.042):.2f}")
    97.29
    """
    diameters = {"hole_minor": hole_minor, "screw_pitch_diameter": screw_pitch_diameter}
    return _strip_area(length, pitch, tan_half_angle, -1, **diameters)


def _strip_area(
    length: ArrayLike, pitch: ArrayLike, tangent: ArrayLike, inward: int, **diameters: ArrayLike
) -> Floats:
    """Area on the first diameter, `inward` (1 or -1) of the second, that of the pitch line."""
    cylinder, pitch_line, L, P, slope = positive(
        "length", **diameters, length=length, pitch=pitch, tan_half_angle=tangent
    )
    rise = inward * (cylinder - pitch_line)
    thickness = P / 2 + rise * slope  # of one thread at the cylinder
    outside = (thickness <= 0) | (thickness > P)
    if outside.any():
        where, (t, p, first, second) = first_at(outside, thickness, P, cylinder, pitch_line)
        fault = "threads do not overlap" if t <= 0 else "crest would lie beyond a sharp root"
        raise GeometryError.of(
            "sizes_do_not_fit",
            names=tuple(diameters),
            first=first,
            second=second,
            p=p,
            where=where,
            fault=fault,
        )
    return (np.pi * cylinder * (L / P) * thickness)[()]
