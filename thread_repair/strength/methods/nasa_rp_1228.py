"""NASA RP-1228: one third of the cylinder at the mean diameter of the tapped hole."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from numpy.typing import ArrayLike

from ...arrays import Floats
from ...facts import fact
from ...tables import cited
from ..strip import Method, StripInputs, StripResult, length_for_load

ID = "nasa_rp_1228"
#: The rule's allowance for threads that do not match; 1/2 would be perfect sharing.
SHARE, PERFECT_SHARE = Fraction(1, 3), Fraction(1, 2)
REFERENCES = cited("nasa_rp_1228")


def parent_strip(inputs: StripInputs, *, share: Fraction = SHARE) -> StripResult:
    """One third of the cylinder at the hole's pitch diameter, times the shear strength.

    Parameters
    ----------
    inputs : StripInputs
    share : Fraction, optional
        Share of the cylinder that carries load; 1/2 is what the author calls perfect.
    """
    return StripResult(
        method=ID,
        area=(np.pi * inputs.internal_pitch_diameter * inputs.length)[()],
        stress=inputs.parent_shear[()],
        factors={"share": float(share)},
        notes=(fact("last_threads_not_counted", "info"),),
    )


def required_length(inputs: StripInputs, load: ArrayLike) -> Floats:
    """Length of full thread at which the parent does not strip below the load, mm."""
    return length_for_load(inputs, load, parent_strip)


METHOD = Method(
    id=ID,
    title="NASA RP-1228",
    parent_strip=parent_strip,
    screw_strip=None,
    required_length=required_length,
    validity=(
        "Tapped holes and inserts alike; the third is an empirical allowance for threads that do "
        "not match. The lowest of the published rules."
    ),
    references=REFERENCES,
)
