"""The preload of one condition, from the wrench into service.

What each possible friction makes of the torque, then what relaxation and temperature leave of it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import Floats, not_negative, plain, positive
from ..errors import InputError
from ..tables import cited
from .records import Tightening
from .torque_preload import PER_NM, Band, ScrewShape, nut_factor, preload, torque

REFERENCES = cited("service")
THERMAL_REFERENCE = cited("service-thermal")[0]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FrictionLine:
    """One friction with one error of the tool: preload and twist that go together.

    Attributes
    ----------
    thread_friction, head_friction : float or ndarray
    preload : float or ndarray, N, as tightened
    twist_nm : float or ndarray, N·m, through the shank: that of the thread and the whole
        prevailing torque, which acts below the head
    """

    thread_friction: Floats
    head_friction: Floats
    preload: Floats
    twist_nm: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StateTightening:
    """Torque and preload of one state.

    Attributes
    ----------
    torque_nm : stated torque, N·m, without prevailing torque
    nut_factor : Band of K; least with the lowest friction
    coefficient : Band, mm; torque per preload by friction
    preload : Band, N
    maximum : line of the maximum preload
    twisted : line of the greatest twist at a low head friction
    minimum : line of the minimum preload

    Notes
    -----
    Under every load the worst stress of the screw lies on `maximum` or on `twisted`: pull and
    twist are both affine in each friction over the torque coefficient, which is affine as well, so
    that the stress is quasi-convex in each friction and greatest at an end of its range; head
    friction lowers both, and so its lower end counts.
    """

    torque_nm: Floats
    nut_factor: Band
    coefficient: Band
    preload: Band
    maximum: FrictionLine
    twisted: FrictionLine
    minimum: FrictionLine

    @property
    def lines(self) -> Mapping[str, FrictionLine]:
        """The lines by name."""
        return {"maximum": self.maximum, "twisted": self.twisted, "minimum": self.minimum}


def tighten(
    shape: ScrewShape,
    *,
    torque_nm: ArrayLike | None = None,
    preload: ArrayLike | None = None,
    thread_friction: tuple[ArrayLike, ArrayLike],
    head_friction: tuple[ArrayLike, ArrayLike],
    error: ArrayLike,
    scattered: bool = False,
    prevailing_nm: ArrayLike = 0.0,
) -> StateTightening:
    """Torque, preload and twist of the original or of the repaired hole.

    Call it once for each: the thread's friction and the prevailing torque differ.

    Parameters
    ----------
    shape : ScrewShape
    torque_nm, preload : array_like, N·m or N
        Give one. A torque is without prevailing torque (`STATED_TORQUE`). A preload is turned
        into the torque that gives it at middle friction.
    thread_friction, head_friction : (minimum, maximum)
    error : array_like
        Plus or minus, as a fraction: of the tool's torque, to which the band of friction is added.
    scattered : bool
        Whether the error is a published scatter of the preload, which has friction in it already
        and is laid about the middle one.
    prevailing_nm : array_like, N·m
        Maximum prevailing torque. It is measured at each hole and added to the torque at the
        wrench, so that only the tool's error of it reaches the preload; all of it twists.

    Returns
    -------
    StateTightening

    Raises
    ------
    InputError
        Both or neither of torque and preload; a range whose ends are swapped; an error of 1 or
        more.

    Notes
    -----
    A published scatter does not say how much of it is friction. The maximum preload is taken as
    the tool's doing, at middle friction, and the minimum as that of the friction: either has the
    more twist.

    Source: tightening-model: worst cases combined, none assumed rare. Derived.
    """
    if (torque_nm is None) == (preload is None):
        raise InputError("give either torque_nm or preload")
    ranges = {"thread_friction": thread_friction, "head_friction": head_friction}
    for name, ends in ranges.items():
        low, high = not_negative(**{f"{name} (minimum)": ends[0], f"{name} (maximum)": ends[1]})
        if np.any(low > high):
            raise InputError(f"{name} must be (minimum, maximum), got {ends[0]} and {ends[1]}")
    error, running = not_negative(error=error, prevailing_nm=prevailing_nm)
    if np.any(error >= 1):
        raise InputError(f"error must be below 1, got {np.nanmax(error):g}")

    lever = shape.lever

    def line(in_thread: ArrayLike, under_head: ArrayLike, force: Floats) -> FrictionLine:
        twist = np.asarray(force) * shape.thread_lever(in_thread)
        return FrictionLine(
            thread_friction=np.asarray(in_thread)[()],
            head_friction=np.asarray(under_head)[()],
            preload=force,
            twist_nm=(twist / PER_NM + running)[()],
        )

    middle = _middle(thread_friction), _middle(head_friction)
    lowest, highest = ((thread_friction[end], head_friction[end]) for end in (0, 1))
    coefficient = Band(least=lever(*lowest), middle=lever(*middle), highest=lever(*highest))
    if torque_nm is None:
        assert preload is not None  # refused above
        stated = torque(preload, coefficient=coefficient.middle)
    else:
        stated = positive(torque_nm=torque_nm)[0][()]
    centre = _preload(stated, coefficient.middle, running, 0.0)
    if not scattered:
        maximum, twisted, minimum = (
            line(*friction, _preload(stated, lever(*friction), running, sign * error))
            for friction, sign in (
                (lowest, 1),
                ((thread_friction[1], head_friction[0]), 1),
                (highest, -1),
            )
        )
    else:
        rough = _rougher(middle, lever, 1 / (1 - error))
        maximum = line(*middle, ((1 + error) * centre)[()])
        twisted = minimum = line(*rough, ((1 - error) * centre)[()])
    return StateTightening(
        torque_nm=stated,
        nut_factor=coefficient.map(lambda each: nut_factor(each, major=shape.major)),
        coefficient=coefficient,
        preload=Band(least=minimum.preload, middle=centre, highest=maximum.preload),
        maximum=maximum,
        twisted=twisted,
        minimum=minimum,
    )


def _middle(ends: tuple[ArrayLike, ArrayLike]) -> Floats:
    return plain((np.asarray(ends[0]) + np.asarray(ends[1])) / 2)


def _preload(stated_nm: ArrayLike, lever: Floats, prevailing: Floats, error: ArrayLike) -> Floats:
    """Preload where the wrench stands at the stated torque plus the prevailing one, with error."""
    at_wrench = (np.asarray(stated_nm) + prevailing) * (1 + np.asarray(error))
    return preload(at_wrench, coefficient=lever, prevailing_nm=prevailing)


def _rougher(
    friction: tuple[Floats, ...], lever: Callable[..., Floats], times: Floats
) -> tuple[Floats, Floats]:
    """Return thread and head friction raised together until the lever is so many times as long."""
    smooth = lever(0.0, 0.0)
    full = lever(*friction)
    factor = (full * times - smooth) / (full - smooth)
    return friction[0] * factor, friction[1] * factor


@dataclass(frozen=True, slots=True, kw_only=True)
class ServicePreload:
    """Preload of one condition, as tightened and in service.

    Attributes
    ----------
    tightened : torque, preload and twist as tightened
    service : Band, N, after relaxation and with the change of temperature
    changes : what temperature adds to the preload, N, by temperature, degC; that of assembly, with
        nothing, comes first; NaN where the expansion is not known
    yield_preload : Band, N, at which the screw yields, twist included: with the friction of the
        twisted line, then with that of the maximum preload
    """

    tightened: StateTightening
    service: Band
    changes: Mapping[float, float]
    yield_preload: Band

    @property
    def known_changes(self) -> Mapping[float, float]:
        """The same with nothing for what is not known, as a fact of the tightening says."""
        return {t: 0.0 if math.isnan(each) else each for t, each in self.changes.items()}


def service_preload(inputs: Tightening, state: str) -> ServicePreload:
    """Return the preload of one condition: as tightened, then in service.

    Parameters
    ----------
    inputs : Tightening
    state : str
        "original" or "repaired".

    Returns
    -------
    ServicePreload
    """
    shape, prevailing = inputs.shape, inputs.prevailing_nm[state][1]
    tightened = tighten(
        shape,
        torque_nm=inputs.torque_nm,
        preload=inputs.preload,
        thread_friction=(inputs.thread[state].low, inputs.thread[state].high),
        head_friction=(inputs.head.low, inputs.head.high),
        error=inputs.tool.error,
        scattered=inputs.tool.scattered,
        prevailing_nm=prevailing,
    )
    assembly = inputs.temperatures[0]
    # Any clamped length gives the same: a longer screw is softer and expands more.
    changes = {
        each: float(
            thermal_preload(
                stiffness=inputs.screw_modulus * (np.pi / 4 * shape.core**2) / shape.major,
                length=shape.major,
                temperature_change=each - assembly,
                screw_expansion=inputs.screw_expansion,
                joint_expansion=inputs.clamped_expansion,
            )
        )
        for each in inputs.temperatures[1:]
    }
    known = [0.0, *(each for each in changes.values() if not math.isnan(each))]
    at_yield = [
        float(
            shape.yield_preload(
                inputs.screw_yield, friction=line.thread_friction, prevailing_nm=prevailing
            )
        )
        for line in (tightened.twisted, tightened.maximum)
    ]
    return ServicePreload(
        tightened=tightened,
        service=in_service(
            tightened.preload,
            relaxation=inputs.relaxation,
            thermal_gain=max(known),
            thermal_loss=-min(known),
        ),
        changes={assembly: 0.0, **changes},
        yield_preload=Band(least=at_yield[0], middle=math.nan, highest=at_yield[1]),
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
    relaxation : array_like
        Loss after tightening as a fraction of what remains; 0.05 in the source's tables.
    thermal_gain, thermal_loss : array_like, N
        Most that temperature adds, most that it takes away, both as positive numbers.

    Returns
    -------
    Band, N
        Highest + gain; least / (1 + r) - loss, which may be negative: all preload lost. The middle
        stays.

    Source: NASA TM-106943 (1995), eqs. (14) to (16), read. The division by 1 + r is what its
    printed factor 0.714 for a scatter of 0.25 and r = 0.05 implies; 0.75 (1 - r) would give 0.7125.
    """
    r, gain, loss = not_negative(
        relaxation=relaxation, thermal_gain=thermal_gain, thermal_loss=thermal_loss
    )
    return Band(
        least=(tightened.least / (1 + r) - loss)[()],
        middle=tightened.middle,
        highest=(tightened.highest + gain)[()],
    )


