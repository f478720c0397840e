"""Strip loads between their certified bounds: by thread, by mesh, by boss."""

from collections.abc import Mapping, Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import ArrayLike

from ..joint import wall
from ..joint.records import Joint
from ..strength.collapse.wall_factor import wall_factor
from ..strength.methods.factored import dilation_factor
from .style import BLUE, GREEN, GREY, INK, ORANGE, STATE, figure, note, panel, panels, scale, styled

#: Colour, hatching and words of each support of a boss.
_SUPPORT = {"base": (GREEN, "", "held at its base"), "face": (ORANGE, "////", "held on its face")}


@styled
def bounds_of_threads(panels: Mapping[str, tuple[ArrayLike, ArrayLike, ArrayLike]]) -> Figure:
    """Draw both bounds of every thread; one panel a condition and tolerance position.

    Parameters
    ----------
    panels : by title, diameter over pitch, and lower and upper bound over the formula's load
    """
    drawing = figure(4.6)
    grid = drawing.subplots(2, (len(panels) + 1) // 2, sharex=True, sharey=True)
    for axes, (title, (ratio, lower, upper)) in zip(grid.flat, panels.items(), strict=False):
        axes.axhline(1, color=INK, linewidth=0.9)
        axes.plot(ratio, upper, "v", color=ORANGE, markersize=3, mew=0)
        axes.plot(ratio, lower, "^", color=BLUE, markersize=3, mew=0)
        axes.set_title(title)
        _log_ticks(axes, (5, 10, 20, 50))
    first, right = grid.flat[0], float(np.max(next(iter(panels.values()))[0]))
    note(first, "upper bound ▼", (right, 1.004), ha="right", va="center", colour=ORANGE)
    note(first, "lower bound ▲", (right, 0.976), ha="right", va="center", colour=BLUE)
    drawing.supxlabel("major diameter of the tapped hole over pitch", fontsize=9)
    drawing.supylabel("certified bound over the load of the area formula", fontsize=9)
    return drawing


@styled
def bounds_by_mesh(series: Mapping[str, tuple[ArrayLike, ArrayLike, ArrayLike]]) -> Axes:
    """Draw both bounds over the number of triangles; `series` holds triangles, lower, upper."""
    axes = panel(None, 3.0)
    axes.axhline(1, color=GREY, linewidth=0.9)
    for (name, (triangles, lower, upper)), mark in zip(series.items(), "osD", strict=False):
        axes.plot(triangles, upper, f"{mark}--", color=ORANGE, markersize=4, linewidth=1)
        axes.plot(triangles, lower, f"{mark}-", color=BLUE, markersize=4, linewidth=1,
                  label=name)  # fmt: skip
    _log_ticks(axes, (400, 1000, 2000, 4000))
    axes.set(xlabel="triangles of the mesh", ylabel="bound over formula")
    axes.legend(loc="lower right", fontsize=7.5)
    return axes


def _log_ticks(axes: Axes, ticks: Sequence[int]) -> None:
    axes.set(xscale="log", xticks=ticks, xticklabels=map(str, ticks))
    axes.minorticks_off()


@styled
def wall_factor_by_boss(
    holes: Mapping[str, tuple[float, float]],
    *,
    joint: Joint | None,
    system: str = "SI",
    ax: Sequence[Axes] | None = None,
) -> Sequence[Axes]:
    """Draw what is left of the strip load in a boss: certified bands beside the published curve.

    Parameters
    ----------
    holes : by state, major diameter of the hole, mm, and engaged length over it
    joint : whose wall it is; without one, of a wall with the flow stress of its thread
    system : "SI" or "inch"
    ax : as many axes to draw in; by default those of a new figure
    """
    length, millimetre = scale("length", system)
    ratio = np.linspace(*wall.BOSS_RANGE, 46)
    every = panels(ax, len(holes), 3.3)
    for axes, (state, (major, engaged)) in zip(every, holes.items(), strict=True):
        boss = length(ratio * major)
        for support, (colour, hatch, words) in _SUPPORT.items():
            low, high = (
                wall_factor(ratio, support, state, engagement_over_major=engaged, bound=bound)
                if joint is None
                else wall.certified_wall_factors(
                    joint, support, state, major, engaged * major, ratio * major, bound
                )
                for bound in ("lower", "upper")
            )
            axes.fill_between(boss, low, high, facecolor=colour, edgecolor=colour, alpha=0.5,
                              hatch=hatch, linewidth=0.6, label=words)  # fmt: skip
        published = dilation_factor(ratio * major, major)
        axes.plot(boss, published, ":", color=INK, linewidth=1.4, label="C1 of SAE 770420")
        if joint is not None and joint.boss_diameter is not None:
            at = length(joint.boss_diameter)
            axes.axvline(at, color=GREY, linewidth=1, linestyle="--")
            # above every curve, on the side with more room
            side, by = ("left", 2) if at < boss.mean() else ("right", -2)
            note(axes, "this boss", (at, 1.06), (by, 0), ha=side, va="center")
        axes.set(title=STATE[state].words, xlabel=f"boss diameter, {millimetre}", ylim=(0, 1.12))
    every[0].set_ylabel("stripping load over that in a thick wall")
    every[-1].legend(loc="lower right", frameon=True, framealpha=1, edgecolor="#cccccc")
    return every
