"""What decides, at a glance: margins and options."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import ArrayLike

from ..arrays import FloatArray
from ..facts import Term
from ..units import signed
from ..words import term
from . import style

if TYPE_CHECKING:
    from ..study import Study

#: Inches for a row, for one with its name above it, and for title, axis and legend.
_ROW, _NAMED_ROW, _FRAME = 0.27, 0.36, 1.0
_TICKS = (-0.9, -0.5, 0, 0.5, 1, 2, 5, 10, 20, 50, 100, 1000)
#: A margin below this is drawn there: what holds nothing has no logarithm.
_LOWEST = -0.95

#: Marker, colour and fill of an assessment; told apart without colour by shape and fill.
_MARKS = {
    "proposed": ("D", style.BLUE, style.BLUE),
    "acceptable": ("o", style.BLUE, "white"),
    "not_acceptable": ("X", style.ORANGE, style.ORANGE),
    "not_assessed": ("", style.GREY, style.GREY),
}


@style.styled
def margins_by_mode(rows: Mapping[str, Mapping[str, float]], *, ax: Axes | None = None) -> Axes:
    """Draw the minimum margin of each failure mode in both conditions, zero marked.

    Parameters
    ----------
    rows : by name of the failure mode, then by condition; NaN: not known
    ax : axes to draw in; by default those of a new figure
    """
    values = {state: [row.get(state, math.nan) for row in rows.values()] for state in style.STATE}
    known = [m for each in values.values() for m in each if math.isfinite(m)]
    low, high = min([*known, 0.0]), max([*known, 1.0])
    axes = style.panel(ax, _FRAME + _ROW * len(rows))
    axes.set_xscale("function", functions=(_log_of_ratio, np.expm1))
    axes.set_xlim(*np.expm1(_log_of_ratio([low, high]) + np.array([-0.15, 0.15])))
    axes.axvspan(axes.get_xlim()[0], 0, color="#e9e9e9", zorder=0)
    axes.axvline(0, color=style.INK, linewidth=1.0)
    for state, line in style.STATE.items():
        style.dots(axes, state, values[state], range(len(rows)), 5.5, label=line.words)
    left_out = 0.5 if high > 20 else math.nan  # on so long an axis it would touch the next
    ticks = [tick for tick in _TICKS if low <= tick <= high and tick != left_out]
    axes.set_xticks(ticks, [f"{tick:+g}" if tick else "0" for tick in ticks])
    axes.set_xlabel(
        "minimum margin of safety (logarithm of capacity over demand)\ngrey: not sufficient"
    )
    _rows(
        axes, rows, [" / ".join(map(_signed, pair)) for pair in zip(*values.values(), strict=True)]
    )
    heading = " /\n".join(line.words for line in style.STATE.values())
    style.note(axes, heading, (1.0, -0.95), (4, 0), frame=style.ACROSS, size=7, va="center")
    style.legend(axes, own=ax is None)
    return axes


def _log_of_ratio(margin: ArrayLike) -> FloatArray:
    """Logarithm of capacity over demand, which is the margin plus one."""
    return np.log1p(np.maximum(margin, _LOWEST))


def _signed(margin: float) -> str:
    return "–" if math.isnan(margin) else signed(margin)


@style.styled
def options_side_by_side(study: Study, names: Sequence[str], ax: Axes | None = None) -> Axes:
    """Draw the stripping strength of each option beside that of the original and of the screw.

    Parameters
    ----------
    study : Study
    names : of its options
    ax : axes to draw in; by default those of a new figure
    """
    force, kilonewton = style.scale("force", study.case.report_units)
    options, evaluation = study.alternatives, study.evaluation
    axes = style.panel(ax, _FRAME + _NAMED_ROW * len(options))
    style.screw_band(axes, evaluation, force)
    axes.axvline(force(evaluation.original.pull_out), color=style.ORANGE, linestyle="--",
                 linewidth=1.2)  # fmt: skip
    for place, (name, each) in enumerate(zip(names, options, strict=True)):
        marker, edge, fill = _MARKS[each.assessment]
        axes.plot(force(each.pull_out), place, marker, color=edge, markerfacecolor=fill,
                  markersize=6.5)  # fmt: skip
        # Above its mark: beside it a long name takes the room.
        style.note(axes, name, (0.0, place - 0.4), (3, 0), frame=style.ACROSS, size=8, va="center",
             ground=0.8, zorder=4)  # fmt: skip
    axes.set_xlim(left=0)
    axes.set_xlabel(
        f"thread-stripping strength, {kilonewton}; dashed: original thread; grey: screw fails"
    )
    _rows(axes, [""] * len(options),
          [term(Term("assessment", each.assessment)) for each in options])  # fmt: skip
    return axes


def _rows(axes: Axes, names: Iterable[str], at_right: Sequence[str]) -> None:
    """Set up a row for each name from the top, with words beside its right end."""
    axes.set_yticks(range(len(at_right)), list(names))
    axes.set_ylim(len(at_right) - 0.5, -0.75)
    axes.tick_params(axis="y", length=0)
    for place, words in enumerate(at_right):
        style.note(axes, words, (1.0, place), (4, 0), frame=style.ACROSS, size=8, va="center")
