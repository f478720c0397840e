"""ISO/TR 16224: the strip loads of SAE 770420, with a bell-mouthed nut for the screw's thread."""

from __future__ import annotations

from numpy.typing import ArrayLike

from ...arrays import Floats
from ...facts import fact, number
from ...tables import cited, constant
from ..strip import Method, StripInputs, StripResult, flag, length_for_load
from . import sae_770420
from .fed_std_h28 import internal_area

ID = "iso_tr_16224"
#: Mean minor diameter of the widened part over the rest, and its share of the height.
MOUTH, MOUTH_SHARE = 1.026, 0.4
REFERENCES = cited("iso_tr_16224")


def parent_strip(inputs: StripInputs) -> StripResult:
    """0.6 times the parent's tensile strength on its shear area, times C1 and C3."""
    paper = sae_770420.parent_strip(inputs)
    return StripResult(
        method=ID,
        area=internal_area(inputs),
        stress=paper.stress,
        factors=paper.factors,
        valid=paper.valid,
        notes=paper.notes,
    )


def screw_strip(inputs: StripInputs) -> StripResult:
    """0.6 times the screw's tensile strength on the bell-mouthed area, times C1 and C2."""
    C1 = sae_770420.inputs_dilation_factor(inputs)
    Rs = sae_770420.inputs_strength_ratio(inputs)
    C2 = sae_770420.external_bending_factor(Rs)
    clear = sae_770420.mouth_is_clear(inputs, MOUTH)
    return StripResult(
        method=ID,
        area=sae_770420.bell_mouthed_area(inputs, mouth=MOUTH, share=MOUTH_SHARE),
        stress=(constant("shear_over_tensile_steel").value * inputs.screw_tensile_min)[()],
        factors={"C1": C1, "C2": C2},
        valid=(sae_770420.within_range(inputs, C1 * C2) & ~clear)[()],
        notes=(
            *flag(
                clear,
                "bell_mouth_clear",
                mouth=number(MOUTH),
            ),
            fact("bell_mouth_of_a_nut", "info"),
            *sae_770420.setting_notes(inputs),
            *sae_770420.external_ratio_notes(Rs),
        ),
    )


def required_length(inputs: StripInputs, load: ArrayLike) -> Floats:
    """Length of full thread at which neither thread strips below the load, mm."""
    return length_for_load(inputs, load, parent_strip, screw_strip)


METHOD = Method(
    id=ID,
    title="ISO/TR 16224",
    parent_strip=parent_strip,
    screw_strip=screw_strip,
    required_length=required_length,
    validity=(
        "Nuts of ISO metric thread under static tensile overload, also other tapped members if "
        "tests confirm it; factors and ranges of SAE 770420."
    ),
    references=REFERENCES,
)
