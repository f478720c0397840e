"""The answer to one line of words: what each line says, as facts read from the study."""

import math
import textwrap
from collections.abc import Iterable, Iterator, Mapping

from .. import alternatives, materials, words
from ..case import understood
from ..facts import Fact, Range, Size, Term, Value, fact, force, length, number, torque
from ..joint.lengths import screw_load
from ..joint.records import EQUAL
from ..study import Study
from ..study.answer import Answered
from ..tightening import STATED_TORQUE

#: Widest line, and width of the labels.
_WIDE, _LABEL = 100, 12


def text(answer: Answered) -> str:
    """Return the answer as a terminal shows it: some fifteen lines, and who has to agree."""
    system = "inch" if answer.study.case.report_units == "inch" else "SI"  # no room for both
    read = fact("asked_stated", stated=tuple(_stated(answer)))
    shown = list[str]()
    for label, found in (("", (read,)), *_lines(answer)):
        shown += textwrap.wrap(
            " ".join(words.sentence(each, system=system) for each in found),
            _WIDE,
            initial_indent=f"{label:<{_LABEL}}" if label else "",
            subsequent_indent=" " * _LABEL,
            break_on_hyphens=False,
        )
    return "\n".join((*shown, "A calculation for review by a competent person."))


def _lines(answer: Answered) -> Iterator[tuple[str, Iterable[Fact]]]:
    """Yield each line: its label and its facts."""
    study = answer.study
    joint, sheet = study.evaluation.joint, study.sheet
    found = (*sheet.assumed, *(each for step in sheet.steps for each in step.limits))
    limits = {each.id: each for each in found}
    assumed = fact("asked_assumed", assumed=tuple(_assumed(answer)))
    yield "Assumed", (assumed, *_idle(study))
    yield "Conclusion", _conclusion(study)
    if study.agreed_first:
        yield "Before", study.agreed_first
    if not study.holds_insert:
        yield "Hole", study.hole
        yield "Instead", (alternatives.summary(study.alternatives),)
        return
    insert = fact(
        "asked_insert",
        length=length(joint.insert_length),
        diameters=number(_diameters(study)),
        kind=study.case.insert_kind,
        wire=sheet.choices["wire"].option,
        set_down=limits["set_down"],
    )
    yield "Insert", (insert,)
    yield "Drill", _drill(study, limits)
    tap, hole_class = sheet.choices["tap"].name, sheet.hole.hole_class
    full = limits["full_thread"]
    yield "Tap", (fact("asked_tap", tap=tap, hole_class=hole_class, full=full),)
    low, high = (force(screw_load(joint, each)) for each in ("weakest", "strongest"))
    reach = fact("asked_reach", limits=limits["screw_reach"])
    yield "Screw", (fact("asked_screw_load", low=low, high=high), reach)
    weaker = study.statements[2]
    # A longer insert is part of what it gains.
    engaged = {name: length(each.engagement) for name, each in study.evaluation.states.items()}
    loads = fact(f"asked_{weaker.id}", weaker.level, **weaker.values)
    yield "Stripping", (loads, fact("asked_engaged", **engaged))
    doubted = (
        each
        for each in answer.tightened.facts
        if (each.level == "limit" and each.id.endswith("_unknown"))
        or each.id == "friction_above_published"
    )
    stated = (each for each in answer.tightened.settings if each == STATED_TORQUE)
    yield "Torque", (_torque(answer), *stated, *doubted)
    if study.conclusion.id == "does_not_support":
        yield "Instead", (alternatives.summary(study.alternatives),)
    if changes := tuple(_changes(study)):
        yield "Limits", changes


#: Keys whose assumption a line of its own shows.
_ELSEWHERE = ("insert_length", "tap", "report_units", "insert_kind", "friction")
#: Keys that have their place at the head of the first line.
_SHOWN = ("thread", "parent", "screw", "report_units")


def _stated(answer: Answered) -> Iterator[Fact]:
    """Yield the joint and all else that was read, so that a slip of a unit or a word is seen."""
    case, thread = answer.study.case, answer.study.sheet.thread
    yield fact("asked_joint", thread=thread.designation, parent=case.parent, screw=case.screw)
    classes = {each: getattr(thread, each) for each in ("hole_class", "screw_class")}
    read = {**classes, **understood(case)}
    said = [each.key for each in answer.asked.tokens if each.key not in _SHOWN]
    for key in dict.fromkeys((*(each for each in classes if classes[each]), *said)):
        yield fact("asked_said", name=words.input_name(key).lower(), value=read[key])


