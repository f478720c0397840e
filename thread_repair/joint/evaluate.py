"""Evaluate both states of one joint: modes, governing mode, ratio, required length."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from .. import threads
from ..sources import Reference, ledger
from ..strength import primary
from ..strength.areas import strip_area_internal, tan_half_angle
from ..strength.methods import METHODS
from ..strength.strip import StripInputs, StripResult
from . import notices
from .budget import budget, engaged
from .records import (
    STATES,
    STRIP_MODES,
    Effect,
    Evaluation,
    Joint,
    ModeResult,
    StateResult,
    StateSizes,
)
from .sizes import sizes
from .verdict import effects, verdict

#: The primary model takes its area, its name and its equation from this document.
PRIMARY_METHOD = "fed_std_h28"


def evaluate(joint: Joint) -> Evaluation:
    """Compare the repaired thread with the original one.

    Both holes are taken at the same tolerance position with the same allowables.

    Raises
    ------
    InputError
        If sizes do not fit together.
    ValidityError
        If no rule covers the wall that is left.
    """
    original, repaired = (_state(joint, state) for state in STATES)
    return Evaluation(
        joint=joint,
        original=original,
        repaired=repaired,
        effects=_effects(joint, original, repaired),
        verdict=verdict(original, repaired),
        notices=notices.notices(joint, original, repaired),
        references=_references(joint, (original, repaired)),
    )


def strip_inputs(
    joint: Joint, state: str, length: float, *, position: str | None = None
) -> StripInputs:
    """Return one state of the joint as the strip methods take it."""
    at = sizes(joint, state, position=position)
    return StripInputs(
        state=state,
        length=length,
        pitch=joint.thread.pitch,
        major_basic=joint.thread.major,
        external_major=at.crest,
        external_pitch_diameter=at.screw_pitch,
        internal_minor=at.inner_minor,
        internal_pitch_diameter=at.hole_pitch,
        hole_minor=at.hole_minor,
        hole_major_basic=at.hole_major,
        parent_shear=joint.parent_shear.value,
        parent_tensile=joint.parent_tensile.value,
        screw_tensile_min=joint.screw.tensile_min,
        screw_tensile_max=joint.screw.tensile_max,
        screw_shear=joint.screw.tensile_min * joint.screw.shear_over_tensile,
        stress_area=threads.stress_area(joint.thread),
        boss_diameter=np.nan if joint.boss_diameter is None else joint.boss_diameter,
        tan_half_angle=tan_half_angle(joint.thread.flank_angle),
    )


def _state(joint: Joint, state: str) -> StateResult:
    steps = budget(joint, state)
    length = engaged(steps)
    at = sizes(joint, state)
    inputs = strip_inputs(joint, state, length)
    modes = (
        *_screw_tension(joint),
        *_strip_modes(inputs, None),
        *_insert_strip(joint, at, length, state),
    )
    by_name = {m.mode: m for m in modes if m.primary}
    strip = min((by_name[n] for n in STRIP_MODES if n in by_name), key=lambda m: m.capacity)
    governing = min(by_name.values(), key=lambda m: m.capacity)
    return StateResult(
        state=state,
        engagement=length,
        budget=steps,
        sizes=at,
        modes=modes,
        governing_mode=governing.mode,
        pull_out_mode=strip.mode,
        pull_out=strip.capacity,
        strength=governing.capacity,
        required_engagement=_required(joint, inputs, at),
    )


#: The document that prints the stress area, by thread system.
_STRESS_AREA_METHOD = {"metric": "iso_898_1", "unified": "asme_b1_1", "whitworth": "bs_84"}


def screw_tension_max(joint: Joint) -> float:
    """Load that breaks the strongest screw of the class, N."""
    return float(threads.stress_area(joint.thread) * joint.screw.tensile_max)


def _screw_tension(joint: Joint) -> tuple[ModeResult, ...]:
    area = threads.stress_area(joint.thread)
    stresses = (
        ("ultimate", joint.screw.tensile_min),
        ("ultimate, strongest screw", joint.screw.tensile_max),
        ("yield", joint.screw.yield_),
        ("proof", joint.screw.proof),
    )
    return tuple(
        ModeResult(
            mode="screw_tension",
            method=_STRESS_AREA_METHOD[joint.thread.system],
            basis=basis,
            area=area,
            stress=stress,
            factor=1.0,
            capacity=area * stress,
            primary=basis == "ultimate",
        )
        for basis, stress in stresses
        if np.isfinite(stress)
    )


def _strip_modes(inputs: StripInputs, wall: float | None) -> tuple[ModeResult, ...]:
    """Parent's and screw's thread by the primary model, then by every other method."""
    found = [
        _mode("parent_thread_strip", primary.parent_strip_load(inputs, wall_factor=wall)),
        _mode("screw_thread_strip", primary.screw_strip_load(inputs, wall_factor=wall)),
    ]
    for method in METHODS.values():
        found.append(_mode("parent_thread_strip", method.parent_strip(inputs)))
        if method.screw_strip is not None:
            found.append(_mode("screw_thread_strip", method.screw_strip(inputs)))
    return tuple(found)


def _mode(mode: str, result: StripResult) -> ModeResult:
    is_primary = result.method == primary.ID
    name = result.method
    if is_primary:
        name = PRIMARY_METHOD
    elif result.method == PRIMARY_METHOD:
        name = f"{PRIMARY_METHOD}_unfactored"
    return ModeResult(
        mode=mode,
        method=name,
        area=float(result.area),
        stress=float(result.stress),
        factor=float(result.factor),
        factors={key: float(value) for key, value in result.factors.items()},
        capacity=float(result.capacity),
        primary=is_primary,
        valid=bool(result.valid),
        notes=result.notes,
    )


def _insert_strip(
    joint: Joint, at: StateSizes, length: float, state: str
) -> tuple[ModeResult, ...]:
    """Strip load of the wire on the cylinder of the screw's major diameter."""
    if state == "original":
        return ()
    area = strip_area_internal(
        length,
        joint.thread.pitch,
        at.screw_major,
        at.inner_pitch,
        tan_half_angle=tan_half_angle(joint.thread.flank_angle),
    )
    return (
        ModeResult(
            mode="insert_thread_strip",
            method=PRIMARY_METHOD,
            area=float(area),
            stress=joint.wire_shear.value,
            factor=1.0,
            capacity=float(area * joint.wire_shear.value),
            primary=True,
            notes=("the coil is taken as one solid thread; a wire can also unwind",),
        ),
    )


