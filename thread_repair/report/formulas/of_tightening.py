"""The equations of preload, service and permissible torque."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from ...arrays import Floats
from ...joint import stress_area
from ...joint.margins import Margin, margins
from ...study import Study
from ...tightening import Preloads
from ...tightening.demands import preload_cases
from ...units import SYSTEMS, plain
from .notation import Equation, Line, Values, equations, forms, lines_of
from .of_margins import mode_words, of_margin
from .of_strength import named, values

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
        known = each.preload.known_changes.values()
        found[state] = {
            **named(inputs=inputs, each=each, tightened=each.preload.tightened,
                    service=each.preload.service, original=preloads.original.preload.tightened),
            "M_p": inputs.prevailing_nm[state][1],
            "e_F" if inputs.tool.scattered else "e": inputs.tool.error,
            "d_0": 2 * math.sqrt(area / math.pi), "dF_p": max(known), "dF_m": -min(known),
        }  # fmt: skip
    return found


def friction_lines(study: Study) -> tuple[Line, ...]:
    """Return what each friction that counts makes of the torque, in both conditions."""
    return () if study.preloads is None else tuple(_friction(study.preloads, _conditions(study)))


def _conditions(study: Study) -> tuple[Line, ...]:
    of_torque = tightening_values(study)
    return lines_of({name: {**at, **of_torque[name]} for name, at in values(study).items()})


def _friction(preloads: Preloads, both: Sequence[Line]) -> Iterator[Line]:
    shape = preloads.inputs.shape
    for line in both:
        tightened = preloads.states[line.state].preload.tightened
        thread, head = preloads.inputs.thread[line.state], preloads.inputs.head
        means = ((thread.low + thread.high) / 2, (head.low + head.high) / 2)
        frictions: dict[str, tuple[Floats, ...]] = {
            "middle": (*means, tightened.preload.middle, math.nan),
            **{name: (each.thread_friction, each.head_friction, each.preload, each.twist_nm)
               for name, each in tightened.lines.items()},
        }  # fmt: skip
        for name, found in frictions.items():
            in_thread, under_head, preload, twist = map(float, found)
            lever = float(shape.lever(in_thread, under_head))
            yield line.named(
                f"{line.state}, {_FRICTION[name]}",
                mu_G=in_thread,
                mu_K=under_head,
                k=lever,
                K=lever / shape.major,
                k_G=float(shape.lever(in_thread, 0.0)),
                F_V=preload,
                M=twist,
            )


def tightening(study: Study) -> Mapping[str, tuple[Equation, ...]]:
    """Return the equations of preload, service and permissible torque, by subject."""
    preloads = study.preloads
    if preloads is None:
        return {}
    both = _conditions(study)
    frictions = tuple(_friction(preloads, both))
    lines: dict[str, Sequence[Line]] = {
        name: [each for each in frictions if each.label.endswith(f", {words}")]
        for name, words in _FRICTION.items()
    }
    lines |= {
        "condition": both,
        "friction": frictions,
        "asked": lines["middle"][:1],
        "temperature": list(_temperatures(study, preloads, both)),
        "equivalent": list(_equivalent(study, frictions)),
        "yield": list(_at_yield(study, preloads, lines)),
        "strip": list(_strip_torque(preloads, lines["middle"])),
        **_window(study, preloads, frictions, both),
    }
    # a scatter is of the preload; no prevailing torque is in it
    made = {
        id_: str(spec.get("plain", spec["form"])).replace("<e>", "<e_F>")
        for id_, spec in forms("torque").items()
        if id_.startswith("window") and preloads.inputs.tool.scattered
    }
    return {each: equations(each, lines, made) for each in ("preload", "service", "torque")}


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
    origin = m.case.origin
    assert origin is not None
    rests = (m.state, origin.thread_friction, origin.head_friction)
    return next(
        each for each in frictions
        if (each.state, each.values["mu_G"], each.values["mu_K"]) == rests
        and not each.label.endswith(_FRICTION["middle"])
    )  # fmt: skip


def _at_yield(
    study: Study, preloads: Preloads, lines: Mapping[str, Sequence[Line]]
) -> Iterator[Line]:
    """Preload at which the screw yields under the tension and torsion of tightening."""
    if math.isnan(study.evaluation.joint.screw.yield_):
        return
    for line in (*lines["twisted"], *lines["maximum"]):
        at, band = line.values, preloads.states[line.state].preload.yield_preload
        load = float(band.least if line in lines["twisted"] else band.highest)
        yield line.named(
            F_Vy=load,
            sigma_y=load / at["A_t"],
            kappa=4 * at["k_G"] / at["d_0"],
            tau_p=16 * at["M_p"] * 1000 / (math.pi * at["d_0"] ** 3),
        )


def _strip_torque(preloads: Preloads, middle: Sequence[Line]) -> Iterator[Line]:
    """Torque that strips the thread, with the least and with the greatest friction."""
    for end, words in (("least", "minimum"), ("highest", "maximum")):
        for line in middle:
            each = preloads.states[line.state]
            coefficient = float(getattr(each.preload.tightened.coefficient, end))
            stripping = float(getattr(each.strip_torque_nm, end))
            yield line.named(f"{line.state}, {words} friction", k=coefficient, T_st=stripping)


def _window(
    study: Study, preloads: Preloads, frictions: Sequence[Line], both: Sequence[Line]
) -> Mapping[str, Sequence[Line]]:
    """The ends of the permissible window, solved from the margin that is zero there."""
    scattered, ends = preloads.inputs.tool.scattered, dict[str, list[Line]]()
    for line in both:
        state = preloads.states[line.state]
        for end, torque in zip(("low", "high"), state.window_nm, strict=True):
            if not 0 < torque < math.inf:
                continue
            m = _zero_margin(study, preloads, line.state, torque, separation=end == "low")
            if end == "low" and (m is None or not study.case.design_load):
                ends.setdefault("window-prevailing", []).append(line.named(T_e=torque))
                continue
            assert m is not None and m.case.origin is not None
            at = _line_of(m, frictions)
            # the coefficient that turns the torque into the preload of the line
            k = line.values["k_mid"] if scattered else at.values["k"]
            found = at.named(**{**of_margin(m), "T_e": torque, "k": k})
            if end == "low":
                ends.setdefault("window-minimum", []).append(found)
                continue
            kind = "maximum"
            if scattered and at.label.endswith(_FRICTION["twisted"]):
                kind = "twisted"
            change = state.preload.known_changes[m.case.origin.temperature]
            found = found.named(f"{line.state}, {mode_words(m)}", dF=change)
            ends.setdefault(f"window-{kind}", []).append(found)
    return ends


def _zero_margin(
    study: Study, preloads: Preloads, state: str, torque_nm: float, *, separation: bool
) -> Margin | None:
    """The margin that is zero at a torque; None where none is."""
    at = replace(preloads.inputs, torque_nm=torque_nm, preload=None)
    found = margins(study.evaluation, tuple(preload_cases(at, state)))
    spare = {abs(m.margin): m for m in found if (m.mode == "separation") == separation}
    return spare[min(spare)] if spare and min(spare) < _ZERO else None


#: A margin this small is that of the end of the window, which is solved for.
_ZERO = 1e-6
