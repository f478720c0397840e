"""The equations of preload, service and permissible torque."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

from ...joint import stress_area
from ...joint.margins import Margin, margins
from ...study import Study
from ...tightening.demands import preload_cases
from ...units import SYSTEMS, plain
from .notation import Equation, Line, Values, forms, lines_of
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
        tightened, known = each.preload.tightened, each.preload.known_changes.values()
        friction = inputs.thread[state]
        found[state] = {
            **named(inputs=inputs, each=each, tightened=tightened, service=each.preload.service,
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
    both = lines_of(common)
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
                label=f"{line.label}, {mode_words(m)}",
                values={**at.values, **of_margin(m), "dF": change, "T_e": high,
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
                    **at.values, **of_margin(m), "T_e": low, "k": _stated(study, line, at),
                })
            )  # fmt: skip
    for id_, found in ends.items():
        # a scatter is of the preload; no prevailing torque is in it
        known = forms()["equations"][id_]
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
