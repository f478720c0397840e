"""What a terminal shows of a case: conclusion and criteria, in the units of its report."""

import textwrap
from collections.abc import Iterable, Sequence
from functools import cache, partial
from itertools import zip_longest

from .. import words
from ..alternatives import summary as options
from ..facts import Fact
from ..study import Study
from ..study.shown import open_heading
from .blocks.comparison import alternatives_table
from .blocks.conclusion import criteria_table, stated_loads
from .figure import ReportTable

#: Widest line, and widest cell; a head is as wide as its column, but first no narrower than this.
_WIDE, _CELL, _HEAD = 100, 32, 12


def summary(study: Study) -> str:
    """Return the conclusion, every criterion with the least margin of its mode, what is open."""
    said = (*study.statements, *study.agreed_first, *study.hole, *study.metal, *study.warned)
    return _page(study, said, criteria_table(study), still=study.open_besides)


def compared(study: Study) -> str:
    """Return the options of a repair side by side."""
    said = (study.statements[0], *study.agreed_first, options(study.alternatives))
    # The last two columns, the assessment and its main reason, are words: no room beside numbers.
    return _page(study, said, alternatives_table(study, drill=True), below=2)


def _page(
    study: Study,
    statements: Iterable[Fact],
    shown: ReportTable,
    *,
    below: int = 0,
    still: Iterable[Fact] = (),
) -> str:
    case = study.case
    names = " ".join(filter(None, (case.document, case.revision and f"revision {case.revision}")))
    sentence = partial(words.sentence, system=case.report_units)
    filled = partial(textwrap.fill, width=_WIDE, break_on_hyphens=False)
    loads = " ".join(map(sentence, stated_loads(study)))  # as read: a slip of a unit shows here
    thread, parent = study.evaluation.joint.thread, study.evaluation.joint.parent
    title = f"{thread.designation} in {parent.label}, screw {case.screw}"
    title += f" ({names}, {case.status})" if names else ""
    concluded = map(filled, (*map(sentence, statements), f"Loads. {loads}"))
    caption = textwrap.fill(f"{shown.caption}.", _WIDE)
    points = [filled(sentence(each), initial_indent="- ", subsequent_indent="  ") for each in still]
    rest = [open_heading(study), *points, ""] if points else []
    last = "A calculation for review by a competent person."
    text = (title, "", *concluded, "", caption, table(shown, below=below), "", *rest, last)
    return "\n".join(text)


def table(shown: ReportTable, *, below: int = 0) -> str:
    """Return a table of a report as lines of text that fit a terminal; long cells take several.

    The last columns, as many as `below`, stand under their row.
    """
    rows = [[str(cell) for cell in row] for row in (shown.header, *shown.rows)]
    beside = len(shown.header) - below
    widths = _widths([row[:beside] for row in rows])
    formats = [
        f"{'>' if how == 'right' else '<'}{width}"
        for how, width in zip(shown.alignment, widths, strict=False)
    ]
    lines = list[str]()
    for row in rows:
        cells = map(_wrapped, row, widths)  # as many as stand beside each other
        lines += (
            "  ".join(map(format, line, formats)).rstrip()
            for line in zip_longest(*cells, fillvalue="")
        )
        if below:
            lines += (f"    {line}" for line in _wrapped(": ".join(row[beside:]), _WIDE - 4))
    return "\n".join(lines)


def _widths(rows: Sequence[Sequence[str]]) -> list[int]:
    """Return the widths of columns: narrowed, where they do not fit, as costs fewest lines."""
    longest, widths = list[int](), list[int]()
    for head, *body in zip(*rows, strict=True):
        longest.append(max(len(word) for cell in (head, *body) for word in cell.split()))
        wide = max(min(len(head), _HEAD), *(min(len(cell), _CELL) for cell in body))
        widths.append(max(longest[-1], wide))

    def cost(narrowed: int) -> tuple[int, int]:
        tried = [width - (at == narrowed) for at, width in enumerate(widths)]
        return sum(max(map(len, map(_wrapped, row, tried))) for row in rows), -widths[narrowed]

    while sum(widths) + 2 * (len(widths) - 1) > _WIDE:
        can = [at for at, width in enumerate(widths) if width > longest[at]]
        if not can:
            break
        widths[min(can, key=cost)] -= 1
    return widths


@cache
def _wrapped(cell: str, width: int) -> Sequence[str]:
    return textwrap.wrap(cell, width, break_on_hyphens=False) or [""]
