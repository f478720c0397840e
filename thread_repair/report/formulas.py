"""The equations of a study: each as signs and with the numbers that the study has.

The forms stand in `data/equations.toml`; here stands which of them a study uses and where each
number comes from. The number that an equation ends with is the study's own, never worked out anew,
so that it cannot differ from what the tables print.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

from .. import files, threads
from ..case import Case, estimate
from ..joint import mode_inputs, stress_area
from ..joint.margins import CERTIFIED, Margin, margins
from ..joint.records import Allowable, Evaluation, Joint, StateResult
from ..joint.wall import boss_hold, flow_stress, yield_over_tensile_least
from ..strength.methods import METHODS
from ..strength.methods.sae_770420 import (
    BOSS_RATIO_FULL,
    STRENGTH_RATIO_MAX,
    STRENGTH_RATIO_MIN,
    inputs_dilation_factor,
    inputs_strength_ratio,
    internal_bending_factor,
)
from ..strength.modes import PULL_OUT_MODES, results
from ..strength.overlap import table as overlap_table
from ..strength.primary import inputs_bearing_ratio
from ..strength.strip import StripResult
from ..study import Study
from ..tightening.demands import preload_cases
from ..units import SYSTEMS, number, plain, printed, signed, unit_of
from .blocks.cells import diameter, margin_words
from .paths import walk

Values = Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Symbol:
    """A sign of the equations: LaTeX, what it means, in what it is measured."""

    sign: str
    meaning: str
    dimension: str
    digits: int | None = None
    of: str = ""

    def text(self, value: float, system: str) -> str:
        """Return a value as tables and equations print it, without its unit."""
        if math.isnan(value):
            return "–"
        if self.dimension == "margin":
            return signed(value)
        if self.dimension == "diameter":
            return diameter(value, system)
        if self.dimension in ("force", "torque") and self.digits is None:
            return number(printed(value, self.dimension, system))
        shown = value if self.dimension in _BARE else printed(value, self.dimension, system)
        text = number(shown, self.digits or 4)
        return text.rstrip("0").rstrip(".") if "." in text and self.digits != 3 else text

    def unit(self, system: str) -> str:
        """Return the unit, empty for a number."""
        if self.dimension == "angle":
            return "°"
        if self.dimension in _BARE:
            return ""
        return unit_of("length" if self.dimension == "diameter" else self.dimension, system)


#: Dimensions that are printed alike in every system.
_BARE = frozenset({"number", "margin", "angle"})


def _data() -> Any:
    return files.data("equations.toml")


@cache
def symbols() -> Mapping[str, Mapping[str, Symbol]]:
    """Return the symbols by group and id."""
    return {
        group: {id_: Symbol(**each) for id_, each in found.items()}
        for group, found in _data()["symbols"].items()
    }


@cache
def symbol(id_: str) -> Symbol:
    """Return a symbol."""
    return next(group[id_] for group in symbols().values() if id_ in group)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """An equation with numbers: the condition or case it is for, and the numbers by symbol.

    `given` says why the result stands without the form, as LaTeX with symbols; empty elsewhere.
    """

    label: str
    values: Values
    given: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Equation:
    """An equation of a study: id of its form, and a line for each condition or case."""

    id: str
    lines: tuple[Line, ...]
    form: str = ""
    uses: frozenset[str] = field(init=False)

    def __post_init__(self) -> None:
        """Look up the form, and the symbols in it."""
        found = _data()["equations"][self.id]
        form = self.form or str(found["form"])
        if (
            not self.form
            and "plain" in found
            and not any(line.values["M_p"] for line in self.lines)
        ):
            form = str(found["plain"])
        object.__setattr__(self, "form", form)
        object.__setattr__(self, "uses", frozenset((self.result, *_PLACE.findall(form))))

    @property
    def label(self) -> str:
        """Label for references."""
        return _label(self.id)

    @property
    def result(self) -> str:
        """Id of the symbol on the left."""
        return str(_data()["equations"][self.id]["result"])

    def latex(self, system: str) -> str:
        """Return the equation in signs, and below it every line with its numbers."""
        bare = bool(_data()["equations"][self.id].get("bare"))
        rows = [rf"{symbol(self.result).sign} &= {_signs(self.form)}"]
        for line in self._merged(system):
            first = SYSTEMS[system][0]
            result = symbol(self.result)
            ends = [_with_unit(result, line.values[self.result], each) for each in SYSTEMS[system]]
            end = ends[0] + "".join(
                rf"\ \left({each}\right)" for each in ends[1:] if each != ends[0]
            )
            if line.given:
                rows.append(rf"&= {end}\quad\text{{for }}{_signs(line.given)}")
            else:
                put_in = _numbers(self.form, line.values, first, bare=bare)
                wide = _width(put_in) + _width(end) + _LABEL * len(line.label)
                end = rf"{end}\quad\text{{({line.label})}}" if line.label else end
                rows += (
                    [f"&= {put_in}", f"&= {end}"] if wide > _WIDEST else [f"&= {put_in} = {end}"]
                )
                continue
            if line.label:
                rows[-1] += rf"\quad\text{{({line.label})}}"
        return r"\begin{aligned} " + r" \\ ".join(rows) + r" \end{aligned}"

    def _merged(self, system: str) -> Iterator[Line]:
        """Yield the lines; those of both conditions that print the same as one."""
        first = SYSTEMS[system][0]

        def shown(line: Line) -> tuple[str, ...]:
            return (
                line.given,
                *(symbol(id_).text(line.values[id_], each)
                  for id_ in sorted(self.uses) for each in (SYSTEMS[system] if id_ == self.result
                  else (first,)) if not line.given or id_ == self.result),
            )  # fmt: skip

        groups: dict[tuple[str, ...], list[Line]] = {}
        for line in self.lines:
            ending = line.label.removeprefix("original").removeprefix("repaired")
            groups.setdefault((ending, *shown(line)), []).append(line)
        for (ending, *_), same in groups.items():
            label = ending.removeprefix(", ") if len(same) > 1 else same[0].label
            yield replace(same[0], label=label)


#: Signs and digits side by side that a line has room for, and how much of it a letter takes.
_WIDEST, _LABEL = 63, 0.7


def _width(latex: str) -> int:
    """Return about how many signs numbers are wide: of a fraction its wider part."""
    text = re.sub(r"\\mathrm\{([^{}]*)\}", r"\1", latex)
    text = re.sub(r"\\(?:left|right|sqrt|[, ])|\^", "", text)
    text = re.sub(r"\\(?!frac)[a-z]+", "xx", text).replace(" ", "")
    inner = re.compile(r"\\frac\{([^{}]*)\}\{([^{}]*)\}|\{([^{}]*)\}(?=[^{])")
    while (shorter := inner.sub(lambda m: m[3] or max(m[1], m[2], key=len), text)) != text:
        text = shorter
    return len(text)


_PLACE = re.compile(r"<(\w+)>")
_PLACES = re.compile(r"<(\w+)>(\^?)")


def _signs(form: str) -> str:
    """Return a form in signs."""
    return _PLACE.sub(lambda found: f"{{{symbol(found[1]).sign}}}", form).replace("*", r"\,")


def _numbers(form: str, values: Values, system: str, *, bare: bool) -> str:
    """Return a form with the numbers of a line."""

    def put(found: re.Match[str]) -> str:
        each = symbol(found[1])
        text = _ascii(each.text(values[found[1]], system))
        shown = (
            text
            if bare and each.dimension != "angle"
            else _with_unit(each, values[found[1]], system)
        )
        if (found[2] and shown != text) or text.startswith("-"):
            shown = rf"\left({shown}\right)"
        return f" {shown}{found[2]}"

    return _PLACES.sub(put, form).replace("*", r" \times ")


def _ascii(text: str) -> str:
    """Return a number as LaTeX writes it, which makes the minus sign itself."""
    return text.replace("−", "-")


def _with_unit(each: Symbol, value: float, system: str) -> str:
    text, unit = _ascii(each.text(value, system)), each.unit(system)
    if unit == "°" or not unit:
        return text + unit
    if each.dimension == "expansion":
        return rf"{text} \times 10^{{-6}}\,\mathrm{{/" + unit.partition("/")[2] + "}"
    return rf"{text}\,\mathrm{{" + unit.replace("²", "^2").replace("·", r"\cdot ") + "}"


# What a study uses -------------------------------------------------------------------------------


def values(study: Study, evaluation: Evaluation | None = None) -> Mapping[str, dict[str, float]]:
    """Return the numbers of each condition by symbol; of another joint, if that is given."""
    found = evaluation or study.evaluation
    return {name: _of_state(study, found, state) for name, state in found.states.items()}


def _of_state(study: Study, evaluation: Evaluation, state: StateResult) -> dict[str, float]:
    joint, case = evaluation.joint, study.case
    inputs = mode_inputs(joint, state.state, state.engagement)
    hole, modes = inputs.hole, {m.mode: m for m in state.modes if m.primary}
    found = {
        "beta": joint.thread.flank_angle / 2, "R_n": joint.parent_tensile.value,
        "F_M": float(hole.stress_area) * joint.screw.tensile_max,
        "R_s": float(inputs_strength_ratio(hole)), "q": float(inputs_bearing_ratio(hole)),
        "C_1": float(inputs_dilation_factor(hole)),
    }  # fmt: skip
    screw = threads.external_limits(joint.thread, joint.screw_class)
    wire = joint.wire_shear if state.state == "repaired" else None
    found |= _named(
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
    found["C_3p"] = float(internal_bending_factor(found["R_s"]))
    if joint.boss_diameter is not None:
        found["C_c"] = math.nan if inputs.wall_factor is None else float(inputs.wall_factor)
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


def _named(**records: Any) -> dict[str, float]:
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
    both = _lines(found)
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
    loads = (_data()["equations"][_mode_equation(mode)]["result"] for mode in modes)
    listed = r",\ ".join(f"<{load}>" for load in loads)
    return rf"\min\left({listed}\right)"


def mode_label(mode: str) -> str:
    """Return the label of the equation of a mode."""
    return _label(_mode_equation(mode))


def method_label(method: str) -> str:
    """Return the label of the equation of a published method."""
    return _label(f"method-{method}")


def _label(id_: str) -> str:
    return f"eq:{id_.replace('_', '-')}"


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


def _lines(found: Mapping[str, Values], label: str = "") -> tuple[Line, ...]:
    return tuple(
        Line(label=f"{state}, {label}" if label else state, values=each)
        for state, each in found.items()
    )


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
    form = str(_data()["equations"]["area-metric"]["form"])
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


def margin(study: Study) -> tuple[Equation, ...]:
    """Return the equations of the margins, with the least of each condition and strength."""
    least: dict[tuple[str, str], Margin] = {}
    for each in study.margins:
        key = (each.state, each.against)
        if key not in least or each.margin < least[key].margin:
            least[key] = each
    if not least:
        return ()
    of_strength = values(study)
    ordered = sorted(least.values(), key=lambda m: _AGAINST.index(m.against))
    loads = tuple(Line(label=f"{m.state}, {_mode_words(m)}", values=_of_margin(m)) for m in ordered)
    carried = tuple(line for m, line in zip(ordered, loads, strict=True) if m.mode != "separation")
    apart = tuple(line for m, line in zip(ordered, loads, strict=True) if m.mode == "separation")
    for state, found in margin_values(study).items():
        of_strength[state] |= found
    both = _lines(of_strength)
    return (
        *(Equation(id=id_, lines=lines) for id_, name in _YIELDS.items()
          if (lines := _yield_lines(study, both, name))),
        *(() if math.isnan(both[0].values["c_l"]) else (Equation(id="certified", lines=both),)),
        Equation(id="demand", lines=carried),
        *((Equation(id="separation-demand", lines=apart),) if apart else ()),
        Equation(id="margin", lines=loads),
    )  # fmt: skip


_YIELDS = {"parent-yield": "F_ny", "screw-yield": "F_y"}


def margin_values(study: Study) -> Mapping[str, Values]:
    """Return the numbers of the margins that a condition has one of."""
    case = study.case
    return {
        state: {
            "c_l": bounds.lower / bounds.formula, "F_cm": bounds.minimum,
            "F_L": case.design_load or 0.0,
        }
        for state, bounds in study.brackets.items()
    }  # fmt: skip


def _mode_words(m: Margin) -> str:
    words = margin_words(m)
    return words[:1].lower() + words[1:]


_AGAINST = ("ultimate", CERTIFIED, "yield", "separation")


def _of_margin(m: Margin) -> Values:
    return {
        "F_V": m.case.preload, "j": m.case.factor, "j_f": m.case.fitting, "phi": m.case.share,
        "F_L": m.case.load, "F_D": m.demand, "F_C": m.capacity, "MS": m.margin,
        "j_s": m.case.factor, "phi_min": 1 - m.case.share,
    }  # fmt: skip


def _yield_lines(study: Study, both: tuple[Line, ...], symbol_: str) -> tuple[Line, ...]:
    """Add the loads at yield: of the screw its own, of the parent thread that of its margins."""
    lines = []
    for line in both:
        state = study.evaluation.states[line.label]
        if symbol_ == "F_y":
            loads = [m.capacity for m in state.modes if m.basis == "yield"]
        else:
            found = [
                m for m in study.margins
                if m.state == line.label and m.against == "yield"
                and m.mode == "parent_thread_strip"
            ]  # fmt: skip
            loads = [m.capacity for m in found if m.case.at is None]
            if found and not loads and (at := found[0].case.at) is not None:
                # In service the yield strength is not known, at assembly it is.
                own = {**line.values, **values(study, at)[line.label]}
                load = found[0].capacity
                lines.append(
                    Line(label=f"{line.label}, at assembly", values={**own, symbol_: load})
                )
        if loads:
            lines.append(replace(line, values={**line.values, symbol_: loads[0]}))
    return tuple(lines)


# Tightening --------------------------------------------------------------------------------------

#: Lines of friction by the name that the tightening has for them, in the order of a report.
_FRICTION = {
    "middle": "mean friction", "maximum": "maximum preload", "twisted": "maximum torsion",
    "minimum": "minimum preload",
}  # fmt: skip


def tightening_values(study: Study) -> Mapping[str, Values]:
    """Return the numbers of tightening that a condition has one of."""
    preloads = study.preloads
    if preloads is None:
        return {}
    inputs, found = preloads.inputs, {}
    area = stress_area(study.evaluation.joint)
    for state, each in preloads.states.items():
        tightened, known = each.preload.tightened, each.preload.known_changes.values()
        friction = inputs.thread[state]
        found[state] = {
            **_named(inputs=inputs, each=each, tightened=tightened, service=each.preload.service,
                     original=preloads.original.preload.tightened),
            "M_p": inputs.prevailing_nm[state][1],
            "e_F" if inputs.tool.scattered else "e": inputs.tool.error,
            "mu_G1": friction.low, "mu_G2": friction.high,
            "mu_K1": inputs.head.low, "mu_K2": inputs.head.high,
            "d_0": 2 * math.sqrt(area / math.pi), "dF_p": max(known), "dF_m": -min(known),
        }  # fmt: skip
    return found


def friction_lines(study: Study) -> tuple[Line, ...]:
    """Return what each friction that counts makes of the torque, in both conditions."""
    preloads = study.preloads
    if preloads is None:
        return ()
    of_strength, common = values(study), tightening_values(study)
    shape, lines = preloads.inputs.shape, []
    for state, each in preloads.states.items():
        tightened = each.preload.tightened
        frictions = [
            (name, float(line.thread_friction), float(line.head_friction), float(line.preload),
             float(line.twist_nm))
            for name, line in tightened.lines.items()
        ]  # fmt: skip
        thread, head = preloads.inputs.thread[state], preloads.inputs.head
        frictions.insert(0, (
            "middle", (thread.low + thread.high) / 2, (head.low + head.high) / 2,
            float(tightened.preload.middle), math.nan,
        ))  # fmt: skip
        for name, in_thread, under_head, preload, twist in frictions:
            lever = float(shape.lever(in_thread, under_head))
            lines.append(
                Line(
                    label=f"{state}, {_FRICTION[name]}",
                    values={
                        **of_strength[state], **common[state], "mu_G": in_thread,
                        "mu_K": under_head, "k": lever, "K": lever / shape.major,
                        "k_G": float(shape.lever(in_thread, 0.0)), "F_V": preload, "M": twist,
                    },
                )
            )  # fmt: skip
    return tuple(lines)


def tightening(study: Study) -> Mapping[str, tuple[Equation, ...]]:
    """Return the equations of preload, service and permissible torque, by subject."""
    preloads = study.preloads
    if preloads is None:
        return {}
    lines = friction_lines(study)
    common = {
        state: {**found, **tightening_values(study)[state]}
        for state, found in values(study).items()
    }
    both = _lines(common)
    by_name = {
        name: tuple(each for each in lines if each.label.endswith(f", {words}"))
        for name, words in _FRICTION.items()
    }
    return {
        "preload": (
            Equation(id="stress-diameter", lines=both),
            Equation(id="thread-lever", lines=lines),
            Equation(id="lever", lines=lines),
            Equation(id="nut-factor", lines=lines),
            *_preload(study, by_name),
            Equation(id="twist", lines=(*by_name["maximum"], *by_name["twisted"])),
        ),
        "service": (
            *_thermal(study, both),
            Equation(id="service-maximum", lines=both),
            Equation(id="service-minimum", lines=both),
            *_equivalent(study, lines),
            *_yield_preload(study, by_name),
        ),
        "torque": (
            Equation(id="strip-torque", lines=_strip_torque(study, by_name)),
            *_window(study, lines, both),
            Equation(id="same-preload", lines=both),
        ),
    }


def _preload(study: Study, by_name: Mapping[str, tuple[Line, ...]]) -> Iterator[Equation]:
    assert study.preloads is not None
    middle = by_name["middle"]
    if study.preloads.inputs.preload is not None:
        yield Equation(id="torque-asked", lines=middle[:1])
    yield Equation(id="preload-middle", lines=middle)
    if not study.preloads.inputs.tool.scattered:
        yield Equation(id="preload-maximum", lines=(*by_name["maximum"], *by_name["twisted"]))
        yield Equation(id="preload-minimum", lines=by_name["minimum"])
        return
    for name in ("maximum", "minimum"):
        yield Equation(id=f"scatter-{name}", lines=by_name[name])


def _at(temperature: float, study: Study) -> str:
    system = SYSTEMS[study.case.report_units][0]
    return plain(temperature, dimension="temperature", system=system)


def _thermal(study: Study, both: tuple[Line, ...]) -> Iterator[Equation]:
    assert study.preloads is not None
    temperatures = study.preloads.inputs.temperatures
    lines = tuple(
        Line(label=f"{line.label}, {_at(temperature, study)}", values={
            **line.values, "dt": temperature - temperatures[0],
            "dF": study.preloads.states[line.label].preload.changes[temperature],
        })
        for temperature in temperatures[1:] for line in both
    )  # fmt: skip
    if lines and not math.isnan(lines[0].values["dF"]):
        yield Equation(id="thermal", lines=lines)


def _equivalent(study: Study, lines: tuple[Line, ...]) -> Iterator[Equation]:
    """The screw at yield, pulled and twisted, where its margin is least."""
    found = []
    for state in study.evaluation.states:
        twisted = [
            m for m in study.margins
            if m.state == state and m.mode == "screw_tension" and m.against == "yield"
            and m.case.own is not None
        ]  # fmt: skip
        if twisted:
            m = min(twisted, key=lambda each: each.margin)
            line = _line_of(m, lines)
            strength = study.evaluation.joint.screw.yield_
            found.append(
                replace(line, values={
                    **line.values, "F_D": m.demand, "F_y": m.capacity,
                    "sigma_e": m.demand * strength / m.capacity,
                })
            )  # fmt: skip
    if found:
        yield Equation(id="equivalent", lines=tuple(found))
        yield Equation(id="twisted-yield", lines=tuple(found))


def _line_of(m: Margin, lines: tuple[Line, ...]) -> Line:
    """The line of friction that a margin with preload rests on."""
    origin = m.case.origin
    assert origin is not None
    return next(
        each for each in lines
        if each.label.startswith(f"{m.state}, ") and not each.label.endswith(_FRICTION["middle"])
        and each.values["mu_G"] == origin.thread_friction
        and each.values["mu_K"] == origin.head_friction
    )  # fmt: skip


def _yield_preload(study: Study, by_name: Mapping[str, tuple[Line, ...]]) -> Iterator[Equation]:
    assert study.preloads is not None
    if math.isnan(study.evaluation.joint.screw.yield_):
        return
    lines = []
    for name in ("twisted", "maximum"):
        for line in by_name[name]:
            at = line.values
            band = study.preloads.states[line.label.partition(",")[0]].preload.yield_preload
            load = float(band.least if name == "twisted" else band.highest)
            lines.append(
                replace(line, values={
                    **at, "F_Vy": load, "sigma_y": load / at["A_t"],
                    "kappa": 4 * at["k_G"] / at["d_0"],
                    "tau_p": 16 * at["M_p"] * 1000 / (math.pi * at["d_0"] ** 3),
                })
            )  # fmt: skip
    yield Equation(id="kappa", lines=tuple(lines))
    if any(line.values["M_p"] for line in lines):
        yield Equation(id="prevailing-shear", lines=tuple(lines))
    for id_ in ("yield-stress", "yield-preload"):
        yield Equation(id=id_, lines=tuple(lines))


def _strip_torque(study: Study, by_name: Mapping[str, tuple[Line, ...]]) -> tuple[Line, ...]:
    """Torque that strips the thread, with the least and with the greatest friction."""
    assert study.preloads is not None
    lines = []
    for end in ("least", "highest"):
        for line in by_name["middle"]:
            state = line.label.partition(",")[0]
            each = study.preloads.states[state]
            lines.append(
                Line(label=f"{state}, {'minimum' if end == 'least' else 'maximum'} friction",
                     values={
                    **line.values, "k": float(getattr(each.preload.tightened.coefficient, end)),
                    "T_st": float(getattr(each.strip_torque_nm, end)),
                })
            )  # fmt: skip
    return tuple(lines)


def _window(study: Study, lines: tuple[Line, ...], both: tuple[Line, ...]) -> Iterator[Equation]:
    """The ends of the permissible window, solved from the margin that is zero there."""
    preloads = study.preloads
    assert preloads is not None
    ends: dict[str, list[Line]] = {}
    for line in both:
        low, high = preloads.states[line.label].window_nm
        if 0 < high < math.inf:
            m = _zero_margin(study, line.label, high, separation=False)
            assert m is not None
            at = _line_of(m, lines)
            is_low = _scattered(study) and at.label.endswith(_FRICTION["twisted"])
            kind = "twisted" if is_low else "maximum"
            assert m.case.origin is not None
            changes = preloads.states[line.label].preload.known_changes
            change = changes[m.case.origin.temperature]
            ends.setdefault(f"window-{kind}", []).append(Line(
                label=f"{line.label}, {_mode_words(m)}",
                values={**at.values, **_of_margin(m), "dF": change, "T_e": high,
                        "k": _stated(study, line, at)},
            ))  # fmt: skip
        if low > 0 and not study.case.design_load:
            ends.setdefault("window-prevailing", []).append(
                replace(line, values={**line.values, "T_e": low})
            )
        elif low > 0:
            m = _zero_margin(study, line.label, low, separation=True)
            if m is None:
                ends.setdefault("window-prevailing", []).append(
                    replace(line, values={**line.values, "T_e": low})
                )
                continue
            at = _line_of(m, lines)
            ends.setdefault("window-minimum", []).append(
                replace(at, values={
                    **at.values, **_of_margin(m), "T_e": low, "k": _stated(study, line, at),
                })
            )  # fmt: skip
    for id_, found in ends.items():
        # a scatter is of the preload; no prevailing torque is in it
        known = _data()["equations"][id_]
        plain_form = str(known.get("plain", known["form"])).replace("<e>", "<e_F>")
        form = plain_form if _scattered(study) else ""
        yield Equation(id=id_, form=form, lines=tuple(found))


def _scattered(study: Study) -> bool:
    return study.preloads is not None and study.preloads.inputs.tool.scattered


def _stated(study: Study, both: Line, line: Line) -> float:
    """The torque coefficient that turns the torque into the preload of a line."""
    return both.values["k_mid"] if _scattered(study) else line.values["k"]


def _zero_margin(study: Study, state: str, torque_nm: float, *, separation: bool) -> Margin | None:
    """The margin that is zero at a torque; None where none is."""
    preloads, evaluation = study.preloads, study.evaluation
    assert preloads is not None
    at = replace(preloads.inputs, torque_nm=torque_nm, preload=None)
    found = margins(evaluation, tuple(preload_cases(at, state)))
    spare = {abs(m.margin): m for m in found if (m.mode == "separation") == separation}
    return spare[min(spare)] if spare and min(spare) < _ZERO else None


#: A margin this small is that of the end of the window, which is solved for.
_ZERO = 1e-6
