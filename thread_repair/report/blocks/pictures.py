"""The figures of a report, with the numbers of its case."""

from __future__ import annotations

from ...facts import force
from ...joint import screw_tension_max
from ...study import Study
from ..figure import ReportFigure
from .layout import figure
from .lost import in_sound_metal


@in_sound_metal
def strip_load_figure(study: Study) -> ReportFigure:
    """Strip load of both states against nominal length."""
    evaluation = study.evaluation
    original, repaired, least, most = map(
        force,
        (
            evaluation.original.pull_out,
            evaluation.repaired.pull_out,
            evaluation.original.mode("screw_tension").capacity,
            screw_tension_max(evaluation.joint),
        ),
    )
    return figure(
        "strip-load",
        study.plot.strip_load(),
        study.case.report_units,
        side="above" if evaluation.pull_out_ratio > 1 else "below",
        original=original,
        repaired=repaired,
        least=least,
        most=most,
    )
