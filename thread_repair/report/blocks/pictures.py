"""The figures of a report, with the numbers of its case."""

from __future__ import annotations

from ...joint import screw_tension_max
from ...study import Study
from ...units import show
from ..figure import ReportFigure


def strip_load_figure(study: Study) -> ReportFigure:
    """Strip load of both states against nominal length."""
    return ReportFigure(
        study.plot.strip_load(),
        caption="Thread-stripping strength against nominal length. Open marks: this joint. "
        "Diamonds: length at which a screw at maximum strength of its class fails first.",
        alt=_alt(study),
        label="strip-load",
    )


def _alt(study: Study) -> str:
    evaluation = study.evaluation
    original, repaired, least, most = (
        show(load, "force", system=study.case.report_units)
        for load in (
            evaluation.original.pull_out,
            evaluation.repaired.pull_out,
            evaluation.original.mode("screw_tension").capacity,
            screw_tension_max(evaluation.joint),
        )
    )
    return (
        "Two lines rise with the length, the repaired thread's "
        f"{'above' if evaluation.pull_out_ratio > 1 else 'below'} the original's at this joint: "
        f"{repaired} against {original}. A band from {least} to {most} marks where the screw "
        "breaks."
    )
