"""FED-STD-H28/2B, Appendix B: full shear area at the limits of size, no factors."""

from __future__ import annotations

from numpy.typing import ArrayLike

from ...arrays import Floats
from ...sources import Reference
from ..areas import strip_area_external, strip_area_internal
from ..strip import Method, StripInputs, StripResult, latex_number, length_for_load, numbers

ID = "fed_std_h28"
REFERENCES = (
    Reference(
        source="fed-std-h28-2b",
        clause="Appendix B",
        how_known="memory",
        what="shear areas of both threads; strip load = area x ultimate shear strength",
    ),
)


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


AREA_EQUATION = r"A_n = \pi\,d\,\frac{L}{P}\left[\frac{P}{2} + (d - D_2)\tan\frac{\alpha}{2}\right]"


def area_with_numbers(inputs: StripInputs) -> str:
    """Return `AREA_EQUATION` with the numbers of one hole."""
    n = numbers(inputs)
    area = latex_number(float(internal_area(inputs)))
    return (
        rf"A_n = \pi \times {n['external_major']} \times "
        rf"\frac{{{n['length']}}}{{{n['pitch']}}}"
        rf"\left[\frac{{{n['pitch']}}}{{2}} + "
        rf"({n['external_major']} - {n['internal_pitch_diameter']}) \times "
        rf"{n['tan_half_angle']}\right] = {area}\,\mathrm{{mm^2}}"
    )


def equation_with_numbers(inputs: StripInputs) -> tuple[str, ...]:
    """Return the lines of the equation with the numbers of one hole."""
    result = parent_strip(inputs)
    n = numbers(inputs, area=result.area, capacity=result.capacity)
    return (
        area_with_numbers(inputs),
        rf"F = {n['parent_shear']} \times {n['area']} = {n['capacity']}\,\mathrm{{N}}",
    )


METHOD = Method(
    id=ID,
    title="FED-STD-H28/2B, Appendix B",
    parent_strip=parent_strip,
    screw_strip=screw_strip,
    required_length=required_length,
    equation=(AREA_EQUATION, r"F = \tau_n\,A_n"),
    equation_with_numbers=equation_with_numbers,
    validity=(
        "Ductile threads that share the load evenly at rupture; dilation of the hole and bending "
        "of the threads are left out."
    ),
    references=REFERENCES,
)
