"""The section drawing of both holes, with the numbers of a case."""

from __future__ import annotations

import math

from ... import inserts, tables
from ...case import Case
from ...figures.section import HEIGHT, HoleSection, length_words
from ...figures.section import section as draw
from ...joint import Evaluation, StateResult
from ...joint.budget import thread_begin
from ...study import Study
from ...units import show
from ..figure import ReportFigure

#: Pitches of incomplete thread that a tap leaves: bottoming and plug, ASME B18.29.2M notes on
#: hole depth, as reproduced in the 31st handbook p. 1746; read.
_INCOMPLETE = {"bottoming": 2.0, "plug": 4.0}
#: Triangle height over pitch and depth of the screw's root below its major diameter in triangle
#: heights: 17/24 (ISO 68-1 with rounded root), 2/3 (BS 84).
_ROOT = {"whitworth": (0.960491, 2 / 3)}
_ROOT_60 = (math.sqrt(3) / 2, 17 / 24)


#: Height of the drawing on a page that it shares, mm.
_SHARED = 92.0


def section_figure(study: Study, of: str = "") -> ReportFigure:
    """Draw both holes to scale, with drilled, tapped and engaged depths.

    `of` names the hole, where a document has several; such a figure is lower and has no label.
    """
    case, evaluation = study.case, study.evaluation
    views = hole_sections(study)
    units = case.report_units
    position = evaluation.joint.tolerance_position.replace("-", " ")
    original, repaired = evaluation.original, evaluation.repaired

    def length(value: float, digits: int = 3) -> str:
        return show(value, "length", system=units, digits=digits)

    return ReportFigure(
        draw(
            views,
            note=f"threads at basic size, shear cylinders at {position}; insert at its deepest "
            "set-down",
            system=units,
            height=_SHARED if of else HEIGHT,
        ),
        caption=(f"{of[:1].upper()}{of[1:]}. " if of else "")
        + "Section of both holes, to the same scale. Dashed: shear cylinder of the parent "
        "material over the engaged length.",
        alt="Two holes in section. Original: engaged over "
        f"{length(original.engagement)}, shearing on a cylinder of "
        f"{length(original.sizes.crest, 4)}. Repaired: engaged over "
        f"{length(repaired.engagement)} of the insert, shearing on a cylinder "
        f"of {length(repaired.sizes.crest, 4)}.",
        label="" if of else "section",
    )


def hole_sections(study: Study) -> tuple[HoleSection, HoleSection]:
    """Return what the section drawing shows of the original and of the repaired hole."""
    case, evaluation = study.case, study.evaluation
    return (
        _original(case, evaluation),
        _repaired(case, evaluation),
    )


def _unknown(value: float | None) -> float:
    return math.nan if value is None else value


def _common(case: Case, evaluation: Evaluation, state: StateResult) -> dict[str, float]:
    joint = evaluation.joint
    height, root = _ROOT.get(joint.thread.system, _ROOT_60)
    return {
        "pitch": joint.thread.pitch,
        "half_angle": joint.thread.flank_angle / 2,
        "screw_major": joint.thread.major,
        "screw_root": joint.thread.major - 2 * root * height * joint.thread.pitch,
        "hole_major": state.sizes.hole_major,
        "shear_cylinder": state.sizes.crest,
        "reach": _unknown(joint.screw_reach),
        "boss": _unknown(joint.boss_diameter),
        "edge": _unknown(joint.edge_distance),
        "thickness": _unknown(joint.part_thickness),
    }


def _original(case: Case, evaluation: Evaluation) -> HoleSection:
    joint, state = evaluation.joint, evaluation.original
    enlarged = inserts.enlarged_diameters(joint.thread)
    return HoleSection(
        title="original thread",
        subtitle=joint.thread.designation,
        **_common(case, evaluation, state),
        # The insert hole carries the same profile on a larger diameter.
        hole_minor=enlarged.minor - (enlarged.major - joint.thread.major),
        full_thread=joint.engagement,
        incomplete=_INCOMPLETE["bottoming"],
        drilled=math.inf if case.hole_kind == "through" else math.nan,
        coil=(math.nan, math.nan),
        engaged=(0.0, state.engagement),
    )


def _repaired(case: Case, evaluation: Evaluation) -> HoleSection:
    joint, state = evaluation.joint, evaluation.repaired
    down = joint.set_down_max
    shortening = tables.constant("insert_fitted_shortening_max").value * joint.thread.pitch
    system = "inch" if case.report_units == "inch" else "SI"
    length = length_words(joint.insert_length, system)
    return HoleSection(
        title="repaired thread",
        subtitle=f"insert {joint.thread.designation}, {length}",
        **_common(case, evaluation, state),
        hole_minor=inserts.enlarged_diameters(joint.thread).minor,
        full_thread=float(inserts.full_thread_min(joint.thread, joint.insert_length)),
        incomplete=_INCOMPLETE[case.tap],
        drilled=math.inf if case.hole_kind == "through" else _unknown(case.hole_depth),
        coil=(down, down + joint.insert_length - shortening),
        engaged=(thread_begin(joint), thread_begin(joint) + state.engagement),
    )
