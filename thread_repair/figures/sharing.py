"""How the threads share the load, and how far the screw travels under it; both states."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator
from numpy.typing import ArrayLike

from ..arrays import FloatArray
from .style import ACROSS, GREY, INK, STATE, note, panel, panels, scale, styled

if TYPE_CHECKING:
    from ..study import Study


@styled
def load_per_thread(study: Study, ax: Sequence[Axes] | None = None) -> Sequence[Axes]:
    """Draw the share of each thread as steps, a panel for each state, on the same scales.

    The dotted level is the share of a whole thread where all carry the same.
    """
    states, pitch = study.evaluation.sharing, study.evaluation.joint.thread.pitch
    stuck = {state: _per_cent(each.shown.loads) for state, each in states.items()}
    longest = max(each.engagement for each in states.values()) / pitch
    top = max(float(np.max(loads)) for loads in stuck.values())
    every = panels(ax, len(states), 2.7)
    for axes, (state, each) in zip(every, states.items(), strict=True):
        line, loads, threads = STATE[state], stuck[state], each.engagement / pitch
        # In pitches; the last thread may be a part of one and ends with the engagement.
        edges = np.arange(len(loads) + 1, dtype=float)
        edges[-1] = max(threads, edges[-2] + 1e-3)
        axes.stairs(loads, edges, fill=True, facecolor=line.colour, alpha=0.25)
        axes.stairs(loads, edges, color=line.colour, linewidth=1.6)
        if each.sliding:
            slides = _per_cent(each.sliding[each.boundary].loads)
            axes.stairs(slides, edges, color=INK, linewidth=1.1, linestyle="--")
            note(axes, "filled: coil sticks fast\ndashed: coil slides", (0.99, 0.86),
                 frame="axes fraction", ha="right", va="top")  # fmt: skip
        mean = 100 / threads
        axes.axhline(mean, color=GREY, linestyle=":", linewidth=1.1)
        # over the thread that carries least; the last one may be a part of one
        least = (np.argmin(loads[: max(1, len(loads) - 1)]) + 0.5) / longest
        note(axes, f"even share {mean:.0f} %", (min(least, 0.8), mean), (0, 3), frame=ACROSS,
             ha="center", colour=GREY)  # fmt: skip
        note(axes, f"first thread {loads[0]:.0f} %", (1, loads[0]), (4, 2), size=8,
             colour=line.colour)  # fmt: skip
        axes.set_title(line.words, color=line.colour)
        axes.grid(axis="x", visible=False)
        axes.set(xlim=(0, longest), ylim=(0, 1.25 * top), xlabel="thread, from the joint face")
        axes.xaxis.set_major_locator(MaxNLocator(integer=True))
    every[0].set_ylabel("part of the load, %")
    return every


def _per_cent(loads: ArrayLike) -> FloatArray:
    found: FloatArray = 100 * np.atleast_1d(np.asarray(loads, dtype=np.float64))
    return found[found > 0]


@styled
def load_against_travel(study: Study, ax: Axes | None = None) -> Axes:
    """Draw the curves: thick where they hold, thin beyond, a cross where a thread parts."""
    states = study.load_slip.states
    force, kilonewton = scale("force", study.case.report_units)
    length, millimetre = scale("length", study.case.report_units)
    meanings = [
        "cross: a thread parts, by the sharing model",
        "shaded: between the certified bounds of the plateau",
    ]
    axes = panel(ax, 3.4)
    top = max(states, key=lambda state: states[state].plateau)
    for state, found in states.items():
        line = STATE[state]
        travel, load = length(found.travel), force(found.load)
        last, end = length(found.last_travel), force(found.last_load)
        holds = found.travel < found.last_travel
        # the upper bound with the factors that the verdict and the certified minimum carry
        bounds = study.brackets[state]
        certified = (bounds.minimum, bounds.minimum * bounds.upper / bounds.lower)
        axes.axhspan(*force(certified), color=line.colour, alpha=0.18, linewidth=0)
        for x, y, width in (
            ([*travel[holds], last], [*load[holds], end], 1.8),
            ([last, *travel[~holds]], [end, *load[~holds]], 0.7),
        ):
            axes.plot(x, y, line.dashes, color=line.colour, linewidth=width)
        if found.small_strain_travel < found.ductility_travel:
            axes.plot(last, end, line.marker, color=line.colour, markersize=5)
            meanings = ["mark: small-strain theory ends", *meanings[-2:]]
        axes.plot(travel[-1], load[-1], "x", color=line.colour, markersize=7)
        # The plateaus are named where no curve is yet.
        up, va = (5, "bottom") if state == top else (-5, "top")
        note(axes, line.words, (0.01, force(found.plateau)), (0, up), frame=ACROSS, va=va,
             size=8.5, colour=line.colour)  # fmt: skip
    note(axes, "\n".join(meanings), (0.99, 0.04), frame="axes fraction", ha="right")
    axes.set(xlim=(0, None), ylim=(0, 1.12 * force(states[top].plateau)),
             xlabel=f"travel of the screw at the joint face, {millimetre}",
             ylabel=f"axial load, {kilonewton}")  # fmt: skip
    return axes
