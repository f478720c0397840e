"""Figures, tables and the sign-off block as a notebook displays them.

Each shows itself in JupyterLab and carries what the documents need (caption, alternative text,
label). A plain string is taken literally; `Markup` marks Markdown of our own, such as a formula.
"""

from __future__ import annotations

import base64
import contextlib
import io
import re
import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, cast

from ..errors import InputError
from . import escape
from .escape import Markup

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["FillIn", "Markup", "ReportFigure", "ReportTable", "SignOff"]

#: Key of the metadata that a displayed figure carries through the executed notebook.
METADATA = "thread_repair"

ALIGNMENTS = ("left", "center", "right", "decimal")

_LABEL = re.compile(r"[a-z][a-z0-9-]*\Z")
_NUMBER = re.compile(r"(?P<head>[-+−<>≤≥±]?[\d  ,]*\d|[-+−]?)(?P<tail>\.\d+)?(?P<rest>\D.*)?\Z")

# As wide as a digit and as a full stop in the fonts of the templates.
_FIGURE_SPACE, _POINT_SPACE = "\u2007", "\u2008"


def _shown(cell: object) -> object:
    """Return a cell for JupyterLab, which knows no numbers of equations: their labels."""
    return re.sub(r"\[-@eq:([\w-]+)\]", r"\1", cell) if isinstance(cell, Markup) else cell


def _checked_label(label: str) -> str:
    if label and not _LABEL.match(label):
        raise InputError(
            f"label {label!r} must be lower-case letters, digits and hyphens, such as 'strip-load'"
        )
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
    """

    def __init__(self, figure: Figure | Axes, *, caption: str, alt: str, label: str = "") -> None:
        if not str(caption).strip() or not str(alt).strip():
            raise InputError(f"figure {label!r} needs both a caption and an alternative text")
        self.figure = cast("Figure", figure.figure)
        self.caption = caption
        self.alt = escape.visible(alt)
        self.label = _checked_label(label)

    def svg(self) -> str:
        """Return the figure as SVG."""
        with _laid_out(self.figure):
            return _svg(self.figure)

    def _repr_mimebundle_(
        self, include: object = None, exclude: object = None
    ) -> tuple[dict[str, str], dict[str, Any]]:
        with _laid_out(self.figure):
            svg, png = _svg(self.figure), _png(self.figure)
        width_mm = round(float(self.figure.get_size_inches()[0]) * 25.4, 2)
        encoded = base64.b64encode(png).decode("ascii")
        caption = escape.html(str(self.caption))
        data = {
            "text/html": (
                f'<figure><img alt="{escape.html(self.alt)}" '
                f'style="max-width: 100%; width: {width_mm}mm" '
                f'src="data:image/png;base64,{encoded}"><figcaption>{caption}</figcaption></figure>'
            ),
            "image/svg+xml": svg,
            "image/png": encoded,
            "text/plain": f"Figure: {escape.visible(self.alt)}",
        }
        text = {
            "caption": escape.markdown(self.caption),
            "alt": self.alt,
            "label": self.label,
            "width_mm": width_mm,
        }
        return data, {METADATA: text}


@contextlib.contextmanager
def _laid_out(figure: Figure) -> Iterator[None]:
    """Lay the figure out once for both pictures: it takes as long as drawing one."""
    engine = figure.get_layout_engine()
    if engine is None:
        yield
        return
    engine.execute(figure)
    figure.set_layout_engine("none")
    try:
        yield
    finally:
        figure.set_layout_engine(engine)


def _svg(figure: Figure) -> str:
    """Draw the figure with its text as outlines, the same bytes every time."""
    import matplotlib
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    buffer = io.StringIO()
    settings: Any = {"svg.hashsalt": "thread-repair", "svg.fonttype": "path"}
    # Transparent, so that the mark of a draft shows behind it. `savefig` would draw everything
    # once more, for a layout that is done already.
    with matplotlib.rc_context(settings), _transparent(figure):
        canvas: Any = FigureCanvasSVG(figure)
        canvas.print_svg(buffer, metadata={"Date": None, "Creator": None})
    return buffer.getvalue()


@contextlib.contextmanager
def _transparent(figure: Figure) -> Iterator[None]:
    every = [inner for axes in figure.axes for inner in (axes, *axes.child_axes)]
    grounds = [figure.patch, *(axes.patch for axes in every)]
    colours = [ground.get_facecolor() for ground in grounds]
    for ground in grounds:
        ground.set_facecolor("none")
    try:
        yield
    finally:
        for ground, colour in zip(grounds, colours, strict=True):
            ground.set_facecolor(colour)


def _png(figure: Figure) -> bytes:
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    buffer = io.BytesIO()
    dpi = figure.get_dpi()
    figure.set_dpi(200)  # 160 mm make 1260 dots: sharp in print
    try:
        canvas: Any = FigureCanvasAgg(figure)
        canvas.print_png(buffer, metadata={"Software": None})
    finally:
        figure.set_dpi(dpi)
    return buffer.getvalue()


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
    alignment : sequence of {"left", "center", "right", "decimal"}, optional
        One per column. "decimal" lines up the decimal points. Default: decimal where every cell
        of the column is a number, else left.
    lead : str
        Markdown before the table, such as the sentence that refers to it.
    """

    header: Sequence[object]
    rows: Sequence[Sequence[object]]
    caption: str = field(default="", kw_only=True)
    label: str = field(default="", kw_only=True)
    alignment: Sequence[str] | None = field(default=None, kw_only=True)
    lead: str = field(default="", kw_only=True)

    def __post_init__(self) -> None:
        rows = tuple(tuple(row) for row in self.rows)
        object.__setattr__(self, "rows", rows)
        object.__setattr__(self, "header", tuple(self.header))
        name = f"table {self.label or self.caption!s:.40}"
        for row in rows:
            if len(row) != len(self.header):
                raise InputError(
                    f"{name}: a row has {len(row)} cells, the header has {len(self.header)}"
                )
        if self.label and not self.caption:
            raise InputError(f"{name}: a labelled table needs a caption")
        _checked_label(self.label)
        given = (
            self.alignment
            if self.alignment is not None
            else _default_alignment(rows, len(self.header))
        )
        if len(given) != len(self.header) or not set(given) <= set(ALIGNMENTS):
            raise InputError(
                f"{name}: alignment must name one of {', '.join(ALIGNMENTS)} for each "
                f"of the {len(self.header)} columns, got {given!r}"
            )
        object.__setattr__(self, "alignment", tuple(given))

    def _cells(self) -> list[list[str]]:
        """Return the body as Markdown, numbers padded so that their points line up."""
        assert self.alignment is not None
        columns = (
            [
                _decimal_column(column)
                if how == "decimal"
                else [escape.markdown(c) for c in column]
                for how, column in zip(self.alignment, zip(*self.rows, strict=True), strict=True)
            ]
            if self.rows
            else []
        )
        return [list(row) for row in zip(*columns, strict=True)]

    def markdown(self) -> str:
        """Return the table as a pandoc pipe table."""
        assert self.alignment is not None
        marks = {"left": ":---", "center": ":---:", "right": "---:", "decimal": "---:"}
        lines = [
            [escape.markdown(head) for head in self.header],
            [marks[how] for how in self.alignment],
            *self._cells(),
        ]
        text = "\n".join("| " + " | ".join(line) + " |" for line in lines)
        if self.caption:
            label = f" {{#tbl:{self.label}}}" if self.label else ""
            text += f"\n\n: {escape.markdown(self.caption)}{label}"
        return f"{self.lead}\n\n{text}" if self.lead else text

    def html(self) -> str:
        """Return the table for JupyterLab."""
        assert self.alignment is not None
        style = [
            'style="text-align: ' + how.replace("decimal", "right") + '"' for how in self.alignment
        ]

        def row(tag: str, cells: Iterable[object]) -> str:
            return (
                "<tr>"
                + "".join(
                    f"<{tag} {how}>{escape.html(_shown(cell))}</{tag}>"
                    for how, cell in zip(style, cells, strict=True)
                )
                + "</tr>"
            )

        caption = f"<caption>{escape.html(self.caption)}</caption>" if self.caption else ""
        body = "".join(row("td", cells) for cells in self.rows)
        return (
            f"<table>{caption}<thead>{row('th', self.header)}</thead><tbody>{body}</tbody></table>"
        )

    def _repr_mimebundle_(self, include: object = None, exclude: object = None) -> dict[str, str]:
        plain = "\n".join("\t".join(map(str, row)) for row in (self.header, *self.rows))
        return {"text/markdown": self.markdown(), "text/html": self.html(), "text/plain": plain}


