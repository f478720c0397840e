"""The equations of margins of safety, preload, service and permissible torque."""

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import chain

from ... import words
from ...joint.margins import CERTIFIED, Margin, least_by, margins
from ...study import Study
from ...study.shown import margin_term
from ...tightening import Preloads, Tightening
from ...tightening.permissible import ABOVE_SMALL, least_torque, preload_cases
from ...units import SYSTEMS, plain
from .notation import Equation, Line, equations, lines_of
from .of_strength import named, values

_AGAINST = ("ultimate", CERTIFIED, "yield", "separation")


def margin(study: Study) -> tuple[Equation, ...]:
    """Return the equations of the margins, with the least of each condition and strength."""
    least = [*least_by(study.margins, "state", "against").values()]
    if not least:
        return ()
    least.sort(key=lambda m: _AGAINST.index(m.against))
    both = lines_of(values(study))
    lines = {
        "condition": both,
        "yield": [line for each in both for line in _yields(study, each)],
        "margin": [Line(label=_label(m), values=_of_margin(m)) for m in least],
    }
    return equations("margins", lines)


def _label(m: Margin) -> str:
    """Name condition and failure mode of a margin."""
    name = words.term(margin_term(m))
    return f"{m.state}, {name[:1].lower()}{name[1:]}"


def _of_margin(m: Margin) -> dict[str, float]:
    """Return the numbers of a margin by symbol."""
    found = {"F_L": m.case.load, "F_D": m.demand, "F_C": m.capacity, "MS": m.margin}
    if m.mode == "separation":
        return {**found, "j_s": m.case.factor, "phi_min": 1 - m.case.share}
    load = {"F_V": m.case.preload, "j": m.case.factor, "j_f": m.case.fitting, "phi": m.case.share}
    return {**found, **load}


def _yields(study: Study, line: Line) -> Iterator[Line]:
    """Yield the loads at yield: of the screw its own, of the parent thread that of its margins."""
    screw = [m.capacity for m in study.evaluation.states[line.label].modes if m.basis == "yield"]
    parent = [
        m for m in study.margins
        if (m.state, m.against, m.mode) == (line.label, "yield", "parent_thread_strip")
    ]  # fmt: skip
    service = [m.capacity for m in parent if m.case.at is None]
    if parent and not service and (at := parent[0].case.at) is not None:
        # In service the yield strength is not known, at assembly it is.
        own = {**values(study, at)[line.label], "F_ny": parent[0].capacity}
        yield line.named(f"{line.label}, at assembly", **own)
    loads = {"F_ny": service, "F_y": screw}
    yield line.named(**{symbol: found[0] for symbol, found in loads.items() if found})


# ---- tightening

#: Lines of friction by the name that the tightening has for them, in the order of a report.
_FRICTION = {
    "middle": "mean friction", "maximum": "maximum preload", "twisted": "maximum torsion",
    "minimum": "minimum preload", "wrench_maximum": "maximum preload by hand torque wrench",
    "wrench_twisted": "maximum torsion by hand torque wrench",
    "wrench_minimum": "minimum preload by hand torque wrench",
}  # fmt: skip


def friction_lines(preloads: Preloads, both: Sequence[Line]) -> Iterator[Line]:
    """Yield what each friction that counts makes of the torque, in both conditions."""
    shape = preloads.inputs.shape
    for line in both:
        tightened = preloads.states[line.state].preload.tightened
        thread, head = preloads.inputs.thread[line.state], preloads.inputs.head
        middle = {
            "thread_friction": (thread.low + thread.high) / 2,
            "head_friction": (head.low + head.high) / 2,
            "preload": tightened.preload.middle, "twist_nm": math.nan,
        }  # fmt: skip
        for name, found in {"middle": middle, **tightened.lines}.items():
            at = named(friction=found)
            lever = float(shape.lever(at["mu_G"], at["mu_K"]))
            levers = {
                "k": lever,
                "K": lever / shape.major,
                "k_G": float(shape.lever(at["mu_G"], 0.0)),
            }
            if preloads.inputs.tool.scattered:  # either error is of its own lines alone
                at["e_F" if name.startswith("wrench") else "e"] = math.nan
            yield line.named(f"{line.state}, {_FRICTION[name]}", **at, **levers)


def tightening(study: Study) -> Mapping[str, tuple[Equation, ...]]:
    """Return the equations of preload, service and permissible torque, by subject."""
    preloads = study.preloads
    if preloads is None:
        return {}
    both = lines_of(values(study))
    frictions = tuple(friction_lines(preloads, both))
    lines: dict[str, Sequence[Line]] = {
        name: [each for each in frictions if each.label.endswith(f", {told}")]
        for name, told in _FRICTION.items()
    }
    lines |= {
        "condition": both,
        "friction": frictions,
        "temperature": list(_temperatures(study, preloads, both)),
        "equivalent": list(_equivalent(study, frictions)),
        "yield": list(_at_yield(study, preloads, lines)),
        "strip": list(_strip_torque(preloads, lines["middle"])),
        **_window(study, preloads, frictions, both),
    }
    return {each: equations(each, lines) for each in ("preload", "service", "torque")}


