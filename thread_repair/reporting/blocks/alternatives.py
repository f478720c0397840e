"""Which other repairs were considered, and why not."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ...alternatives import Alternative, dispositions, summary
from ...study import Study
from ...units import number
from ..figure import ReportTable
from .cells import cell, head
from .comparison import passage
from .places import place

if TYPE_CHECKING:
    from IPython.display import Markdown


def alternatives_table(study: Study) -> ReportTable:
    """Tabulate every option with its loads, the wall it leaves, and the verdict."""
    system = study.case.report_units
    rows = [
        (
            _name(option),
            _cell(option.pull_out, "force", system),
            _cell(option.strength, "force", system),
            _cell(option.wall, "length", system),
            number(option.edge_ratio),
            option.verdict,
        )
        for option in study.alternatives
    ]
    return ReportTable(
        [
            "Option",
            head("Pull-out", "force", system),
            head("Strength", "force", system),
            head("Wall left", "length", system),
            "Edge / D",
            "Verdict",
        ],
        rows,
        caption="Alternatives, all by the terms of the comparison. D: major diameter of the hole "
        "that is tapped. Kept: would hold as well. A dash: not known, or no rule covers it",
        label="alternatives",
        alignment=["left", "right", "right", "right", "right", "left"],
    )


def reasons_table(study: Study) -> ReportTable:
    """Tabulate why each option is chosen, kept or dropped."""
    rows = [(_name(option), option.verdict, option.reason) for option in study.alternatives]
    return ReportTable(
        ["Option", "Verdict", "Reason"],
        rows,
        caption="Why each option is chosen, kept or dropped; the original is the undamaged thread",
        label="alternatives-reasons",
    )


def _cell(value: float, dimension: str, system: str) -> str:
    return "–" if math.isnan(value) else cell(value, dimension, system)


def _name(option: Alternative) -> str:
    return f"{option.title}: {option.size}" if option.size else option.title


def alternatives_passage(study: Study) -> Markdown:
    """Say which option is taken and which would do as well."""
    return passage(summary(study.alternatives))


def dispositions_table() -> ReportTable:
    """Tabulate when the trade takes each option, with the source."""
    rows = [(each.title, each.usual, place(each.reference)) for each in dispositions().values()]
    return ReportTable(
        ["Option", "When it is taken", "Source, clause (how known)"],
        rows,
        caption="When the trade takes which repair",
        label="dispositions",
    )
