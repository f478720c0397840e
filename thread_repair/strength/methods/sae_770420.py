"""SAE paper 770420: full shear area with factors for dilation and thread bending.

The three factors were found on steel nuts of about half to one diameter in height, 1.4 diameters
or more across; longer holes and light metals extend the paper. C3 has no value below a strength
ratio of 0.4, C2 none above 2.2.
"""

from __future__ import annotations

import numpy as np
from numpy.polynomial.polynomial import polyval
from numpy.typing import ArrayLike, NDArray

from ...arrays import Bools, Floats, plain, positive
from ...facts import Fact, number
from ...tables import constant
from ..areas import strip_area_external
from ..strip import StripInputs, StripResult, flag
from .fed_std_h28 import external_area, internal_area

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
#: A bell-mouthed nut is at most about this much wider at its mouth than its minor diameter.
BELL_MOUTH = 1.03


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


def strength_ratio(
    internal_area: ArrayLike,
    internal_tensile: ArrayLike,
    external_area: ArrayLike,
    external_tensile: ArrayLike,
) -> Floats:
    """Strength of the internal thread over that of the external thread, Rs.

    Parameters
    ----------
    internal_area, external_area : array_like, mm2
        Shear areas over the same length.
    internal_tensile, external_tensile : array_like, MPa

    Returns
    -------
    float or ndarray
    """
    A_n, R_n, A_s, R_s = positive(
        internal_area=internal_area,
        internal_tensile=internal_tensile,
        external_area=external_area,
        external_tensile=external_tensile,
    )
    return ((A_n * R_n) / (A_s * R_s))[()]


def external_bending_factor(ratio: ArrayLike) -> Floats:
    """Factor C2 on the external thread for the bending of the threads.

    Parameters
    ----------
    ratio : array_like
        Strength ratio Rs.

    Returns
    -------
    float or ndarray
        NaN above 2.2, where the paper gives no value.

    Examples
    --------
    >>> print(f"{external_bending_factor(0.5):.3f} {external_bending_factor(2.0):.4f}")
    0.897 1.1668
    """
    (Rs,) = positive(ratio=ratio)
    factor = np.where(Rs <= 1, FACTOR_STRONGER, polyval(Rs, EXTERNAL_CURVE))
    return np.where(Rs <= STRENGTH_RATIO_MAX, factor, np.nan)[()]


def internal_bending_factor(ratio: ArrayLike) -> Floats:
    """Factor C3 on the internal thread for the bending of the threads.

    The curve exceeds 1 for strength ratios from 0.4 to about 0.68.

    Parameters
    ----------
    ratio : array_like
        Strength ratio Rs.

    Returns
    -------
    float or ndarray
        NaN below 0.4, where the paper gives no value.

    Examples
    --------
    >>> print(f"{internal_bending_factor(0.5):.4f} {internal_bending_factor(1.5):.3f}")
    1.0505 0.897
    """
    (Rs,) = positive(ratio=ratio)
    factor = np.where(Rs >= 1, FACTOR_STRONGER, polyval(Rs, INTERNAL_CURVE))
    return np.where(Rs >= STRENGTH_RATIO_MIN, factor, np.nan)[()]


def inputs_strength_ratio(inputs: StripInputs) -> Floats:
    """Strength ratio Rs of a hole and its screw over equal lengths, at least screw strength.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    float or ndarray
    """
    unit = inputs.with_length(1.0)
    return strength_ratio(
        internal_area(unit),
        inputs.parent_tensile,
        external_area(unit),
        inputs.screw_tensile_min,
    )


def inputs_dilation_factor(inputs: StripInputs) -> Floats:
    """Factor C1 of a hole: 1 where no boss diameter is given.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    float or ndarray
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
    turns = inputs.length / inputs.major_basic
    low, high = LENGTH_RATIOS
    return flag(
        (turns < low - 1e-9) | (turns > high + 1e-9),
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
    float or ndarray
    """
    turns = inputs.length / inputs.major_basic
    low, high = LENGTH_RATIOS
    # 1 D of a basic diameter may differ in the last digit
    return (np.isfinite(factor) & (turns > low - 1e-9) & (turns < high + 1e-9))[()]


