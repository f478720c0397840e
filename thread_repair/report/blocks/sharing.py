"""Load sharing of both states, as a figure, a table and words."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ...facts import Term
from ...joint.sharing import JointSharing, sharing_facts
from ...strength.sharing.statements import published_statements
from ...study import Study
from ...units import number, percent
from .. import escape
from ..figure import ReportFigure, ReportTable
from .cells import sentences
from .comparison import passage
from .layout import figure, table
from .lost import in_sound_metal

if TYPE_CHECKING:
    from IPython.display import Markdown


@in_sound_metal
def sharing_figure(study: Study) -> ReportFigure:
    """Draw the load of each thread in both states."""
    found = study.sharing
    pitch = study.evaluation.joint.thread.pitch
    told = "; ".join(
        f"{name}: {percent(float(each.shown.first_thread_share))} on the first of "
        f"{number(each.engagement / pitch)} threads, the maximum line load "
        f"{number(float(each.shown.peak_over_mean))} times the mean"
        for name, each in found.items()
    )
    support = Term("support", found["original"].boundary)
    return figure("sharing", study.plot.sharing()[0], support=support, told=told)


@in_sound_metal
def sharing_table(study: Study) -> ReportTable:
    """Tabulate how the load is shared, what that asks of the parent and what it costs."""
    rows = [
        {
            "state": name,
            "support": boundary,
            "coil": "slides" if sliding else "sticks" if name == "repaired" else "none",
            "shown": shown,
            "known": None if math.isnan(each.ductility_capacity) else shown,
        }
        for name, each in study.sharing.items()
        for sliding, found in ((False, each.by_boundary), (True, each.sliding))
        for boundary, shown in found.items()
    ]
    return table("sharing", rows, study.case.report_units)


@in_sound_metal
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
        f"{name}, required slip ratio {number(each.ductility_demand)}, available "
        f"{number(each.ductility_capacity)}, load efficiency {percent(each.efficiency)}"
    )


def statements_table() -> ReportTable:
    """Tabulate what others have published of the load sharing."""
    return table("sharing-statements", published_statements())
