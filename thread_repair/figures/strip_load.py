"""Strip load of both states against engagement, with the screw's strength and the crossovers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import ArrayLike

from ..arrays import FloatArray
from ..units import number, printed, unit_of
from .style import GREY, INK, STATE, label_line_end, panel, styled


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StripCurve:
    """One state: strip load N over nominal length mm, the case's own point, the crossover.

    `crossing` is the nominal length at which the strongest screw of the class breaks first; NaN
    where it lies outside the lengths drawn.
    """

    lengths: FloatArray
    loads: FloatArray
    case_length: float
    case_load: float
    crossing: float


def strip_load_against_length(
    curves: Mapping[str, StripCurve],
    *,
    diameter: float,
    screw_min: float,
    screw_max: float,
    screw_words: str,
    system: str = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw the strip load of the original and the repaired thread against engagement.

    Parameters
    ----------
    curves : by state
    diameter : nominal diameter, mm, for the upper scale
    screw_min, screw_max : breaking load of the weakest and the strongest screw of its class, N
    screw_words : how the screw is named, e.g. "screw 8.8"
    system : "SI" or "inch"
    ax : axes to draw in; by default those of a new figure
    """
    units = "inch" if system == "inch" else "SI"
    force = partial(printed, dimension="force", system=units)
    length = partial(printed, dimension="length", system=units)
    with styled():
        axes = panel(ax, 3.7)
        low, high = force(screw_min), force(screw_max)
        axes.axhspan(float(low), float(high), color="#e9e9e9", zorder=0)
        left = all(_is_below(curve, screw_min) for curve in curves.values())
        for level, words in ((low, "minimum"), (high, "maximum")):
            axes.axhline(float(level), color=GREY, linewidth=1.0, linestyle=":")
            axes.annotate(
                f"{screw_words} fails, {words} strength: {number(float(level))} "
                f"{unit_of('force', units)}",
                (0.01 if left else 0.99, float(level)),
                xycoords=("axes fraction", "data"),
                xytext=(0, 3),
                textcoords="offset points",
                ha="left" if left else "right",
                color=INK,
                fontsize=7.5,
                bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.75, "pad": 0.8},
                zorder=3,
            )
        for state, curve in curves.items():
            line = STATE[state]
            x, y = length(curve.lengths), force(curve.loads)
            axes.plot(x, y, line.dashes, color=line.colour)
            axes.plot(
                length(curve.case_length),
                force(curve.case_load),
                line.marker,
                color=line.colour,
                markersize=7,
                markerfacecolor="white",
                markeredgewidth=1.5,
            )
            if np.isfinite(curve.crossing):
                right = curve.crossing == np.nanmax([each.crossing for each in curves.values()])
                _mark_crossing(
                    axes, float(length(curve.crossing)), float(high), state, units, right=right
                )
        tops = [float(force(curve.loads).max()) for curve in curves.values()]
        axes.set_xlim(left=0)
        axes.set_ylim(0, max(1.08 * float(high), 1.05 * max(tops)))  # room for words over the line
        _name_ends(axes, curves, length, force)
        axes.set_xlabel(
            f"nominal length: full thread (original) or insert length (repaired), "
            f"{unit_of('length', units)}"
        )
        axes.set_ylabel(f"load, {unit_of('force', units)}")
        scale = float(length(diameter))
        upper = axes.secondary_xaxis(
            "top", functions=(lambda v: np.divide(v, scale), lambda v: np.multiply(v, scale))
        )
        upper.set_xlabel("length over nominal diameter")
        return axes


#: Least distance of the names of two curves, as a part of the height.
_NAMES_APART = 0.055


def _name_ends(
    axes: Axes,
    curves: Mapping[str, StripCurve],
    length: Callable[[ArrayLike], FloatArray],
    force: Callable[[ArrayLike], FloatArray],
) -> None:
    """Name each curve at its right end, the names of two that end together one over the other."""
    apart = _NAMES_APART * axes.get_ylim()[1]
    ends = sorted((float(force(curve.loads)[-1]), state) for state, curve in curves.items())
    (low, _), (high, _) = ends[0], ends[-1]
    lack = max(0.0, apart - (high - low)) / 2 if len(ends) > 1 else 0.0
    for (y, state), shift in zip(ends, (-lack, lack), strict=False):
        x = float(length(curves[state].lengths)[-1])
        label_line_end(axes, x, y + shift, STATE[state].words, STATE[state].colour)


#: Part of the width that the words on the screw's strength take.
_WORDS = 0.45


def _is_below(curve: StripCurve, level: float) -> bool:
    """Whether a curve leaves the left of the picture free for words at a level."""
    end = _WORDS * curve.lengths[-1]
    return bool(np.interp(end, curve.lengths, curve.loads) < level)


def _mark_crossing(axes: Axes, x: float, y: float, state: str, units: str, *, right: bool) -> None:
    """Drop a line from the crossover to the axis, with its length on one side."""
    line = STATE[state]
    axes.plot([x, x], [0, y], color=line.colour, linewidth=0.8, linestyle=line.dashes)
    axes.plot(x, y, "D", color=line.colour, markersize=4)
    axes.annotate(
        f"{number(x)} {unit_of('length', units)}",
        (x, 0),
        xytext=(3 if right else -3, 4),
        textcoords="offset points",
        ha="left" if right else "right",
        color=line.colour,
        fontsize=7.5,
    )
