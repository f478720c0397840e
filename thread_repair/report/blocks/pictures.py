"""The figures of a report, with the numbers of its case."""

from __future__ import annotations

import numpy as np

from ...arrays import FloatArray
from ...case import Case
from ...figures.strip_load import StripCurve, strip_load_against_length
from ...joint import Evaluation, StateResult, screw_tension_max
from ...study import Study
from ...units import show
from ..figure import ReportFigure


def strip_load_figure(study: Study) -> ReportFigure:
    """Strip load of both states against nominal length."""
    case, evaluation = study.case, study.evaluation
    table = study.sweep
    joint = evaluation.joint
    nominal = {"original": joint.engagement, "repaired": joint.insert_length}
    curves = {}
    for name, state in evaluation.states.items():
        rows = table["state"] == name
        lengths, loads = table["length_mm"][rows], table["pull_out_N"][rows]
        curves[name] = StripCurve(
            lengths=lengths,
            loads=loads,
            case_length=nominal[name],
            case_load=state.pull_out,
            crossing=_crossing(lengths, table["engaged_mm"][rows], state),
        )
    strongest = screw_tension_max(joint)
    weakest = evaluation.original.mode("screw_tension").capacity
    words = f"screw {joint.screw.id}"
    return ReportFigure(
        strip_load_against_length(
            curves,
            diameter=joint.thread.major,
            screw_min=weakest,
            screw_max=strongest,
            screw_words=words,
            system=case.report_units,
        ),
        caption="Thread-stripping strength against nominal length. Open marks: this joint. "
        "Diamonds: length at which a screw at maximum strength of its class fails first.",
        alt=_alt(case, evaluation, weakest, strongest),
        label="strip-load",
    )


def _crossing(lengths: FloatArray, engaged: FloatArray, state: StateResult) -> float:
    """Nominal length whose engaged length is the one that is needed; NaN outside the curve."""
    needed = state.required_engagement
    if not engaged[0] <= needed <= engaged[-1]:
        return float("nan")
    return float(np.interp(needed, engaged, lengths))


def _alt(case: Case, evaluation: Evaluation, weakest: float, strongest: float) -> str:
    original, repaired, least, most = (
        show(load, "force", system=case.report_units)
        for load in (evaluation.original.pull_out, evaluation.repaired.pull_out, weakest, strongest)
    )
    return (
        "Two lines rise with the length, the repaired thread's "
        f"{'above' if evaluation.pull_out_ratio > 1 else 'below'} the original's at this joint: "
        f"{repaired} against {original}. A band from {least} to {most} marks where the screw "
        "breaks."
    )
