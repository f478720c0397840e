"""VDI 2230-1, clause 5.5.5: required engagement, and the load a given engagement holds.

Written for the length that lets the screw break first; read backwards here. The factors are those
of SAE 770420 with their ranges.
"""

from __future__ import annotations

import dataclasses

import numpy as np
from numpy.typing import ArrayLike

from ...arrays import Floats, not_negative, positive
from ...facts import number
from ..strip import StripInputs, StripResult, flag
from .fed_std_h28 import external_area, internal_area
from .sae_770420 import factored

#: Length at the ends of the engagement that does not bear fully, in pitches.
END_PITCHES = 0.8


def effective_length(length: ArrayLike, pitch: ArrayLike) -> Floats:
    """Fully bearing part m_eff of an engagement m_ges, mm; zero for less than 0.8 pitch.

    Parameters
    ----------
    length, pitch : array_like, mm

    Returns
    -------
    float or ndarray, mm
    """
    (m,) = not_negative(length=length)
    (P,) = positive(pitch=pitch)
    return np.maximum(m - END_PITCHES * P, 0.0)[()]


def parent_strip(inputs: StripInputs) -> StripResult:
    """Load that the guideline's required engagement equals `inputs.length` for.

    The area is that of the effective length, 0.8 pitch shorter.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    StripResult
    """
    at = inputs.with_length(effective_length(inputs.length, inputs.pitch))
    found = factored(
        "vdi_2230", at, "parent", area=internal_area(at), stress=at.parent_shear, nuts_only=False
    )
    short = flag(at.length <= 0, "no_effective_length", pitches=number(END_PITCHES))
    return dataclasses.replace(found, notes=(*found.notes, *short))


def screw_strip(inputs: StripInputs) -> StripResult:
    """Strip load of the screw's thread over the effective length, with C1 and C2.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    StripResult
    """
    at = inputs.with_length(effective_length(inputs.screw_engaged, inputs.pitch))
    return factored(
        "vdi_2230", at, "screw", area=external_area(at), stress=at.screw_shear, nuts_only=False
    )
