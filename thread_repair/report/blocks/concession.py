"""The request to depart from the drawing: the fields that such forms have in common.

Fields of DD Form 1694 as its published field list names them (read); forms of other customers have
the same under other names (common practice, no published source). What only a person can answer
is left blank.
"""

from __future__ import annotations

from ... import words
from ...study import Study
from ...units import number
from ..figure import FillIn, ReportTable
from .cells import load_case_words, mode_words, state_words
from .layout import table
from .workshop import insert_words

_REQUESTS = {
    "concession": "concession (after manufacture)",
    "deviation": "deviation permit (before manufacture)",
}

#: What a form asks and this calculation cannot answer.
_EFFECTS = (
    "Interchangeability and other parts",
    "Service life, maintenance, spares",
    "Corrosion, fatigue, safety",
    "Documents, tools and software",
    "Cost and delivery",
)

_DECIDERS = ("Originator", "Stress", "Quality", "Design authority", "Customer")


def request_table(study: Study) -> ReportTable:
    """What is asked for: the head of the form. A field without an entry is left to be written."""
    case = study.case
    rows = [
        ("Request", _REQUESTS[case.request]),
        ("Contract or order", case.order),
        ("Part and drawing", case.item),
        ("Serial numbers", case.serials),
        ("Number of holes", f"{case.quantity}"),
        ("Affected requirement", case.requirement),
        ("Recurring", case.recurring),
        ("Classification", "" if case.classification == "open" else case.classification),
    ]
    return table("request", rows)


def description_table(study: Study) -> ReportTable:
    """What was found, what is proposed instead, and what prevents it from happening again."""
    case = study.case
    rows = [
        ("Damage as found", case.damage),
        ("Proposed repair", _repair(study)),
        ("Scope", case.scope),
        ("Corrective action", case.corrective_action),
    ]
    return table("request", rows)


def _repair(study: Study) -> str:
    title = words.sentence(study.sheet.title, system=study.case.report_units)
    return (
        f"{title}, {insert_words(study)}. To be made and inspected according to the hole "
        "preparation sheet of the same document."
    )


def strength_table(study: Study) -> ReportTable:
    """Both states in the numbers that a decision rests on."""
    evaluation = study.evaluation
    rows: list[dict[str, object]] = []
    for name, state in evaluation.states.items():
        own = min(
            (m for m in study.margins if m.state == name), key=lambda m: m.margin, default=None
        )
        rows.append(
            {
                "name": state_words(name),
                "engaged": state.engagement,
                "pull_out": state.pull_out,
                "strength": state.strength,
                "mode": mode_words(state.governing_mode),
                "margin": None if own is None else own.margin,
                "load_case": "" if own is None else load_case_words(own),
            }
        )
    ratios = {"pull_out": evaluation.pull_out_ratio, "strength": evaluation.strength_ratio}
    last = {key: number(each) for key, each in ratios.items()}
    blank = dict.fromkeys(("engaged", "mode", "margin", "load_case"), "")
    rows.append({"name": "repaired / original", **blank, **last})
    return table("strengths", rows, study.case.report_units)


def effects() -> FillIn:
    """Ask about the effects that no calculation of strength can see."""
    return FillIn(table("effects-else", [(effect, "☐", "") for effect in _EFFECTS]))


def decision() -> FillIn:
    """Leave room for those who decide: nothing is filled in, not even a name."""
    choice = "☐ accepted  ☐ accepted with conditions  ☐ rejected"
    return FillIn(table("decision", [(who, choice, "", "", "") for who in _DECIDERS]))
