"""NASA RP-1228: one third of the cylinder at the mean diameter of the tapped hole.

Tapped holes and inserts alike; the third is an empirical allowance for threads that do not match.
The lowest of the published rules.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from ...facts import fact
from ..strip import StripInputs, StripResult

#: The rule's allowance for threads that do not match; 1/2 would be perfect sharing.
SHARE, PERFECT_SHARE = Fraction(1, 3), Fraction(1, 2)


def parent_strip(inputs: StripInputs, *, share: Fraction = SHARE) -> StripResult:
    """One third of the cylinder at the hole's pitch diameter, times the shear strength.

    Parameters
    ----------
    inputs : StripInputs
    share : Fraction, optional
        Share of the cylinder that carries load; 1/2 is what the author calls perfect.

    Returns
    -------
    StripResult
    """
    return StripResult(
        method="nasa_rp_1228",
        area=np.pi * inputs.internal_pitch_diameter * inputs.length,
        stress=inputs.parent_shear,
        factors={"share": float(share)},
        notes=(fact("last_threads_not_counted", "info"),),
    )
