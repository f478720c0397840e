"""Load sharing of both states, as a figure, a table and words."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ...case import Case
from ...joint.sharing import JointSharing, sharing_facts
from ...strength.sharing.statements import published_statements
from ...strength.sharing.states import StateSharing
from ...study import Study
from ...units import number, percent
from .. import escape
from ..figure import ReportFigure, ReportTable
from .cells import cell, head, sentences, state_words
from .comparison import passage
from .places import place

if TYPE_CHECKING:
    from IPython.display import Markdown

_SUPPORT = {
    "compression": "pressed on its face",
    "tension": "supported at its base",
}


def sharing_figure(study: Study) -> ReportFigure:
    """Draw the load of each thread in both states."""
    found = study.sharing
    pitch = study.evaluation.joint.thread.pitch
    words = "; ".join(
        f"{name}: {percent(each.shown.first_thread_share)} on the first of "
        f"{number(each.engagement / pitch)} threads, the maximum line load "
        f"{number(float(each.shown.peak_over_mean))} times the mean"
        for name, each in found.items()
    )
    return ReportFigure(
        study.plot.sharing()[0],
        caption="Load of each engaged thread before any of them yields, from the joint face, with "
        f"the parent {_SUPPORT[found['original'].boundary]}. Filled: no slip of the coil.",
        alt=f"Steps that fall from the joint face inwards. {words}.",
        label="sharing",
    )


def sharing_table(study: Study) -> ReportTable:
    """Tabulate how the load is shared, what that asks of the parent and what it costs."""
    case = study.case
    rows = []
    for name, each in study.sharing.items():
        for boundary, shown in each.by_boundary.items():
            rows.append(_row(case, name, each, boundary, shown, sliding=False))
        for boundary, shown in each.sliding.items():
            rows.append(_row(case, name, each, boundary, shown, sliding=True))
    return ReportTable(
        [
            "State",
            "Parent",
            "Coil",
            "First thread",
            "Peak over mean",
            "Required slip ratio",
            "Available slip ratio",
            "Load efficiency",
            head("Useful length", "length", case.report_units),
        ],
        rows,
        caption="Load sharing. Slip ratio: slip over slip at yield, required of the most loaded "
        "thread for uniform sharing and available at rupture. Load efficiency: uniform sharing "
        "is 100 %. Beyond the useful length the load rises by less than 1 %",
        label="sharing",
        alignment=["left", "left", "left", *["right"] * 6],
    )


def _row(
    case: Case, name: str, each: JointSharing, boundary: str, shown: StateSharing, *, sliding: bool
) -> tuple[str, ...]:
    known = not math.isnan(each.ductility_capacity)
    coil = "slides" if sliding else ("sticks" if name == "repaired" else "none")
    return (
        state_words(name),
        _SUPPORT[boundary],
        coil,
        percent(shown.first_thread_share),
        number(float(shown.peak_over_mean)),
        number(float(shown.ductility_demand)),
        number(float(shown.ductility_capacity)) if known else "–",
        percent(shown.efficiency) if known else "–",
        cell(float(shown.useful_length), "length", case.report_units) if known else "–",
    )


def sharing_passage(study: Study) -> Markdown:
    """Say what the sharing means for the lengths of this case."""
    found = study.sharing
    said = sharing_facts(found)
    if not said:
        text = "; ".join(_enough(name, each) for name, each in found.items())
        return passage(f"The parent material is ductile enough for the engaged lengths: {text}.")
    from IPython.display import Markdown

    return Markdown("\n".join(f"- {escape.markdown(text)}" for text in sentences(study, said)))


def _enough(name: str, each: JointSharing) -> str:
    return (
        f"{name}, {number(each.ductility_demand)} times the slip at yield asked for, "
        f"{number(each.ductility_capacity)} at hand, {percent(each.efficiency)} of a perfect share"
    )


def statements_table() -> ReportTable:
    """Tabulate what others have published of the load sharing."""
    rows = [(each.text, place(each.reference)) for each in published_statements()]
    return ReportTable(
        ["Statement", "Source, clause (basis)"],
        rows,
        caption="Published statements on load sharing, for screws in nuts unless stated otherwise",
        label="sharing-statements",
    )
