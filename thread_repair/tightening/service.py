"""The preload of one condition, from the wrench into service.

What each possible friction makes of the torque, then what relaxation and temperature leave of it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from ..tables import cited
from .records import Tightening
from .torque_preload import PER_NM, Band, ScrewShape, nut_factor, torque
from .torque_preload import preload as preload_of

REFERENCES = cited("service")
THERMAL_REFERENCE = cited("service-thermal")[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class FrictionLine:
    """One friction with one error of the tool: preload and twist that go together.

    Attributes
    ----------
    thread_friction, head_friction : coefficients
    preload : N, as tightened
    twist_nm : N·m, through the shank: that of the thread and the whole prevailing torque, which
        acts below the head
    """

    thread_friction: float
    head_friction: float
    preload: float
    twist_nm: float


@dataclass(frozen=True, slots=True, kw_only=True)
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

    torque_nm: float
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
    torque_nm: float | None = None,
    preload: float | None = None,
    thread_friction: tuple[float, float],
    head_friction: tuple[float, float],
    error: float,
    scattered: bool = False,
    prevailing_nm: float = 0.0,
) -> StateTightening:
    """Torque, preload and twist of the original or of the repaired hole.

    Call it once for each: the thread's friction and the prevailing torque differ.

    Parameters
    ----------
    shape : ScrewShape
    torque_nm, preload : float, N·m or N
        Give one. A torque is without prevailing torque (`STATED_TORQUE`). A preload is turned
        into the torque that gives it at middle friction.
    thread_friction, head_friction : (minimum, maximum)
    error : float
        Plus or minus, as a fraction: of the tool's torque, to which the band of friction is added.
    scattered : bool
        Whether the error is a published scatter of the preload, which has friction in it already
        and is laid about the middle one.
    prevailing_nm : float, N·m
        Maximum prevailing torque. It is measured at each hole and added to the torque at the
        wrench, so that only the tool's error of it reaches the preload; all of it twists.

    Returns
    -------
    StateTightening

    Notes
    -----
    A published scatter does not say how much of it is friction. The maximum preload is taken as
    the tool's doing, at middle friction, and the minimum as that of the friction: either has the
    more twist.

    Source: tightening-model: worst cases combined, none assumed rare. Derived.
    """
    low, high = zip(thread_friction, head_friction, strict=True)
    mean = (low[0] + high[0]) / 2, (low[1] + high[1]) / 2
    coefficient = Band(*(float(shape.lever(*friction)) for friction in (low, mean, high)))
    if preload is not None:
        torque_nm = float(torque(preload, coefficient=coefficient.middle))
    assert torque_nm is not None  # one of them is stated
    at_wrench = torque_nm + prevailing_nm

    def line(friction: tuple[float, float], force: float) -> FrictionLine:
        twist_nm = float(force * shape.thread_lever(friction[0]) / PER_NM + prevailing_nm)
        return FrictionLine(
            thread_friction=friction[0], head_friction=friction[1], preload=force, twist_nm=twist_nm
        )

    def turned(friction: tuple[float, float], off: float) -> FrictionLine:
        turn = {"coefficient": shape.lever(*friction), "prevailing_nm": prevailing_nm}
        return line(friction, float(preload_of(at_wrench * (1 + off), **turn)))

    centre = turned(mean, 0.0).preload
    if scattered:
        maximum = line(mean, (1 + error) * centre)
        # Both frictions raised alike until they alone make the minimum.
        smooth = float(shape.lever(0.0, 0.0))
        rise = (coefficient.middle / (1 - error) - smooth) / (coefficient.middle - smooth)
        rough = mean[0] * rise, mean[1] * rise
        twisted = minimum = line(rough, (1 - error) * centre)
    else:
        maximum, minimum = turned(low, error), turned(high, -error)
        twisted = turned((high[0], low[1]), error)
    return StateTightening(
        torque_nm=torque_nm,
        nut_factor=coefficient.map(lambda each: float(nut_factor(each, major=shape.major))),
        coefficient=coefficient,
        preload=Band(least=minimum.preload, middle=centre, highest=maximum.preload),
        maximum=maximum,
        twisted=twisted,
        minimum=minimum,
    )


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
        each: thermal_preload(
            stiffness=inputs.screw_modulus * (math.pi / 4 * shape.core**2) / shape.major,
            length=shape.major,
            temperature_change=each - assembly,
            screw_expansion=inputs.screw_expansion,
            joint_expansion=inputs.clamped_expansion,
        )
        for each in inputs.temperatures[1:]
    }
    known = [0.0, *(each for each in changes.values() if not math.isnan(each))]

    def at_yield(line: FrictionLine) -> float:
        friction = {"friction": line.thread_friction, "prevailing_nm": prevailing}
        return float(shape.yield_preload(inputs.screw_yield, **friction))

    return ServicePreload(
        tightened=tightened,
        service=in_service(
            tightened.preload,
            relaxation=inputs.relaxation,
            thermal_gain=max(known),
            thermal_loss=-min(known),
        ),
        changes={assembly: 0.0, **changes},
        yield_preload=Band(at_yield(tightened.twisted), math.nan, at_yield(tightened.maximum)),
    )


def in_service(
    tightened: Band,
    *,
    relaxation: float,
    thermal_gain: float = 0.0,
    thermal_loss: float = 0.0,
) -> Band:
    """Preload of a tightened joint after relaxation and with temperature.

    Parameters
    ----------
    tightened : Band, N
        Right after tightening.
    relaxation : float
        Loss after tightening as a fraction of what remains; 0.05 in the source's tables.
    thermal_gain, thermal_loss : float, N
        Most that temperature adds, most that it takes away, both as positive numbers.

    Returns
    -------
    Band, N
        Highest + gain; least / (1 + r) - loss, which may be negative: all preload lost. The middle
        stays.

    Source: NASA TM-106943 (1995), eqs. (14) to (16), read. The division by 1 + r is what its
    printed factor 0.714 for a scatter of 0.25 and r = 0.05 implies; 0.75 (1 - r) would give 0.7125.
    """
    return Band(
        least=tightened.least / (1 + relaxation) - thermal_loss,
        middle=tightened.middle,
        highest=tightened.highest + thermal_gain,
    )


def thermal_preload(
    *,
    stiffness: float,
    length: float,
    temperature_change: float,
    screw_expansion: float,
    joint_expansion: float,
) -> float:
    """Change of preload with temperature.

    Parameters
    ----------
    stiffness : float, N/mm
        Of screw and joint in series, Kb Kj / (Kb + Kj). That of the screw alone takes the joint as
        rigid, which gives the most that the change can be.
    length : float, mm
        Clamped length.
    temperature_change : float, K
        From assembly; negative when colder.
    screw_expansion, joint_expansion : float, 1/K
        Coefficients of thermal expansion.

    Returns
    -------
    float, N
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
    return stiffness * length * temperature_change * (joint_expansion - screw_expansion)
