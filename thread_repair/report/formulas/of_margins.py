"""The equations of the margins of safety."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ... import words
from ...joint.margins import CERTIFIED, Margin
from ...study import Study
from ...study.shown import margin_term
from .notation import Equation, Line, Values, equations, lines_of
from .of_strength import values

_AGAINST = ("ultimate", CERTIFIED, "yield", "separation")


def margin(study: Study) -> tuple[Equation, ...]:
    """Return the equations of the margins, with the least of each condition and strength."""
    least: dict[tuple[str, str], Margin] = {}
    for each in study.margins:
        key = (each.state, each.against)
        if key not in least or each.margin < least[key].margin:
            least[key] = each
    if not least:
        return ()
    ordered = sorted(least.values(), key=lambda m: _AGAINST.index(m.against))
    more = margin_values(study)
    both = lines_of({state: {**found, **more[state]} for state, found in values(study).items()})
    lines = {
        "condition": both,
        "yield": [line for each in both for line in _at_yield(study, each)],
        "margin": [Line(label=f"{m.state}, {mode_words(m)}", values=of_margin(m)) for m in ordered],
    }
    return equations("margins", lines)


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


def of_margin(m: Margin) -> dict[str, float]:
    """Return the numbers of a margin by symbol."""
    found = {"F_L": m.case.load, "F_D": m.demand, "F_C": m.capacity, "MS": m.margin}
    if m.mode == "separation":
        return {**found, "j_s": m.case.factor, "phi_min": 1 - m.case.share}
    load = {"F_V": m.case.preload, "j": m.case.factor, "j_f": m.case.fitting, "phi": m.case.share}
    return {**found, **load}


def _at_yield(study: Study, line: Line) -> Iterator[Line]:
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
