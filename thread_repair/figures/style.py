"""How every figure looks: sizes, lines and colours that are told apart in grey as well."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure

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
