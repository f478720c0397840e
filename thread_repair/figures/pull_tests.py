"""Test pieces: how their loads scatter, and whether a shape fits them."""

import math
from collections.abc import Sequence
from statistics import NormalDist

import numpy as np
from matplotlib.axes import Axes

from ..uncertainty.pull_tests.evidence import GroupEvidence
from ..units import number
from .style import GREY, INK, STATE, dots, note, panel, scale, styled

#: Percentages that the probability paper names.
_PERCENT = (1, 2, 5, 10, 20, 50, 80, 90, 95, 98, 99)


#: Pieces of one condition by how they are named, and the load predicted for them, N, or NaN.
Pieces = tuple[str, GroupEvidence, float]

#: Its multiples share out the unit interval without coming together.
_GOLDEN = (math.sqrt(5) - 1) / 2


@styled
def probability_paper(groups: Sequence[Pieces], *, system: str = "SI") -> Axes:
    """Draw the loads on normal probability paper: a normal sample lies near its line.

    Parameters
    ----------
    groups : one for each state
    system : "SI" or "inch"
    """
    force, kilonewton = scale("force", system)
    quantile = np.vectorize(NormalDist().inv_cdf, otypes=[float])
    ends = low, high = quantile([0.006, 0.994])
    axes = panel(None, 3.5)
    for name, found, _ in groups:
        state, scatter, bounds = found.group.state, found.scatter, found.useful
        line, loads = STATE[state], np.sort(force(found.group.load))
        median_ranks = (np.arange(1, loads.size + 1) - 0.3) / (loads.size + 0.4)
        dots(axes, state, loads, quantile(median_ranks), 5, markerfacecolor="white",
             markeredgewidth=1.3, zorder=3)  # fmt: skip
        if scatter is None:
            continue
        fitted = force(scatter.mean + scatter.sd * ends)
        axes.plot(fitted, ends, line.dashes, color=line.colour)
        note(axes, name, (fitted[1], high), (0, 3), ha="center", size=8.5,
             colour=line.colour, annotation_clip=False)  # fmt: skip
        if "99/95" in bounds:
            # The load that 99 % of all pieces exceed with 95 % confidence, on the 1 % line.
            x, y = force(bounds["99/95"]), quantile(0.01)
            axes.plot(x, y, "D", color=line.colour, markersize=5.5, zorder=4)
            note(axes, f"99/95 limit\n{number(x)} {kilonewton}", (x, y), (-7, 0), ha="right",
                 va="center", colour=line.colour, ground=0.75, zorder=4)  # fmt: skip
    axes.axhline(quantile(0.01), color=GREY, linewidth=0.8)
    axes.set_yticks(quantile(np.array(_PERCENT) / 100), [f"{p}" for p in _PERCENT])
    axes.set_ylim(low, high)
    left, right = axes.get_xlim()
    axes.set_xlim(left - 0.14 * (right - left), right)  # room for the name of a limit
    axes.set(xlabel=f"peak load, {kilonewton}", ylabel="specimens at or below, %")
    return axes


@styled
def loads_by_state(groups: Sequence[Pieces], *, system: str = "SI") -> Axes:
    """Draw every piece, the mean with its interval, the tolerance bounds and the prediction.

    Parameters
    ----------
    groups : one row for each, the first on top
    system : "SI" or "inch"
    """
    force, kilonewton = scale("force", system)
    axes = panel(None, 0.7 + 1.25 * len(groups))

    def words(text: str, x: float, y: float, colour: str, va: str = "bottom") -> None:
        note(axes, text, (x, y), ha="center", va=va, colour=colour, linespacing=1.05)

    for row, (_, found, predicted) in enumerate(reversed(groups)):
        state, scatter = found.group.state, found.scatter
        colour, loads = STATE[state].colour, np.sort(force(found.group.load))
        # Each stands at a height of its own, far from its neighbours': equal loads are all seen.
        height = row + 0.2 * (np.arange(loads.size) * _GOLDEN % 1 - 0.5)
        dots(axes, state, loads, height, 5, markerfacecolor="white", markeredgewidth=1.2,
             zorder=3)  # fmt: skip
        if scatter is not None:
            low, mean, high = force([scatter.mean_low, scatter.mean, scatter.mean_high])
            axes.plot([low, high], [row + 0.24] * 2, "-", color=colour, linewidth=2.2)
            axes.plot(mean, row + 0.24, "|", color=colour, markersize=11, markeredgewidth=2)
            words(f"mean {number(mean)}", mean, row + 0.32, colour)
        if np.isfinite(predicted):
            at = force(predicted)
            axes.plot([at, at], [row - 0.17, row + 0.17], "-", color=INK, linewidth=1.4)
            words(f"predicted {number(at)}", at, row - 0.19, INK, "top")
        for claim, bound in found.useful.items():
            at = force(bound)
            axes.plot(at, row, ">", color=colour, markersize=7)
            words(f"{claim}\n{number(at)}", at, row + 0.09, colour)
    named = [f"{name}, {len(found.group.load)} specimens" for name, found, _ in reversed(groups)]
    axes.set_yticks(range(len(groups)), [each.replace(", ", "\n") for each in named])
    axes.grid(axis="y", visible=False)
    axes.margins(x=0.08)
    axes.set(ylim=(-0.55, len(groups) - 0.45), xlabel=f"peak load, {kilonewton}")
    return axes