def thermal_preload(
    *,
    stiffness: ArrayLike,
    length: ArrayLike,
    temperature_change: ArrayLike,
    screw_expansion: ArrayLike,
    joint_expansion: ArrayLike,
) -> Floats:
    """Change of preload with temperature.

    Parameters
    ----------
    stiffness : array_like, N/mm
        Of screw and joint in series, Kb Kj / (Kb + Kj). That of the screw alone takes the joint as
        rigid, which gives the most that the change can be.
    length : array_like, mm
        Clamped length.
    temperature_change : array_like, K
        From assembly; negative when colder.
    screw_expansion, joint_expansion : array_like, 1/K
        Coefficients of thermal expansion.

    Returns
    -------
    float or ndarray, N
        K L dT (alpha_j - alpha_b); positive: preload is gained.

    Notes
    -----
    Both members at one temperature, elastic. The expansion of the insert's wire is secondary and
    left out.

    Source: NASA TM-106943 (1995), eq. (10) p. 5, read.

    Examples
    --------
    >>> gain = thermal_preload(stiffness=312625, length=20, temperature_change=100,
    ...     screw_expansion=11.5e-6, joint_expansion=23.4e-6)
    >>> print(f"{gain:.0f} N")
    7440 N
    """
    springs, grip, screw, joint = positive(
        stiffness=stiffness,
        length=length,
        screw_expansion=screw_expansion,
        joint_expansion=joint_expansion,
    )
    change = np.asarray(temperature_change, dtype=np.float64)
    return (springs * grip * change * (joint - screw))[()]
