"""The first page of every report, and what a board and a customer are told of the same."""

import math
from collections.abc import Iterator, Mapping

from IPython.display import Markdown

from ... import words
from ...alternatives import summary as options
from ...case import understood
from ...facts import Fact, Quantity, Term, Value, count, fact, force, length, number, torque
from ...joint.records import EQUAL
from ...study import Study
from ...study.shown import criterion_row, open_heading, option_name
from ...tightening import STATED_TORQUE
from .. import escape
from ..figure import ReportTable
from .layout import boxed, numbered, passage, said, table, units


def conclusion(study: Study) -> Markdown:
    """The conclusion in bold, what it is drawn for, adequate or not, as strong or not."""
    first, *rest = study.statements
    described = _of_repair(study, f"repair_{'described' if study.holds_insert else 'intended'}")
    return boxed(study.conclusion.id, study, first, described, *rest)


def in_short(study: Study) -> Markdown:
    """The conclusion, the criteria that are a condition of it and what was found, for a sheet."""
    first, *rest = study.statements
    refused = [] if study.sheet_released else [fact("sheet_not_for_use", "limit")]
    refused += (each for each in study.evaluation.facts if each.id in ACCEPTED)
    more = said(study, *(each for each in rest if each.id in TOLD), *_criteria(study))
    drawn = " ".join(filter(None, (f"**{said(study, first, *refused)}**", more)))
    return Markdown(f"{drawn}\n\n{as_found(study).data}")


#: Statements that whoever makes the repair must know: nothing holds the insert, tests contradict.
TOLD = ("hole_spoiled", "hole_cracked", "tests_against")


def _of_repair(study: Study, id_: str) -> Fact:
    """Return a fact that names thread, parent and insert of the repair."""
    joint = study.evaluation.joint
    return fact(
        id_,
        thread=joint.thread.designation,
        parent=joint.parent.label,
        insert=Term("insert", study.case.insert_kind),
        length=length(joint.insert_length),
        diameters=number(joint.insert_length / joint.thread.major),
    )


def criteria_table(study: Study, of: str = "") -> ReportTable:
    """Every criterion with what is required, what is there, and whether it is met.

    `of` names the hole, where a document has several; such a table carries no label.
    """
    rows = [
        (str(number), *criterion_row(each, units(study)))
        for number, each in enumerate(study.criteria, start=1)
    ]
    return table("criteria", rows, named=not of, of=of and f", {of}")


def loads(study: Study) -> Markdown:
    """The loads, factors, torque and friction that the margins are for."""
    return Markdown(f"**Loads.** {said(study, *stated_loads(study))}")


#: At this temperature, degC, strengths are tabulated: it is not spoken of.
_ROOM = 20.0


def stated_loads(study: Study) -> Iterator[Fact]:
    """Yield what is stated of temperature, load and torque; the sentences name keys of the case."""
    case, tightened = study.case, study.preloads
    given: Mapping[str, Value] = understood(case)
    if case.temperature != _ROOM:
        yield fact("service_temperature", **given)
    if case.temperature_min is not None:
        yield fact("lowest_temperature", **given)
    if case.design_load is None:
        yield fact("load_not_stated")
    else:
        yield fact("load_stated", **given)
        if case.fitting_factor > 1:
            yield fact("load_fitting", **given)
        if case.load_factor_source:
            yield fact("load_factors_source", **given)
    if tightened is not None:
        thread, head = tightened.inputs.thread["repaired"].limits, tightened.inputs.head.limits
        tool = tightened.inputs.tool.title
        given = {**given, "friction": thread, "head": head, "tool": tool}
        yield fact(f"{'preload' if case.torque is None else 'torque'}_stated", **given)
        if thread != head:
            yield fact("friction_elsewhere", **given)


def as_found(study: Study) -> Markdown:
    """The hole as found; which metal is meant, whose values are used, how strong it has to be."""
    parts = {
        "Hole as found": study.hole,
        "Other repairs": [options(study.alternatives)] if study.conclusion.failed else [],
        "Parent material": study.metal,
    }
    shown = [f"**{name}.** {said(study, *found)}" for name, found in parts.items() if found]
    return Markdown("\n\n".join(shown))


def confidence(study: Study) -> Markdown:
    """How far the published methods agree, and what a departure from the standard's table is."""
    if not study.holds_insert:
        return Markdown("")
    text = f"**Confidence.** {said(study, *study.confidence)}"
    return Markdown("\n\n".join(filter(None, (text, said(study, *_notes(study))))))


