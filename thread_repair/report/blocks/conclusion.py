"""The first page of every report: conclusion, criteria, loads, confidence, conditions, open."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from IPython.display import Markdown

from ... import words
from ...alternatives import summary as options
from ...facts import (
    Fact,
    Quantity,
    Term,
    Value,
    count,
    fact,
    force,
    length,
    number,
    temperature,
    torque,
)
from ...study import Study
from ...study.shown import criterion_row
from .. import escape
from ..figure import ReportTable
from .layout import table


def sentences(study: Study, found: Iterable[Fact]) -> str:
    """Facts as running text in the units of the report, taken literally."""
    system = study.case.report_units
    return escape.markdown(" ".join(words.sentence(each, system=system) for each in found))


def numbered(lines: Iterable[str]) -> Markdown:
    """Lines of Markdown as a numbered list."""
    return Markdown("\n".join(f"{n}. {line}" for n, line in enumerate(lines, start=1)))


def conclusion(study: Study) -> Markdown:
    """The conclusion in bold, what it is drawn for, adequate or not, as strong or not."""
    first, *rest = study.statements
    text = f"**{sentences(study, [first])}** {sentences(study, [_described(study), *rest])}"
    return Markdown(f"::: {{.conclusion .{study.conclusion.id.replace('_', '-')}}}\n{text}\n:::")


def in_short(study: Study) -> Markdown:
    """The conclusion, the criteria that are a condition of it and what was found, for a sheet."""
    first, *rest = study.statements
    refused = [fact("sheet_not_for_use", "limit")] if study.conclusion.failed else []
    said = (*(each for each in rest if each.id in HOLE), *_criteria(study))
    text = f"**{sentences(study, [first, *refused])}** {sentences(study, said)}"
    return Markdown(f"{text} {as_found(study).data}")


#: Statements that say why the hole as found cannot be repaired so.
HOLE = ("hole_spoiled", "hole_cracked")


def _described(study: Study) -> Fact:
    joint = study.evaluation.joint
    return fact(
        "repair_described",
        "info",
        thread=joint.thread.designation,
        parent=joint.parent.label,
        **insert(study),
    )


def insert(study: Study) -> dict[str, Value]:
    """Return what a sentence names of the insert."""
    joint = study.evaluation.joint
    return {
        "insert": Term("insert", study.case.insert_kind),
        "length": length(joint.insert_length),
        "diameters": number(joint.insert_length / joint.thread.major),
    }


def criteria_table(study: Study, of: str = "") -> ReportTable:
    """Every criterion with what is required, what is there, and whether it is met.

    `of` names the hole, where a document has several; such a table carries no label.
    """
    system = study.case.report_units
    rows = [
        (str(number), *criterion_row(each, system))
        for number, each in enumerate(study.criteria, start=1)
    ]
    return table("criteria", rows, named=not of, of=of and f", {of}")


def loads(study: Study) -> Markdown:
    """The loads, factors, torque and friction that the margins are for."""
    return Markdown(f"**Loads.** {sentences(study, _loads(study))}")


#: At this temperature, degC, strengths are tabulated: it is not spoken of.
_ROOM = 20.0


def _loads(study: Study) -> Iterator[Fact]:
    case, tightened = study.case, study.preloads
    if case.temperature != _ROOM:
        yield fact("service_temperature", "info", temperature=temperature(case.temperature))
    if case.design_load is None:
        yield fact("load_not_stated", "info")
    else:
        yield fact(
            "load_stated",
            "info",
            load=force(case.design_load),
            ultimate=number(case.load_factor),
            yielding=number(case.yield_factor),
            separation=number(case.separation_factor),
        )
        if case.fitting_factor > 1:
            yield fact("load_fitting", "info", factor=number(case.fitting_factor))
        if case.load_factor_source:
            yield fact("load_factors_source", "info", source=str(case.load_factor_source))
    if tightened is not None:
        friction = tightened.inputs.thread["repaired"]
        values: dict[str, Value] = {"low": number(friction.low), "high": number(friction.high)}
        if tightened.inputs.torque_nm is not None:
            stated = torque(tightened.inputs.torque_nm)
            yield fact("torque_stated", "info", torque=stated, **values)
        elif tightened.inputs.preload is not None:
            stated = force(tightened.inputs.preload)
            yield fact("preload_stated", "info", preload=stated, **values)


def as_found(study: Study) -> Markdown:
    """The hole as found; which metal is meant, whose values are used, how strong it has to be."""
    metal = f"**Parent material.** {sentences(study, study.metal)}"
    if study.conclusion.failed:
        metal = f"**Other repairs.** {sentences(study, [options(study.alternatives)])}\n\n{metal}"
    if not study.hole:
        return Markdown(metal)
    return Markdown(f"**Hole as found.** {sentences(study, study.hole)}\n\n{metal}")


def confidence(study: Study) -> Markdown:
    """How far the published methods agree, and what a departure from the standard's table is."""
    if not study.holds_insert:
        return Markdown("")
    text = f"**Confidence.** {sentences(study, study.confidence)}"
    notes = sentences(study, _notes(study))
    return Markdown(f"{text}\n\n{notes}" if notes else text)


