"""Load against travel of the screw while the threads yield: a pull test without a specimen.

The chain of threads of the load-sharing model, each thread with a curve instead of two straight
lines. A thread under the line load f slips by

    s(f) = c f + sqrt(3) b e (f / g)^n        up to f = g, and carries g from there on,

c the elastic compliance of the sharing model, g the line load at which the thread strips by the
verdict, and the second term a Ramberg-Osgood curve in shear: sqrt(3) e its strain, b the width over
which it acts. What is assumed:

- tension: strain = stress / E + 0.002 (stress / yield)^n through yield strength and tensile
  strength, where the plastic strain e = ln(1 + elongation); a fracture elongation holds a neck too;
- shear: the same curve, with the shear strength of the verdict in the place of the tensile strength
  (von Mises strain), so that a thread strips where a bar has its tensile strength;
- b is that of one pitch solved by finite elements with such a curve, frictionless, for a rigid
  screw; bodies of screw and parent stay elastic.

Strains are small and the geometry is the undeformed one. The curve says where that ends.
"""

import math
from dataclasses import dataclass

import numpy as np

from ... import tables
from ...arrays import FloatArray, positive, read_only
from ...errors import ValidityError
from .chain import Chain, solve_slips

REFERENCES = tables.cited("load-slip")

#: Plastic strain at the 0.2 % proof stress.
PROOF = 0.002
_POINTS = 121
#: Table and columns of the band that shears.
_BANDS = ("load_slip_band.csv", "exponent", "width_over_overlap")


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreadCurve:
    """Slip of one thread against its line load.

    Attributes
    ----------
    compliance : c, mm2/N
    plateau : g, N/mm
    exponent : n
    strain : e, equivalent plastic strain at the plateau
    band : b, mm
    """

    compliance: float
    plateau: float
    exponent: float
    strain: float
    band: float

    @property
    def _sheared(self) -> float:
        """Plastic slip at the plateau, mm."""
        return math.sqrt(3) * self.band * self.strain

    def slip(self, load: FloatArray) -> FloatArray:
        """Slip, mm, at line loads up to the plateau, N/mm."""
        plastic = self._sheared * (load / self.plateau) ** self.exponent
        return self.compliance * load + plastic

    @property
    def plateau_slip(self) -> float:
        """Slip at which the plateau is reached, mm."""
        return self.compliance * self.plateau + self._sheared

    def slip_at(self, strain: float) -> float:
        """Slip, mm, at an equivalent plastic strain."""
        part = min((strain / self.strain) ** (1 / self.exponent), 1.0)
        return float(self.compliance * self.plateau * part + math.sqrt(3) * self.band * strain)

    def load(self, slip: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Line load and its slope at slips, by Newton's method from above: the curve is concave."""
        past = slip >= self.plateau_slip
        # Neither term alone carries less than both together.
        with np.errstate(divide="ignore"):
            elastic = slip / self.compliance
            plastic = self.plateau * (slip / self._sheared) ** (1 / self.exponent)
        found = np.minimum(np.minimum(elastic, plastic), self.plateau)
        for _ in range(60):
            give = self._give(found)
            step = (self.slip(found) - slip) / give
            found = np.maximum(found - step, 0.0)
            if np.all(np.abs(step) <= 1e-13 * self.plateau):
                break
        return np.where(past, self.plateau, found), np.where(past, 0.0, 1 / self._give(found))

    def _give(self, load: FloatArray) -> FloatArray:
        """Slope of the slip over the line load."""
        rate = self._sheared * self.exponent / self.plateau
        return self.compliance + rate * (load / self.plateau) ** (self.exponent - 1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoadSlip:
    """Load against travel of one hole.

    Attributes
    ----------
    travel, load : ndarray, mm, N
        Of the screw against the parent at the joint face, from zero to where the sharing model's
        most loaded thread parts.
    energy : ndarray, J
        Work done up to each travel.
    stiffness : N/mm, at no load
    plateau : N, the load that all threads carry together
    plateau_travel : mm, at which the last thread reaches it; infinite where a thread parts before
    small_strain_travel : mm, where the strain of the most loaded thread leaves small-strain theory
    exponent, band : of the curve of each thread; -, mm
    """

    travel: FloatArray
    load: FloatArray
    energy: FloatArray
    stiffness: float
    plateau: float
    plateau_travel: float
    small_strain_travel: float
    exponent: float
    band: float

    @property
    def ductility_travel(self) -> float:
        """Travel at which the sharing model's most loaded thread parts, mm."""
        return float(self.travel[-1])

    @property
    def last_travel(self) -> float:
        """Travel up to which the curve holds, mm: small strains, and no thread has parted."""
        return min(self.small_strain_travel, self.ductility_travel)

    @property
    def last_load(self) -> float:
        """Load there, N."""
        return float(np.interp(self.last_travel, self.travel, self.load))

    @property
    def last_energy(self) -> float:
        """Work done up to there, J."""
        return float(np.interp(self.last_travel, self.travel, self.energy))


def hardening(*, yield_strength: float, tensile: float, elongation: float) -> tuple[float, float]:
    """Exponent of the Ramberg-Osgood curve and its plastic strain at the tensile strength.

    Parameters
    ----------
    yield_strength, tensile : MPa
    elongation : fraction

    Returns
    -------
    tuple of float

    Raises
    ------
    ValidityError
        Where no such curve passes both points, or band widths were not solved for its exponent.

    Source: NACA TN 902 (1943) for the form, NACA TN 927 (1944) for its 0.2 % offset. Known from:
    memory.

    Examples
    --------
    >>> print("%.1f %.4f" % hardening(yield_strength=241, tensile=290, elongation=0.10))
    20.9 0.0953
    """
    strong, rupture, stretch = (
        float(each[()])
        for each in positive(yield_strength=yield_strength, tensile=tensile, elongation=elongation)
    )
    strain = math.log1p(stretch)
    exponent = math.log(strain / PROOF) / math.log(rupture / strong) if rupture > strong else -1.0
    known, _ = tables.columns(*_BANDS)
    if not known[0] <= exponent <= known[-1]:
        raise ValidityError.of(
            "no_exponent",
            strong=strong,
            rupture=rupture,
            percent=100 * stretch,
            known=known,
            last=known[-1],
        )
    return exponent, strain


def band_width(exponent: float, overlap: float) -> float:
    """Width, mm, over which a thread shears, by interpolation over 1 / exponent.

    Parameters
    ----------
    exponent : of the stress-strain curve
    overlap : mm, radial overlap of the flanks

    Returns
    -------
    float, mm

    Source: derived, finite elements of one pitch; table `load_slip_band.csv`.
    """
    exponents, widths = tables.columns(*_BANDS)
    return overlap * float(np.interp(-1 / exponent, -1 / exponents, widths))


def load_slip(chain: Chain, curve: ThreadCurve, *, rupture_slip: float) -> LoadSlip:
    """Load against travel until the most loaded thread parts.

    Parameters
    ----------
    chain : Chain
        One joint.
    curve : ThreadCurve
    rupture_slip : mm, slip of a thread at which it parts

    Returns
    -------
    LoadSlip

    Notes
    -----
    The slip of the more loaded end is prescribed, the others follow. All threads carry the plateau
    once the least loaded one has reached it: with the same line load everywhere the slip rises by
    strain x plateau x (end share x length)^2 / 2 from there to the more loaded end.
    """
    # Squares: the steps are short where the curve is steep.
    ends = rupture_slip * np.linspace(0.0, 1.0, _POINTS) ** 2

    def tangent(slip: FloatArray) -> tuple[FloatArray, FloatArray]:
        slip = np.maximum(slip, 0.0)
        line_load, slope = curve.load(slip)
        return slope, line_load - slope * slip

    slips, load = solve_slips(chain, ends, tangent)
    travel = slips[-1] if chain.flipped else slips[0]

    def at(end: float) -> float:
        return float(np.interp(end, ends, travel))

    rise = float(chain.strain * curve.plateau * (chain.end_share * chain.length) ** 2 / 2)
    whole = curve.plateau_slip + rise
    limit = tables.constant("small_strain_limit").value
    work = np.concatenate([[0.0], np.cumsum(np.diff(travel) * (load[1:] + load[:-1]) / 2)])
    return LoadSlip(
        travel=read_only(travel),
        load=read_only(load),
        energy=read_only(work / 1000),  # N mm
        stiffness=float(load[1] / travel[1]),
        plateau=float(curve.plateau * chain.length),
        plateau_travel=at(whole) if whole <= rupture_slip else math.inf,
        small_strain_travel=at(min(curve.slip_at(limit), rupture_slip)),
        exponent=curve.exponent,
        band=curve.band,
    )
