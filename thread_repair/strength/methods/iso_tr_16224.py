"""ISO/TR 16224: the strip loads of SAE 770420, with a bell-mouthed nut for the screw's thread.

Nuts of ISO metric thread under static tensile overload, also other tapped members if tests confirm
it; factors and ranges of SAE 770420.
"""

from __future__ import annotations

import dataclasses

from ...facts import fact, number
from ...tables import constant
from ..strip import StripInputs, StripResult, flag
from . import sae_770420

#: Mean minor diameter of the widened part over the rest, and its share of the height.
MOUTH, MOUTH_SHARE = 1.026, 0.4


def parent_strip(inputs: StripInputs) -> StripResult:
    """0.6 times the parent's tensile strength on its shear area, times C1 and C3.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    StripResult
    """
    return sae_770420.parent_strip(inputs, "iso_tr_16224")


def screw_strip(inputs: StripInputs) -> StripResult:
    """0.6 times the screw's tensile strength on the bell-mouthed area, times C1 and C2.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    StripResult
    """
    clear = sae_770420.mouth_is_clear(inputs, MOUTH)
    found = sae_770420.factored(
        "iso_tr_16224",
        inputs,
        "screw",
        area=sae_770420.bell_mouthed_area(inputs, mouth=MOUTH, share=MOUTH_SHARE),
        stress=constant("shear_over_tensile_steel").value * inputs.screw_tensile_min,
        notes=(
            *flag(clear, "bell_mouth_clear", mouth=number(MOUTH)),
            fact("bell_mouth_of_a_nut", "info"),
        ),
    )
    return dataclasses.replace(found, valid=(found.valid & ~clear)[()])
