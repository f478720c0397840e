"""Strip load of both states against length, small and quick, for the live notebook."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure

from ..units import number
from .live_canvas import SIZE, Plot, blank, round_steps
from .style import INK, STATE

if TYPE_CHECKING:
    from .live_records import Strip


def live_strip_load(found: Strip, *, screw: str) -> Figure:
    """Draw pull-out strength against nominal length, the screw's band and the crossovers.

    Parameters
    ----------
    found : Strip
    screw : class of the screw, e.g. "8.8"
    """
    drawing = blank(4.1)
    lengths = found.lengths / found.diameter
    highest = 1.3 * max(found.screw_max, found.original.pull_out, found.repaired.pull_out) / 1e3
    steps = round_steps(highest)
    plot = Plot(drawing=drawing, box=(50, 48, 540, 296), x=(0.0, 3.1), y=(0.0, highest))
    whole = (0, 0.5, 1, 1.5, 2, 2.5, 3)
    plot.grid(x=whole[1:], y=steps[1:])
    # The curves rise from left to right: the free end of the band is where they do not cross it.
    crossed = [x for x in (found.original.crossing, found.repaired.crossing) if math.isfinite(x)]
    at_right = bool(crossed) and max(crossed) < 2.0 * found.diameter
    low, high = found.screw_min / 1e3, found.screw_max / 1e3
    plot.bar(0, low, 3.1, high - low, color="#e2e2e2", linewidth=0, zorder=0.4)
    for level, words, place in ((low, "weakest", "top"), (high, "strongest", "bottom")):
        plot.line([0, 3.1], [level, level], color="#6b6b6b", linewidth=1, linestyle=":")
        gap = (-1 if place == "top" else 1) * 0.01 * highest
        plot.text(
            3.07 if at_right else 0.03,
            level + gap,
            f"{words} {screw} screw breaks, {number(level)} kN",
            ha="right" if at_right else "left",
            va=place,
            color="#333333",
            backed=True,
        )
    for name, marker in (("original", "s"), ("repaired", "o")):
        state, line = found.state(name), STATE[name]
        loads = state.curve / 1e3
        inside = loads <= highest
        plot.line(
            lengths[inside], loads[inside], color=line.colour, linestyle=line.dashes, linewidth=2
        )
        x, y = state.nominal / found.diameter, state.pull_out / 1e3
        plot.line(
            [x],
            [y],
            marker=marker,
            markersize=9,
            markerfacecolor="white",
            markeredgewidth=2,
            color=line.colour,
            linestyle="none",
        )
        if math.isfinite(state.crossing):
            cross = state.crossing / found.diameter
            plot.line([cross, cross], [0, high], color=line.colour, linewidth=1.2, linestyle=":")
            plot.line([cross], [high], marker="D", markersize=6, color=line.colour)
    _crossings(plot, found)
    _line_names(plot, found, highest)
    plot.frame()
    plot.numbers_below(whole, "nominal length over nominal diameter")
    plot.numbers_left(steps, "load, kN")
    return drawing


def _line_names(plot: Plot, found: Strip, highest: float) -> None:
    """Say in a line above the picture how each state is drawn and what it carries."""
    for x, name, sign in ((0.62, "original", "▫ ‑ ‑"), (1.86, "repaired", "○ —")):
        state = found.state(name)
        plot.text(
            x,
            highest * 1.035,
            f"{sign} {name}: {number(state.pull_out / 1e3)} kN",
            color=STATE[name].colour,
            weight="bold",
            size=SIZE,
            va="bottom",
        )


def _crossings(plot: Plot, found: Strip) -> None:
    """Name the crossovers at the foot of their lines, the lower one outside to the left."""
    at = {
        name: found.state(name).crossing / found.diameter
        for name in ("original", "repaired")
        if math.isfinite(found.state(name).crossing)
    }
    foot = plot.y[1] * 0.03
    for name, x in at.items():
        others = [v for other, v in at.items() if other != name]
        right = (not others or x > others[0]) and x < 2.7
        lowest = x == min(at.values())
        plot.text(
            x + (0.04 if right else -0.04),
            foot if lowest or right else 2.6 * foot,
            f"{number(found.state(name).crossing)} mm",
            ha="left" if right else "right",
            color=STATE[name].colour,
            backed=True,
        )
    if not at:
        plot.text(
            3.05,
            foot,
            "in neither state does the strongest screw break first",
            ha="right",
            color=INK,
        )


def strip_words(found: Strip) -> str:
    """Say in a sentence what the picture shows."""
    parts = [
        f"Pull-out strength: original {number(found.original.pull_out / 1e3)} kN, repaired "
        f"{number(found.repaired.pull_out / 1e3)} kN, ratio {number(found.ratio)}."
    ]
    for name in ("original", "repaired"):
        crossing = found.state(name).crossing
        parts.append(
            f"The screw breaks first from {number(crossing)} mm ({name})."
            if np.isfinite(crossing)
            else f"No length drawn lets the screw break first ({name})."
        )
    return " ".join(parts)
