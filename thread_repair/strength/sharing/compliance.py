"""How far one thread gives way under load: the published compliance terms of a thread.

A thread loaded by f [N/mm of helix] deflects axially by kappa f / E against its own body. Five
terms add up: bending of the tooth, shear, rotation at its root, shear at its root, and the radial
give of the body (the screw shrinks, the parent grows, and the flanks slide down each other).
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from ...arrays import FloatArray, Floats, first_at, plain, positive, positive_or_infinite
from ...errors import InputError, looked_up
from ...threads.profile import TAN_30

#: Root width, width at the pitch line and root-to-pitch-line height, in pitches, of the 60 degree
#: profile. Source: threaded-fasteners-1980, from memory.
_TOOTH = {"screw": (0.833, 0.5, 0.289), "parent": (0.875, 0.5, 0.325)}


class ThreadCompliance(NamedTuple):
    """The five terms kappa = deflection x E / (load per length of helix), dimensionless.

    Attributes
    ----------
    bending, shear, root_rotation, root_shear, radial : float or ndarray
        k1 to k5 of the source.
    """

    bending: Floats
    shear: Floats
    root_rotation: Floats
    root_shear: Floats
    radial: Floats

    @property
    def tooth(self) -> Floats:
        """k1 + k2 + k3 + k4: the tooth alone, without the radial give of the body."""
        return self.bending + self.shear + self.root_rotation + self.root_shear

    @property
    def total(self) -> Floats:
        """k1 + ... + k5."""
        return self.tooth + self.radial


def thread_compliance(
    *,
    side: str,
    pitch: ArrayLike,
    pitch_diameter: ArrayLike,
    poisson: ArrayLike,
    outer_diameter: ArrayLike = np.inf,
) -> ThreadCompliance:
    """Compliance of one thread of the screw or of the parent.

    Parameters
    ----------
    side : "screw" | "parent"
    pitch, pitch_diameter : array_like, mm
    poisson : array_like
        Poisson's ratio of the material.
    outer_diameter : array_like, mm
        Outside diameter of the parent's boss, above the pitch diameter; infinite by default, a
        wide block. Not used for the screw.

    Returns
    -------
    ThreadCompliance
        Each term a float or an ndarray of the broadcast shape.

    Raises
    ------
    InputError
        Unknown side; sizes not above zero; boss not wider than the thread.

    Notes
    -----
    With half flank angle 30 degrees and tooth sizes a (root), b (pitch line), c (root to pitch
    line) in pitches: screw 0.833, 0.5, 0.289; parent 0.875, 0.5, 0.325. The proportions are those
    of the 60 degree profile; for a 55 degree thread the result is an approximation.

    Source: threaded-fasteners-1980. Known from: memory.

    Examples
    --------
    >>> k = thread_compliance(side="screw", pitch=1.5, pitch_diameter=9.026, poisson=0.3)
    >>> print(f"{k.tooth:.3f} {k.radial:.3f}")
    2.686 0.702
    """
    a, b, c = looked_up("side", side, _TOOTH)
    p, d2, nu = positive("poisson", pitch=pitch, pitch_diameter=pitch_diameter, poisson=poisson)
    (outer,) = positive_or_infinite(outer_diameter=outer_diameter)
    if (nu >= 0.5).any():
        raise InputError(f"poisson must lie in 0 <= poisson < 0.5, got {np.nanmax(nu):g}")
    plate = 1 - nu**2
    tapered = (1 - (2 - b / a) ** 2 + 2 * np.log(a / b)) / TAN_30**3
    bending = plate * 0.75 * (tapered - 4 * (c / a) ** 2 * TAN_30)
    shear = (1 + nu) * 1.2 / TAN_30 * np.log(a / b)
    root_rotation = plate * 12 * c / (np.pi * a**2) * (c - b / 2 * TAN_30)
    sheared = np.log((1 + a / 2) / (1 - a / 2)) / a + 0.5 * np.log(4 / a**2 - 1)
    root_shear = plate * 2 / np.pi * sheared
    body = (1 - nu) / 2 if side == "screw" else (_ring(d2, outer) + nu) / 2
    radial = body * TAN_30**2 * d2 / p
    return ThreadCompliance(*map(plain, (bending, shear, root_rotation, root_shear, radial)))


def line_compliance(
    kappa: ArrayLike, *, modulus: ArrayLike, pitch: ArrayLike, pitch_diameter: ArrayLike
) -> Floats:
    """Axial slip per load per axial length of one thread, kappa sin(beta) / E.

    Parameters
    ----------
    kappa : array_like
        Compliance of the thread (`ThreadCompliance.total` or `.tooth`).
    modulus : array_like, MPa
        Young's modulus of the member that carries the thread.
    pitch, pitch_diameter : array_like, mm
        They give the lead angle beta, hence the helix length per axial length 1/sin(beta).

    Returns
    -------
    float or ndarray, mm2/N
        Slip [mm] for one N/mm of axial length. Members in series add.

    Source: geometry of the helix; derived.
    """
    k, e, p, d2 = positive(kappa=kappa, modulus=modulus, pitch=pitch, pitch_diameter=pitch_diameter)
    return (k * p / np.hypot(p, np.pi * d2) / e)[()]


def _ring(inner: FloatArray, outer: FloatArray) -> FloatArray:
    """(D0^2 + d^2) / (D0^2 - d^2), the thick ring's factor; 1 for an unbounded block."""
    apart = outer <= inner
    if apart.any():
        where, (D, d) = first_at(apart, outer, inner)
        raise InputError(
            f"outer_diameter must be above the pitch diameter, {d:g}, got {D:g}{where}"
        )
    ratio = (inner / outer) ** 2
    return (1 + ratio) / (1 - ratio)
