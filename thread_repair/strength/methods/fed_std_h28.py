"""FED-STD-H28/2B, Appendix B: full shear area at the limits of size, no factors."""

from __future__ import annotations

from numpy.typing import ArrayLike

from ...arrays import Floats
from ...tables import cited
from ..areas import strip_area_external, strip_area_internal
from ..strip import Method, StripInputs, StripResult, length_for_load

ID = "fed_std_h28"
REFERENCES = cited("fed_std_h28")


def internal_area(inputs: StripInputs) -> Floats:
    """Shear area of the parent's thread, mm2."""
    return strip_area_internal(
        inputs.length,
        inputs.pitch,
        inputs.external_major,
        inputs.internal_pitch_diameter,
        tan_half_angle=inputs.tan_half_angle,
    )


def external_area(inputs: StripInputs) -> Floats:
    """Shear area of the screw's thread, mm2."""
    return strip_area_external(
        inputs.screw_length,
        inputs.pitch,
        inputs.internal_minor,
        inputs.external_pitch_diameter,
        tan_half_angle=inputs.tan_half_angle,
    )


def parent_strip(inputs: StripInputs) -> StripResult:
    """Parent's shear area times its ultimate shear strength."""
    return StripResult(method=ID, area=internal_area(inputs), stress=inputs.parent_shear[()])


def screw_strip(inputs: StripInputs) -> StripResult:
    """Screw's shear area times its ultimate shear strength."""
    return StripResult(method=ID, area=external_area(inputs), stress=inputs.screw_shear[()])


def required_length(inputs: StripInputs, load: ArrayLike) -> Floats:
    """Length of full thread at which neither thread strips below the load, mm."""
    return length_for_load(inputs, load, parent_strip, screw_strip)


METHOD = Method(
    id=ID,
    title="FED-STD-H28/2B, Appendix B",
    parent_strip=parent_strip,
    screw_strip=screw_strip,
    required_length=required_length,
    validity=(
        "Ductile threads that share the load evenly at rupture; dilation of the hole and bending "
        "of the threads are left out."
    ),
    references=REFERENCES,
)
