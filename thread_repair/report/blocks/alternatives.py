"""Which other repairs were considered, and why not."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ... import words
from ...alternatives import Alternative, dispositions, summary
from ...facts import mode
from ...study import Study
from ...study.shown import option_name
from ...units import signed
from ..figure import ReportTable
from .comparison import passage
from .layout import table

if TYPE_CHECKING:
    from IPython.display import Markdown


def alternatives_table(study: Study, *, drill: bool = False) -> ReportTable:
    """Tabulate every option with its numbers, its assessment and the main reason.

    With `drill` also the limits that the hole is drilled to.
    """
    system = study.case.report_units
    rows = [
        {"name": option_name(each, system), "option": each, "margin": _margin(each)}
        for each in study.alternatives
    ]
    return table("alternatives", rows, system, without=() if drill else ("Drill",))


def _margin(option: Alternative) -> str | None:
    name, margin = option.least_margin
    return None if math.isnan(margin) else f"{signed(margin)} ({words.term(mode(name))})"


def alternatives_passage(study: Study) -> Markdown:
    """Say which option is proposed and which others are acceptable."""
    return passage(words.sentence(summary(study.alternatives), system=study.case.report_units))


def dispositions_table() -> ReportTable:
    """Tabulate when the trade takes each option, with the source."""
    return table("dispositions", dispositions().values())
