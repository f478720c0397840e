"""What the reader of a comparison must know beside the numbers, as facts."""

import math
from collections.abc import Iterator
from dataclasses import asdict

import numpy as np

from .. import inserts, tables
from ..facts import Fact, Term, condition, fact, length, mode, number, share, stress, temperature
from ..strength.areas import strip_area_internal, tan_half_angle
from ..strength.methods.factored import BOSS_RATIO_MIN, dilation_factor
from .criterion import edge_distance, edge_is_boss
from .records import Joint, StateResult
from .sizes import outside_class


def notices(joint: Joint, original: StateResult, repaired: StateResult) -> tuple[Fact, ...]:
    """Return every fact, limits first.

    Parameters
    ----------
    joint : Joint
    original, repaired : StateResult

    Returns
    -------
    tuple of Fact
    """
    states = (original, repaired)
    ranges = [n for state in states for m in state.modes if m.primary for n in m.notes]
    return (
        *(each for state in states for each in _screw_first(joint, state)),
        *_edge(joint, repaired),
        *(each for state in states for each in _overlap(state)),
        *_measured(joint),
        *_boss(joint, states),
        *_assumptions(joint, repaired),
        *(note for at, note in enumerate(ranges) if note not in ranges[:at]),
    )


def _screw_first(joint: Joint, state: StateResult) -> Iterator[Fact]:
    """A thread or the wall that fails before a screw of its class does.

    Of the original hole it is information: what the repair has to reach is its strength.
    """
    weakest = state.governing_mode == "screw_tension"
    # NaN, where no length helps, is not at most what is engaged either.
    if weakest and state.required_engagement <= state.engagement:
        return
    no_length = math.isnan(state.required_engagement)
    lengths = {} if no_length else {
        "required": length(state.required_engagement), "engaged": length(state.engagement)
    }  # fmt: skip
    id_ = "strongest_screw_not_first" if weakest else "thread_before_screw"
    decisive = "caution" if weakest else "limit"
    yield fact(
        f"{id_}_at_any_length" if no_length else id_,
        decisive if state.state == "repaired" else "info",
        condition=condition(state.state),
        mode=mode(state.pull_out_mode if weakest else state.governing_mode),
        screw_strength=stress(joint.screw.tensile_max),
        **lengths,
    )


def _edge(joint: Joint, repaired: StateResult) -> Iterator[Fact]:
    if joint.edge_distance is None:
        return
    found = edge_distance(joint.edge_distance, repaired.sizes.hole_major)
    if found.ratio < found.recommended:
        boss = edge_is_boss(joint)
        yield fact(
            "edge_of_boss" if boss else "edge_near",
            "limit" if found.ratio < found.least and not boss else "caution",
            distance=length(joint.edge_distance),
            **{name: number(float(value)) for name, value in found._asdict().items()},
        )


#: A reduction by less than this is not worth a word.
_REDUCED = 0.005


def _overlap(state: StateResult) -> Iterator[Fact]:
    """Threads that overlap too little for the area formula to hold."""
    overlap = state.mode("parent_thread_strip").factors["overlap"]
    if overlap < 1 - _REDUCED:
        crushed = state.pull_out_mode == "flank_bearing"
        yield fact(
            "overlap_crushed" if crushed else "overlap_reduced",
            "limit",
            condition=condition(state.state),
            height=share(state.sizes.thread_height),
            kept=share(overlap),
        )


def _measured(joint: Joint) -> Iterator[Fact]:
    for name, size, limit in outside_class(joint):
        yield fact(
            "measured_outside_class",
            "limit",
            diameter=Term("diameter", name),
            measured=length(size),
            limit=length(limit),
        )
    missing = tuple(
        Term("diameter", name)
        for name, size in (asdict(joint.measured) if joint.measured else {}).items()
        if size is None
    )
    if missing:
        yield fact("not_measured", "caution", diameters=missing)


def _boss(joint: Joint, states: tuple[StateResult, StateResult]) -> Iterator[Fact]:
    """What the boss costs, by the certified bounds and by the published curve."""
    if joint.boss_diameter is None:
        return
    kept = [state.mode("parent_thread_strip").kept("C1", "wall") for state in states]
    if min(kept) == 1:
        return
    curve = [float(dilation_factor(joint.boss_diameter, s.sizes.hole_major)) for s in states]
    known = sum(map(math.isfinite, curve))  # the insert hole is the wider one
    told = fact(
        ("boss_curve_none", "boss_curve_original", "boss_curve")[known],
        original=share(1 - curve[0]),
        repaired=share(1 - curve[1]),
        least=number(BOSS_RATIO_MIN),
    )
    # What the screw limits in both conditions does not feel it.
    felt = any(state.governing_mode != "screw_tension" for state in states)
    yield fact(
        f"boss_reduces_{joint.boss_support}",
        "limit" if felt else "info",
        boss=length(joint.boss_diameter),
        clearance=length(tables.constant("clearance_over_major").value * joint.thread.major),
        original=share(1 - kept[0]),
        repaired=share(1 - kept[1]),
        curve=told,
    )


def _assumptions(joint: Joint, repaired: StateResult) -> Iterator[Fact]:
    if joint.parent.specimen:
        kind = joint.parent.specimen.replace(" ", "_").replace("-", "_")
        factor = joint.parent_tensile.factors.get("casting")
        if factor is None or kind != "separately_cast":
            yield fact(f"casting_{kind}", "caution")
        else:
            yield fact("casting_factor_counted", "caution", factor=number(factor))
    if joint.boss_diameter is None:
        yield fact("no_boss_diameter")
    if joint.screw_reach is None:
        yield fact("no_screw_reach")
    if joint.temperature > tables.constant("room_temperature_max").value:
        yield fact("screw_as_when_cold", "caution", temperature=temperature(joint.temperature))
    lowered = (joint.parent_tensile, joint.parent_yield)
    if any(each is not None and "temperature" in each.factors for each in lowered):
        yield fact("parent_once_hot", "caution", temperature=temperature(joint.temperature))
    # A limit that is not on record keeps no metal from it.
    if joint.parent.creep_note and not joint.temperature <= joint.parent.temperature_limit:
        yield fact("parent_creeps", "caution", note=joint.parent.creep_note)
    yield from _insert_outside(joint, repaired)
    standard = [n * joint.thread.major for n in inserts.LENGTHS]
    if min(abs(joint.insert_length - each) for each in standard) > 0.01:
        yield fact(
            "insert_length_not_standard",
            "caution",
            length=length(joint.insert_length),
            standard=tuple(length(each) for each in standard),
        )


def _insert_outside(joint: Joint, repaired: StateResult) -> Iterator[Fact]:
    """What the assumed outside of the insert makes of its shear area, where calculated."""
    outside, at = inserts.insert_outside(joint.thread, joint.screw_class), repaired.sizes
    crests, slope = [outside.basic, at.crest], joint.thread.flank_angle
    basic, used = np.asarray(
        strip_area_internal(
            1.0, joint.thread.pitch, crests, at.hole_pitch, tan_half_angle=tan_half_angle(slope)
        )
    )
    if joint.tolerance_position != "basic" and used < basic:
        yield fact(
            "insert_outside_assumed",
            screw_class=joint.screw_class,
            gain=share(basic / used - 1),
            hole_class=joint.insert_hole_class,
        )
    if joint.measured is not None and joint.measured.screw_major is not None:
        yield fact("insert_outside_least", "caution", crest=length(at.crest))
