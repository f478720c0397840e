"""How certain a strip load is: between its certified bounds, and among joints of one kind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import PercentFormatter
from numpy.typing import ArrayLike

from ..joint import Joint, wall
from ..strength.collapse.wall_factor import wall_factor
from ..strength.methods.factored import dilation_factor
from ..units import number
from . import style
from .style import BLUE, GREEN, GREY, INK, ORANGE, STATE, figure, note, panel, panels, scale, styled

if TYPE_CHECKING:
    from ..study import Study

#: With the line of each condition what tells its distribution without colours.
_HATCH = {"original": "\\\\\\\\", "repaired": "////"}
#: Shares below this are drawn together: no reader acts on them.
LEAST_SHARE = 0.01
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
    every = panels(ax, len(holes), 3.8)
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
            axes.fill_between(boss, low, high, facecolor=colour, edgecolor=INK, alpha=0.5,
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
    style.legend(every[-1], own=ax is None)  # below: in the axes it hides the line of some boss
    return every


@styled
def load_distributions(study: Study, ax: Axes | None = None) -> Axes:
    """Draw how strip loads and the screw's breaking load are distributed.

    A line marks the load that the joint must carry.

    Parameters
    ----------
    study : Study
    ax : axes to draw in; by default those of a new figure
    """
    force, kilonewton = scale("force", study.case.report_units)
    sampled = study.chances.simulation
    drawn = [(sampled.screw, GREY, ":", "....", f"screw {study.evaluation.joint.screw.id} fails")]
    for state, line in STATE.items():
        named = f"{line.words} strips"
        drawn.append((sampled.strip[state], line.colour, line.dashes, _HATCH[state], named))
    axes = panel(ax, 3.2)
    for loads, colour, dashes, hatch, words in drawn:
        axes.hist(force(loads), "rice", density=True, histtype="stepfilled", facecolor="none",
                  edgecolor=colour, linestyle=dashes, linewidth=1.3, hatch=hatch,
                  label=words)  # fmt: skip
    if study.case.design_load is not None:
        factor = study.chances.model.load_factor
        name = "limit load" if factor == 1 else "ultimate design load"
        at = force(study.case.design_load * factor)
        axes.axvline(at, color=INK, linewidth=1.6, label=f"{name}, {number(at)} {kilonewton}")
    axes.yaxis.set_major_formatter(PercentFormatter(1, symbol=""))
    axes.set(xlabel=f"load, {kilonewton}", ylabel=f"joints, % per {kilonewton}")
    style.legend(axes, own=ax is None)
    return axes


@styled
def driver_shares(panels: Mapping[str, Mapping[str, Any]]) -> Figure:
    """Draw what share of the scatter each input has, the greatest on top.

    Parameters
    ----------
    panels : by what scatters, columns of `reliability.drivers.drivers`
        `label`, `total`, `total_low`, `total_high`, sorted.
    """
    # The inputs that matter; the greatest always does.
    rows = [max(1, int(np.sum(each["total"] >= LEAST_SHARE))) for each in panels.values()]
    drawing = figure(0.55 + sum(0.24 * n + 0.42 for n in rows))
    every = drawing.subplots(
        len(rows), 1, sharex=True, squeeze=False, height_ratios=[n + 0.8 for n in rows]
    )[:, 0]
    for axes, n, (words, columns) in zip(every, rows, panels.items(), strict=True):
        at = np.arange(n)[::-1]
        share, low, high = (
            100 * np.asarray(columns[name][:n], float)
            for name in ("total", "total_low", "total_high")
        )
        axes.barh(at, share, height=0.6, color=BLUE, alpha=0.75)
        axes.hlines(at, np.maximum(low, 0), high, color=INK, linewidth=1.2)
        for y, value, end in zip(at, share, high, strict=True):
            note(axes, f"{number(value, 2)} %", (max(value, end), y), (4, 0), colour="black",
                 va="center")  # fmt: skip
        axes.set(yticks=at, yticklabels=columns["label"][:n], ylim=(-0.6, n - 0.4), xlim=(0, 105))
        axes.grid(axis="y", visible=False)
        axes.set_title(words, loc="left")
    every[-1].set_xlabel("share of the variance with all interactions, %")
    return drawing
