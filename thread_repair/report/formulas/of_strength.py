"""The numbers of each condition by symbol; the equations of strengths, areas, factors and modes."""

import math
from collections.abc import Mapping
from typing import Any

from ... import threads
from ...case import Case, estimate
from ...joint import mode_inputs, stress_area
from ...joint.bounds import bracket
from ...joint.records import Allowable, Evaluation, Joint, StateResult
from ...joint.wall import boss_hold, flow_stress, yield_over_tensile_least
from ...strength.methods import factored
from ...strength.modes import PULL_OUT_MODES, results
from ...strength.overlap import table as overlap_table
from ...strength.primary import inputs_bearing_ratio
from ...strength.strip import StripResult
from ...study import Study
from ..paths import walk
from .notation import Equation, Line, Values, equations, forms, label_of, lines_of, symbols

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
        name: {**_of_state(study, found, state), **_of_tightening(study, name)}
        for name, state in found.states.items()
    }


def _of_tightening(study: Study, state: str) -> dict[str, float]:
    if study.preloads is None:
        return {}
    inputs, each = study.preloads.inputs, study.preloads.states[state]
    changes = each.preload.known_changes.values()
    return {
        **named(inputs=inputs, each=each, tightened=each.preload.tightened,
                 service=each.preload.service,
                 original=study.preloads.original.preload.tightened),
        "M_p": inputs.prevailing_nm[state][1],
        **({"e_F": inputs.tool.error} if inputs.tool.scattered else {}),
        **({"e": inputs.turned.error} if inputs.turned else {}),
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
    bounds, (ratios, overlaps) = bracket(joint, state), overlap_table()
    place = min(int(ratios.searchsorted(bearing, side="right")), len(ratios) - 1)
    found = {
        "beta": joint.thread.flank_angle / 2,
        "F_M": float(hole.stress_area) * joint.screw.tensile_max,
        "R_s": ratio, "C_3p": float(factored.bending_factor(ratio, "parent")),
        "C_1": float(factored.inputs_dilation_factor(hole)),
        "q": bearing, "q_1": ratios[place - 1], "q_2": ratios[place],
        "C_o1": overlaps[place - 1], "C_o2": overlaps[place],
        "c_l": bounds.lower / bounds.formula, "F_cm": bounds.minimum,
        "F_L": case.design_load or 0.0,
        **named(joint=joint, state=state, at=state.sizes, case=case, screw=screw, wire=wire,
                hardness=estimate(case), **modes),
    }  # fmt: skip
    for name, (_, symbol, heat) in PARENT.items():
        strength: Allowable | None = getattr(joint, name)
        if strength is None:
            found["k_y"] = yield_over_tensile_least()
        else:
            found |= {symbol: strength.value, **_product(strength, symbol, heat)}
    if "k_p" in found:
        found |= _specimens(case, found["k_p"])
    for mode in modes.values():
        for name, value in mode.factors.items():
            found[{"C1": "C_w", "wall": "C_w", "overlap": "C_o"}.get(name, f"C_{name[1:]}")] = value
    if "boss_wall" in modes:
        found["c_b"], found["d_b"] = boss_hold(joint, state.sizes.hole_major)
    if hole.wall_factor is not None:
        found["C_c"] = float(hole.wall_factor)
        if not math.isnan(state.required_engagement):
            _, least = _first_at_required(joint, state)
            found |= {"F_r": float(least.capacity), "C_r": float(least.factors.get("wall", 1.0))}
    return found


def named(**records: Any) -> dict[str, float]:
    """Return the numbers of the symbols whose path begins at one of these records."""
    every = (item for group in symbols().values() for item in group.items())
    reached = {id_: walk(records, each.of) for id_, each in every if each.of}
    return {id_: float(value) for id_, value in reached.items() if value is not None}


def _product(strength: Allowable, symbol: str, heat: str) -> dict[str, float]:
    """Return what a strength of the parent is the product of: its start and the factors on it."""
    factors = strength.factors
    if not factors:
        return {}
    known = {
        "tolerance_limit": "k_p", "as_tensile": "k_Y", "shear_over_tensile": "k_s",
        "casting": "k_c", "temperature": heat,
    }  # fmt: skip
    start = "R_n0" if "shear_over_tensile" in factors else f"{symbol}0"
    return {start: strength.start, **{known[name]: x for name, x in factors.items()}}


def _specimens(case: Case, factor: float) -> dict[str, float]:
    pieces, scatter = case.parent_strength_pieces, case.parent_strength_scatter
    assert pieces is not None and scatter is not None
    return {"n_p": pieces, "v_p": scatter, "k_1": (1 - factor) / scatter}


def _first_at_required(joint: Joint, state: StateResult) -> tuple[str, StripResult]:
    """The mode that pulls the screw out first at the required length."""
    found = results(mode_inputs(joint, state.state, state.required_engagement))
    out = ((mode, each) for mode, each in found.items() if mode in PULL_OUT_MODES)
    return min(out, key=lambda pair: float(pair[1].capacity))


# ---- equations


def strength(study: Study) -> Mapping[str, tuple[Equation, ...]]:
    """Return the equations of the strengths, areas, factors, modes and lengths, by subject."""
    joint, states = study.evaluation.joint, study.evaluation.states
    both = lines_of(values(study))
    lines = {"condition": both, "original": both[:1], "repaired": both[1:]}
    if joint.boss_diameter is None:
        lines["required-length"] = both
    else:
        for line in both:
            if line.knows(["L_r"]):
                id_ = f"required-{_first_at_required(joint, states[line.label])[0]}"
                lines[id_] = (*lines.get(id_, ()), line)
    made = {
        **_of_parent(joint),
        **_stress_area(joint),
        "pull-out": _least(states["original"]),
        "pull-out-repaired": _least(states["repaired"]),
    }
    subjects = ("strengths", "areas", "factors", "modes", "lengths")
    return {each: equations(each, lines, made, _given) for each in subjects}


def _mode_equation(mode: str) -> str:
    """Return the equation of a mode, which leaves out "strip": that is said by the thread."""
    return mode.removesuffix("_strip").replace("_", "-")


def _least(state: StateResult) -> str:
    """The lowest load of the modes that pull the screw out."""
    modes = (m.mode for m in state.modes if m.primary and m.mode in PULL_OUT_MODES)
    listed = r",\ ".join(f"<{forms('modes')[_mode_equation(mode)]['result']}>" for mode in modes)
    return rf"\min\left({listed}\right)"


def mode_label(mode: str) -> str:
    """Return the label of the equation of a mode."""
    return label_of(_mode_equation(mode))


def method_label(method: str) -> str:
    """Return the label of the equation of a published method."""
    return label_of(f"method-{method}")


def methods(study: Study) -> tuple[Equation, ...]:
    """Return the parent thread's load by every published method that gives one."""
    lines: dict[str, list[Line]] = {}
    of_strength = values(study)
    for name, state in study.evaluation.states.items():
        for method, mode in state.rivals.items():
            # another form for inserts
            own = "-insert" * (method == "nasa_tm_106943" and name == "repaired")
            line = Line(label=name, values={**of_strength[name], "F_x": mode.capacity})
            lines.setdefault(f"method-{method}{own}", []).append(line)
    return equations("methods", lines)


def _of_parent(joint: Joint) -> dict[str, str]:
    """The parent's strengths, where factors stand on what they start from, and its flow stress."""
    made = {}
    for name, (id_, symbol, heat) in PARENT.items():
        strength: Allowable | None = getattr(joint, name)
        parts = {} if strength is None else _product(strength, symbol, heat)
        made[id_] = "*".join(f"<{part}>" for part in parts)
    at_yield = math.nan if joint.parent_yield is None else joint.parent_yield.value
    if joint.flow_stress.value < flow_stress(math.inf, joint.parent_tensile.value, at_yield):
        return {**made, "flow-mean": "", "flow-unknown": ""}
    return {**made, "flow-shear": ""}


def _stress_area(joint: Joint) -> dict[str, str]:
    thread = joint.thread
    if stress_area(joint) != threads.stress_area(thread):
        return {"area-metric": ""}
    depth = {"metric": "0.938194", "unified": "0.9743", "whitworth": r"1.5 \times 0.640327"}
    form = forms("areas")["area-metric"]["form"].replace("<depth>", depth[thread.system])
    return {"area-metric": form, "area-strong": ""}


def _given(at: Values) -> Mapping[str, str]:
    """Why a factor stands without its form, by the equation of the factor."""
    given, ratio, full = dict[str, str](), at["R_s"], float(overlap_table()[0][-1])
    if at.get("s", 0.0) / at["D"] >= factored.BOSS_RATIO_FULL:
        given["factor-1"] = rf"\frac{{<s>}}{{<D>}} \ge {factored.BOSS_RATIO_FULL}"
    for unknown, alone in (("C_c", "C_1"), ("C_1", "C_c")):
        if math.isnan(at.get(unknown, 0.0)):
            given["factor-wall"] = rf"<{alone}>\text{{ alone}}"
    # The bending factors have one value where a member is the stronger, 1 outside the paper.
    if ratio > factored.STRENGTH_RATIO_MAX:
        given["factor-2"] = rf"<R_s> > {factored.STRENGTH_RATIO_MAX}"
    elif ratio <= 1:
        given["factor-2"] = r"<R_s> \le 1"
    if ratio < factored.STRENGTH_RATIO_MIN:
        given["factor-3"] = rf"<R_s> < {factored.STRENGTH_RATIO_MIN}"
    elif ratio >= 1:
        given["factor-3"] = r"<R_s> \ge 1"
    if at["q"] >= full:
        given["factor-overlap"] = rf"<q> \ge {full:g}"
    return given
