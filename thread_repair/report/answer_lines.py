"""The answer to one line of words: what each line says, as facts read from the study."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Iterator

from .. import alternatives as options
from .. import materials, words
from ..alternatives import Alternative
from ..facts import Fact, Range, Size, Term, Value, fact, force, length, number, temperature, torque
from ..joint.required import screw_load
from ..study import Study
from ..study.answer import Answered

#: Widest line, and width of the labels.
_WIDE, _LABEL = 110, 12


def text(answer: Answered) -> str:
    """Return the answer as a terminal shows it, in at most fifteen lines."""
    study = answer.study
    thread, case = study.sheet.thread, study.case
    system = "inch" if case.report_units == "inch" else "SI"  # no room for both
    shown = [f"{thread.designation} in {case.parent}, screw {case.screw}"]
    for label, found in _lines(answer):
        shown += textwrap.wrap(
            " ".join(words.sentence(each, system=system) for each in found),
            _WIDE,
            initial_indent=f"{label:<{_LABEL}}",
            subsequent_indent=" " * _LABEL,
            break_on_hyphens=False,
        )
    return "\n".join((*shown, "A calculation for review by a competent person."))


def _lines(answer: Answered) -> Iterator[tuple[str, tuple[Fact, ...]]]:
    """Yield each line: its label and its facts."""
    study = answer.study
    limits = _limits(study)
    yield "Assumed", (fact("asked_assumed", "info", assumed=tuple(_assumed(answer))),)
    yield "Conclusion", tuple(_conclusion(study))
    if not study.holds_insert:
        yield "Hole", study.hole
        yield "Instead", (options.summary(study.alternatives),)
        return
    yield "Insert", (_insert(study, limits),)
    yield "Drill", tuple(_drill(study, limits))
    yield "Tap", (_tap(study, limits),)
    yield "Screw", tuple(_screw(study, limits))
    weaker = study.statements[2]
    yield "Stripping", (fact(f"asked_{weaker.id}", weaker.level, **weaker.values),)
    yield "Torque", (_torque(answer),)
    if study.conclusion.id == "does_not_support":
        yield "Instead", (options.summary(study.alternatives),)
    if changes := tuple(_changes(study)):
        yield "Limits", changes


def _limits(study: Study) -> dict[str, Range]:
    found = (*study.sheet.assumed, *(each for s in study.sheet.steps for each in s.limits))
    return {each.id: each for each in found}


#: Keys whose assumption a line of its own shows.
_ELSEWHERE = ("insert_length", "tap", "report_units", "insert_kind", "friction")


def _assumed(answer: Answered) -> Iterator[Fact]:
    case = answer.study.case
    for key in answer.asked.assumed:
        if key not in _ELSEWHERE:
            yield fact(f"asked_{key}", "info", **_value(answer.study, key))
    named = materials.designation(case.parent)
    if named.relation != "id":
        yield fact("asked_parent", "info", row=named.parent.id)
    if case.boss_diameter is None:
        yield fact("asked_thick", "info")


def _value(study: Study, key: str) -> dict[str, Value]:
    case = study.case
    if key == "temperature":
        return {"value": temperature(case.temperature)}
    if key in ("engagement", "hole_depth"):
        return {"value": length(getattr(case, key))}
    return {"value": str(getattr(case, key))}


def _conclusion(study: Study) -> Iterator[Fact]:
    drawn = study.conclusion
    if drawn.id == "supports_with_conditions":
        yield fact("asked_supports", "info")
        waiting = [each for each in study.criteria if each.is_condition]
        for name, met in (("asked_conditions", False), ("asked_not_assessed", None)):
            named = tuple(Term("criterion", each.id) for each in waiting if each.met is met)
            if named:
                yield fact(name, "info", criteria=named)
    elif drawn.id == "supports":
        yield study.statements[0]
    else:
        yield fact("asked_refused", "limit", **study.statements[0].values)
        yield _own(study).reasons[0]
    if study.load_cases and not drawn.failed:
        yield study.statements[1]


def _own(study: Study) -> Alternative:
    """Return the insert of the case among the options."""
    diameters = study.evaluation.joint.insert_length / study.evaluation.joint.thread.major
    return min(
        (each for each in study.alternatives if each.kind == "wire-insert"),
        key=lambda each: abs(each.diameters - diameters),
    )


def _insert(study: Study, limits: dict[str, Range]) -> Fact:
    joint, case = study.evaluation.joint, study.case
    return fact(
        "asked_insert",
        "info",
        length=length(joint.insert_length),
        diameters=number(joint.insert_length / joint.thread.major),
        kind=case.insert_kind,
        wire=study.sheet.choices["wire"].option,
        set_down=limits["set_down"],
    )


#: So many drills fit the line; the hole sheet names all.
_DRILLS = 3


def _drill(study: Study, limits: dict[str, Range]) -> Iterator[Fact]:
    (drill,) = (each for each in study.sheet.steps if each.id == "drill")
    inch = study.case.report_units == "inch"
    sizes = drill.values["drills"]
    assert isinstance(sizes, tuple)
    own = [each for each in sizes if isinstance(each, Size) and (each.system == "inch") == inch]
    yield fact("asked_drill", "info", limits=limits["hole_diameter"], drills=tuple(own[:_DRILLS]))
    if "drilled_depth" in limits:
        yield fact("asked_depth", "info", limits=limits["drilled_depth"])


def _tap(study: Study, limits: dict[str, Range]) -> Fact:
    return fact(
        "asked_tap",
        "info",
        tap=study.sheet.choices["tap"].name,
        hole_class=study.sheet.hole.hole_class,
        full=limits["full_thread"],
    )


def _screw(study: Study, limits: dict[str, Range]) -> Iterator[Fact]:
    joint = study.evaluation.joint
    yield fact(
        "asked_screw_load",
        "info",
        low=force(screw_load(joint, "weakest")),
        high=force(screw_load(joint, "strongest")),
    )
    if "screw_reach" in limits:
        yield fact("asked_reach", "info", limits=limits["screw_reach"])


def _torque(answer: Answered) -> Fact:
    found, case = answer.tightened, answer.study.case
    state, friction = found.repaired, found.inputs.thread["repaired"]
    values: dict[str, Value] = {"low": number(friction.low), "high": number(friction.high)}
    stated = case.torque is not None or case.preload is not None
    if stated:
        values["torque"] = torque(float(state.preload.tightened.torque_nm))
    name = "asked_torque" if stated else "asked_no_torque"
    if state.window is not None:
        return fact(f"{name}_window", "info", window=state.window, **values)
    known = not math.isnan(state.window_nm[1])
    return fact(f"{name}_{'none' if known else 'unknown'}", "limit", **values)


def _changes(study: Study) -> Iterator[Fact]:
    """What would change the answer: the next shorter insert, and the length engaged."""
    shorter = [
        each
        for each in study.alternatives
        if each.kind == "wire-insert"
        and each.diameters < _own(study).diameters
        and not each.is_acceptable
    ]
    if shorter and study.conclusion.id != "does_not_support":
        nearest = shorter[-1]
        assert nearest.size is not None
        yield fact("asked_shorter", "info", size=nearest.size, reason=nearest.reasons[0])
    yield from _engaged(study)
    if not study.load_cases and not study.conclusion.failed:
        return  # it then rests on no strength, and there is nothing to say
    least = study.minimum_parent
    if least.outcome != "no_load":
        yield fact(f"asked_parent_{least.outcome}", "info", **least.fact.values)


def _engaged(study: Study) -> Iterable[Fact]:
    (screw,) = (each for each in study.criteria if each.id == "screw_first")
    if screw.required is None or screw.repaired is None or math.isnan(screw.required.value):
        return ()
    values = {"required": screw.required, "there": screw.repaired}
    return (fact(f"asked_screw_{'first' if screw.met else 'last'}", "info", **values),)