def _default_alignment(rows: Sequence[Sequence[object]], count: int) -> tuple[str, ...]:
    def numeric(cell: object) -> bool:
        text = str(cell).strip()
        return text in ("", "-", "–", "—") or bool(
            re.match(r"[-+−<>≤≥±]?\s*\d[\d  ,]*(\.\d+)?\Z", text)
        )

    return tuple(
        "decimal" if rows and all(numeric(row[i]) for row in rows) else "left" for i in range(count)
    )


def _decimal_column(cells: Iterable[object]) -> list[str]:
    """Pad each number on the right, so that a right-aligned column lines up its points."""
    texts = [escape.visible(cell) for cell in cells]
    tails = []
    for text in texts:
        match = _NUMBER.match(text)
        tails.append(len(match["tail"] or "") if match and not match["rest"] else None)
    longest = max((tail for tail in tails if tail is not None), default=0)
    padded = []
    for cell, text, tail in zip(cells, texts, tails, strict=True):
        if isinstance(cell, Markup):
            padded.append(escape.markdown(cell))
            continue
        pad = ""
        if tail is not None and tail < longest:
            digits = longest - tail if tail else longest - 1
            pad = ("" if tail else _POINT_SPACE) + _FIGURE_SPACE * digits
        padded.append(escape.markdown(text) + pad)
    return padded


@dataclass(frozen=True, slots=True)
class SignOff:
    """The block that is signed: one row a role, with room for signature and date.

    Parameters
    ----------
    names : mapping of str to str
        Role to name, in the order to be printed; an empty name leaves room to write one.
    """

    names: Mapping[str, str]

    def _repr_mimebundle_(self, include: object = None, exclude: object = None) -> dict[str, str]:
        table = ReportTable(
            ["Role", "Name", "Signature", "Date"],
            [[role, name, "", ""] for role, name in self.names.items()],
            alignment=["left"] * 4,
        )
        text = textwrap.dedent("""\
            ::: {{.sign-off}}
            {table}
            :::""").format(table=table.markdown())
        return {"text/markdown": text, "text/html": table.html(), "text/plain": str(self.names)}


@dataclass(frozen=True, slots=True)
class FillIn:
    """A table that is filled in by hand: tall rows, kept on one page.

    Parameters
    ----------
    table : ReportTable
        Without caption; its first two columns hold the words, the others are left blank.
    """

    table: ReportTable

    def __post_init__(self) -> None:
        if len(self.table.header) < 3:
            raise InputError("a table to fill in needs two columns of words and one that is blank")

    def _repr_mimebundle_(self, include: object = None, exclude: object = None) -> dict[str, str]:
        bundle = self.table._repr_mimebundle_()
        return {**bundle, "text/markdown": f"::: {{.fill-in}}\n{self.table.markdown()}\n:::"}
