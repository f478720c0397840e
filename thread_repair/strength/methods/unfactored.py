"""Methods that take an area times a strength: a standard, a handbook and two reports.

FED-STD-H28/2B, Appendix B: ductile threads that share the load evenly at rupture; dilation of the
hole and bending of the threads are left out.

Machinery's Handbook: written for the length that lets the screw break first, Q = J Le, or Le where
J is below 1; read backwards here. Le is the length at which the screw's shear area is twice its
stress area. Compares tensile, not shear strengths.

NASA RP-1228: tapped holes and inserts alike; the third is an empirical allowance for threads that
do not match, where 1/2 would be perfect sharing. The lowest of the published rules.

NASA TM-106943 contradicts itself: equation (76) prints 3/4 pi L D for a thread pulled out by the
screw in it; Table III of the same document was computed with 7/8, which is the share at basic size.
The document takes the parent round an insert on the smaller area of the insert's outer thread
(eq. 78, 79), "for conservative purposes": set beside eq. (76) for the original hole it makes an
insert look weaker than the thread it replaces. Ultimate strength only. Its inserts are solid and
held by keys: for a wire thread insert every value of it lies outside its range, and a ratio of its
two states would mean nothing.
"""

from fractions import Fraction

import numpy as np
from numpy.typing import ArrayLike

from ...arrays import Floats, not_negative, plain, positive
from ...facts import Fact, fact
from ..strip import StripInputs, StripResult, flag

#: Shear strength taken as this share of the tensile strength: the 2 in the handbook's formula,
#: which asks that the screw's shear area be twice its stress area.
HANDBOOK_SHEAR_SHARE = 0.5
#: Share of the cylinder at the pitch diameter that carries load by NASA RP-1228.
THIRD = Fraction(1, 3)
#: NASA TM-106943, share of the cylinder of the screw's major diameter: as printed in eq. (76), and
#: as used for Table III; of the cylinder of the minor diameter, eq. (63) and (78).
INTERNAL_SHARE, INTERNAL_SHARE_TABLE_III = Fraction(3, 4), Fraction(7, 8)
EXTERNAL_SHARE = Fraction(5, 8)
#: Why no value of it counts for a wire thread insert.
OUTSIDE = fact("for_keyed_solid_inserts")


def fed_std_h28(inputs: StripInputs, thread: str) -> StripResult:
    """Shear area at the limits of size times ultimate shear strength, no factors.

    Parameters
    ----------
    inputs : StripInputs
    thread : "parent" or "screw"

    Returns
    -------
    StripResult

    Source: FED-STD-H28/2B, Appendix B. Known from: memory.
    """
    return StripResult(area=inputs.area(thread), stress=inputs.shear(thread))


def strength_factor(inputs: StripInputs) -> Floats:
    """Factor J of the handbook: screw's over parent's shear area times tensile strength.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    float or ndarray

    Source: Machinery's Handbook, length of thread engagement. Known from: Le read, J and Q memory.
    """
    return plain(1 / inputs.strength_ratio)


def machinerys_handbook(inputs: StripInputs, thread: str) -> StripResult:
    """Load that the handbook's engagement equals the length for: half the tensile strength.

    Parameters
    ----------
    inputs : StripInputs
    thread : "parent" or "screw"

    Returns
    -------
    StripResult

    Source: Machinery's Handbook, length of thread engagement. Known from: Le read, J and Q memory.
    """
    decided = flag(strength_factor(inputs) < 1, "screw_thread_decides")
    return StripResult(
        area=inputs.area(thread),
        stress=HANDBOOK_SHEAR_SHARE * inputs.tensile(thread),
        notes=decided if thread == "parent" else (),
    )


def nasa_rp_1228(inputs: StripInputs, thread: str = "parent") -> StripResult:
    """One third of the cylinder at the hole's pitch diameter, times the parent's shear strength.

    Parameters
    ----------
    inputs : StripInputs
    thread : "parent", the only one it has

    Returns
    -------
    StripResult

    Source: NASA RP-1228, pull-out of tapped holes and inserts. Known from: read.
    """
    return StripResult(
        area=np.pi * inputs.internal_pitch_diameter * inputs.length,
        stress=inputs.shear(thread),
        factors={"share": float(THIRD)},
        notes=(fact("last_threads_not_counted"),),
    )


def cylinder_area(length: ArrayLike, diameter: ArrayLike, share: Fraction) -> Floats:
    """Share of a cylinder, mm2 (any one unit of length in, its square out).

    Parameters
    ----------
    length, diameter : array_like, mm
    share : Fraction

    Returns
    -------
    float or ndarray, mm2

    Source: NASA TM-106943, eq. (63) p. 18, eq. (76) to (80) p. 21, Table III p. 22. Known from:
    read.

    Examples
    --------
    Table III, 1/4-28 insert of S66286, 0.360 in, 85 ksi: printed 21 029 lb.

    >>> print(f"{85e3 * cylinder_area(0.360, 0.25, INTERNAL_SHARE_TABLE_III):.0f}")
    21029
    >>> print(f"{85e3 * cylinder_area(0.360, 0.25, INTERNAL_SHARE):.0f}")
    18025
    """
    (L,), (D,) = not_negative(length=length), positive(diameter=diameter)
    return (float(share) * np.pi * L * D)[()]


def nasa_tm_106943(inputs: StripInputs, thread: str) -> StripResult:
    """Shear strength on the area the document gives.

    The parent's by eq. (76) for the original hole and by eq. (78) and (79) for the insert hole,
    the screw's by eq. (63).

    Parameters
    ----------
    inputs : StripInputs
    thread : "parent" or "screw"

    Returns
    -------
    StripResult

    Source: NASA TM-106943, eq. (63) p. 18, eq. (76) to (80) p. 21, Table III p. 22. Known from:
    read.
    """
    note: tuple[Fact, ...] = ()
    if thread == "screw":
        area = cylinder_area(inputs.screw_engaged, inputs.internal_minor, EXTERNAL_SHARE)
    elif inputs.state == "repaired":
        area = cylinder_area(inputs.length, inputs.hole_minor, EXTERNAL_SHARE)
        note = (fact("area_of_outer_thread"),)
    else:
        area = cylinder_area(inputs.length, inputs.hole_major_basic, INTERNAL_SHARE)
        note = (fact("three_quarters_printed"),)
    return StripResult(area=area, stress=inputs.shear(thread), valid=False, notes=(OUTSIDE, *note))