def _notes(study: Study) -> Iterator[Fact]:
    for n, each in enumerate(study.criteria, start=1):
        if each.id == "table_length" and each.met is False:
            factor = each.values["factor"]
            known = isinstance(factor, Quantity) and math.isfinite(factor.value)
            name = "note_table_length" if known else "note_table_length_alone"
            yield fact(name, number=count(n), factor=factor)


def conditions(study: Study) -> Markdown:
    """Number what the stated strength rests on: acceptance limits, torque, open criteria."""
    if not study.holds_insert:
        return passage(study, fact("no_conditions"))
    system = words.sizes_in(units(study), study.sheet.thread.system)
    assumed = {each.id: words.limits(each, system=system) for each in study.sheet.assumed}
    lines = []
    for group, ids in words.catalogue()["terms"]["acceptance"].items():
        found = (
            f"{words.term(Term('limit', each))} {assumed[each]}" for each in ids if each in assumed
        )
        line = "; ".join(map(escape.markdown, found))
        lines.append(f"{words.term(Term('limits', group))}: {line}.")
    shown = numbered([*lines, *(said(study, each) for each in _settled(study))])
    if not study.conclusion.failed:
        return shown
    return Markdown(f"{said(study, fact('conditions_refused', 'limit'))}\n\n{shown.data}")


#: What somebody answers for stands among the conditions, and so in the letter too.
ACCEPTED = ("negative_margins_accepted", "pull_tests_accepted")


def _settled(study: Study) -> Iterator[Fact]:
    yield from (each for each in study.evaluation.facts if each.id in ACCEPTED)
    if study.preloads is not None:
        state = study.preloads.repaired
        stated = "torque"
        values: dict[str, Value] = {"torque": torque(float(state.preload.tightened.torque_nm))}
        if state.window is not None:
            values["window"] = state.window
        if study.case.preload is not None:
            stated, values["preload"] = "preload", force(study.case.preload)
        yield fact(f"condition_{stated}_{state.permissible}", **values)
        yield from (each for each in study.preloads.settings if each == STATED_TORQUE)
    yield from _criteria(study)


def _criteria(study: Study) -> Iterator[Fact]:
    # Of a repair that must not be made none is a condition of making it.
    if study.sheet_released:
        yield from _named("condition_criteria", "caution", study.conclusion.conditions)


def _named(id_: str, level: str, found: tuple[tuple[int, str], ...]) -> Iterator[Fact]:
    """Yield a fact that lists criteria by number and name; none where there is none."""
    if found:
        yield fact(
            f"{id_}_several" if len(found) > 1 else f"{id_}_one",
            level,
            numbers=tuple(count(n) for n, _ in found),
            criteria=tuple(Term("criterion", name) for _, name in found),
        )


def open_points(study: Study) -> Markdown:
    """What is open before the report is issued as final."""
    points = enumerate(study.open_points)
    text = " ".join(f"({chr(ord('a') + n)}) {said(study, each)}" for n, each in points)
    return Markdown(f"**{open_heading(study)}** {text}")


def not_covered(*studies: Study) -> Markdown:
    """What the calculation says nothing of and who does, and that it authorises nothing."""
    stated = dict.fromkeys(each.case.fatigue_statement for each in studies)
    found = [fact("not_covered", "caution")]
    found += [fact("fatigue_stated", document=each) for each in stated if each]
    standing = said(studies[0], fact("does_not_authorise", "caution"))
    return Markdown(f"**Not covered.** {said(studies[0], *found)} **{standing}**")


# ---- what a design review board is shown and asked


def disposition(study: Study) -> Markdown:
    """What is proposed, and the conclusion that it rests on."""
    first, *rest = study.statements
    refused = study.conclusion.id == "does_not_support"
    proposed = _of_repair(study, "proposed_none" if refused else "proposed_repair")
    return boxed(study.conclusion.id, study, first, proposed, *rest)


def modes_table(study: Study) -> ReportTable | Markdown:
    """Tabulate the minimum margin of each failure mode in both conditions."""
    rows = []
    for id_, of_mode in study.least_margins.items():
        known = {
            state: "not assessed" if math.isnan(each.margin) else each.margin
            for state, each in of_mode.items()
        }
        case = (of_mode.get("repaired") or of_mode["original"]).load_case
        rows.append((id_, known.get("original"), known.get("repaired"), case))
    return table("modes-least", rows) if rows else Markdown("")