def _notes(study: Study) -> Iterator[Fact]:
    for number_, each in enumerate(study.criteria, start=1):
        if each.id == "table_length" and each.met is False:
            factor = each.values["factor"]
            known = isinstance(factor, Quantity) and math.isfinite(factor.value)
            yield (
                fact("note_table_length", "info", number=count(number_), factor=factor)
                if known
                else fact("note_table_length_alone", "info", number=count(number_))
            )


#: Which acceptance limits stand in one line.
_GROUPS = {
    "hole": (
        "edge_distance", "boss_diameter", "part_thickness", "minor_diameter", "pitch_diameter",
        "drilled_depth", "full_thread",
    ),
    "insert": ("set_down",),
    "screw": ("screw_reach", "screw_major_diameter", "screw_pitch_diameter"),
}  # fmt: skip


def conditions(study: Study) -> Markdown:
    """Number what the stated strength rests on: acceptance limits, torque, open criteria."""
    if not study.holds_insert:
        return Markdown(sentences(study, [fact("no_conditions", "info")]))
    system = words.sizes_in(study.case.report_units, study.sheet.thread.system)
    assumed = {each.id: each for each in study.sheet.assumed}
    lines = [
        f"{words.term(Term('limits', group))}: "
        + "; ".join(
            escape.markdown(
                f"{words.term(Term('limit', id_))} {words.limits(assumed[id_], system=system)}"
            )
            for id_ in ids
            if id_ in assumed
        )
        + "."
        for group, ids in _GROUPS.items()
        if any(id_ in assumed for id_ in ids)
    ]
    lines += [sentences(study, [each]) for each in _settled(study)]
    return numbered(lines)


def _settled(study: Study) -> Iterator[Fact]:
    if study.preloads is not None:
        state = study.preloads.repaired
        set_torque = torque(float(state.preload.tightened.torque_nm))
        if state.window is not None:
            yield fact("condition_torque", "info", torque=set_torque, window=state.window)
        elif math.isnan(state.window_nm[1]):
            yield fact("condition_torque_alone", "info", torque=set_torque)
        else:
            yield fact("condition_no_torque", "limit", torque=set_torque)
    yield from _criteria(study)


def _criteria(study: Study) -> Iterator[Fact]:
    waiting = study.conclusion.conditions
    if waiting and study.holds_insert:
        yield fact(
            f"condition_criteria_{'several' if len(waiting) > 1 else 'one'}",
            "caution",
            **named(waiting),
        )


def named(found: tuple[tuple[int, str], ...]) -> dict[str, Value]:
    """Return numbers and names of criteria as a sentence lists them."""
    return {
        "numbers": tuple(count(n) for n, _ in found),
        "criteria": tuple(Term("criterion", id_) for _, id_ in found),
    }


def open_points(study: Study) -> Markdown:
    """What is open before the report is issued as final."""
    found = study.open_points or (fact("nothing_open", "info"),)
    text = " ".join(
        f"({chr(ord('a') + at)}) {sentences(study, [each])}" for at, each in enumerate(found)
    )
    return Markdown(f"**Open before issue as final.** {text}")


def not_covered(study: Study) -> Markdown:
    """What the calculation says nothing of, and that it authorises nothing."""
    left_out, standing = (
        sentences(study, [fact(name, "caution")]) for name in ("not_covered", "does_not_authorise")
    )
    return Markdown(f"**Not covered.** {left_out} **{standing}**")
