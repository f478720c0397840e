"""The first page of a design review: what the board is shown, and what it is asked."""

from __future__ import annotations

import math
from collections.abc import Iterator

from IPython.display import Markdown

from ...facts import Fact, Term, Value, count, fact, force, number, temperature
from ...joint.margins import Margin
from ...joint.records import EQUAL
from ...study import Study
from ...study.shown import least_margins, option_name
from ..figure import ReportTable
from .conclusion import insert, named, numbered, sentences
from .layout import table


def disposition(study: Study) -> Markdown:
    """What is proposed, and the conclusion that it rests on."""
    refused = study.conclusion.id == "does_not_support"
    proposed = (
        fact("proposed_none", "limit")
        if refused
        else fact("proposed_repair", "info", **insert(study))
    )
    first, *rest = study.statements
    text = f"**{sentences(study, [first])}** {sentences(study, [proposed, *rest])}"
    return Markdown(f"::: {{.conclusion .{study.conclusion.id.replace('_', '-')}}}\n{text}\n:::")


def modes_table(study: Study) -> ReportTable | Markdown:
    """Tabulate the minimum margin of each failure mode in both conditions."""
    rows = [
        (
            id_,
            *(_margin(of_mode.get(state)) for state in ("original", "repaired")),
            (of_mode.get("repaired") or of_mode["original"]).load_case,
        )
        for id_, of_mode in least_margins(study.margins).items()
    ]
    if not rows:
        return Markdown(sentences(study, [fact("adequacy_not_assessed", "caution")]))
    return table("modes-least", rows)


def _margin(found: Margin | None) -> float | str | None:
    if found is None:
        return None
    return "not assessed" if math.isnan(found.margin) else found.margin


def options_table(study: Study) -> ReportTable:
    """Tabulate the insert of the case and what else is acceptable; section Options has all."""
    system = study.case.report_units
    own = study.evaluation.joint.insert_length / study.evaluation.joint.thread.major
    rows = [
        {"name": option_name(each, system), "option": each}
        for each in study.alternatives
        if each.is_acceptable or (each.kind == "wire-insert" and abs(each.diameters - own) < EQUAL)
    ]
    return table("options", rows, system)


def decisions(study: Study) -> Markdown:
    """Number what the board is asked to decide."""
    return numbered(sentences(study, [each]) for each in _decisions(study))


def _decisions(study: Study) -> Iterator[Fact]:
    drawn = study.conclusion
    if drawn.failed:
        many = "several" if len(drawn.failed) > 1 else "one"
        yield fact(f"decide_refused_{many}", "limit", **named(drawn.failed))
    for at, id_ in drawn.conditions if study.holds_insert else ():
        each = study.criteria[at - 1]
        if id_ == "table_length" and each.required is not None and each.repaired is not None:
            yield fact(
                "decide_table_length", "caution", repaired=each.repaired, required=each.required
            )
        elif id_ != "values_verified":
            criterion = Term("criterion", id_)
            yield fact("decide_criterion", "caution", number=count(at), criterion=criterion)
    yield from _small_margin(study)
    loads = [each.repaired for each in study.methods if each.comparable]
    if len(loads) > 1 and study.holds_insert:
        ends = {"lowest": force(min(loads)), "highest": force(max(loads))}
        yield fact("decide_method", "info", **ends)


#: A minimum margin below which the board is asked about it: a tenth of the demand. Our choice.
SMALL = 0.1


def _small_margin(study: Study) -> Iterator[Fact]:
    for id_, of_mode in least_margins(study.margins).items():
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
    found = fact(
        "basis",
        "info",
        position=study.evaluation.joint.tolerance_position.replace("-", " "),
        temperature=temperature(study.case.temperature),
    )
    return Markdown(sentences(study, [found]))
