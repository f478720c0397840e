"""What follows the conclusion when the typing pauses: pictures, as SVG, and what costs more."""

from __future__ import annotations

import base64
from collections.abc import Callable, Mapping
from types import MappingProxyType

from .. import words
from ..facts import Term
from ..report.blocks.comparison import alternatives_table, section_figure, strip_load_figure
from ..report.blocks.review import load_slip_figure
from ..report.escape import html
from ..report.figure import ReportFigure
from ..study import Study
from ..study.shown import least_margins
from .answers import said_of, wide


def _as_found(study: Study) -> str:
    """Whose strength is used, down to which strength the conclusion holds, the hole as found."""
    said = (said_of(study, each) for each in (*study.hole, *study.metal))
    return f"<p>{' '.join(said)}</p>"


def _margins(study: Study) -> str:
    least = least_margins(study.margins)
    if not least:
        return "<p>No limit load, torque or preload is stated: no margin of safety.</p>"
    smallest, margins = next(iter(least.items()))
    return _drawn(
        ReportFigure(
            study.plot.margins(),
            caption="Minimum margin of safety of each failure mode, the smallest first.",
            alt=f"Margins of safety of {len(least)} failure modes in both conditions; the smallest "
            f"is that of {words.term(Term('margin', smallest))}: "
            + ", ".join(f"{state} {found.margin:+.2f}" for state, found in margins.items())
            + ".",
        )
    )


def _load_slip(study: Study) -> str:
    said = " ".join(said_of(study, each) for each in study.load_slip.facts)
    drawn = load_slip_figure(study)
    shown = _drawn(drawn) if isinstance(drawn, ReportFigure) else ""
    return f"{shown}<p>{said}</p>"


def _options(study: Study) -> str:
    acceptable = sum(each.is_acceptable for each in study.alternatives)
    figure = ReportFigure(
        study.plot.alternatives(),
        caption="The options of a repair, assessed to the same criteria.",
        alt=f"{len(study.alternatives)} options, {acceptable} of them acceptable; "
        "the table below gives each.",
    )
    table = wide(alternatives_table(study, drill=True), "Options")
    return f"{_drawn(figure)}<details><summary>The options as a table</summary>{table}</details>"


#: Every part by its heading, in the order in which an engineer looks at them.
CHARTS: Mapping[str, Callable[[Study], str]] = MappingProxyType(
    {
        "Hole and parent material": _as_found,
        "Section of both holes": lambda study: _drawn(section_figure(study)),
        "Thread-stripping load against length": lambda study: _drawn(strip_load_figure(study)),
        "Load against travel": _load_slip,
        "Margins of safety": _margins,
        "Options": _options,
    }
)


def _drawn(picture: ReportFigure) -> str:
    svg = base64.b64encode(picture.svg().encode()).decode("ascii")
    return (
        f'<figure><img alt="{html(picture.alt)}" src="data:image/svg+xml;base64,{svg}">'
        f"<figcaption>{html(picture.caption)}</figcaption></figure>"
    )


def chart(heading: str, study: Study) -> str:
    """Return a part with its heading as HTML."""
    return f"<h2>{html(heading)}</h2>{CHARTS[heading](study)}"
