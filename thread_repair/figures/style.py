"""How every figure looks: sizes, lines and colours that are told apart in grey as well."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from importlib import resources
from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import ArrayLike

from ..errors import InputError
from ..facts import condition
from ..joint import Evaluation, screw_tension_max
from ..units import printed, unit_of
from ..words import term

#: Width of the text of a report page, inches.
WIDTH = 6.3
#: Colours that remain distinct with common colour blindness, and dark enough to print.
BLUE, ORANGE, GREEN, GREY, INK = "#0b5a8f", "#b5500c", "#2f6f3e", "#6b6b6b", "#1a1a1a"


@dataclass(frozen=True, slots=True)
class LineStyle:
    """How one state is drawn wherever it appears."""

    colour: str
    dashes: str
    marker: str
    fill: str
    words: str


STATE: Mapping[str, LineStyle] = {
    "original": LineStyle(ORANGE, "--", "s", "white", term(condition("original"))),
    "repaired": LineStyle(BLUE, "-", "o", BLUE, term(condition("repaired"))),
}

#: Decorates what makes axes and draws in them: fonts, lines and grid of the house.
styled = matplotlib.rc_context(
    matplotlib.rc_params_from_file(
        str(resources.files("thread_repair") / "data/house.mplstyle"), use_default_template=False
    )
)


def figure(height: float) -> Figure:
    """Return an empty figure as high, inches."""
    return Figure(figsize=(WIDTH, height), layout="constrained")


def panel(ax: Axes | None, height: float) -> Axes:
    """Return the axes to draw in: those given, or those of a new figure as high, inches.

    Raises
    ------
    InputError
        If what is given is no axes, or several.
    """
    return panels(None if ax is None else [ax], 1, height)[0]


def panels(ax: Sequence[Axes] | None, count: int, height: float) -> Sequence[Axes]:
    """Return as many axes side by side: those given, or those of a new figure as high, inches.

    Raises
    ------
    InputError
        If another number of axes is given, or what is none.
    """
    if ax is None:
        return tuple(figure(height).subplots(1, count, sharey=True, squeeze=False)[0])
    given = tuple(np.ravel(np.asarray(ax, dtype=object)))
    if len(given) != count or not all(isinstance(each, Axes) for each in given):
        raise InputError(f"ax must hold {count} axes, such as subplots(1, {count}) returns")
    return given


def legend(axes: Axes, *, own: bool) -> None:
    """Name what is drawn: below a figure of its own, inside the axes of somebody else's."""
    named = axes.get_legend_handles_labels()
    if own:
        axes.figure.legend(*named, loc="outside lower center", ncols=2, frameon=False)
    else:
        axes.legend(*named, loc="best", frameon=False)


#: Coordinates of a place: part of the axes' width, height in data.
ACROSS = ("axes fraction", "data")


def note(
    axes: Axes, words: str, at: tuple[Any, Any], move: tuple[float, float] = (0, 0), *,
    frame: Any = "data", colour: str = INK, size: float = 7.5, ground: float = 0.0, **more: Any,
) -> None:  # fmt: skip
    """Write words at a place, moved by dots; `ground` is how much of a white ground covers."""
    if ground:
        more["bbox"] = {"facecolor": "white", "edgecolor": "none", "alpha": ground, "pad": 0.5}
    axes.annotate(
        words, at, move, frame, textcoords="offset points", color=colour, fontsize=size, **more
    )


def scale(dimension: str, system: str) -> tuple[Callable[[Any], Any], str]:
    """Return what converts to the unit that a figure prints, and that unit; "both" is SI."""
    units = "inch" if system == "inch" else "SI"

    def converted(value: Any) -> Any:
        return printed(np.asarray(value, float), dimension, units)

    return converted, unit_of(dimension, units)


def dots(axes: Axes, state: str, x: ArrayLike, y: ArrayLike, size: float, **more: Any) -> None:
    """Draw the marks of a condition: those of the original are hollow."""
    line = STATE[state]
    style = {"color": line.colour, "markersize": size, "markerfacecolor": line.fill}
    axes.plot(x, y, line.marker, **{**style, **more})


def screw_band(
    axes: Axes, evaluation: Evaluation, force: Callable[[Any], Any], *, level: bool = False
) -> tuple[float, float]:
    """Draw between which loads the screw fails, and return the two; `level` lies across."""
    weakest = evaluation.original.mode("screw_tension").capacity
    ends = float(force(weakest)), float(force(screw_tension_max(evaluation.joint)))
    (axes.axhspan if level else axes.axvspan)(*ends, color="#e9e9e9", zorder=0)
    for end in ends:
        (axes.axhline if level else axes.axvline)(end, color=GREY, linewidth=1.0, linestyle=":")
    return ends
