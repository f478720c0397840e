"""Test pieces: how their loads scatter."""

import math
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes

from ..uncertainty.pull_tests.evidence import GroupEvidence
from ..units import number
from .style import INK, STATE, dots, note, panel, scale, styled

#: Pieces of one condition by how they are named, and the load predicted for them, N, or NaN.
Pieces = tuple[str, GroupEvidence, float]

#: Its multiples share out the unit interval without coming together.
_GOLDEN = (math.sqrt(5) - 1) / 2


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
            words(f"limit\n{claim}\n{number(at)}", at, row + 0.11, colour)
    named = [f"{name}, {len(found.group.load)} specimens" for name, found, _ in reversed(groups)]
    axes.set_yticks(range(len(groups)), [each.replace(", ", "\n") for each in named])
    axes.grid(axis="y", visible=False)
    axes.margins(x=0.08)
    axes.set(ylim=(-0.55, len(groups) - 0.45), xlabel=f"peak load, {kilonewton}")
    return axes
