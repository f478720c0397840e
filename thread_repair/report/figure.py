"""Figures and tables as a notebook displays them.

Each shows itself in JupyterLab and carries what the documents need (caption, alternative text,
label). A plain string is taken literally; `Markup` marks Markdown of our own, such as a formula.
"""

from __future__ import annotations

import base64
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, cast

from ..errors import InputError
from . import escape
from .escape import Markup

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["Markup", "ReportFigure", "ReportTable"]

#: Key of the metadata that a displayed figure carries through the executed notebook.
METADATA = "thread_repair"

#: Sides of a column, and how a pipe table marks them.
ALIGNMENTS = {"left": ":---", "center": ":---:", "right": "---:"}

_LABEL = re.compile(r"[a-z][a-z0-9-]*\Z")


def _checked_label(label: str) -> str:
    if label and not _LABEL.match(label):
        raise InputError.of("label_form", label=label)
    return label


class ReportFigure:
    """A matplotlib figure with its caption, alternative text and label.

    Parameters
    ----------
    figure : matplotlib.figure.Figure, or Axes in one
        Drawn at its own size; 160 mm wide fills the page.
    caption : str or Markup
        One or two sentences, printed below with the number; required.
    alt : str
        What the figure shows, for a reader who cannot see it; required.
    label : str, optional
        Name for cross references: label "strip-load" is written `@fig:strip-load`.
    lead : str
        Markdown before the figure, such as the sentence that refers to it.
    """

    def __init__(
        self, figure: Figure | Axes, *, caption: str, alt: str, label: str = "", lead: str = ""
    ) -> None:
        if not str(caption).strip() or not str(alt).strip():
            raise InputError(f"figure {label!r} needs both a caption and an alternative text")
        self.figure = cast("Figure", figure.figure)
        self.caption = caption
        self.alt = escape.visible(alt)
        self.label = _checked_label(label)
        self.lead = lead

    @cached_property
    def svg(self) -> str:
        """The figure as SVG, its text as outlines, the same bytes every time.

        Transparent, so that the mark of a draft shows behind it.
        """
        import matplotlib

        drawn = io.StringIO()
        settings: Any = {"svg.hashsalt": "thread-repair", "svg.fonttype": "path"}
        nothing: Any = {"Date": None, "Creator": None}
        with matplotlib.rc_context(settings):
            self.figure.savefig(drawn, format="svg", transparent=True, metadata=nothing)
        return drawn.getvalue()

    def html(self) -> str:
        """Return the figure with its caption, on white, whatever the page around it."""
        svg = base64.b64encode(self.svg.encode()).decode("ascii")
        return (
            f'<figure><img alt="{escape.html(self.alt)}" '
            f'style="max-width: 100%; width: {self._width_mm}mm; background: white" '
            f'src="data:image/svg+xml;base64,{svg}">'
            f"<figcaption>{escape.html(self.caption)}</figcaption></figure>"
        )

    @property
    def _width_mm(self) -> float:
        return round(float(self.figure.get_size_inches()[0]) * 25.4, 2)

    def _repr_mimebundle_(
        self, include: object = None, exclude: object = None
    ) -> tuple[dict[str, str], dict[str, Any]]:
        data = {
            "text/html": self.html(),
            "image/svg+xml": self.svg,
            "text/plain": f"Figure: {escape.visible(self.alt)}",
        }
        text = {
            "caption": escape.markdown(self.caption),
            "alt": self.alt,
            "label": self.label,
            "lead": self.lead,
            "width_mm": self._width_mm,
        }
        return data, {METADATA: text}


@dataclass(frozen=True, slots=True)
class ReportTable:
    """A table with its caption and label.

    Parameters
    ----------
    header : sequence of str or Markup
        Column heads, each with its unit.
    rows : iterable of sequences
        Cells: str (literal), Markup, or a number already rounded as it is to be printed.
    caption : str or Markup
        Printed above with the number; empty for a small table that needs no number.
    label : str, optional
        Name for cross references: label "margins" is written `@tbl:margins`.
    alignment : sequence of {"left", "center", "right"}, optional
        One per column. Default: left.
    lead : str
        Markdown before the table, such as the sentence that refers to it.
    division : {"", "fill-in", "sign-off"}
        A table that is filled in by hand has tall rows and stays on one page; it has no caption.
    """

    header: Sequence[object]
    rows: Sequence[Sequence[object]]
    caption: str = field(default="", kw_only=True)
    label: str = field(default="", kw_only=True)
    alignment: Sequence[str] = field(default=(), kw_only=True)
    lead: str = field(default="", kw_only=True)
    division: str = field(default="", kw_only=True)

    def __post_init__(self) -> None:
        columns = len(self.header)
        object.__setattr__(self, "rows", tuple(map(tuple, self.rows)))
        object.__setattr__(self, "alignment", tuple(self.alignment) or ("left",) * columns)
        name = f"table {self.label or self.caption!s:.40}"
        for row in self.rows:
            if len(row) != columns:
                raise InputError(f"{name}: a row has {len(row)} cells, the header has {columns}")
        if self.label and not self.caption:
            raise InputError(f"{name}: a labelled table needs a caption")
        _checked_label(self.label)

    def markdown(self) -> str:
        """Return the table as a pandoc pipe table."""
        head, *body = ([escape.markdown(c) for c in row] for row in (self.header, *self.rows))
        lines = [head, [ALIGNMENTS[how] for how in self.alignment], *body]
        text = "\n".join("| " + " | ".join(line) + " |" for line in lines)
        if self.caption:
            label = f" {{#tbl:{self.label}}}" if self.label else ""
            text += f"\n\n: {escape.markdown(self.caption)}{label}"
        if self.division:
            return f"::: {{.{self.division}}}\n{text}\n:::"
        return f"{self.lead}\n\n{text}" if self.lead else text

    def html(self) -> str:
        """Return the table for JupyterLab, which knows no numbers of equations: their labels."""

        def row(tag: str, cells: Iterable[object]) -> str:
            shown = (
                re.sub(r"\[-@eq:([\w-]+)\]", r"\1", each) if isinstance(each, Markup) else each
                for each in cells
            )
            inner = (
                f'<{tag} style="text-align: {how}">{escape.html(each)}</{tag}>'
                for how, each in zip(self.alignment, shown, strict=True)
            )
            return f"<tr>{''.join(inner)}</tr>"

        caption = f"<caption>{escape.html(self.caption)}</caption>" if self.caption else ""
        body = "".join(row("td", cells) for cells in self.rows)
        return (
            f"<table>{caption}<thead>{row('th', self.header)}</thead><tbody>{body}</tbody></table>"
        )

    def _repr_mimebundle_(self, include: object = None, exclude: object = None) -> dict[str, str]:
        plain = "\n".join("\t".join(map(str, row)) for row in (self.header, *self.rows))
        return {"text/markdown": self.markdown(), "text/html": self.html(), "text/plain": plain}
