"""What preload a case gives both states, and how far it is from stripping, yield and opening."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from . import case as cases
from . import tightening as tg
from .case import Case
from .case.torques import Tightening
from .joint.records import Evaluation, Joint, Notice
from .sources import Reference, ledger
from .strength.strip import STATES
from .tightening import CAUTION, Band, StateTightening, TighteningMargins


@dataclass(frozen=True, slots=True, kw_only=True)
class ServicePreload:
    """Preload of one state, as tightened and in service.

    Attributes
    ----------
    tightened : torque, preload as tightened, torque that strips, preload at yield
    service : Band, N, after relaxation and with the change of temperature
    thermal_change : most that temperature adds (positive) or takes, N; NaN where not known
    """

    state: str
    tightened: StateTightening
    service: Band
    thermal_change: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StatePreload:
    """One state: preload, torque limits and margins.

    Attributes
    ----------
    preload : as tightened and in service
    window_nm : least and most set torque, N·m: the joint stays shut under the factored load, and
        neither thread nor screw gives way; NaN where a strength is not known. The window is empty
        where the least is above the most.
    same_preload_nm : torque that gives this state the middle preload of the original, N·m
    margins : at highest and at least preload in service
    """

    state: str
    preload: ServicePreload
    window_nm: tuple[float, float]
    same_preload_nm: float
    margins: TighteningMargins


@dataclass(frozen=True, slots=True, kw_only=True)
class Preloads:
    """Both states under the torque or the preload of a case.

    `share` is the part of the load that the screw is taken to feel: (most, least), the bounds 1
    and 0 where the case gives none.
    """

    inputs: Tightening
    original: StatePreload
    repaired: StatePreload
    share: tuple[float, float]
    notices: tuple[Notice, ...]
    references: tuple[Reference, ...]
    caution: str = CAUTION

    @property
    def states(self) -> Mapping[str, StatePreload]:
        """The two states by name."""
        return {"original": self.original, "repaired": self.repaired}


def load_share(inputs: Tightening) -> tuple[float, float]:
    """Most and least part of the load that the screw may feel; alike where it is known."""
    known = inputs.load_share
    return (1.0, 0.0) if known is None else (known, known)


def service_preload(
    inputs: Tightening, joint: Joint, state: str, *, strip_load: float = math.nan
) -> ServicePreload:
    """Return the preload of one state; without its strip load the torque that strips is NaN."""
    tightened = _tighten(inputs, joint, state, strip_load=strip_load)
    change = _thermal_change(inputs, joint)
    gain, loss = _gain_and_loss(change)
    return ServicePreload(
        state=state,
        tightened=tightened,
        service=tg.in_service(
            tightened.preload, relaxation=inputs.relaxation, thermal_gain=gain, thermal_loss=loss
        ),
        thermal_change=change,
    )


def preloads(case: Case, evaluation: Evaluation) -> Preloads | None:
    """Return torque, preload and margins of both states; None where the case gives neither.

    Raises
    ------
    InputError
        A torque that does not overcome the prevailing torque.

    Notes
    -----
    Where the part of the load that the screw feels is not known, both bounds are taken: all of
    it on top of the highest preload against strip, breaking and yield; all of it off the least
    preload against opening. Preload carries no factor, the load its own.
    """
    inputs = cases.tightening(case)
    if inputs is None:
        return None
    share = load_share(inputs)
    first: StatePreload | None = None
    found = {}
    for state in STATES:
        found[state] = _state(case, inputs, evaluation, state, share=share, original=first)
        first = first or found[state]
    return Preloads(
        inputs=inputs,
        original=found["original"],
        repaired=found["repaired"],
        share=share,
        notices=(*inputs.notices, *_findings(case, found, share)),
        references=ledger(
            [
                *inputs.references,
                *tg.REFERENCES,
                *tg.MARGIN_REFERENCES,
                tg.WINDOW_REFERENCE,
                *((tg.THERMAL_REFERENCE,) if inputs.temperature_change else ()),
                evaluation.joint.screw.identity_reference,
            ]
        ),
    )


def _tighten(inputs: Tightening, joint: Joint, state: str, *, strip_load: float) -> StateTightening:
    shape, head, thread = inputs.shape, inputs.head, inputs.thread[state]
    return tg.tighten(
        torque_nm=inputs.torque_nm,
        preload=inputs.preload,
        major=shape.major,
        pitch=shape.pitch,
        pitch_diameter=shape.pitch_diameter,
        minor_diameter=shape.minor_diameter,
        bearing_diameter=shape.bearing_diameter,
        flank_angle=shape.flank_angle,
        thread_friction=(thread.low, thread.high),
        head_friction=(head.low, head.high),
        tool_accuracy=inputs.tool.high if inputs.scatter is None else None,
        preload_scatter=inputs.scatter,
        prevailing_nm=inputs.prevailing_nm[state],
        strip_load=strip_load,
        yield_strength=joint.screw.yield_,
    )


def _thermal_change(inputs: Tightening, joint: Joint) -> float:
    """Most that temperature can change the preload, N: of a rigid clamped part.

    The clamped length falls out: a longer screw is softer and expands more.
    """
    length = joint.thread.major
    area = np.pi / 4 * ((inputs.shape.pitch_diameter + inputs.shape.minor_diameter) / 2) ** 2
    return float(
        tg.thermal_preload(
            screw_stiffness=inputs.screw_modulus * area / length,
            joint_stiffness=None,
            length=length,
            temperature_change=inputs.temperature_change,
            screw_expansion=inputs.screw_expansion,
            joint_expansion=inputs.clamped_expansion,
        )
    )


def _gain_and_loss(change: float) -> tuple[float, float]:
    # An unknown expansion is said in a notice; the band then holds at the assembly temperature.
    known = 0.0 if math.isnan(change) else change
    return max(known, 0.0), max(-known, 0.0)


def _state(
    case: Case,
    inputs: Tightening,
    evaluation: Evaluation,
    state: str,
    *,
    share: tuple[float, float],
    original: StatePreload | None,
) -> StatePreload:
    strip_load = evaluation.states[state].pull_out
    tensile_load = evaluation.states[state].mode("screw_tension").capacity
    found = service_preload(inputs, evaluation.joint, state, strip_load=strip_load)
    first = found if original is None else original.preload
    load = case.design_load or 0.0
    most, least = (
        tg.tightening_margins(
            preload_least=found.service.least,
            preload_highest=found.service.highest,
            external_load=load,
            load_share=part,
            strip_load=strip_load,
            tensile_load=tensile_load,
            yield_load=found.tightened.yield_preload,
            ultimate_factor=case.load_factor,
            yield_factor=case.yield_factor,
            separation_factor=case.separation_factor,
        )
        for part in share
    )
    return StatePreload(
        state=state,
        preload=found,
        window_nm=_window(case, inputs, found, share, min(strip_load, tensile_load)),
        same_preload_nm=float(
            tg.strip_torque(
                first.tightened.preload.middle,
                coefficient=found.tightened.coefficient,
                prevailing_nm=inputs.prevailing_nm[state],
            ).middle
        ),
        margins=TighteningMargins(
            strip=most.strip,
            tension=most.tension,
            screw_yield=most.screw_yield,
            separation=least.separation,
        ),
    )


def _window(
    case: Case,
    inputs: Tightening,
    found: ServicePreload,
    share: tuple[float, float],
    ultimate: float,
) -> tuple[float, float]:
    """Least and most set torque at which every margin of the state is zero or more."""
    load = case.design_load or 0.0
    gain, loss = _gain_and_loss(found.thermal_change)
    at_yield = float(found.tightened.yield_preload) - case.yield_factor * share[0] * load
    # NaN, a yield strength that is not known, must not lose against the other limit.
    limit = np.minimum(ultimate - case.load_factor * share[0] * load, at_yield) - gain
    need = (case.separation_factor * (1 - share[1]) * load + loss) * (1 + inputs.relaxation)
    accuracy = inputs.tool.high if inputs.scatter is None else 0.0
    coefficient, prevailing = found.tightened.coefficient, inputs.prevailing_nm[found.state]
    return (
        float(
            tg.torque_for_least_preload(
                need, coefficient=coefficient, tool_accuracy=accuracy, prevailing_nm=prevailing
            )
        ),
        float(
            tg.torque_for_highest_preload(
                np.maximum(limit, 0.0),
                coefficient=coefficient,
                tool_accuracy=accuracy,
                prevailing_nm=prevailing,
            )
        ),
    )


def _findings(
    case: Case, found: Mapping[str, StatePreload], share: tuple[float, float]
) -> tuple[Notice, ...]:
    """Return what the torque of the case does that it should not."""
    bound = " if the screw feels all of the load" if share[0] != share[1] else ""
    notices = []
    for state, each in found.items():
        words = {
            "strips the thread": float(each.margins.strip),
            "breaks the screw": float(each.margins.tension),
            "brings the screw to yield": float(each.margins.screw_yield),
        }
        notices += [
            Notice(
                level="limit",
                text=f"{state}: the highest preload with the design load {does}{bound} "
                f"(margin {margin:+.2f}).",
            )
            for does, margin in words.items()
            if margin < 0
        ]
        apart = float(each.margins.separation)
        if apart < 0:
            notices.append(
                Notice(
                    level="limit",
                    text=f"{state}: the joint may open under the design load at the least preload "
                    f"(margin {apart:+.2f}).",
                )
            )
    return tuple(notices)
