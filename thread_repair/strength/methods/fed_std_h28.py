"""FED-STD-H28/2B, Appendix B: full shear area at the limits of size, no factors.

Ductile threads that share the load evenly at rupture; dilation of the hole and bending of the
threads are left out.
"""

from __future__ import annotations

from ...arrays import Floats
from ..areas import strip_area_external, strip_area_internal
from ..strip import StripInputs, StripResult

ID = "fed_std_h28"


def internal_area(inputs: StripInputs) -> Floats:
    """Shear area of the parent's thread, mm2.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    float or ndarray, mm2
    """
    return strip_area_internal(
        inputs.length,
        inputs.pitch,
        inputs.external_major,
        inputs.internal_pitch_diameter,
        tan_half_angle=inputs.tan_half_angle,
    )


def external_area(inputs: StripInputs) -> Floats:
    """Shear area of the screw's thread, mm2.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    float or ndarray, mm2
    """
    return strip_area_external(
        inputs.screw_engaged,
        inputs.pitch,
        inputs.internal_minor,
        inputs.external_pitch_diameter,
        tan_half_angle=inputs.tan_half_angle,
    )


def parent_strip(inputs: StripInputs) -> StripResult:
    """Parent's shear area times its ultimate shear strength.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    StripResult
    """
    return StripResult(method="fed_std_h28", area=internal_area(inputs), stress=inputs.parent_shear)


def screw_strip(inputs: StripInputs) -> StripResult:
    """Screw's shear area times its ultimate shear strength.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    StripResult
    """
    return StripResult(method="fed_std_h28", area=external_area(inputs), stress=inputs.screw_shear)
