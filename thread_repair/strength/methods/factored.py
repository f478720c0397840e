"""SAE paper 770420, and the two documents that take its factors for dilation and bending.

The three factors were found on steel nuts of about half to one diameter in height, 1.4 diameters
or more across; longer holes and light metals extend the paper. C3 has no value below a strength
ratio of 0.4, C2 none above 2.2.

ISO/TR 16224: the strip loads of the paper, with a bell-mouthed nut for the screw's thread. Nuts of
ISO metric thread under static tensile overload, also other tapped members if tests confirm it.

VDI 2230-1, clause 5.5.5: written for the length that lets the screw break first; read backwards.
"""

import dataclasses
from typing import Any

import numpy as np
from numpy.polynomial.polynomial import polyval
from numpy.typing import ArrayLike

from ...arrays import Bools, Floats, plain, positive
from ...facts import Fact, fact, number
from ...tables import constant
from ..strip import StripInputs, StripResult, flag, is_parent

#: Ends of the ranges for which the paper gives a factor.
BOSS_RATIO_MIN, BOSS_RATIO_FULL = 1.4, 1.9
STRENGTH_RATIO_MIN, STRENGTH_RATIO_MAX = 0.4, 2.2
#: Heights of the nuts the factors were found on, over the diameter.
LENGTH_RATIOS = (0.5, 1.0)
#: Both bending factors for a member that is the stronger of the two.
FACTOR_STRONGER = 0.897
#: Coefficients of the curves of C2 and C3 over the strength ratio, constant term first.
EXTERNAL_CURVE = (5.594, -13.682, 14.107, -6.057, 0.9353)
INTERNAL_CURVE = (0.728, 1.769, -2.896, 1.296)
#: ISO/TR 16224: mean minor diameter of the widened part over the rest, and its share of the height.
MOUTH, MOUTH_SHARE = 1.026, 0.4
#: VDI 2230-1: length at the ends of the engagement that does not bear fully, in pitches.
END_PITCHES = 0.8


def dilation_factor(boss_diameter: ArrayLike, hole_major: ArrayLike) -> Floats:
    """Factor C1 for the widening of the hole under the wedge action of the flanks.

    Parameters
    ----------
    boss_diameter, hole_major : array_like, mm
        Outside of the boss (across flats of a nut) and basic major diameter of the hole
        actually tapped: for an insert hole that is d + 1.299 P (assumption, the paper knows
        nuts only).

    Returns
    -------
    float or ndarray
        NaN for a boss below 1.4 diameters, where the paper gives no value, and for NaN.

    Source: SAE 770420, factors C1, C2, C3 and strip loads. Known from: memory.

    Examples
    --------
    >>> print(f"{dilation_factor(16, 8):.3f} {dilation_factor(16, 9.624):.3f}")
    1.000 0.944
    """
    s, D = positive(boss_diameter=boss_diameter, hole_major=hole_major)
    ratio = s / D
    # a boss at the very limit may fall a rounding error short of it
    known = ratio >= BOSS_RATIO_MIN * (1 - 1e-12)
    r = np.minimum(ratio, BOSS_RATIO_FULL)
    return np.where(known, np.minimum((3.8 - r) * r - 2.61, 1.0), np.nan)[()]


def bending_factor(ratio: ArrayLike, thread: str) -> Floats:
    """Factor C3 on the parent's thread or C2 on the screw's for the bending of the threads.

    The curve of C3 exceeds 1 for strength ratios from 0.4 to about 0.68.

    Parameters
    ----------
    ratio : array_like
        Strength ratio Rs.
    thread : "parent" or "screw"

    Returns
    -------
    float or ndarray
        NaN below 0.4 for C3 and above 2.2 for C2, where the paper gives no value.

    Source: SAE 770420, factors C1, C2, C3 and strip loads. Known from: memory.

    Examples
    --------
    >>> print(f"{bending_factor(0.5, 'parent'):.4f} {bending_factor(1.5, 'parent'):.3f}")
    1.0505 0.897
    >>> print(f"{bending_factor(0.5, 'screw'):.3f} {bending_factor(2.0, 'screw'):.4f}")
    0.897 1.1668
    """
    (Rs,) = positive(ratio=ratio)
    within = np.clip(Rs, STRENGTH_RATIO_MIN, STRENGTH_RATIO_MAX)  # beyond, no curve counts
    if is_parent(thread):
        stronger, known, bent = Rs >= 1, Rs >= STRENGTH_RATIO_MIN, polyval(within, INTERNAL_CURVE)
    else:
        stronger, known, bent = Rs <= 1, Rs <= STRENGTH_RATIO_MAX, polyval(within, EXTERNAL_CURVE)
    factor = np.where(stronger, FACTOR_STRONGER, bent)
    return np.where(known, factor, np.nan)[()]


def inputs_dilation_factor(inputs: StripInputs) -> Floats:
    """Factor C1 of a hole: 1 where no boss diameter is given.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    float or ndarray

    Source: SAE 770420, factors C1, C2, C3 and strip loads. Known from: memory.
    """
    factor = dilation_factor(inputs.boss_diameter, inputs.hole_major_basic)
    return np.where(np.isnan(inputs.boss_diameter), 1.0, factor)[()]


def setting_notes(inputs: StripInputs) -> tuple[Fact, ...]:
    """Say where length and boss lie outside what the paper tested.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    tuple of Fact
    """
    low, high = LENGTH_RATIOS
    return flag(
        np.logical_not(_is_tested(inputs)),
        "engagement_outside_tests",
        low=number(low),
        high=number(high),
    ) + flag(
        inputs.boss_diameter / inputs.hole_major_basic < BOSS_RATIO_MIN * (1 - 1e-12),
        "no_c1",
        ratio=number(BOSS_RATIO_MIN),
    )


