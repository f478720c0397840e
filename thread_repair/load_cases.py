"""The loads on the screw that a case describes: friction, preload, service, demand."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType

import attrs
import numpy as np

from . import case as cases
from . import joint as joints
from . import tables
from . import tightening as tg
from .case import Case
from .case.schema import Temperature
from .case.torques import Tightening
from .joint.margins import LoadCase, PreloadOrigin
from .joint.records import Evaluation, Joint
from .sources import Reference
from .strength.strip import STATES
from .tightening import Band, FrictionLine, StateTightening

FITTING_REFERENCE = Reference(
    source="14-cfr-25",
    clause="25.625",
    how_known="memory",
    what="factor on the load of a fitting whose strength no test has proven",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ServicePreload:
    """Preload of one state, as tightened and in service.

    Attributes
    ----------
    tightened : torque, preload and twist as tightened
    service : Band, N, after relaxation and with the change of temperature
    changes : what temperature adds to the preload, N, by temperature, degC; that of assembly, with
        nothing, comes first; NaN where the expansion is not known
    yield_preload : Band, N, at which the screw yields, twist included: with the friction of the
        twisted line, then with that of the maximum preload
    """

    state: str
    tightened: StateTightening
    service: Band
    changes: Mapping[float, float]
    yield_preload: Band

    @property
    def known_changes(self) -> Mapping[float, float]:
        """The same with nothing for what is not known, as a notice of the tightening says."""
        return {t: 0.0 if math.isnan(each) else each for t, each in self.changes.items()}


def load_cases(case: Case) -> tuple[LoadCase, ...]:
    """Return the load cases of the case file; none where it gives neither load nor preload.

    The load on the screw of a tightened joint is the maximum preload plus the part of the design
    load that the screw feels; once the joint has opened it is the design load alone. With that
    part known (`load_share`) these are the two cases. Where it is not known, the load lies
    between the greater of the two and their sum: then the design load alone and the maximum
    preload alone are what must hold for every joint, and both together with the whole load is
    what is enough for every joint. Preload carries no factor, the load its own (NASA TM-106943).
    The joint opens when the part of the load that the screw does not feel reaches the minimum
    preload.

    Several cases of one id are one case at the temperatures of assembly and service, the parent
    with the strength it has there, and for the screw's yield at the frictions that may be worst.
    """
    inputs = cases.tightening(case)
    if inputs is None:
        return design_cases(case)
    joint = cases.joint(case)
    tightened = (each for state in STATES for each in preload_cases(case, inputs, joint, state))
    return (*design_cases(case), *tightened)


def design_cases(case: Case) -> tuple[LoadCase, ...]:
    """Return the design load alone: of a screw that is not tightened or has been relieved."""
    if case.design_load is None:
        return ()
    return tuple(
        LoadCase(
            id=f"limit_load_{against}",
            load=case.design_load,
            factor=factor,
            fitting=case.fitting_factor,
            against=against,
        )
        for factor, against in _strengths(case)
    )


def _strengths(case: Case) -> tuple[tuple[float, str], ...]:
    return (
        (case.load_factor, "ultimate"),
        (case.yield_factor, "yield"),
    )


@lru_cache(maxsize=8)
def at_assembly(case: Case) -> Evaluation | None:
    """Return the joint with the parent's strength at assembly; None where it is the same."""
    hot = cases.joint(case)
    cold = cases.joint(
        attrs.evolve(
            case,
            temperature=Temperature(tables.constant("assembly_temperature").value),
            temperature_min=None,
            insert_wire=hot.wire.id,
        )
    )
    if cold.parent_shear.value == hot.parent_shear.value:
        return None
    return joints.evaluate(cold, system=case.report_units)


def load_share(inputs: Tightening) -> tuple[float, float]:
    """Most and least part of the load that the screw may feel; alike where it is known."""
    known = inputs.load_share
    return (1.0, 0.0) if known is None else (known, known)


