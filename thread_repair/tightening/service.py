"""The preload of one condition, from the wrench into service.

What each possible friction makes of the torque, then what relaxation and temperature leave of it.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial, reduce
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import FloatArray, Floats, broadcast, finite, not_negative, plain, positive
from ..errors import InputError
from ..tables import cited
from .records import Tightening
from .torque_preload import PER_NM, Band, ScrewShape, nut_factor, torque
from .torque_preload import preload as preload_of

REFERENCES = cited("service")
THERMAL_REFERENCE = cited("service-thermal")[0]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FrictionLine:
    """One friction with one error of the tool: preload and twist that go together.

    Attributes
    ----------
    name : "maximum" or "minimum" preload, or "twisted": the greatest twist at a low head friction;
        of a wrench held beside a published scatter with "wrench_" before it
    thread_friction, head_friction : float or ndarray
    preload : float or ndarray, N, as tightened
    twist_nm : float or ndarray, N·m, through the shank: that of the thread and the whole
        prevailing torque, which acts below the head
    """

    name: str
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
    centre : preload at mean friction, N
    lines : by name, "maximum", "twisted" and "minimum" of the tool; of a hand torque wrench beside
        it, if any, with "wrench_" before the name

    Notes
    -----
    Under every load the worst stress of the screw lies on "maximum" or on "twisted", of the tool or
    of the wrench: pull and twist are both affine in each friction over the torque coefficient,
    which is affine as well, so that the stress is quasi-convex in each friction and greatest at an
    end of its range; head friction lowers both, and so its lower end counts.
    """

    torque_nm: Floats
    nut_factor: Band
    coefficient: Band
    centre: Floats
    lines: Mapping[str, FrictionLine]

    @property
    def preload(self) -> Band:
        """Least, mean and highest preload, N, as far as tool and wrench go."""
        least, highest = (
            reduce(end, (each.preload for each in self.lines.values()))
            for end in (np.minimum, np.maximum)
        )
        return Band(least=least, middle=self.centre, highest=highest)

    @property
    def pulled(self) -> tuple[FrictionLine, ...]:
        """The lines on one of which the worst stress of the screw lies."""
        return tuple(each for name, each in self.lines.items() if not name.endswith("minimum"))


