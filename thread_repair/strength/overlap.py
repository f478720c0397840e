"""How far do the flanks overlap, what do they bear, and when does the shear area not count in full.

The area formula does not know the hole's minor diameter: with a micrometre of overlap it still
shears the whole thread off. Two things limit the load then. The flanks crush (`bearing_load`).
And where crushing and shearing lie near each other, the ridge gives way by both at a lower load
than either, which certified upper bounds show (`overlap_factor`).
"""

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import FloatArray, Floats, first_at, plain, positive
from ..errors import GeometryError
from ..tables import columns
from .areas import strip_area_internal

TABLE = "thread_overlap.csv"


def bearing_area(
    length: ArrayLike, pitch: ArrayLike, crest: ArrayLike, hole_minor: ArrayLike
) -> Floats:
    r"""Area of the flanks in contact, seen along the axis.

    Parameters
    ----------
    length, pitch, crest, hole_minor : array_like, mm
        Engaged length of full thread, pitch, major diameter of the screw or outside of the fitted
        insert, minor diameter of the tapped hole. Broadcast; NaN gives NaN.

    Returns
    -------
    float or ndarray, mm2

    Raises
    ------
    GeometryError
        If the crest does not reach past the hole's minor diameter: nothing holds the screw.

    Notes
    -----
    .. math:: A_b = \frac{\pi}{4}\,(d^2 - D_1^2)\,\frac{L}{P}

    Source: geometry, derived here.

    Examples
    --------
    M8x1.25 6H/6g at minimum material, one diameter engaged, 6.4 x 9.773 mm2:

    >>> print(f"{bearing_area(8, 1.25, 7.760, 6.912):.2f}")
    62.54
    """
    L, P, d, D1 = positive("length", length=length, pitch=pitch, crest=crest, hole_minor=hole_minor)
    apart = d <= D1
    if apart.any():
        where, (first, second) = first_at(apart, d, D1)
        raise GeometryError.of("crest_short_of_hole", first=first, second=second, where=where)
    return (np.pi / 4 * (d - D1) * (d + D1) * (L / P))[()]


def bearing_stress(shear_strength: ArrayLike, tan_half_angle: ArrayLike) -> Floats:
    r"""Pressure on the projected contact area at which the parent's flanks give way.

    Parameters
    ----------
    shear_strength : array_like, MPa
        Of the parent: the flow stress in shear, as in the area formula.
    tan_half_angle : array_like
        Tangent of half the flank angle.

    Returns
    -------
    float or ndarray, MPa

    Notes
    -----
    The loaded flank and the crest of a ridge make a wedge of :math:`90° + \alpha/2`. Perfectly
    plastic in plane strain and pressed without friction over all of one flank, it gives way at

    .. math:: p = 2\,\tau\,\left(1 + \frac{\alpha}{2}\right)

    with the angle in radians (half plane: :math:`2 + \pi` times :math:`\tau`). Hardening, friction
    and the hoop stress round the hole raise it, so that it lies below every bound solved.

    Source: The Mathematical Theory of Plasticity (1950), wedge loaded on one flank. Known from:
    memory; held between the certified bounds of small overlaps by the tests.

    Examples
    --------
    >>> print(f"{bearing_stress(100, 0.57735):.1f}")
    304.7
    """
    tau, slope = positive(shear_strength=shear_strength, tan_half_angle=tan_half_angle)
    return plain(2 * tau * (1 + np.arctan(slope)))


def bearing_ratio(
    pitch: ArrayLike,
    crest: ArrayLike,
    hole_minor: ArrayLike,
    hole_pitch_diameter: ArrayLike,
    *,
    tan_half_angle: ArrayLike,
) -> Floats:
    """Load that crushes the parent's flanks over the load that shears its thread off.

    Parameters
    ----------
    pitch, crest, hole_minor, hole_pitch_diameter : array_like, mm
    tan_half_angle : array_like

    Returns
    -------
    float or ndarray
        Of the sizes alone: the parent's strength and the length cancel.

    Raises
    ------
    GeometryError
        If the threads do not overlap.

    Source: of the two formulas above; derived here.
    """
    P, d, D1, D2, slope = positive(
        pitch=pitch,
        crest=crest,
        hole_minor=hole_minor,
        hole_pitch_diameter=hole_pitch_diameter,
        tan_half_angle=tan_half_angle,
    )
    shear = strip_area_internal(1.0, P, d, D2, tan_half_angle=slope)
    bearing = bearing_area(1.0, P, d, D1) * bearing_stress(1.0, slope)
    return plain(bearing / shear)


def overlap_factor(ratio: ArrayLike) -> Floats:
    """Share of the area formula's load that certified upper bounds leave, at most 1.

    Parameters
    ----------
    ratio : array_like
        As `bearing_ratio` gives it.

    Returns
    -------
    float or ndarray

    Notes
    -----
    On this ratio alone the bounds depend, to about 2 %, whatever the diameter, pitch, root and
    flank angle: the table lies below all that were solved (`tests/benchmarks/overlap_check.py`).

    Source: derived, certified limit analysis; table `thread_overlap.csv`.

    Examples
    --------
    M8x1.25 6H/6g at minimum material; the same with the hole drilled to 7.1 and 7.5 mm:

    >>> ratio = bearing_ratio(1.25, 7.760, [6.912, 7.1, 7.5], 7.348, tan_half_angle=0.57735)
    >>> print(ratio.round(3), overlap_factor(ratio).round(3))
    [1.416 1.116 0.451] [1.    0.975 0.463]
    """
    (at,) = positive(ratio=ratio)
    return np.interp(at, *table())[()]


def table() -> tuple[FloatArray, FloatArray]:
    """Return the points of `overlap_factor`: ratio, factor.

    Returns
    -------
    tuple of ndarray
    """
    at, share = columns(TABLE, "bearing_over_formula", "strip_over_formula")
    return at, share
