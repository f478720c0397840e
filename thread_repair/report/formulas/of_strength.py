"""The equations of strengths, areas, factors, modes and methods."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from ... import threads
from ...joint import stress_area
from ...joint.records import Allowable, Joint, StateResult
from ...joint.wall import flow_stress
from ...strength.methods import METHODS
from ...strength.methods.factored import BOSS_RATIO_FULL, STRENGTH_RATIO_MAX, STRENGTH_RATIO_MIN
from ...strength.modes import PULL_OUT_MODES
from ...strength.overlap import table as overlap_table
from ...study import Study
from .notation import Equation, Line, Values, equations, forms, label_of, lines_of
from .numbers import PARENT, first_at_required, product, values


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
                id_ = f"required-{first_at_required(joint, states[line.label]).mode}"
                lines[id_] = (*lines.get(id_, ()), line)
    made = {
        **_of_parent(joint),
        **_stress_area(joint),
        "pull-out": _least(states["original"]),
        "pull-out-repaired": _least(states["repaired"]),
    }
    subjects = ("strengths", "areas", "factors", "modes", "lengths")
    return {each: equations(each, lines, made, _GIVEN) for each in subjects}


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
        for mode in state.modes:
            method = mode.method.removesuffix("_unfactored")
            if mode.mode == "parent_thread_strip" and not mode.primary and method in METHODS:
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
        parts = {} if strength is None else product(strength, symbol, heat)
        made[id_] = "*".join(f"<{part}>" for part in parts)
    at_yield = math.nan if joint.parent_yield is None else joint.parent_yield.value
    if joint.flow_stress.value < flow_stress(math.inf, joint.parent_tensile.value, at_yield):
        return {**made, "flow-mean": "", "flow-unknown": ""}
    return {**made, "flow-shear": ""}


def _stress_area(joint: Joint) -> dict[str, str]:
    thread = joint.thread
    if stress_area(joint) != threads.stress_area(thread):
        return {"area-metric": ""}
    depth = {"metric": "0.938194", "unified": "0.9743", "whitworth": r"1.5*0.640327"}
    form = forms("areas")["area-metric"]["form"].replace("<depth>", depth[thread.system])
    return {"area-metric": form, "area-strong": ""}


def _given_wall(at: Values) -> str:
    """The lower of both factors; the one that is known where the other is not."""
    for unknown, alone in (("C_1", "C_c"), ("C_c", "C_1")):
        if math.isnan(at.get(unknown, 0.0)):
            return rf"<{alone}>\text{{ alone}}"
    return ""


def _given_bolt(at: Values) -> str:
    """The bending factors have one value where a member is the stronger, 1 outside the paper."""
    if at["R_s"] > STRENGTH_RATIO_MAX:
        return rf"<R_s> > {STRENGTH_RATIO_MAX}"
    return r"<R_s> \le 1" if at["R_s"] <= 1 else ""


def _given_hole(at: Values) -> str:
    if at["R_s"] < STRENGTH_RATIO_MIN:
        return rf"<R_s> < {STRENGTH_RATIO_MIN}"
    return r"<R_s> \ge 1" if at["R_s"] >= 1 else ""


def _given_boss(at: Values) -> str:
    """C1 is 1 from a boss so large on."""
    full = "s" in at and at["s"] / at["D"] >= BOSS_RATIO_FULL
    return rf"\frac{{<s>}}{{<D>}} \ge {BOSS_RATIO_FULL}" if full else ""


def _given_overlap(at: Values) -> str:
    full = float(overlap_table()[0][-1])
    return rf"<q> \ge {full:g}" if at["q"] >= full else ""


#: Where a factor stands without its form, and why.
_GIVEN: Mapping[str, Callable[[Values], str]] = {
    "factor-1": _given_boss,
    "factor-wall": _given_wall,
    "factor-2": _given_bolt,
    "factor-3": _given_hole,
    "factor-overlap": _given_overlap,
}