def _required(joint: Joint, inputs: StripInputs, at: StateSizes) -> float:
    """Length of full thread at which the strongest screw of the class breaks before stripping."""
    load = screw_tension_max(joint)
    length = float(primary.required_length(inputs, load))
    if inputs.state == "repaired":
        (per_length,) = _insert_strip(joint, at, 1.0, inputs.state)
        length = max(length, load / per_length.capacity)
    return length


def _effects(joint: Joint, original: StateResult, repaired: StateResult) -> tuple[Effect, ...]:
    """Take the pull-out ratio apart; the product of the effects is the ratio."""
    basic = {
        state: primary.parent_strip_load(strip_inputs(joint, state, 1.0, position="basic")).area
        for state in STATES
    }
    parent = {
        "original": original.mode("parent_thread_strip"),
        "repaired": repaired.mode("parent_thread_strip"),
    }
    diameter = float(basic["repaired"] / basic["original"])
    length = repaired.engagement / original.engagement
    area = parent["repaired"].area / parent["original"].area
    wall = _ratio(parent, _WALL_FACTORS)
    bending = _ratio(parent, ("C3",))
    stripped = repaired.pull_out / original.pull_out
    return effects(
        diameter=diameter,
        tolerance=area / length / diameter,
        length=length,
        wall=wall,
        strength=bending,
        mode=stripped / (parent["repaired"].capacity / parent["original"].capacity),
    )


#: The primary model names its wall factor after where it is from.
_WALL_FACTORS = ("C1", "wall")


def _ratio(parent: Mapping[str, ModeResult], names: tuple[str, ...]) -> float:
    def product(mode: ModeResult) -> float:
        return math.prod(value for name, value in mode.factors.items() if name in names)

    return product(parent["repaired"]) / product(parent["original"])


def _references(joint: Joint, states: tuple[StateResult, ...]) -> tuple[Reference, ...]:
    """Everything that influenced a number of the comparison."""
    used = [
        *joint.thread.references,
        joint.screw.reference("tensile_min"),
        joint.screw.reference("tensile_max"),
        joint.screw.reference("shear_over_tensile"),
        *joint.parent_shear.references,
        *joint.parent_tensile.references,
        *joint.wire_shear.references,
        *primary.REFERENCES,
        *joint.references,
    ]
    for state in states:
        used += state.sizes.references
    return ledger(used)
