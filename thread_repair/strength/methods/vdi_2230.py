"""VDI 2230-1, clause 5.5.5: required engagement, and the load a given engagement holds."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ...arrays import Floats, not_negative, positive
from ...facts import number
from ...tables import cited
from ..strip import Method, StripInputs, StripResult, flag, length_for_load
from .fed_std_h28 import external_area, internal_area
from .sae_770420 import (
    external_bending_factor,
    external_ratio_notes,
    inputs_dilation_factor,
    inputs_strength_ratio,
    internal_bending_factor,
    internal_ratio_notes,
    setting_notes,
)

ID = "vdi_2230"
#: Length at the ends of the engagement that does not bear fully, in pitches.
END_PITCHES = 0.8
REFERENCES = cited("vdi_2230")


def effective_length(length: ArrayLike, pitch: ArrayLike) -> Floats:
    """Fully bearing part m_eff of an engagement m_ges, mm; zero for less than 0.8 pitch."""
    (m,) = not_negative(length=length)
    (P,) = positive(pitch=pitch)
    return np.maximum(m - END_PITCHES * P, 0.0)[()]


def _effective(inputs: StripInputs) -> StripInputs:
    return inputs.with_length(effective_length(inputs.length, inputs.pitch))


def _per_full_length(inputs: StripInputs) -> StripResult:
    """Strip load of the parent with the whole length taken as bearing."""
    C1 = inputs_dilation_factor(inputs)
    Rs = inputs_strength_ratio(inputs)
    C3 = internal_bending_factor(Rs)
    return StripResult(
        method=ID,
        area=internal_area(inputs),
        stress=inputs.parent_shear[()],
        factors={"C1": C1, "C3": C3},
        valid=np.isfinite(C1 * C3)[()],
        notes=setting_notes(inputs)
        + internal_ratio_notes(Rs)
        + flag(inputs.length <= 0, "no_effective_length", pitches=number(END_PITCHES)),
    )


def _screw_per_full_length(inputs: StripInputs) -> StripResult:
    C1 = inputs_dilation_factor(inputs)
    Rs = inputs_strength_ratio(inputs)
    C2 = external_bending_factor(Rs)
    return StripResult(
        method=ID,
        area=external_area(inputs),
        stress=inputs.screw_shear[()],
        factors={"C1": C1, "C2": C2},
        valid=np.isfinite(C1 * C2)[()],
        notes=setting_notes(inputs) + external_ratio_notes(Rs),
    )


def parent_strip(inputs: StripInputs) -> StripResult:
    """Load that the guideline's required engagement equals `inputs.length` for.

    The area is that of the effective length, 0.8 pitch shorter.
    """
    return _per_full_length(_effective(inputs))


def screw_strip(inputs: StripInputs) -> StripResult:
    """Strip load of the screw's thread over the effective length, with C1 and C2."""
    effective = effective_length(inputs.screw_length, inputs.pitch)
    return _screw_per_full_length(inputs.with_length(effective))


def required_length(inputs: StripInputs, load: ArrayLike) -> Floats:
    """Engagement m_ges = m_eff + 0.8 P at which neither thread strips below the load, mm.

    For "the screw breaks first" the load is the screw's greatest tensile strength times its
    stress area. Chamfers come on top.
    """
    effective = length_for_load(inputs, load, _per_full_length, _screw_per_full_length)
    return (effective + END_PITCHES * inputs.pitch)[()]


METHOD = Method(
    id=ID,
    title="VDI 2230-1",
    parent_strip=parent_strip,
    screw_strip=screw_strip,
    required_length=required_length,
    validity=(
        "Written for the length that lets the screw break first; read backwards here. The factors "
        "are those of SAE 770420 with their ranges."
    ),
    references=REFERENCES,
)
