"""Loads at which the threads strip, beside the band in which the screw fails."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from ..joint import Evaluation
from ..units import number
from .style import ACROSS, GREY, STATE, dots, legend, note, panel, scale, screw_band, styled

if TYPE_CHECKING:
    from ..study.conclusion import MethodLoad

#: Least distance of the names of two curves, as a part of the height.
_NAMES_APART = 0.055
#: Part of the width that the words on the screw's strength take.
_WORDS = 0.45


@styled
def strip_load_against_length(
    evaluation: Evaluation,
    table: Mapping[str, NDArray[Any]],
    *,
    system: str = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw the strip load of the original and the repaired thread against engagement.

    Where the strongest screw of the class breaks first a line drops to the axis.

    Parameters
    ----------
    evaluation : of the case
    table : columns of a sweep over the nominal length
    system : "SI" or "inch"
    ax : axes to draw in; by default those of a new figure
    """
    force, kilonewton = scale("force", system)
    length, millimetre = scale("length", system)
    joint = evaluation.joint
    nominal = {"original": joint.engagement, "repaired": joint.insert_length}
    axes = panel(ax, 3.7)
    low, high = screw_band(axes, evaluation, force, level=True)
    curves, crossings = {}, {}
    for state, found in evaluation.states.items():
        lengths, loads, engaged = (
            table[name][table["state"] == state]
            for name in ("length_mm", "pull_out_N", "engaged_mm")
        )
        x, y = curves[state] = length(lengths), force(loads)
        crossings[state] = float(
            np.interp(found.required_engagement, engaged, x, left=np.nan, right=np.nan)
        )
        axes.plot(x, y, STATE[state].dashes, color=STATE[state].colour)
        dots(axes, state, length(nominal[state]), force(found.pull_out), 7,
             markerfacecolor="white", markeredgewidth=1.5)  # fmt: skip
    for state, crossing in crossings.items():
        if np.isfinite(crossing):
            line, right = STATE[state], crossing == np.nanmax([*crossings.values()])
            axes.plot([crossing] * 2, [0, high], line.dashes, color=line.colour, linewidth=0.8)
            axes.plot(crossing, high, "D", color=line.colour, markersize=4)
            note(axes, f"{number(crossing)} {millimetre}", (crossing, 0),
                 (3 if right else -3, 4), ha="left" if right else "right",
                 colour=line.colour)  # fmt: skip
    # Where the curves leave the left free the words on the screw stand there.
    left = all(np.interp(_WORDS * x[-1], x, y) < low for x, y in curves.values())
    for level, words in ((low, "minimum"), (high, "maximum")):
        note(axes, f"screw {joint.screw.id} fails, {words} strength: {number(level)} "
             f"{kilonewton}", (0.01 if left else 0.99, level), (0, 3), frame=ACROSS,
             ha="left" if left else "right", ground=0.75, zorder=3)  # fmt: skip
    top = max(float(y.max()) for _, y in curves.values())
    top = max(1.08 * high, 1.05 * top)  # room for words over the line
    axes.set(xlim=(0, None), ylim=(0, top), ylabel=f"load, {kilonewton}")
    # The names of two curves that end together stand one over the other.
    ends = sorted(curves, key=lambda state: float(curves[state][1][-1]))
    between = curves[ends[1]][1][-1] - curves[ends[0]][1][-1]
    lack = max(0.0, _NAMES_APART * top - between) / 2
    for state, shift in zip(ends, (-lack, lack), strict=True):
        x, y = (values[-1] for values in curves[state])
        # In its colour, instead of in a legend.
        note(axes, STATE[state].words, (x, y + shift), (4, 0), colour=STATE[state].colour, size=8.5,
             va="center", annotation_clip=False)  # fmt: skip
    axes.set_xlabel(
        f"nominal length: full thread (original) or insert length (repaired), {millimetre}"
    )
    major = length(joint.thread.major)
    upper = axes.secondary_xaxis("top", functions=(lambda v: v / major, lambda v: v * major))
    upper.set_xlabel("length over nominal diameter")
    return axes


@styled
def strip_load_by_method(
    methods: Sequence[MethodLoad],
    evaluation: Evaluation,
    *,
    system: str = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw a row of two dots for each method, the verdict's first, the others from high to low.

    Those that are not about wire thread inserts stand last, grey, without the line that joins the
    states.

    Parameters
    ----------
    methods : the published ones; what has no value in both conditions is left out
    evaluation : of the case
    system : "SI" or "inch"
    ax : axes to draw in; by default those of a new figure
    """
    force, kilonewton = scale("force", system)
    known = (each for each in methods if np.isfinite(each.ratio))
    rows = sorted(known, key=lambda each: (not each.comparable, -each.original))
    loads = {
        name: force(
            [state.mode("parent_thread_strip").capacity, *(getattr(row, name) for row in rows)]
        )
        for name, state in evaluation.states.items()
    }
    counts = np.array([True, *(row.comparable for row in rows)])
    places = -np.arange(len(rows) + 1.0)
    places[1:] -= 0.35  # the verdict stands apart
    axes = panel(ax, 1.25 + 0.27 * len(places))
    low, high = screw_band(axes, evaluation, force)
    words = (
        f"screw {evaluation.joint.screw.id} breaks,\n{number(low)} to {number(high)} {kilonewton}"
    )
    note(axes, words, ((low + high) / 2, 1.0), (0, 3), frame=("data", "axes fraction"),
         ha="center", va="bottom")  # fmt: skip
    axes.hlines(places[counts], *(each[counts] for each in loads.values()), color="#b0b0b0",
                linewidth=1)  # fmt: skip
    for state, line in STATE.items():
        x, fill = loads[state], GREY if state == "repaired" else "white"
        dots(axes, state, x[counts], places[counts], 6, label=line.words)
        dots(axes, state, x[~counts], places[~counts], 6, color=GREY, markerfacecolor=fill)
    named = (row.title + ("" if row.in_range else " *") for row in rows)
    axes.set_yticks(places, ["reference method", *named])
    axes.get_yticklabels()[0].set_fontweight("bold")
    most = max(high, *map(np.max, loads.values()))
    axes.grid(axis="y", visible=False)
    axes.set(xlim=(0, 1.12 * most), ylim=(places[-1] - 0.6, 0.6))
    axes.set_xlabel(f"strip load of the parent's thread, {kilonewton}")
    legend(axes, own=ax is None)
    return axes