#: Open points that say by what the parent may be weaker than assumed.
_WEAKER = ("open_strength_", "casting_separately_cast", "part_thicker_than_product")


def _assumed(answer: Answered) -> Iterator[Fact]:
    case = answer.study.case
    for key in answer.asked.assumed:
        if key not in _ELSEWHERE:
            yield fact(f"asked_{key}", value=understood(case)[key])
    named = materials.designation(case.parent)
    if named.relation != "id":
        yield fact("asked_parent", row=named.parent.id)
    for each in answer.study.open_points:
        if each.id.startswith(_WEAKER):
            yield fact(f"asked_{each.id.removeprefix('open_')}", "caution", **each.values)
    if case.boss_diameter is None:
        yield fact("asked_thick")


def _idle(study: Study) -> Iterator[Fact]:
    """Yield what was entered for nothing, or may mean something else than it is read as.

    Without a torque its keys still give the window.
    """
    for each in study.evaluation.facts:
        told = each.id.startswith("read_") or each.id == "without_effect"
        if told and each.values.get("needs") != "torque or preload":
            yield each


def _conclusion(study: Study) -> Iterator[Fact]:
    drawn = study.conclusion
    if drawn.id == "supports_with_conditions":
        yield fact("asked_supports")
        for name, met in (("asked_conditions", False), ("asked_not_assessed", None)):
            waiting = (each for each in study.criteria if each.is_condition and each.met is met)
            named = tuple(Term("criterion", each.id) for each in waiting)
            if named:
                yield fact(name, criteria=named)
    elif drawn.id == "supports":
        yield study.statements[0]
    else:
        yield fact("asked_refused", "limit", **study.statements[0].values)
        inserts = (each for each in study.alternatives if each.kind == "wire-insert")
        own = _diameters(study)
        yield min(inserts, key=lambda each: abs(each.diameters - own)).reasons[0]
    if study.load_cases and not drawn.failed:
        yield study.statements[1]


def _diameters(study: Study) -> float:
    return study.evaluation.joint.insert_length / study.evaluation.joint.thread.major


#: So many drills fit the line; the hole sheet names all.
_DRILLS = 3


def _drill(study: Study, limits: Mapping[str, Range]) -> Iterator[Fact]:
    (drill,) = (each for each in study.sheet.steps if each.id == "drill")
    system = "inch" if study.case.report_units == "inch" else "SI"
    sizes = drill.values["drills"]
    assert isinstance(sizes, tuple)
    own = [each for each in sizes if isinstance(each, Size) and each.system == system]
    yield fact("asked_drill", limits=limits["hole_diameter"], drills=tuple(own[:_DRILLS]))
    if "drilled_depth" in limits:
        yield fact("asked_depth", limits=limits["drilled_depth"])


def _torque(answer: Answered) -> Fact:
    found, case = answer.tightened, answer.study.case
    state = found.repaired
    values: dict[str, Value] = {"friction": found.inputs.thread["repaired"].limits}
    name = "asked_no_torque_of" if case.friction or case.insert_friction else "asked_no_torque"
    if case.torque is not None or case.preload is not None:
        name = "asked_preload" if case.torque is None else "asked_torque"
        values["torque"] = torque(float(state.preload.tightened.torque_nm))
    if state.window is not None:
        values["window"] = state.window
    if not state.by_torque:
        name, values["preload"] = "asked_preload_by_tool", state.set_to
    level = "info" if "window" in values else "limit"
    return fact(f"{name}_{state.permissible}", level, **values)


def _changes(study: Study) -> Iterator[Fact]:
    """What would change the answer: the next shorter insert, and the length engaged."""
    shorter = [
        each
        for each in study.alternatives
        if each.kind == "wire-insert"
        and each.diameters < _diameters(study) - EQUAL
        and not each.is_acceptable
    ]
    if shorter and study.conclusion.id != "does_not_support":
        nearest = shorter[-1]
        assert nearest.size is not None
        yield fact("asked_shorter", size=nearest.size, reason=nearest.reasons[0])
    (screw,) = (each for each in study.criteria if each.id == "screw_first")
    if screw.required and screw.repaired and not math.isnan(screw.required.value):
        name = f"asked_screw_{'first' if screw.met else 'last'}"
        yield fact(name, required=screw.required, there=screw.repaired)
    if not study.load_cases and not study.conclusion.failed:
        return  # it then rests on no strength, and there is nothing to say
    least = study.minimum_parent
    yield fact(f"asked_parent_{least.outcome}", **least.fact.values)
    yield from least.facts[1:]
