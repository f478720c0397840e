"""The figures of a report, with the numbers of its case."""

from __future__ import annotations

import numpy as np

from ...arrays import FloatArray
from ...case import Case
from ...evaluation import sweep
from ...figures.parents import strip_load_by_parent
from ...figures.strip_load import StripCurve, strip_load_against_length
from ...joint import Evaluation, StateResult, screw_tension_max
from ...study import Study
from ...units import plain, show
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
        caption="Pull-out strength against nominal length. Open marks: this case. Diamonds: length "
        "at which the strongest screw of its class breaks before a thread strips.",
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
        f"{'above' if evaluation.pull_out_ratio > 1 else 'below'} the original's at this case: "
        f"{repaired} against {original}. A band from {least} to {most} marks where the screw "
        "breaks."
    )


#: Soft parents that a reader is likely to compare with, by id; the whole table is longer than a
#: page.
COMPARED = (
    "6061-T6", "6061-T6-extruded", "6082-T6", "7075-T651", "2024-T351", "5083-O", "356.0-T6-sand",
    "A356.0-T6-sand", "EN-AC-42100-T6", "EN-AC-43000-F-sand", "EN-AC-46000", "A380.0-die-cast",
    "AZ31B-H24", "AZ91C-T6-sand", "AZ91D", "ZE41A-T5-sand", "ZP3", "ZP5", "CW614N-R430",
    "CC483K-GS",
)  # fmt: skip


def parents_figure(study: Study) -> ReportFigure:
    """Pull-out strength of both states in the soft parents that are often met."""
    case, evaluation = study.case, study.evaluation
    joint = evaluation.joint
    loads: dict[str, FloatArray] = {}
    names: tuple[str, ...] = ()
    for name, length in (("original", joint.engagement), ("repaired", joint.insert_length)):
        table = sweep(case, engagement=length, parent=dict.fromkeys((*COMPARED, joint.parent.id)))
        rows = table["state"] == name
        loads[name], names = table["pull_out_N"][rows], tuple(table["parent"][rows])
    known = np.isfinite(loads["original"]) & np.isfinite(loads["repaired"])
    left_out = [name for name, there in zip(names, known, strict=True) if not there]
    kept = [name for name, there in zip(names, known, strict=True) if there]
    weakest = evaluation.original.mode("screw_tension").capacity
    better = int(np.sum(loads["repaired"][known] >= loads["original"][known]))
    caption = (
        f"Pull-out strength in {len(kept)} parents at the lengths of this case. Bold: the parent "
        "of this case."
    )
    if left_out:
        temperature = plain(case.temperature, dimension="temperature", system=case.report_units)
        caption += f" Left out, without a strength at {temperature}: {', '.join(left_out)}."
    return ReportFigure(
        strip_load_by_parent(
            kept,
            loads["original"][known],
            loads["repaired"][known],
            screw_min=weakest,
            screw_words=f"screw {joint.screw.id}",
            chosen=joint.parent.id,
            system=case.report_units,
        ),
        caption=caption,
        alt=f"A row of two dots for each of {len(kept)} parents, sorted by the original thread's "
        f"strength. The repaired thread is at least as strong in {better} of them.",
        label="parents",
    )