def within_range(inputs: StripInputs, factor: Floats) -> Bools:
    """Whether the factors have a value and the length is that of a nut tested.

    Parameters
    ----------
    inputs : StripInputs
    factor : float or ndarray

    Returns
    -------
    bool or ndarray of bool
    """
    return (np.isfinite(factor) & _is_tested(inputs))[()]


def _is_tested(inputs: StripInputs) -> Bools:
    """Whether the engaged length is that of a nut tested."""
    turns, (low, high) = inputs.length / inputs.major_basic, LENGTH_RATIOS
    # 1 D of a basic diameter may differ in the last digit
    return (turns >= low - 1e-9) & (turns <= high + 1e-9)


def factored(
    inputs: StripInputs,
    thread: str,
    *,
    area: Floats,
    stress: Floats,
    nuts_only: bool = True,
    notes: tuple[Fact, ...] = (),
) -> StripResult:
    """Area times stress times C1 and the bending factor of the parent's or the screw's thread.

    `nuts_only` says whether the range of the document is that of the nuts tested.

    Parameters
    ----------
    inputs : StripInputs
    thread : "parent" or "screw"
    area : float or ndarray, mm2
    stress : float or ndarray, MPa
    nuts_only : bool, optional
    notes : tuple of Fact, optional

    Returns
    -------
    StripResult

    Source: SAE 770420, factors C1, C2, C3 and strip loads. Known from: memory.
    """
    C1, Rs = inputs_dilation_factor(inputs), inputs.strength_ratio
    factor = bending_factor(Rs, thread)
    if thread == "parent":
        outside = flag(Rs < STRENGTH_RATIO_MIN, "no_c3", ratio=number(STRENGTH_RATIO_MIN))
        outside += flag(factor > 1, "c3_above_one")
    else:
        outside = flag(Rs > STRENGTH_RATIO_MAX, "no_c2", ratio=number(STRENGTH_RATIO_MAX))
    known = C1 * factor
    return StripResult(
        area=area,
        stress=stress,
        factors={"C1": C1, "C3" if thread == "parent" else "C2": factor},
        valid=within_range(inputs, known) if nuts_only else np.isfinite(known)[()],
        notes=(*notes, *setting_notes(inputs), *outside),
    )


def sae_770420(inputs: StripInputs, thread: str, **others: Any) -> StripResult:
    """0.6 times the tensile strength on the shear area, times C1 and C3 or C2.

    Parameters
    ----------
    inputs : StripInputs
    thread : "parent" or "screw"
    **others
        Area and notes, where not those of the paper.

    Returns
    -------
    StripResult

    Source: SAE 770420, factors C1, C2, C3 and strip loads. Known from: memory.
    """
    stress = constant("shear_over_tensile_steel").value * inputs.tensile(thread)
    given = {"area": inputs.area(thread)} | others
    return factored(inputs, thread, stress=stress, **given)


def iso_tr_16224(inputs: StripInputs, thread: str) -> StripResult:
    """The loads of the paper, the screw's on the area in a hole that widens towards its mouth.

    Punched or pressed nuts are bell-mouthed; a drilled and reamed hole is not.

    Parameters
    ----------
    inputs : StripInputs
    thread : "parent" or "screw"

    Returns
    -------
    StripResult
        NaN where the widened part is clear of the screw's thread.

    Source: ISO/TR 16224, strip loads and effective areas. Known from: memory; its scope read.
    """
    if thread == "parent":
        return sae_770420(inputs, thread)
    minor, tan = MOUTH * inputs.internal_minor, inputs.tan_half_angle
    clear = inputs.pitch / 2 + tan * (inputs.external_pitch_diameter - minor) <= 0
    mouth = dataclasses.replace(inputs, internal_minor=np.where(clear, np.nan, minor))
    found = sae_770420(
        inputs,
        thread,
        area=plain((1 - MOUTH_SHARE) * inputs.area("screw") + MOUTH_SHARE * mouth.area("screw")),
        notes=(*flag(clear, "bell_mouth_clear", mouth=number(MOUTH)), fact("bell_mouth_of_a_nut")),
    )
    return dataclasses.replace(found, valid=(found.valid & ~np.asarray(clear))[()])


def effective_length(length: ArrayLike, pitch: ArrayLike) -> Floats:
    """Fully bearing part m_eff of an engagement m_ges, mm; zero for less than 0.8 pitch.

    Parameters
    ----------
    length, pitch : array_like, mm

    Returns
    -------
    float or ndarray, mm

    Source: VDI 2230-1, 5.5.5, step R8. Known from: memory; the 0.8 pitch read, as quoted elsewhere.
    """
    L, P = positive("length", length=length, pitch=pitch)
    return plain(np.maximum(L - END_PITCHES * P, 0.0))


def vdi_2230(inputs: StripInputs, thread: str) -> StripResult:
    """Load that the guideline's required engagement equals the length for.

    The area is that of the effective length, 0.8 pitch shorter, the strength that in shear.

    Parameters
    ----------
    inputs : StripInputs
    thread : "parent" or "screw"

    Returns
    -------
    StripResult

    Source: VDI 2230-1, 5.5.5, step R8. Known from: memory; the 0.8 pitch read, as quoted elsewhere.
    """
    length = inputs.length if thread == "parent" else inputs.screw_engaged
    at = inputs.with_length(effective_length(length, inputs.pitch))
    area, stress = at.area(thread), at.shear(thread)
    return factored(at, thread, area=area, stress=stress, nuts_only=False)
