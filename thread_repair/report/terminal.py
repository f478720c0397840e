"""What a terminal shows of a case: conclusion and criteria, in the units of its report."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from itertools import zip_longest

from .. import words
from ..alternatives import summary as options
from ..facts import Fact
from ..study import Study
from .blocks.comparison import alternatives_table
from .blocks.conclusion import criteria_table
from .figure import ReportTable

#: Widest text and widest cell; a head is as wide as its column, but not narrower than this.
_WIDE, _CELL, _HEAD = 100, 32, 12


def summary(study: Study) -> str:
    """Return the conclusion, and every criterion with the least margin of each failure mode."""
    return _page(
        study,
        (*study.statements, *study.agreed_first, *study.hole, *study.metal),
        criteria_table(study),
    )


def compared(study: Study) -> str:
    """Return the options of a repair side by side."""
    said = (study.statements[0], *study.agreed_first, options(study.alternatives))
    return _page(study, said, alternatives_table(study, drill=True))


def _page(study: Study, statements: Iterable[Fact], shown: ReportTable) -> str:
    case = study.case
    names = " ".join(filter(None, (case.document, case.revision and f"revision {case.revision}")))
    said = (words.sentence(each, system=case.report_units) for each in statements)
    return "\n".join(
        (
            f"{study.evaluation.joint.thread.designation} in "
            f"{study.evaluation.joint.parent.label}, screw {case.screw}"
            + (f" ({names}, {case.status})" if names else ""),
            "",
            *(textwrap.fill(each, _WIDE, break_on_hyphens=False) for each in said),
            "",
            textwrap.fill(f"{shown.caption}.", _WIDE),
            table(shown),
            "",
            "A calculation for review by a competent person.",
        )
    )


def table(shown: ReportTable) -> str:
    """Return a table of a report as lines of text; long cells take several lines."""
    columns, formats = [], []
    for how, head, *cells in zip(shown.alignment, shown.header, *shown.rows, strict=True):
        body = [_wrapped(cell, _CELL) for cell in cells]
        widest = max((len(line) for cell in body for line in cell), default=0)
        column = [_wrapped(head, max(widest, _HEAD)), *body]
        columns.append(column)
        width = max(len(line) for cell in column for line in cell)
        formats.append(f"{'>' if how == 'right' else '<'}{width}")
    return "\n".join(
        "  ".join(map(format, line, formats)).rstrip()
        for row in zip(*columns, strict=True)
        for line in zip_longest(*row, fillvalue="")
    )


def _wrapped(cell: object, width: int) -> list[str]:
    return textwrap.wrap(str(cell), width, break_on_hyphens=False) or [""]
