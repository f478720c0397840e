"""Load against travel of the screw in both holes, as a figure and words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ... import words
from ...facts import Term
from ...sources import Reference
from ...study import Study
from ...units import show
from ..figure import ReportFigure
from .cells import bullets, state_words
from .lost import in_sound_metal

if TYPE_CHECKING:
    from IPython.display import Markdown


@in_sound_metal
def load_slip_figure(study: Study) -> ReportFigure:
    """Draw the load-slip curves, where there are any."""
    found, system = study.load_slip.states, study.case.report_units
    told = "; ".join(
        f"{state_words(name)} {show(each.last_load, 'force', system=system)} at "
        f"{show(each.last_travel, 'length', system=system)}, plateau "
        f"{show(each.plateau, 'force', system=system)}"
        for name, each in found.items()
    )
    return ReportFigure(
        study.plot.load_slip(),
        caption=words.term(Term("load_slip", "caption")),
        alt=f"Two curves that rise steeply, bend and end on a plateau: {told}.",
        label="load-slip",
    )


def load_slip_figures(study: Study) -> ReportFigure | Markdown:
    """Draw the curves; nothing where they are not assessed."""
    from IPython.display import Markdown

    return load_slip_figure(study) if study.load_slip.states else Markdown("")


@in_sound_metal
def load_slip_passage(study: Study) -> Markdown:
    """Say what is assumed, where the curves end and what work they take, or why there are none."""
    from IPython.display import Markdown

    found = study.load_slip
    said = bullets(found.facts, study.case.report_units)
    if not found.states:
        return said
    return Markdown(f"{words.term(Term('load_slip', 'assumed'))}\n\n{said.data}")


def references(study: Study) -> tuple[Reference, ...]:
    """Where the curves come from."""
    return study.load_slip.references
