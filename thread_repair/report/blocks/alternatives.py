"""Which other repairs were considered, and why not."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ... import words
from ...alternatives import Alternative, dispositions, summary
from ...facts import Term, mode, number
from ...study import Study
from ...study.shown import option_name
from ..figure import ReportTable
from .cells import cell, diameter, head
from .comparison import passage
from .places import place

if TYPE_CHECKING:
    from IPython.display import Markdown


def alternatives_table(study: Study, *, drill: bool = False) -> ReportTable:
    """Tabulate every option with its numbers, its assessment and the main reason.

    With `drill` also the limits that the hole is drilled to.
    """
    system = study.case.report_units
    rows = [
        (
            option_name(option, system),
            _cell(option.pull_out, "force", system),
            _margin(option),
            _number(option.edge_ratio),
            _cell(option.drilled, "length", system),
            *([_drill(option, system)] if drill else []),
            words.term(Term("assessment", option.assessment)),
            words.sentence(option.reasons[0], system=system),
        )
        for option in study.alternatives
    ]
    heads = [
        "Option",
        head("Stripping strength", "force", system),
        "Minimum margin of safety",
        "Edge / D",
        head("Drilled depth", "length", system),
        *([head("Drill", "length", system)] if drill else []),
        "Assessment",
        "Main reason",
    ]
    return ReportTable(
        heads,
        rows,
        caption="Alternatives, assessed to the same criteria. D: major diameter of the tapped "
        "hole; drilled depth: minimum, with a bottoming tap; a dash: no value",
        label="alternatives",
        alignment=["left", *["right"] * (len(heads) - 3), "left", "left"],
    )


def _cell(value: float, dimension: str, system: str) -> str:
    return "–" if math.isnan(value) else cell(value, dimension, system)


def _number(value: float) -> str:
    return "–" if math.isnan(value) else words.quantity(number(value))


def _margin(option: Alternative) -> str:
    name, margin = option.least_margin
    if math.isnan(margin):
        return "–"
    return f"{words.quantity(number(margin), how='signed')} ({words.term(mode(name))})"


def _drill(option: Alternative, system: str) -> str:
    least, most = option.drill
    if math.isnan(least):
        return "–"
    return f"{diameter(least, system)} to {diameter(most, system)}"


def alternatives_passage(study: Study) -> Markdown:
    """Say which option is proposed and which others are acceptable."""
    return passage(words.sentence(summary(study.alternatives), system=study.case.report_units))


def dispositions_table() -> ReportTable:
    """Tabulate when the trade takes each option, with the source."""
    rows = [
        (words.term(Term("option", each.option), "title"), each.usual, place(each.reference))
        for each in dispositions().values()
    ]
    return ReportTable(
        ["Option", "Usual application", "Source, clause (basis)"],
        rows,
        caption="Usual order of repair methods",
        label="dispositions",
    )
