"""Machinery's Handbook: length of engagement for screw and parent of equal or unequal strength.

Written for the length that lets the screw break first; read backwards here. Compares tensile, not
shear strengths.
"""

from __future__ import annotations

import numpy as np

from ...arrays import Floats, plain
from ..strip import StripInputs, StripResult, flag
from .fed_std_h28 import external_area, internal_area

#: Shear strength taken as this share of the tensile strength: the 2 in the handbook's formula,
#: which asks that the screw's shear area be twice its stress area.
SHEAR_SHARE = 0.5


def equal_strength_length(inputs: StripInputs) -> Floats:
    """Length Le at which the screw's shear area is twice its stress area, mm.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    float or ndarray, mm
    """
    unit = inputs.with_length(1.0)
    return plain(inputs.stress_area / (SHEAR_SHARE * external_area(unit)))


def strength_factor(inputs: StripInputs) -> Floats:
    """Factor J: screw's over parent's shear area times tensile strength, equal lengths.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    float or ndarray
    """
    unit = inputs.with_length(1.0)
    screw = external_area(unit) * inputs.screw_tensile_min
    return plain(screw / (internal_area(unit) * inputs.parent_tensile))


def engagement(inputs: StripInputs) -> Floats:
    """Length Q = J Le, or Le where J is below 1, at which the screw breaks first, mm.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    float or ndarray, mm
    """
    return plain(equal_strength_length(inputs) * np.maximum(strength_factor(inputs), 1.0))


def parent_strip(inputs: StripInputs) -> StripResult:
    """Load that Q = J Le equals `inputs.length` for: half the tensile strength on the area.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    StripResult
    """
    return StripResult(
        method="machinerys_handbook",
        area=internal_area(inputs),
        stress=SHEAR_SHARE * inputs.parent_tensile,
        notes=flag(strength_factor(inputs) < 1, "screw_thread_decides"),
    )


def screw_strip(inputs: StripInputs) -> StripResult:
    """Load that Le equals the length for: half the tensile strength on the screw's area.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    StripResult
    """
    return StripResult(
        method="machinerys_handbook",
        area=external_area(inputs),
        stress=SHEAR_SHARE * inputs.screw_tensile_min,
    )
