"""What becomes of the preload in service: window, relaxation, temperature, margins."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import Floats, not_negative, positive
from ..errors import InputError
from ..sources import Reference
from .torque_preload import Band

#: Goes with every torque that is printed.
CAUTION = (
    "The torque on the drawing or in the maintenance manual governs. The band shown is a "
    "calculation for review by a competent person, not an instruction to tighten."
)

WINDOW_REFERENCE = Reference(
    source="nasa-tm-106943",
    clause="eqs. (3), (14) to (16), Tables I and II, pp. 5-8",
    how_known="read",
    what="highest and least preload",
)
THERMAL_REFERENCE = Reference(
    source="nasa-tm-106943",
    clause="eq. (10), p. 5",
    how_known="read",
    what="change of preload with temperature",
)
MARGIN_REFERENCES = (
    Reference(
        source="nasa-tm-106943",
        clause="screw load with factor, eq. (80)",
        how_known="read",
        what="margin at highest preload",
    ),
    Reference(
        source="nasa-tm-106943",
        clause="separation",
        how_known="memory",
        what="margin against separation at least preload",
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TighteningMargins:
    """Margins = capacity / demand - 1, at the preload that is worst for each.

    Attributes
    ----------
    strip, tension : float or ndarray
        Thread and screw, ultimate, at highest preload.
    screw_yield : float or ndarray
        Screw, yield, at highest preload.
    separation : float or ndarray
        Joint faces, at least preload; infinite where no load pulls on them, -1 or less where the
        least preload is lost.
    """

    strip: Floats
    tension: Floats
    screw_yield: Floats
    separation: Floats
    references: tuple[Reference, ...] = MARGIN_REFERENCES


def preload_window(
    nominal: ArrayLike,
    *,
    scatter: ArrayLike,
    relaxation: ArrayLike = 0.0,
    thermal_gain: ArrayLike = 0.0,
    thermal_loss: ArrayLike = 0.0,
) -> Band:
    """Least and highest preload from a published scatter of the tightening method.

    Parameters
    ----------
    nominal : array_like, N
        T / (K d).
    scatter : array_like
        Plus or minus, friction included: 0.25 for a torque wrench on lubricated threads.
    relaxation : array_like
        Loss after tightening as a fraction of what remains; 0.05 in the source's tables.
    thermal_gain, thermal_loss : array_like, N
        Most that temperature adds, most that it takes away, both as positive numbers.

    Returns
    -------
    Band, N
        Highest (1 + u) F + gain; least (1 - u) F / (1 + r) - loss. The least may be negative: all
        preload lost.

    Raises
    ------
    InputError
        scatter of 1 or more.

    Source: NASA TM-106943 (1995), eqs. (14) to (16), read. The division by 1 + r is what its
    printed factor 0.714 for u = 0.25, r = 0.05 implies; (1 - u)(1 - r) would give 0.7125.

    Examples
    --------
    >>> window = preload_window(2011.0, scatter=0.25, relaxation=0.05)
    >>> print(f"{window.least:.0f} {window.highest:.0f}")
    1436 2514
    """
    return in_service(
        scattered(nominal, scatter=scatter),
        relaxation=relaxation,
        thermal_gain=thermal_gain,
        thermal_loss=thermal_loss,
    )


def scattered(nominal: ArrayLike, *, scatter: ArrayLike) -> Band:
    """Preload from (1 - u) F to (1 + u) F, as tightened.

    Parameters
    ----------
    nominal : array_like, N
    scatter : array_like
        Plus or minus, friction included.

    Returns
    -------
    Band, N

    Raises
    ------
    InputError
        scatter of 1 or more.

    Source: as `preload_window`.
    """
    force, u = not_negative(nominal=nominal, scatter=scatter)
    if np.any(u >= 1):
        raise InputError(f"scatter must be below 1, got {np.nanmax(u):g}")
    return Band(
        least=((1 - u) * force)[()],
        middle=np.broadcast_arrays(force, u)[0][()],
        highest=((1 + u) * force)[()],
    )


def in_service(
    tightened: Band,
    *,
    relaxation: ArrayLike = 0.0,
    thermal_gain: ArrayLike = 0.0,
    thermal_loss: ArrayLike = 0.0,
) -> Band:
    """Preload of a tightened joint after relaxation and with temperature.

    Parameters
    ----------
    tightened : Band, N
        Right after tightening.
    relaxation, thermal_gain, thermal_loss : array_like
        As `preload_window`.

    Returns
    -------
    Band, N
        Highest + gain; least / (1 + r) - loss; the middle stays.

    Source: as `preload_window`.
    """
    r, gain, loss = not_negative(
        relaxation=relaxation, thermal_gain=thermal_gain, thermal_loss=thermal_loss
    )
    least, middle, highest = (
        np.asarray(each, dtype=np.float64)
        for each in (tightened.least, tightened.middle, tightened.highest)
    )
    return Band(
        least=(least / (1 + r) - loss)[()],
        middle=np.broadcast_arrays(middle, r, gain, loss)[0][()],
        highest=(highest + gain)[()],
    )


def thermal_preload(
    *,
    screw_stiffness: ArrayLike,
    joint_stiffness: ArrayLike | None,
    length: ArrayLike,
    temperature_change: ArrayLike,
    screw_expansion: ArrayLike,
    joint_expansion: ArrayLike,
) -> Floats:
    """Change of preload with temperature.

    Parameters
    ----------
    screw_stiffness, joint_stiffness : array_like, N/mm
        Without the joint's it is taken as rigid, which gives the most that the change can be.
    length : array_like, mm
        Clamped length.
    temperature_change : array_like, K
        From assembly; negative when colder.
    screw_expansion, joint_expansion : array_like, 1/K
        Coefficients of thermal expansion.

    Returns
    -------
    float or ndarray, N
        Kb Kj / (Kb + Kj) L dT (alpha_j - alpha_b); positive: preload is gained.

    Notes
    -----
    Both members at one temperature, elastic. The expansion of the insert's wire is secondary and
    left out.

    Source: NASA TM-106943 (1995), eq. (10) p. 5, read.

    Examples
    --------
    >>> gain = thermal_preload(screw_stiffness=375150, joint_stiffness=1875750, length=20,
    ...     temperature_change=100, screw_expansion=11.5e-6, joint_expansion=23.4e-6)
    >>> print(f"{gain:.0f} N")
    7440 N
    """
    kb, grip, screw, joint = positive(
        screw_stiffness=screw_stiffness,
        length=length,
        screw_expansion=screw_expansion,
        joint_expansion=joint_expansion,
    )
    springs = kb
    if joint_stiffness is not None:
        (kj,) = positive(joint_stiffness=joint_stiffness)
        springs = kb * kj / (kb + kj)
    change = np.asarray(temperature_change, dtype=np.float64)
    return (springs * grip * change * (joint - screw))[()]


def tightening_margins(
    *,
    preload_least: ArrayLike,
    preload_highest: ArrayLike,
    external_load: ArrayLike,
    load_share: ArrayLike,
    strip_load: ArrayLike,
    tensile_load: ArrayLike,
    yield_load: ArrayLike,
    ultimate_factor: ArrayLike,
    yield_factor: ArrayLike,
    separation_factor: ArrayLike,
) -> TighteningMargins:
    """Margins of the tightened joint at highest and at least preload.

    Parameters
    ----------
    preload_least, preload_highest : array_like, N
        With relaxation and temperature.
    external_load : array_like, N
        Limit load that pulls the joint apart, per screw.
    load_share : array_like
        Part of it that the screw feels (n phi), 0 to 1.
    strip_load, tensile_load, yield_load : array_like, N
        Pull-out strength of the state; tensile strength and yield load of the screw.
    ultimate_factor, yield_factor, separation_factor : array_like
        Factors on the external load. NASA TM-106943 (read): 2.0, 1.25, 1.2 untested; 1.4, 1.1,
        1.2 tested. The contract decides.

    Returns
    -------
    TighteningMargins

    Raises
    ------
    InputError
        load_share outside 0 to 1; least preload above the highest; value below zero.

    Notes
    -----
    Screw load = highest preload + factor x share x external load; preload is not factored. The
    joint opens when factor x (1 - share) x external load reaches the least preload.

    Source: NASA TM-106943 (1995): screw load and eq. (80) read; separation memory.
    """
    highest, load, share = not_negative(
        preload_highest=preload_highest, external_load=external_load, load_share=load_share
    )
    least = np.asarray(preload_least, dtype=np.float64)
    strip, tension, yielding, ultimate, at_yield, apart = positive(
        strip_load=strip_load,
        tensile_load=tensile_load,
        yield_load=yield_load,
        ultimate_factor=ultimate_factor,
        yield_factor=yield_factor,
        separation_factor=separation_factor,
    )
    if np.any(share > 1):
        raise InputError(f"load_share must lie between 0 and 1, got {np.nanmax(share):g}")
    if np.any(least > highest):
        raise InputError("preload_least must not be above preload_highest")
    pull = apart * (1 - share) * load
    at_ultimate = highest + ultimate * share * load
    with np.errstate(divide="ignore"):
        return TighteningMargins(
            strip=(strip / at_ultimate - 1)[()],
            tension=(tension / at_ultimate - 1)[()],
            screw_yield=(yielding / (highest + at_yield * share * load) - 1)[()],
            separation=np.where(
                pull > 0,
                least / np.where(pull > 0, pull, 1.0) - 1,
                np.where(least > 0, np.inf, -1.0) + 0 * pull,
            )[()],
        )