def factored(
    method: str,
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
    method : str
    inputs : StripInputs
    thread : str
    area : float or ndarray, mm2
    stress : float or ndarray, MPa
    nuts_only : bool, optional
    notes : tuple of Fact, optional

    Returns
    -------
    StripResult
    """
    C1, Rs = inputs_dilation_factor(inputs), inputs_strength_ratio(inputs)
    if thread == "parent":
        name, factor = "C3", internal_bending_factor(Rs)
        outside = flag(Rs < STRENGTH_RATIO_MIN, "no_c3", ratio=number(STRENGTH_RATIO_MIN))
        outside += flag(factor > 1, "c3_above_one")
    else:
        name, factor = "C2", external_bending_factor(Rs)
        outside = flag(Rs > STRENGTH_RATIO_MAX, "no_c2", ratio=number(STRENGTH_RATIO_MAX))
    known = C1 * factor
    return StripResult(
        method=method,
        area=area,
        stress=stress,
        factors={"C1": C1, name: factor},
        valid=within_range(inputs, known) if nuts_only else np.isfinite(known)[()],
        notes=(*notes, *setting_notes(inputs), *outside),
    )


def parent_strip(inputs: StripInputs, method: str = "sae_770420") -> StripResult:
    """0.6 times the parent's tensile strength on its shear area, times C1 and C3.

    Parameters
    ----------
    inputs : StripInputs
    method : str, optional

    Returns
    -------
    StripResult
    """
    stress = constant("shear_over_tensile_steel").value * inputs.parent_tensile
    return factored(method, inputs, "parent", area=internal_area(inputs), stress=stress)


def screw_strip(inputs: StripInputs) -> StripResult:
    """0.6 times the screw's least tensile strength on its shear area, times C1 and C2.

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    StripResult
    """
    stress = constant("shear_over_tensile_steel").value * inputs.screw_tensile_min
    return factored("sae_770420", inputs, "screw", area=external_area(inputs), stress=stress)


def mouth_is_clear(inputs: StripInputs, mouth: float) -> NDArray[np.bool_]:
    """Whether the screw's thread does not reach into the widened part of a bell-mouthed hole.

    Parameters
    ----------
    inputs : StripInputs
    mouth : float, mm

    Returns
    -------
    NDArray[np.bool_]
    """
    reach = inputs.pitch / 2 + inputs.tan_half_angle * (
        inputs.external_pitch_diameter - mouth * inputs.internal_minor
    )
    return np.asarray(reach <= 0)


def bell_mouthed_area(
    inputs: StripInputs, *, mouth: float = BELL_MOUTH, share: float = 0.4
) -> Floats:
    """Shear area of the screw's thread in a hole that widens towards its mouth.

    Parameters
    ----------
    inputs : StripInputs
    mouth : float, optional
        Mean minor diameter of the widened part over that of the rest. The paper gives 1.03 as
        about the most at the mouth itself.
    share : float, optional
        Share of the length that is widened.

    Returns
    -------
    float or ndarray, mm2
        NaN where the widened part is clear of the screw's thread: the nuts of the paper are not
        that large or fine.

    Punched or pressed nuts are bell-mouthed; a drilled and reamed hole is not.
    """
    clear = mouth_is_clear(inputs, mouth)
    widened = strip_area_external(
        inputs.screw_engaged,
        inputs.pitch,
        np.where(clear, np.nan, mouth * inputs.internal_minor),
        inputs.external_pitch_diameter,
        tan_half_angle=inputs.tan_half_angle,
    )
    return plain((1 - share) * external_area(inputs) + share * widened)
