"""How every figure looks: sizes, lines and colours that are told apart in grey as well."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ..errors import InputError
from ..facts import condition
from ..words import term

#: Width of the text of a report page, inches.
WIDTH = 6.3
#: Colours that remain distinct with common colour blindness, and dark enough to print.
BLUE, ORANGE, GREEN, GREY, INK = "#0b5a8f", "#b5500c", "#2f6f3e", "#6b6b6b", "#1a1a1a"


@dataclass(frozen=True, slots=True, kw_only=True)
class LineStyle:
    """How one state is drawn wherever it appears."""

    colour: str
    dashes: str
    marker: str
    words: str


STATE: Mapping[str, LineStyle] = MappingProxyType(
    {
        "original": LineStyle(
            colour=ORANGE, dashes="--", marker="s", words=term(condition("original"))
        ),
        "repaired": LineStyle(
            colour=BLUE, dashes="-", marker="o", words=term(condition("repaired"))
        ),
    }
)

_RC: Mapping[str, Any] = MappingProxyType(
    {
        "font.family": "DejaVu Sans",
        "font.size": 8.5,
        "axes.titlesize": 9,
        "axes.labelsize": 8.5,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.edgecolor": INK,
        "axes.linewidth": 0.7,
        "axes.grid": True,
        "axes.axisbelow": True,
        "grid.color": "#dddddd",
        "grid.linewidth": 0.5,
        "xtick.labelsize": 8,
        "ytick.labelsize": 8,
        "lines.linewidth": 1.6,
        "svg.hashsalt": "thread-repair",  # the same picture gives the same bytes
        "text.parse_math": False,  # a "$" in a name is a dollar sign
    }
)


def figure(height: float, *, width: float = WIDTH) -> Figure:
    """Return an empty figure, inches."""
    return Figure(figsize=(width, height), layout="constrained")


def panel(ax: Axes | None, height: float) -> Axes:
    """Return the axes to draw in: those given, or those of a new figure as high, inches."""
    return figure(height).add_subplot() if ax is None else ax


def panels(ax: Sequence[Axes] | None, count: int, height: float) -> Sequence[Axes]:
    """Return as many axes side by side: those given, or those of a new figure as high, inches.

    Raises
    ------
    InputError
        If another number of axes is given.
    """
    if ax is None:
        return tuple(figure(height).subplots(1, count, sharey=True, squeeze=False)[0])
    given = tuple(np.ravel(np.asarray(ax, dtype=object)))
    if len(given) != count:
        raise InputError(f"ax must hold {count} axes, such as subplots(1, {count}) returns")
    return given


def legend(axes: Axes, *, own: bool) -> None:
    """Name what is drawn: below a figure of its own, inside the axes of somebody else's."""
    named = axes.get_legend_handles_labels()
    if own:
        axes.figure.legend(*named, loc="outside lower center", ncols=2, frameon=False)
    else:
        axes.legend(*named, loc="best", frameon=False)


def styled() -> Any:
    """Return a context in which axes are made and drawn in the house style."""
    import matplotlib

    settings: Any = dict(_RC)  # matplotlib types the keys one by one
    return matplotlib.rc_context(settings)


def label_line_end(axes: Axes, x: float, y: float, text: str, colour: str) -> None:
    """Name a line at its right end, in its colour, instead of in a legend."""
    axes.annotate(
        text,
        (x, y),
        xytext=(4, 0),
        textcoords="offset points",
        va="center",
        color=colour,
        annotation_clip=False,
    )
