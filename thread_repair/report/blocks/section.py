"""The section drawing of both holes, with the numbers of a case."""

from __future__ import annotations

from ...figures.section import HEIGHT
from ...study import Study
from ...units import show
from ..figure import ReportFigure

#: Height of the drawing on a page that it shares, mm.
_SHARED = 92.0


def section_figure(study: Study, of: str = "") -> ReportFigure:
    """Draw both holes to scale, with drilled, tapped and engaged depths.

    `of` names the hole, where a document has several; such a figure is lower and has no label.
    """
    units = study.case.report_units
    original, repaired = study.evaluation.original, study.evaluation.repaired

    def length(value: float, digits: int = 3) -> str:
        return show(value, "length", system=units, digits=digits)

    return ReportFigure(
        study.plot.section(height=_SHARED if of else HEIGHT),
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
