"""The section drawing of both holes, with the numbers of a case."""

from __future__ import annotations

from ...facts import length
from ...study import Study
from ..figure import ReportFigure
from .layout import figure
from .lost import in_sound_metal

#: Height of the drawing on a page that it shares, mm.
_SHARED = 92.0


@in_sound_metal
def section_figure(study: Study, of: str = "") -> ReportFigure:
    """Draw both holes to scale, with drilled, tapped and engaged depths.

    `of` names the hole, where a document has several; such a figure is lower and has no label.
    """
    original, repaired = study.evaluation.original, study.evaluation.repaired
    return figure(
        "section",
        study.plot.section(height=_SHARED) if of else study.plot.section(),
        study.case.report_units,
        named=not of,
        of=f"{of[:1].upper()}{of[1:]}. " if of else "",
        engaged=length(original.engagement),
        cylinder=length(original.sizes.crest),
        coil=length(repaired.engagement),
        outside=length(repaired.sizes.crest),
    )