def options_table(study: Study) -> ReportTable:
    """Tabulate the insert of the case and what else is acceptable; section Options has all."""
    own = study.evaluation.joint.insert_length / study.evaluation.joint.thread.major
    rows = [
        {"name": option_name(each, units(study)), "option": each}
        for each in study.alternatives
        if each.is_acceptable or (each.kind == "wire-insert" and abs(each.diameters - own) < EQUAL)
    ]
    return table("options", rows, study)


def decisions(study: Study) -> Markdown:
    """Number what the board is asked to decide."""
    return numbered(said(study, each) for each in _decisions(study))


def _decisions(study: Study) -> Iterator[Fact]:
    yield from _named("decide_refused", "limit", study.conclusion.failed)
    for at, id_ in study.conclusion.conditions if study.sheet_released else ():
        each = study.criteria[at - 1]
        if id_ == "table_length" and each.required is not None and each.repaired is not None:
            lengths = {"repaired": each.repaired, "required": each.required}
            yield fact("decide_table_length", "caution", **lengths)
        elif id_ != "values_verified":
            name = f"decide_criterion_not_{'assessed' if each.met is None else 'met'}"
            yield fact(name, "caution", number=count(at), criterion=Term("criterion", id_))
    if study.sheet_released:
        yield from _small_margin(study)
    loads = [each.repaired for each in study.methods if each.comparable]
    if len(loads) > 1 and study.holds_insert:
        own = study.evaluation.repaired.mode("parent_thread_strip").capacity
        ends = {"reference": own, "lowest": min(loads), "highest": max(loads)}
        yield fact("decide_method", **{name: force(load) for name, load in ends.items()})


#: A minimum margin below which the board is asked about it: a tenth of the demand. Our choice.
SMALL = 0.1


def _small_margin(study: Study) -> Iterator[Fact]:
    for id_, of_mode in study.least_margins.items():
        after, before = of_mode.get("repaired"), of_mode.get("original")
        if after is None or not 0 <= after.margin < SMALL:
            continue
        values: dict[str, Value] = {"margin": number(after.margin), "mode": Term("margin", id_)}
        if before is None:
            yield fact("decide_margin_repaired", "caution", **values)
        else:
            yield fact("decide_margin", "caution", original=number(before.margin), **values)


def basis(study: Study) -> Markdown:
    """On what the numbers rest."""
    position = study.evaluation.joint.tolerance_position.replace("-", " ")
    at = understood(study.case)["temperature"]
    return passage(study, fact("basis", position=position, temperature=at))


# ---- the letter to the customer


def asked(study: Study) -> Markdown:
    """What was asked, and what was done to answer it."""
    return passage(study, _of_repair(study, "letter_asked"), fact("letter_answer"))


def answer(study: Study) -> Markdown:
    """The conclusion, set apart, with whether the joint is as strong as before."""
    other = [options(study.alternatives)] if study.conclusion.failed else []
    first, *rest = study.statements
    told = (each for at, each in enumerate(rest) if at < 2 or each.id in TOLD)
    return boxed(study.conclusion.id, study, first, *told, *other)


def numbers(study: Study) -> ReportTable:
    """The three numbers that matter: strength, minimum margin, torque or engaged length.

    Beside them what else refuses the repair; of a lost hole that and the strength alone.
    """
    by_id = {each.id: each for each in study.criteria}
    shown = [by_id["stripping_strength"]]
    if study.holds_insert:
        last = by_id.get("torque_window") or by_id["screw_first"]
        shown += [study.minimum_margin or by_id["margins"], last]
    refusing = (each for each in study.criteria if each.refuses and each not in shown)
    shown += [each for each in refusing if not each.id.startswith("margin_")]
    return table("three-numbers", [criterion_row(each, units(study)) for each in shown])


def enclosed(study: Study) -> Markdown:
    """What goes with the letter."""
    case = study.case
    name = "letter_enclosed" if case.document else "letter_enclosed_plain"
    if not study.sheet_released:
        name = f"{name}_alone"
    document = f"{case.document}{case.revision and f' revision {case.revision}'}"
    return passage(study, fact(name, document=document))


def signature(study: Study) -> ReportTable:
    """Room for those who sign."""
    roles = ("prepared_by", "checked_by", "approved_by")
    named = [(role.replace("_", " ").capitalize(), getattr(study.case, role)) for role in roles]
    return table("sign-off", [(*each, "", "") for each in named])
