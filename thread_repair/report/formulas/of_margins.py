"""The equations of the margins of safety."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from ... import words
from ...joint.margins import CERTIFIED, Margin
from ...study import Study
from ...study.shown import margin_term
from .notation import Equation, Line, Values, lines_of
from .of_strength import values


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
    loads = tuple(Line(label=f"{m.state}, {mode_words(m)}", values=of_margin(m)) for m in ordered)
    carried = tuple(line for m, line in zip(ordered, loads, strict=True) if m.mode != "separation")
    apart = tuple(line for m, line in zip(ordered, loads, strict=True) if m.mode == "separation")
    for state, found in margin_values(study).items():
        of_strength[state] |= found
    both = lines_of(of_strength)
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


def mode_words(m: Margin) -> str:
    """Name the failure mode of a margin within a line."""
    name = words.term(margin_term(m))
    return name[:1].lower() + name[1:]


_AGAINST = ("ultimate", CERTIFIED, "yield", "separation")


def of_margin(m: Margin) -> Values:
    """Return the numbers of a margin by symbol."""
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
