"""Preload band of both states against yield, stripping and opening of the joint."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

from matplotlib.axes import Axes

from ..units import number, printed, unit_of
from .style import GREY, INK, STATE, panel, styled


@dataclass(frozen=True, slots=True, kw_only=True)
class PreloadBar:
    """Preload in service of one state, and what limits it, N; NaN where not known."""

    least: float
    middle: float
    highest: float
    strip: float
    at_yield: float


def preload_band(
    bars: Mapping[str, PreloadBar], *, need: float, system: str = "SI", ax: Axes | None = None
) -> Axes:
    """Draw one band a state, its limits as marks on the same line.

    Parameters
    ----------
    bars : by state
    need : preload below which the joint separates, N; zero without a load
    system : "SI" or "inch"
    ax : axes to draw in; by default those of a new figure
    """
    units = "inch" if system == "inch" else "SI"
    force = partial(printed, dimension="force", system=units)
    with styled():
        axes = panel(ax, 0.75 + 0.6 * len(bars))
        for row, (state, bar) in enumerate(bars.items()):
            line = STATE[state]
            low, middle, high = (force(each) for each in (bar.least, bar.middle, bar.highest))
            axes.barh(
                row, high - low, left=low, height=0.34, color=line.colour, alpha=0.35,
                edgecolor=line.colour, linewidth=1.2,
            )  # fmt: skip
            axes.plot([middle] * 2, [row - 0.17, row + 0.17], color=line.colour, linewidth=1.6)
            for value in (low, high):
                axes.annotate(
                    number(value), (value, row - 0.19), xytext=(0, 2),
                    textcoords="offset points", ha="center", va="bottom", fontsize=7.5, color=INK,
                )  # fmt: skip
            for value, words, marker in (
                (bar.at_yield, "screw yield", "|"),
                (bar.strip, "thread stripping", "x"),
            ):
                if math.isnan(value):
                    continue
                axes.plot(force(value), row, marker, color=INK, markersize=9, markeredgewidth=1.6)
                axes.annotate(
                    f"{words}\n{number(force(value))}", (force(value), row), xytext=(6, 0),
                    textcoords="offset points", va="center", fontsize=7, color=INK,
                )  # fmt: skip
        if need > 0:
            axes.axvline(force(need), color=GREY, linestyle=":", linewidth=1.2)
            axes.annotate(
                f"joint separation below {number(force(need))}", (force(need), len(bars) - 0.5),
                xytext=(3, 2), textcoords="offset points", ha="left", va="bottom", fontsize=7.5,
                color=INK,
            )  # fmt: skip
        axes.set_yticks(range(len(bars)), [STATE[state].words for state in bars])
        axes.set_ylim(len(bars) - 0.5, -0.55)
        axes.set_xlim(0, 1.14 * max(force(bar.strip) for bar in bars.values()))
        axes.grid(axis="y", visible=False)
        axes.set_xlabel(f"preload, {unit_of('force', units)}")
        return axes
