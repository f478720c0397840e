"""What decides, at a glance: margins, options, the range of the preload."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import ArrayLike

from ..arrays import FloatArray
from ..facts import Term
from ..tightening import Preloads
from ..units import number, signed
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


@style.styled
def preload_band(study: Study, preloads: Preloads, ax: Axes | None = None) -> Axes:
    """Draw one band a state, its limits as marks on the same line.

    Parameters
    ----------
    study : Study
    preloads : its own
    ax : axes to draw in; by default those of a new figure
    """
    force, kilonewton = style.scale("force", study.case.report_units)
    loads = preloads.inputs.loads
    separation = force(loads.separation * (1 - loads.shares[1]) * loads.limit)
    strips = {state: force(each.pull_out) for state, each in study.evaluation.states.items()}
    axes, furthest = style.panel(ax, 0.75 + 0.6 * len(strips)), [*strips.values()]
    for row, (state, each) in enumerate(preloads.states.items()):
        line, service = style.STATE[state], each.preload.service
        low, middle, high = force([service.least, service.middle, service.highest])
        axes.barh(row, high - low, left=low, height=0.34, color=line.colour, alpha=0.35,
                  edgecolor=line.colour, linewidth=1.2)  # fmt: skip
        axes.plot([middle] * 2, [row - 0.17, row + 0.17], color=line.colour, linewidth=1.6)
        # A number is a twentieth as wide as the axis: over a narrow band two would touch, and the
        # axis would cross one that stands at it.
        width = np.nanmax([*strips.values(), high])
        narrow, at_axis = high - low < 0.1 * width, low < 0.04 * width
        for value, side in ((low, "right"), (high, "left")):
            at = side if narrow else "left" if at_axis and value == low else "center"
            style.note(axes, number(value), (value, row - 0.19), (0, 2), ha=at, va="bottom")
        yields = force(each.preload.yield_preload.least)
        furthest += [high, yields]
        for value, other, words, marker in (
            (yields, strips[state], "screw yield", "|"),
            (strips[state], yields, "thread stripping", "x"),
        ):
            if not math.isnan(value):
                # Words under the bar, the lower mark's to its left: they never meet.
                side, move = ("right", 4) if value <= other else ("left", -4)
                axes.plot(value, row, marker, color=style.INK, markersize=9, markeredgewidth=1.6)
                style.note(axes, f"{words} {number(value)}", (value, row + 0.19), (move, -2),
                           size=7, ha=side, va="top")  # fmt: skip
    if separation > 0:
        axes.axvline(separation, color=style.GREY, linestyle=":", linewidth=1.2)
        style.note(axes, f"joint separation below {number(separation)}",
                   (separation, -0.75), (3, -2), ha="left", va="top")  # fmt: skip
    axes.set_yticks(range(len(strips)), [style.STATE[state].words for state in strips])
    axes.set(xlim=(0, 1.22 * np.nanmax(furthest)), ylim=(len(strips) - 0.45, -0.75))
    axes.grid(axis="y", visible=False)
    axes.set_xlabel(f"preload, {kilonewton}")
    return axes
