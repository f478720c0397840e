"""What the section drawing shows of both holes of a case."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from .. import inserts, tables
from ..figures.cut import CutHole
from ..figures.section import length_words
from ..joint import Joint, StateResult
from ..joint.budget import thread_begin

if TYPE_CHECKING:
    from .record import Study

#: Pitches of incomplete thread that a tap leaves: bottoming and plug, ASME B18.29.2M notes on
#: hole depth, as reproduced in the 31st handbook p. 1746; read.
_INCOMPLETE = {"bottoming": 2.0, "plug": 4.0}
#: Triangle height over pitch and depth of the screw's root below its major diameter in triangle
#: heights: 17/24 (ISO 68-1 with rounded root), 2/3 (BS 84).
_ROOT = {"whitworth": (0.960491, 2 / 3)}
_ROOT_60 = (math.sqrt(3) / 2, 17 / 24)


def hole_sections(study: Study) -> tuple[CutHole, CutHole]:
    """Return what the section drawing shows of the original and of the repaired hole.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of CutHole
    """
    case, joint = study.case, study.evaluation.joint
    original, repaired = study.evaluation.original, study.evaluation.repaired
    thread, down = joint.thread, joint.set_down_max
    enlarged = inserts.enlarged_diameters(thread)
    shortening = tables.constant("insert_fitted_shortening_max").value * thread.pitch
    length = length_words(joint.insert_length, "inch" if case.report_units == "inch" else "SI")
    through = case.hole_kind == "through"
    return (
        CutHole(
            title="original thread",
            subtitle=thread.designation,
            **_common(joint, original),
            # The insert hole carries the same profile on a larger diameter.
            minor=enlarged.minor - (enlarged.major - thread.major),
            full_thread=joint.engagement,
            incomplete=_INCOMPLETE["bottoming"],
            drilled=math.inf if through else math.nan,
            coil=(math.nan, math.nan),
            engaged=(0.0, original.engagement),
        ),
        CutHole(
            title="repaired thread",
            subtitle=f"insert {thread.designation}, {length}",
            **_common(joint, repaired),
            minor=enlarged.minor,
            full_thread=float(inserts.full_thread_min(thread, joint.insert_length)),
            incomplete=_INCOMPLETE[case.tap],
            drilled=math.inf if through else _unknown(case.hole_depth),
            coil=(down, down + joint.insert_length - shortening),
            engaged=(thread_begin(joint), thread_begin(joint) + repaired.engagement),
        ),
    )


def _unknown(value: float | None) -> float:
    return math.nan if value is None else value


def _common(joint: Joint, state: StateResult) -> dict[str, float]:
    height, root = _ROOT.get(joint.thread.system, _ROOT_60)
    return {
        "pitch": joint.thread.pitch,
        "half_angle": joint.thread.flank_angle / 2,
        "screw_major": joint.thread.major,
        "screw_root": joint.thread.major - 2 * root * height * joint.thread.pitch,
        "major": state.sizes.hole_major,
        "shear_cylinder": state.sizes.crest,
        "reach": _unknown(joint.screw_reach),
        "boss": _unknown(joint.boss_diameter),
        "edge": _unknown(joint.edge_distance),
        "thickness": _unknown(joint.part_thickness),
    }
