"""A letter to the customer: what was asked, the conclusion, three numbers, what is open."""

from __future__ import annotations

from IPython.display import Markdown

from ...alternatives import summary as options
from ...facts import fact
from ...study import Criterion, Study
from ...study.shown import criterion_row
from ...study.submission import minimum_margin
from ..figure import ReportTable, SignOff
from .conclusion import insert, sentences
from .layout import table


def asked(study: Study) -> Markdown:
    """What was asked, and what was done to answer it."""
    joint = study.evaluation.joint
    question = fact(
        "letter_asked",
        "info",
        thread=joint.thread.designation,
        parent=joint.parent.label,
        **insert(study),
    )
    return Markdown(sentences(study, [question, fact("letter_answer", "info")]))


def answer(study: Study) -> Markdown:
    """The conclusion, set apart, with whether the joint is as strong as before."""
    first, *rest = study.statements
    said = [*rest[:2], *([options(study.alternatives)] if study.conclusion.failed else [])]
    text = f"**{sentences(study, [first])}** {sentences(study, said)}"
    return Markdown(f"::: {{.conclusion .{study.conclusion.id.replace('_', '-')}}}\n{text}\n:::")


def numbers(study: Study) -> ReportTable:
    """The three numbers that matter: strength, minimum margin, torque or engaged length."""
    system = study.case.report_units
    return table("three-numbers", [criterion_row(each, system) for each in _three(study)])


def _three(study: Study) -> tuple[Criterion, ...]:
    by_id = {each.id: each for each in study.criteria}
    if not study.holds_insert:
        return (by_id["stripping_strength"], *(each for each in study.criteria if each.refuses))
    margin = minimum_margin(study) or by_id["margins"]
    last = by_id.get("torque_window") or by_id["screw_first"]
    return by_id["stripping_strength"], margin, last


def enclosed(study: Study) -> Markdown:
    """What goes with the letter."""
    case = study.case
    document = " ".join(
        filter(None, (case.document, case.revision and f"revision {case.revision}"))
    )
    if not case.document:
        return Markdown(sentences(study, [fact("letter_enclosed_plain", "info")]))
    return Markdown(sentences(study, [fact("letter_enclosed", "info", document=document)]))


def signature(study: Study) -> SignOff:
    """Room for those who sign."""
    case = study.case
    return SignOff(
        {"Prepared by": case.prepared_by, "Checked by": case.checked_by,
         "Approved by": case.approved_by}
    )  # fmt: skip
