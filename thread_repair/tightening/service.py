"""What a stated torque means, and what becomes of the preload in service."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import Floats, not_negative, positive
from ..sources import Reference
from .torque_preload import Band

#: Goes with every torque that is printed.
CAUTION = (
    "The torque on the drawing or in the maintenance manual governs. The band shown is a "
    "calculation for review by a competent person, not an instruction to tighten."
)

#: Whether a stated torque has the prevailing torque in it: said here and nowhere else.
STATED_TORQUE = (
    "Every torque stated here is without prevailing torque: the wrench is set to it plus the "
    "prevailing torque measured at the hole."
)
STATED_TORQUE_REFERENCE = Reference(
    source="nasa-tm-106943",
    clause="Table VII note b",
    how_known="read",
    what="prevailing torque is added to the tightening torque",
)
WINDOW_REFERENCE = Reference(
    source="nasa-tm-106943",
    clause="eqs. (3), (14) to (16), Tables I and II, pp. 5-8",
    how_known="read",
    what="maximum and minimum preload",
)
THERMAL_REFERENCE = Reference(
    source="nasa-tm-106943",
    clause="eq. (10), p. 5",
    how_known="read",
    what="change of preload with temperature",
)
MARGIN_REFERENCES = (
    Reference(
        source="nasa-tm-106943",
        clause="screw load with factor, eq. (80)",
        how_known="read",
        what="margin at maximum preload",
    ),
    Reference(
        source="nasa-tm-106943",
        clause="separation",
        how_known="memory",
        what="margin against separation at minimum preload",
    ),
)


def in_service(
    tightened: Band,
    *,
    relaxation: ArrayLike = 0.0,
    thermal_gain: ArrayLike = 0.0,
    thermal_loss: ArrayLike = 0.0,
) -> Band:
    """Preload of a tightened joint after relaxation and with temperature.

    Parameters
    ----------
    tightened : Band, N
        Right after tightening.
    relaxation : array_like
        Loss after tightening as a fraction of what remains; 0.05 in the source's tables.
    thermal_gain, thermal_loss : array_like, N
        Most that temperature adds, most that it takes away, both as positive numbers.

    Returns
    -------
    Band, N
        Highest + gain; least / (1 + r) - loss, which may be negative: all preload lost. The middle
        stays.

    Source: NASA TM-106943 (1995), eqs. (14) to (16), read. The division by 1 + r is what its
    printed factor 0.714 for a scatter of 0.25 and r = 0.05 implies; 0.75 (1 - r) would give 0.7125.
    """
    r, gain, loss = not_negative(
        relaxation=relaxation, thermal_gain=thermal_gain, thermal_loss=thermal_loss
    )
    least, middle, highest = (
        np.asarray(each, dtype=np.float64)
        for each in (tightened.least, tightened.middle, tightened.highest)
    )
    return Band(
        least=(least / (1 + r) - loss)[()],
        middle=np.broadcast_arrays(middle, r, gain, loss)[0][()],
        highest=(highest + gain)[()],
    )


def thermal_preload(
    *,
    screw_stiffness: ArrayLike,
    joint_stiffness: ArrayLike | None,
    length: ArrayLike,
    temperature_change: ArrayLike,
    screw_expansion: ArrayLike,
    joint_expansion: ArrayLike,
) -> Floats:
    """Change of preload with temperature.

    Parameters
    ----------
    screw_stiffness, joint_stiffness : array_like, N/mm
        Without the joint's it is taken as rigid, which gives the most that the change can be.
    length : array_like, mm
        Clamped length.
    temperature_change : array_like, K
        From assembly; negative when colder.
    screw_expansion, joint_expansion : array_like, 1/K
        Coefficients of thermal expansion.

    Returns
    -------
    float or ndarray, N
        Kb Kj / (Kb + Kj) L dT (alpha_j - alpha_b); positive: preload is gained.

    Notes
    -----
    Both members at one temperature, elastic. The expansion of the insert's wire is secondary and
    left out.

    Source: NASA TM-106943 (1995), eq. (10) p. 5, read.

    Examples
    --------
    >>> gain = thermal_preload(screw_stiffness=375150, joint_stiffness=1875750, length=20,
    ...     temperature_change=100, screw_expansion=11.5e-6, joint_expansion=23.4e-6)
    >>> print(f"{gain:.0f} N")
    7440 N
    """
    kb, grip, screw, joint = positive(
        screw_stiffness=screw_stiffness,
        length=length,
        screw_expansion=screw_expansion,
        joint_expansion=joint_expansion,
    )
    springs = kb
    if joint_stiffness is not None:
        (kj,) = positive(joint_stiffness=joint_stiffness)
        springs = kb * kj / (kb + kj)
    change = np.asarray(temperature_change, dtype=np.float64)
    return (springs * grip * change * (joint - screw))[()]
