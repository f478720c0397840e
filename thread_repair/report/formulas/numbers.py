"""The numbers of each condition by symbol: where an equation has its numbers from."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from ... import threads
from ...case import Case, estimate
from ...joint import mode_inputs, stress_area
from ...joint.records import Allowable, Evaluation, Joint, StateResult
from ...joint.wall import boss_hold, yield_over_tensile_least
from ...strength.methods.factored import bending_factor, inputs_dilation_factor
from ...strength.modes import PULL_OUT_MODES, results
from ...strength.overlap import table as overlap_table
from ...strength.primary import inputs_bearing_ratio
from ...strength.strip import StripResult
from ...study import Study
from ..paths import walk
from .notation import symbols

#: Strengths of the parent: equation, symbol, symbol of the temperature factor.
PARENT = {
    "parent_shear": ("parent-shear", "tau_n", "k_T"),
    "parent_tensile": ("parent-tensile", "R_n", "k_Tt"),
    "parent_yield": ("parent-yield-strength", "Y_n", "k_Ty"),
}


def values(study: Study, evaluation: Evaluation | None = None) -> Mapping[str, dict[str, float]]:
    """Return the numbers of each condition by symbol; of another joint, if that is given."""
    found = evaluation or study.evaluation
    return {
        name: {
            **_of_state(study, found, state),
            **_of_margins(study, name),
            **_of_tightening(study, name),
        }
        for name, state in found.states.items()
    }


def _of_margins(study: Study, state: str) -> dict[str, float]:
    bounds = study.brackets[state]
    lower, load = bounds.lower / bounds.formula, study.case.design_load or 0.0
    return {"c_l": lower, "F_cm": bounds.minimum, "F_L": load}


def _of_tightening(study: Study, state: str) -> dict[str, float]:
    if study.preloads is None:
        return {}
    inputs, each = study.preloads.inputs, study.preloads.states[state]
    changes = each.preload.known_changes.values()
    return {
        **_named(inputs=inputs, each=each, tightened=each.preload.tightened,
                 service=each.preload.service,
                 original=study.preloads.original.preload.tightened),
        "M_p": inputs.prevailing_nm[state][1],
        "e_F" if inputs.tool.scattered else "e": inputs.tool.error,
        "d_0": 2 * math.sqrt(stress_area(study.evaluation.joint) / math.pi),
        "dF_p": max(changes), "dF_m": -min(changes),
    }  # fmt: skip


def _of_state(study: Study, evaluation: Evaluation, state: StateResult) -> dict[str, float]:
    joint, case = evaluation.joint, study.case
    hole = mode_inputs(joint, state.state, state.engagement)
    modes = {m.mode: m for m in state.modes if m.primary}
    screw = threads.external_limits(joint.thread, joint.screw_class)
    wire = joint.wire_shear if state.state == "repaired" else None
    ratio, bearing = float(hole.strength_ratio), float(inputs_bearing_ratio(hole))
    ratios, overlaps = overlap_table()
    place = min(int(ratios.searchsorted(bearing, side="right")), len(ratios) - 1)
    found = {
        "beta": joint.thread.flank_angle / 2,
        "F_M": float(hole.stress_area) * joint.screw.tensile_max,
        "R_s": ratio, "C_3p": float(bending_factor(ratio, "parent")),
        "C_1": float(inputs_dilation_factor(hole)),
        "q": bearing, "q_1": ratios[place - 1], "q_2": ratios[place],
        "C_o1": overlaps[place - 1], "C_o2": overlaps[place],
        **_named(joint=joint, state=state, at=state.sizes, case=case, screw=screw, wire=wire,
                hardness=estimate(case), **modes),
    }  # fmt: skip
    for name, (_, symbol, heat) in PARENT.items():
        strength: Allowable | None = getattr(joint, name)
        if strength is None:
            found["k_y"] = yield_over_tensile_least()
        else:
            found |= {symbol: strength.value, **product(strength, symbol, heat)}
    if "k_p" in found:
        found |= _specimens(case, found["k_p"])
    for mode in modes.values():
        for name, value in mode.factors.items():
            found[{"C1": "C_w", "wall": "C_w", "overlap": "C_o"}.get(name, f"C_{name[1:]}")] = value
    if "boss_wall" in modes:
        found["c_b"], found["d_b"] = boss_hold(joint, state.sizes.hole_major)
    if joint.boss_diameter is not None:
        found["C_c"] = math.nan if hole.wall_factor is None else float(hole.wall_factor)
        if not math.isnan(state.required_engagement):
            least = first_at_required(joint, state)
            found |= {"F_r": float(least.capacity), "C_r": float(least.factors.get("wall", 1.0))}
    return found


def _named(**records: Any) -> dict[str, float]:
    """Return the numbers of the symbols whose path begins at one of these records."""
    every = (item for group in symbols().values() for item in group.items())
    reached = {id_: walk(records, each.of) for id_, each in every if each.of}
    return {id_: float(value) for id_, value in reached.items() if value is not None}


def product(strength: Allowable, symbol: str, heat: str) -> dict[str, float]:
    """Return what a strength of the parent is the product of: its start and the factors on it."""
    factors = strength.factors
    if not factors:
        return {}
    known = {"shear_over_tensile": "k_s", "casting": "k_c", "temperature": heat}
    start = "R_n0" if "shear_over_tensile" in factors else f"{symbol}0"
    return {start: strength.start, **{known.get(name, "k_p"): x for name, x in factors.items()}}


def _specimens(case: Case, factor: float) -> dict[str, float]:
    pieces, scatter = case.parent_strength_pieces, case.parent_strength_scatter
    assert pieces is not None and scatter is not None
    return {"n_p": pieces, "v_p": scatter, "k_1": (1 - factor) / scatter}


def first_at_required(joint: Joint, state: StateResult) -> StripResult:
    """The mode that pulls the screw out first at the required length."""
    found = results(mode_inputs(joint, state.state, state.required_engagement))
    return min((m for m in found if m.mode in PULL_OUT_MODES), key=lambda m: float(m.capacity))