def tighten(
    shape: ScrewShape,
    *,
    torque_nm: ArrayLike | None = None,
    preload: ArrayLike | None = None,
    thread_friction: tuple[ArrayLike, ArrayLike],
    head_friction: tuple[ArrayLike, ArrayLike],
    error: ArrayLike,
    scattered: bool = False,
    by_torque: bool = True,
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
    by_torque : bool
        Whether friction makes that scatter; else any stated friction twists the maximum preload.
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
    the tool's doing, at middle friction, and the minimum, with less twist, as the friction's.

    Source: tightening-model: worst cases combined, none assumed rare. Derived.
    """
    if (torque_nm is None) == (preload is None):
        raise InputError("give either torque_nm or preload")
    ends: list[tuple[FloatArray, ...]] = []
    given = {"thread_friction": thread_friction, "head_friction": head_friction}
    for name, (low, high) in given.items():
        ends.append(not_negative(**{f"{name} (minimum)": low, f"{name} (maximum)": high}))
        if (ends[-1][0] > ends[-1][1]).any():
            raise InputError.of("not_minimum_maximum", name=name, low=plain(low), high=plain(high))
    of_tool = {"error": error, "prevailing_nm": prevailing_nm}
    by: dict[str, Any] = {"torque_nm": torque_nm} if preload is None else {"preload": preload}
    error, running, set_to = positive(*of_tool, **of_tool, **by)
    if (error >= 1).any():
        raise InputError(f"error must be below 1, got {np.nanmax(error):g}")
    lever, (least, most) = shape.lever, zip(*ends, strict=True)
    middle = (least[0] + most[0]) / 2, (least[1] + most[1]) / 2
    coefficient = Band(least=lever(*least), middle=lever(*middle), highest=lever(*most))
    stated = plain(set_to if preload is None else torque(set_to, coefficient=coefficient.middle))

    def turned(friction: Sequence[Floats], off: ArrayLike) -> tuple[Sequence[Floats], Floats]:
        """Take the wrench at the stated torque plus the prevailing one, so much off."""
        at_wrench, k = (stated + running) * (1 + np.asarray(off)), lever(*friction)
        return friction, preload_of(at_wrench, coefficient=k, prevailing_nm=running)

    centre = preload_of(stated, coefficient=coefficient.middle)
    lines: dict[str, tuple[Sequence[Floats], Floats]]
    if scattered:
        # Thread and head friction raised alike until the lever is so many times as long.
        full, smooth = coefficient.middle, lever(0.0, 0.0)
        rise = (full * (1 / (1 - error)) - smooth) / (full - smooth)
        in_thread = middle[0] if by_torque else most[0]
        lines = {
            "maximum": (middle, (1 + error) * centre),
            "twisted": ((in_thread, middle[1]), (1 + error) * centre),
            "minimum": ((middle[0] * rise, middle[1] * rise), (1 - error) * centre),
        }
    else:
        lines = {
            "maximum": turned(least, error),
            "twisted": turned((most[0], least[1]), error),
            "minimum": turned(most, -error),
        }
    return StateTightening(
        torque_nm=stated,
        nut_factor=coefficient.map(lambda each: nut_factor(each, major=shape.major)),
        coefficient=coefficient,
        centre=centre,
        lines={
            name: FrictionLine(
                name=name,
                thread_friction=plain(friction[0]),
                head_friction=plain(friction[1]),
                preload=plain(force),
                twist_nm=plain(force * shape.thread_lever(friction[0]) / PER_NM + running),
            )
            for name, (friction, force) in lines.items()
        },
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
    yield_preload : Band, N, at which the screw yields, twist included: with the most and with the
        least thread friction of the lines on which it may
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
    turned = partial(
        tighten,
        shape,
        torque_nm=inputs.torque_nm,
        preload=inputs.preload,
        thread_friction=(inputs.thread[state].low, inputs.thread[state].high),
        head_friction=(inputs.head.low, inputs.head.high),
        prevailing_nm=prevailing,
    )
    tool = inputs.tool
    tightened = turned(error=tool.error, scattered=tool.scattered, by_torque=tool.by_torque)
    if inputs.wrench is not None:
        wrench = {f"wrench_{n}": x for n, x in turned(error=inputs.wrench.error).lines.items()}
        named = {name: replace(each, name=name) for name, each in wrench.items()}
        tightened = replace(tightened, lines={**tightened.lines, **named})
    assembly, *service = inputs.temperatures
    # Any clamped length gives the same: a longer screw is softer and expands more.
    found = thermal_preload(
        stiffness=inputs.screw_modulus * (np.pi / 4 * shape.core**2) / shape.major,
        length=shape.major,
        temperature_change=np.subtract(service, assembly),
        screw_expansion=inputs.screw_expansion,
        joint_expansion=inputs.clamped_expansion,
    )
    changes = {assembly: 0.0} | dict(zip(service, np.asarray(found).tolist(), strict=True))
    known = [each for each in changes.values() if not math.isnan(each)]
    yields = partial(shape.yield_preload, inputs.screw_yield, prevailing_nm=prevailing)
    at_yield = [float(yields(friction=line.thread_friction)) for line in tightened.pulled]
    return ServicePreload(
        tightened=tightened,
        service=in_service(
            tightened.preload,
            relaxation=inputs.relaxation,
            thermal_gain=max(known),
            thermal_loss=-min(known),
        ),
        changes=changes,
        yield_preload=Band(least=min(at_yield), middle=math.nan, highest=max(at_yield)),
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
        Highest + gain; least / (1 + r) - loss, and 0 where all preload is lost. The middle stays.

    Source: NASA TM-106943 (1995), eqs. (14) to (16), read. The division by 1 + r is what its
    printed factor 0.714 for a scatter of 0.25 and r = 0.05 implies; 0.75 (1 - r) would give 0.7125.
    """
    r, gain, loss = not_negative(
        relaxation=relaxation, thermal_gain=thermal_gain, thermal_loss=thermal_loss
    )
    return Band(
        least=np.maximum(tightened.least / (1 + r) - loss, 0.0)[()],
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
    of_joint = {
        "stiffness": stiffness, "length": length,
        "screw_expansion": screw_expansion, "joint_expansion": joint_expansion,
    }  # fmt: skip
    values = (*positive(**of_joint), *finite(temperature_change=temperature_change))
    names = (*of_joint, "temperature_change")
    springs, grip, screw, joint, change = broadcast(**dict(zip(names, values, strict=True)))
    return (springs * grip * change * (joint - screw))[()]
