"""Which equations the strength of a study uses, and where their numbers come from."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from ... import threads
from ...case import Case, estimate
from ...joint import mode_inputs, stress_area
from ...joint.records import Allowable, Evaluation, Joint, StateResult
from ...joint.wall import boss_hold, flow_stress, yield_over_tensile_least
from ...strength.methods import METHODS
from ...strength.methods.factored import (
    BOSS_RATIO_FULL,
    STRENGTH_RATIO_MAX,
    STRENGTH_RATIO_MIN,
    bending_factor,
    inputs_dilation_factor,
)
from ...strength.modes import PULL_OUT_MODES, results
from ...strength.overlap import table as overlap_table
from ...strength.primary import inputs_bearing_ratio
from ...strength.strip import StripResult
from ...study import Study
from ..paths import walk
from .notation import Equation, Line, Values, forms, label_of, lines_of, symbols


def values(study: Study, evaluation: Evaluation | None = None) -> Mapping[str, dict[str, float]]:
    """Return the numbers of each condition by symbol; of another joint, if that is given."""
    found = evaluation or study.evaluation
    return {name: _of_state(study, found, state) for name, state in found.states.items()}


def _of_state(study: Study, evaluation: Evaluation, state: StateResult) -> dict[str, float]:
    joint, case = evaluation.joint, study.case
    hole = mode_inputs(joint, state.state, state.engagement)
    modes = {m.mode: m for m in state.modes if m.primary}
    found = {
        "beta": joint.thread.flank_angle / 2, "R_n": joint.parent_tensile.value,
        "F_M": float(hole.stress_area) * joint.screw.tensile_max,
        "R_s": float(hole.strength_ratio), "q": float(inputs_bearing_ratio(hole)),
        "C_1": float(inputs_dilation_factor(hole)),
    }  # fmt: skip
    screw = threads.external_limits(joint.thread, joint.screw_class)
    wire = joint.wire_shear if state.state == "repaired" else None
    found |= named(
        joint=joint, state=state, at=state.sizes, case=case, screw=screw, wire=wire,
        hardness=estimate(case), **modes,
    )  # fmt: skip
    _put(found, joint.parent_shear, "tau_n", "k_T")
    _put(found, joint.parent_tensile, "R_n", "k_Tt")
    if joint.parent_yield is not None:
        _put(found, joint.parent_yield, "Y_n", "k_Ty")
    else:
        found["k_y"] = yield_over_tensile_least()
    if "k_p" in found:
        found |= _specimens(case, found["k_p"])
    for mode in modes.values():
        for name, value in mode.factors.items():
            found[{"C1": "C_w", "wall": "C_w", "overlap": "C_o"}.get(name, f"C_{name[1:]}")] = value
    if "boss_wall" in modes:
        found["c_b"], found["d_b"] = boss_hold(joint, state.sizes.hole_major)
    found["C_3p"] = float(bending_factor(found["R_s"], "parent"))
    if joint.boss_diameter is not None:
        found["C_c"] = math.nan if hole.wall_factor is None else float(hole.wall_factor)
        if not math.isnan(state.required_engagement):
            least = _first_at_required(joint, state)
            found |= {"F_r": float(least.capacity), "C_r": float(least.factors.get("wall", 1.0))}
    ratios, factors = overlap_table()
    place = min(int(ratios.searchsorted(found["q"], side="right")), len(ratios) - 1)
    found |= {
        "q_1": ratios[place - 1], "q_2": ratios[place],
        "C_o1": factors[place - 1], "C_o2": factors[place],
    }  # fmt: skip
    return found


def named(**records: Any) -> dict[str, float]:
    """Return the numbers of the symbols whose path begins at one of these records."""
    every = (item for group in symbols().values() for item in group.items())
    reached = {id_: walk(records, each.of) for id_, each in every if each.of}
    return {id_: float(value) for id_, value in reached.items() if value is not None}


def _put(found: dict[str, float], strength: Allowable, name: str, heat: str) -> None:
    """Enter a strength of the parent, what it starts from and the factors on it."""
    found[name] = strength.value
    for factor, value in strength.factors.items():
        found[_factor(factor, heat)] = value
    if strength.factors:
        found[_start(strength, name)] = strength.start


def _factor(name: str, heat: str) -> str:
    known = {"shear_over_tensile": "k_s", "casting": "k_c", "temperature": heat}
    return known.get(name, "k_p")


def _start(strength: Allowable, name: str) -> str:
    return "R_n0" if "shear_over_tensile" in strength.factors else f"{name}0"


def _specimens(case: Case, factor: float) -> Values:
    assert case.parent_strength_pieces is not None
    assert case.parent_strength_scatter is not None
    scatter = case.parent_strength_scatter
    return {
        "n_p": case.parent_strength_pieces, "v_p": scatter, "k_1": (1 - factor) / scatter
    }  # fmt: skip


def _first_at_required(joint: Joint, state: StateResult) -> StripResult:
    """The mode that pulls the screw out first at the required length."""
    found = results(mode_inputs(joint, state.state, state.required_engagement))
    return min((m for m in found if m.mode in PULL_OUT_MODES), key=lambda m: float(m.capacity))


def strength(study: Study) -> Mapping[str, tuple[Equation, ...]]:
    """Return the equations of the strengths, areas, factors, modes and lengths, by subject."""
    states, found = study.evaluation.states, values(study)
    joint = study.evaluation.joint
    both = lines_of(found)
    boss = joint.boss_diameter is not None
    repaired = both[1:]
    modes = [_mode_equation(m.mode) for m in states["repaired"].modes if m.primary]
    return {
        "strengths": (
            *((Equation(id="factor-mean", lines=both),) if "k_p" in found["original"] else ()),
            *((Equation(id="parent-hardness", lines=both),) if "H_B" in found["original"] else ()),
            *_parent(joint, both),
            *(_flow(joint, both) if boss else ()),
            Equation(id="screw-shear", lines=both),
            Equation(id="wire-shear", lines=repaired),
        ),
        "areas": (
            _stress_area(joint, both),
            Equation(id="parent-area", lines=both),
            Equation(id="screw-area", lines=both),
            Equation(id="insert-area", lines=repaired),
            Equation(id="flank-area", lines=both),
            Equation(id="flank-pressure", lines=both),
        ),
        "factors": (
            Equation(id="strength-ratio", lines=both),
            *((Equation(id="factor-1", lines=_given_c1(both)),
               Equation(id="factor-wall", lines=_known_wall(both))) if boss else ()),
            Equation(id="factor-2", lines=_given_bending(both, above=True)),
            Equation(id="factor-3", lines=_given_bending(both, above=False)),
            Equation(id="overlap-ratio", lines=both),
Equation(id="factor-overlap", lines=_given_overlap(both)),
            *((Equation(id="factor-boss", lines=both),) if boss else ()),
        ),
        "modes": (
            *(Equation(id=id_, lines=repaired if id_ == "insert-thread" else both)
              for id_ in modes),
            Equation(id="pull-out", form=_least(states["original"]), lines=both[:1]),
            Equation(id="pull-out-repaired", form=_least(states["repaired"]), lines=repaired),
        ),
        "lengths": (Equation(id="screw-maximum", lines=both), *_required(joint, states, both)),
    }  # fmt: skip


#: Modes whose equation is not named after them: "strip" is said by the thread.
_STRIP = "_strip"


def _mode_equation(mode: str) -> str:
    return mode.removesuffix(_STRIP).replace("_", "-")


def _least(state: StateResult) -> str:
    """The lowest load of the modes that pull the screw out."""
    modes = (m.mode for m in state.modes if m.primary and m.mode in PULL_OUT_MODES)
    loads = (forms()["equations"][_mode_equation(mode)]["result"] for mode in modes)
    listed = r",\ ".join(f"<{load}>" for load in loads)
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
    for method in METHODS:
        for name, state in study.evaluation.states.items():
            (mode,) = (
                m for m in state.modes
                if m.mode == "parent_thread_strip" and not m.primary
                and m.method.removesuffix("_unfactored") == method
            )  # fmt: skip
            own = method == "nasa_tm_106943" and name == "repaired"  # another form for inserts
            id_ = f"method-{method}" + ("-insert" if own else "")
            if not math.isnan(mode.capacity):
                found = {**of_strength[name], "F_x": mode.capacity}
                lines.setdefault(id_, []).append(Line(label=name, values=found))
    return tuple(Equation(id=id_, lines=tuple(found)) for id_, found in lines.items())


def _parent(joint: Joint, both: tuple[Line, ...]) -> Iterator[Equation]:
    """The parent's strengths, where factors stand on what they start from."""
    for id_, strength, name, heat in (
        ("parent-shear", joint.parent_shear, "tau_n", "k_T"),
        ("parent-tensile", joint.parent_tensile, "R_n", "k_Tt"),
        ("parent-yield-strength", joint.parent_yield, "Y_n", "k_Ty"),
    ):
        if strength is not None and strength.factors:
            parts = (_start(strength, name), *(_factor(each, heat) for each in strength.factors))
            yield Equation(id=id_, form="*".join(f"<{part}>" for part in parts), lines=both)


