"""The strip load the verdict uses: full area, sourced shear strength, factors never above 1.

Area of FED-STD-H28/2B Appendix B; ultimate shear strength of the member that shears; factors C1,
C2 and C3 of SAE 770420, of which C2 and C3 are capped at 1. The paper lets both exceed 1 because
the weaker thread of two steel threads bends less; nothing published shows that a light metal
gains by it, so a conservative report takes no credit. Below a strength ratio of 0.4 (C3) and
above 2.2 (C2) the paper has no value; the factor is then 1, its cap, and the case is flagged.
C1 below 1.4 hole diameters has no value either and no cap to fall back on: the load is NaN unless
the caller supplies a wall factor of another origin. Of flanks that overlap little the formula
takes too much: the parent's load is then cut to certified upper bounds, and the flanks have a
load of their own.
"""

import dataclasses

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import Bools, Floats, positive
from ..facts import number
from .methods import factored
from .overlap import bearing_area, bearing_ratio, bearing_stress, overlap_factor
from .strip import Method, StripInputs, StripResult, flag

ID = "primary"
#: Ends of the range of strength ratios for which the paper gives a factor.
LEAST, MOST = factored.STRENGTH_RATIO_MIN, factored.STRENGTH_RATIO_MAX


def capped_factor(ratio: ArrayLike, thread: str) -> Floats:
    """C3 or C2 of SAE 770420, at most 1, and 1 outside the paper's range.

    Parameters
    ----------
    ratio : array_like
        Strength ratio Rs of parent over screw thread.
    thread : "parent" or "screw"

    Returns
    -------
    float or ndarray

    Source: SAE 770420 for the factors, FED-STD-H28/2B for the area. Known from: memory; the cap
    at 1 is our own.

    Examples
    --------
    >>> print(capped_factor([0.2, 0.5, 1.2], "parent"), capped_factor([0.5, 2.0, 3.0], "screw"))
    [1.    1.    0.897] [0.897 1.    1.   ]
    """
    (Rs,) = positive(ratio=ratio)
    paper = factored.bending_factor(Rs, thread)
    return np.where(_outside(Rs, thread), 1.0, np.minimum(paper, 1.0))[()]


def _outside(ratio: Floats, thread: str) -> Bools:
    """Whether the paper gives the member that is stronger by so much no factor."""
    return ratio < LEAST if thread == "parent" else ratio > MOST


def wall_factor_used(inputs: StripInputs) -> Floats:
    """Lower of C1 and the wall factor given; the one that is known where the other is not.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    float or ndarray

    Source: SAE 770420 for the factors, FED-STD-H28/2B for the area. Known from: memory; the cap
    at 1 is our own.
    """
    C1 = factored.inputs_dilation_factor(inputs)
    return C1 if inputs.wall_factor is None else np.fmin(C1, inputs.wall_factor)[()]


def inputs_bearing_ratio(inputs: StripInputs) -> Floats:
    """Load that crushes the flanks of a hole over the load that shears its thread off.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    float or ndarray

    Source: see `bearing_ratio`.
    """
    return bearing_ratio(
        inputs.pitch,
        inputs.external_major,
        inputs.hole_minor,
        inputs.internal_pitch_diameter,
        tan_half_angle=inputs.tan_half_angle,
    )


def strip(inputs: StripInputs, thread: str) -> StripResult:
    """Strip load of the parent's or the screw's thread by the primary model.

    Parameters
    ----------
    inputs : StripInputs
    thread : "parent" or "screw"

    Returns
    -------
    StripResult
        The parent's factor "overlap" is what certified upper bounds leave of the area formula.

    Source: SAE 770420 for the factors, FED-STD-H28/2B for the area. Known from: memory; the cap
    at 1 is our own.
    """
    wall, Rs = wall_factor_used(inputs), inputs.strength_ratio
    factor, beyond = capped_factor(Rs, thread), _outside(Rs, thread)
    factors = {"C1" if inputs.wall_factor is None else "wall": wall}
    if thread == "parent":
        factors |= {"C3": factor, "overlap": overlap_factor(inputs_bearing_ratio(inputs))}
        outside, limited, edge = "c3_outside_taken_as_one", "c3_limited", LEAST
    else:
        factors |= {"C2": factor}
        outside, limited, edge = "c2_outside_taken_as_one", "c2_limited", MOST
    return StripResult(
        area=inputs.area(thread),
        stress=inputs.shear(thread),
        factors=factors,
        valid=factored.within_range(inputs, wall) & (Rs >= LEAST) & (Rs <= MOST),
        notes=(
            *factored.setting_notes(inputs),
            *flag(beyond, outside, ratio=number(edge)),
            *flag(np.where(beyond, False, factor == 1), limited),
        ),
    )


def flank_bearing_load(inputs: StripInputs, strips: StripResult) -> StripResult:
    """Load at which the parent's flanks are crushed where they overlap the screw or insert.

    Parameters
    ----------
    inputs : StripInputs
    strips : StripResult
        Of the parent's thread.

    Returns
    -------
    StripResult
        Its factors are those of the parent's thread: what widens the hole or bends the threads
        takes overlap away.

    Source: see `bearing_area` and `bearing_stress`.
    """
    return dataclasses.replace(
        strips,
        area=bearing_area(inputs.length, inputs.pitch, inputs.external_major, inputs.hole_minor),
        stress=bearing_stress(inputs.parent_shear, inputs.tan_half_angle),
        factors={name: each for name, each in strips.factors.items() if name != "overlap"},
        notes=(),
    )


METHOD = Method(
    ID,
    "FED-STD-H28/2B area with SAE 770420 factors, capped at 1",
    strip,
    rests_on=("fed_std_h28", "primary", "overlap-factor", "overlap-bearing"),
)