def _temperatures(study: Study, preloads: Preloads, both: Sequence[Line]) -> Iterator[Line]:
    system = SYSTEMS[study.case.report_units][0]
    assembly, *service = preloads.inputs.temperatures
    for each in service:
        at = plain(each, dimension="temperature", system=system)
        for line in both:
            change = preloads.states[line.state].preload.changes[each]
            yield line.named(f"{line.state}, {at}", dt=each - assembly, dF=change)


def _equivalent(study: Study, frictions: Sequence[Line]) -> Iterator[Line]:
    """The screw at yield, pulled and twisted, where its margin is least."""
    for state in study.evaluation.states:
        twisted = [
            m for m in study.margins
            if (m.state, m.mode, m.against) == (state, "screw_tension", "yield")
            and m.case.own is not None
        ]  # fmt: skip
        if twisted:
            m = min(twisted, key=lambda each: each.margin)
            stress = m.demand * study.evaluation.joint.screw.yield_ / m.capacity
            yield _line_of(m, frictions).named(F_D=m.demand, F_y=m.capacity, sigma_e=stress)


def _line_of(m: Margin, frictions: Sequence[Line]) -> Line:
    """The line of friction that a margin with preload rests on."""
    assert m.case.origin is not None
    label = f"{m.state}, {_FRICTION[m.case.origin.line]}"
    return next(each for each in frictions if each.label == label)


def _at_yield(
    study: Study, preloads: Preloads, lines: Mapping[str, Sequence[Line]]
) -> Iterator[Line]:
    """Preload at which the screw yields under the tension and torsion of tightening."""
    if math.isnan(study.evaluation.joint.screw.yield_):
        return
    strength, shape = study.evaluation.joint.screw.yield_, preloads.inputs.shape
    pulled = preloads.original.preload.tightened.pulled
    for line in chain.from_iterable(lines[each.name] for each in pulled):
        at = line.values
        load = float(shape.yield_preload(strength, friction=at["mu_G"], prevailing_nm=at["M_p"]))
        yield line.named(
            F_Vy=load,
            sigma_y=load / at["A_t"],
            kappa=4 * at["k_G"] / at["d_0"],
            tau_p=16 * at["M_p"] * 1000 / (math.pi * at["d_0"] ** 3),
        )


def _strip_torque(preloads: Preloads, middle: Sequence[Line]) -> Iterator[Line]:
    """Torque that strips the thread, with the least and with the greatest friction."""
    for end, which in (("least", "minimum"), ("highest", "maximum")):
        for line in middle:
            each = preloads.states[line.state]
            coefficient = float(getattr(each.preload.tightened.coefficient, end))
            stripping = float(getattr(each.strip_torque_nm, end))
            yield line.named(f"{line.state}, {which} friction", k=coefficient, T_st=stripping)


def _window(
    study: Study, preloads: Preloads, frictions: Sequence[Line], both: Sequence[Line]
) -> Mapping[str, Sequence[Line]]:
    """The ends of the permissible window, solved from the margin that is zero there."""
    scattered, ends = preloads.inputs.tool.scattered, defaultdict[str, list[Line]](list)
    for line in both:
        state = preloads.states[line.state]
        for low, torque, tool in zip((True, False), state.window_nm, state.tools, strict=True):
            # An empty window begins at almost nothing; where a tool ends, no margin is zero.
            if not 1e-8 < torque < math.inf or torque == ABOVE_SMALL:
                continue
            inputs = replace(preloads.inputs, tool=tool)
            error = {} if scattered else {"e": tool.error}
            least = least_torque(inputs, line.state)
            if low and math.isclose(torque, least, rel_tol=1e-8, abs_tol=1e-8):
                ends["window-prevailing"].append(line.named(T_e=torque, **error))
                continue
            m = _zero_margin(study, inputs, line.state, torque, separation=low)
            assert m.case.origin is not None
            found = _line_of(m, frictions).named(**{**_of_margin(m), "T_e": torque, **error})
            of_wrench = not scattered or m.case.origin.line.startswith("wrench")
            kind = "window" if of_wrench else "scatter-window"
            if not low:
                change = state.preload.known_changes[m.case.origin.temperature]
                found = found.named(_label(m), dF=change)
            ends[f"{kind}-{'minimum' if low else 'maximum'}"].append(found)
            if not state.by_torque:
                ends["window-preload"].append(found.named(F_lim=state.limits[not low].value))
    return ends


def _zero_margin(
    study: Study, inputs: Tightening, state: str, torque_nm: float, *, separation: bool
) -> Margin:
    """The margin that is zero at a torque which a margin limits."""
    at = replace(inputs, torque_nm=torque_nm, preload=None)
    found = margins(study.evaluation, tuple(preload_cases(at, state)))
    limits = (m for m in found if (m.mode == "separation") == separation)
    return min(limits, key=lambda m: abs(m.margin))