def _flow(joint: Joint, both: tuple[Line, ...]) -> Iterator[Equation]:
    mean = flow_stress(
        math.inf,
        joint.parent_tensile.value,
        math.nan if joint.parent_yield is None else joint.parent_yield.value,
    )
    if joint.flow_stress.value < mean:
        yield Equation(id="flow-shear", lines=both)
    elif joint.parent_yield is None:
        yield Equation(id="flow-unknown", lines=both)
    else:
        yield Equation(id="flow-mean", lines=both)


def _stress_area(joint: Joint, both: tuple[Line, ...]) -> Equation:
    thread = joint.thread
    if stress_area(joint) != threads.stress_area(thread):
        return Equation(id="area-strong", lines=both)
    depth = {"metric": "0.938194", "unified": "0.9743", "whitworth": r"1.5*0.640327"}
    form = str(forms()["equations"]["area-metric"]["form"])
    return Equation(
        id="area-metric", form=form.replace("<depth>", depth[thread.system]), lines=both
    )


def _given_c1(both: tuple[Line, ...]) -> tuple[Line, ...]:
    """C1 is 1 from a boss so large on; the lines where the paper has no value are left out."""
    return tuple(
        replace(line, given=rf"\frac{{<s>}}{{<D>}} \ge {BOSS_RATIO_FULL}")
        if line.values["s"] / line.values["D"] >= BOSS_RATIO_FULL
        else line
        for line in both
        if not math.isnan(line.values["C_1"])
    )