def service_preload(inputs: Tightening, joint: Joint, state: str) -> ServicePreload:
    """Return the preload of one state."""
    shape, head, thread = inputs.shape, inputs.head, inputs.thread[state]
    prevailing = inputs.prevailing_nm[state][1]
    tightened = tg.tighten(
        torque_nm=inputs.torque_nm,
        preload=inputs.preload,
        major=shape.major,
        pitch=shape.pitch,
        pitch_diameter=shape.pitch_diameter,
        bearing_diameter=shape.bearing_diameter,
        flank_angle=shape.flank_angle,
        thread_friction=(thread.low, thread.high),
        head_friction=(head.low, head.high),
        tool_accuracy=inputs.tool.high if inputs.scatter is None else None,
        preload_scatter=inputs.scatter,
        prevailing_nm=prevailing,
    )
    assembly = inputs.temperatures[0]
    changes = MappingProxyType(
        {each: _thermal_change(inputs, joint, each - assembly) for each in inputs.temperatures}
    )
    known = [each for each in changes.values() if not math.isnan(each)]
    at_yield = [
        float(
            tg.yield_preload(
                yield_strength=joint.screw.yield_,
                pitch=shape.pitch,
                pitch_diameter=shape.pitch_diameter,
                minor_diameter=shape.minor_diameter,
                thread_friction=line.thread_friction,
                flank_angle=shape.flank_angle,
                prevailing_nm=prevailing,
            )
        )
        for line in (tightened.twisted, tightened.maximum)
    ]
    return ServicePreload(
        state=state,
        tightened=tightened,
        service=tg.in_service(
            tightened.preload,
            relaxation=inputs.relaxation,
            thermal_gain=max(known),
            thermal_loss=-min(known),
        ),
        changes=changes,
        yield_preload=Band(least=at_yield[0], middle=math.nan, highest=at_yield[1]),
    )


def _thermal_change(inputs: Tightening, joint: Joint, change: float) -> float:
    """Most that a change of temperature, K, can change the preload, N: of a rigid clamped part.

    The clamped length falls out: a longer screw is softer and expands more.
    """
    if change == 0:
        return 0.0
    length = joint.thread.major
    area = np.pi / 4 * ((inputs.shape.pitch_diameter + inputs.shape.minor_diameter) / 2) ** 2
    return float(
        tg.thermal_preload(
            screw_stiffness=inputs.screw_modulus * area / length,
            joint_stiffness=None,
            length=length,
            temperature_change=change,
            screw_expansion=inputs.screw_expansion,
            joint_expansion=inputs.clamped_expansion,
        )
    )


def preload_cases(case: Case, inputs: Tightening, joint: Joint, state: str) -> Iterator[LoadCase]:
    """Yield the cases of a tightened state; `inputs` may have another torque than the case."""
    found = service_preload(inputs, joint, state)
    most, least = load_share(inputs)
    load = case.design_load or 0.0
    if case.design_load is None:
        combined = {"maximum_preload": 0.0}
    elif inputs.load_share is None:
        combined = {"maximum_preload": 0.0, "maximum_preload_limit_load": most}
    else:
        combined = {"maximum_preload_limit_load": most}
    lines = (found.tightened.maximum, found.tightened.twisted)
    for temperature, change in found.known_changes.items():
        if float(lines[0].preload) + change <= 0:
            continue  # no preload is left there: the design load alone covers it
        for name, share in combined.items():
            for factor, against in _strengths(case):
                base = LoadCase(
                    id=f"{name}_{against}",
                    load=load,
                    share=share,
                    factor=factor,
                    fitting=case.fitting_factor,
                    against=against,
                    state=state,
                    at=None if temperature == joint.temperature else at_assembly(case),
                )
                yield _tightened(base, lines[0], temperature, change)
                if against == "yield" and not math.isnan(joint.screw.yield_):
                    yield from (
                        _twisted(_tightened(base, each, temperature, change), inputs, joint, each)
                        for each in lines
                        if float(each.preload) + change > 0
                    )
    if load and least < 1:
        temperature, change = min(found.known_changes.items(), key=lambda item: item[1])
        yield LoadCase(
            id="minimum_preload_separation",
            load=load,
            share=1 - least,
            factor=case.separation_factor,
            against="separation",
            state=state,
            own={"separation": float(found.service.least)},
            origin=_origin(found.tightened.minimum, temperature),
        )


def _tightened(base: LoadCase, line: FrictionLine, temperature: float, change: float) -> LoadCase:
    return replace(base, preload=float(line.preload) + change, origin=_origin(line, temperature))


def _twisted(case: LoadCase, inputs: Tightening, joint: Joint, line: FrictionLine) -> LoadCase:
    """Give the screw the load at which it yields, with twist in the proportion of the case."""
    stress = tg.equivalent_stress(
        case.demand,
        line.twist_nm,
        pitch_diameter=inputs.shape.pitch_diameter,
        minor_diameter=inputs.shape.minor_diameter,
    )
    return replace(case, own={"screw_tension": case.demand * joint.screw.yield_ / float(stress)})


def _origin(line: FrictionLine, temperature: float) -> PreloadOrigin:
    return PreloadOrigin(
        thread_friction=float(line.thread_friction),
        head_friction=float(line.head_friction),
        temperature=temperature,
    )