def _known_wall(both: tuple[Line, ...]) -> tuple[Line, ...]:
    """The lower of both factors; the one that is known where the other is not."""
    return tuple(
        replace(line, given=r"<C_c>\text{ alone}")
        if math.isnan(line.values["C_1"])
        else replace(line, given=r"<C_1>\text{ alone}")
        if math.isnan(line.values["C_c"])
        else line
        for line in both
    )


def _given_bending(both: tuple[Line, ...], *, above: bool) -> tuple[Line, ...]:
    """The bending factors have one value where a member is the stronger, 1 outside the paper."""

    def given(ratio: float) -> str:
        if above:
            if ratio > STRENGTH_RATIO_MAX:
                return rf"<R_s> > {STRENGTH_RATIO_MAX}"
            return r"<R_s> \le 1" if ratio <= 1 else ""
        if ratio < STRENGTH_RATIO_MIN:
            return rf"<R_s> < {STRENGTH_RATIO_MIN}"
        return r"<R_s> \ge 1" if ratio >= 1 else ""

    return tuple(replace(line, given=given(line.values["R_s"])) for line in both)


def _given_overlap(both: tuple[Line, ...]) -> tuple[Line, ...]:
    full = float(overlap_table()[0][-1])
    return tuple(
        replace(line, given=rf"<q> \ge {full:g}" if line.values["q"] >= full else "")
        for line in both
    )


def _required(
    joint: Joint, states: Mapping[str, StateResult], both: tuple[Line, ...]
) -> Iterator[Equation]:
    known = tuple(line for line in both if not math.isnan(line.values["L_r"]))
    if joint.boss_diameter is None:
        yield Equation(id="required-length", lines=known)
        return
    first = {line.label: _first_at_required(joint, states[line.label]).mode for line in known}
    for mode in dict.fromkeys(first.values()):
        yield Equation(
            id=f"required-{mode}", lines=tuple(each for each in known if first[each.label] == mode)
        )
