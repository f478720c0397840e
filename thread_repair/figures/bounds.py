"""The area formula's load between its certified bounds, thread by thread."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from matplotlib.figure import Figure

from ..arrays import FloatArray
from .style import BLUE, GREY, INK, ORANGE, figure, styled


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoundsByPitch:
    """Bounds over the formula's load of many threads, with their diameter over the pitch."""

    ratio: FloatArray
    lower: FloatArray
    upper: FloatArray


def bounds_of_threads(panels: Mapping[str, BoundsByPitch]) -> Figure:
    """Draw both bounds of every thread; one panel a condition and tolerance position."""
    with styled():
        drawing = figure(4.6)
        grid = drawing.subplots(2, (len(panels) + 1) // 2, sharex=True, sharey=True)
        for axes, (title, found) in zip(grid.flat, panels.items(), strict=False):
            axes.axhline(1, color=INK, linewidth=0.9)
            axes.plot(found.ratio, found.upper, "v", color=ORANGE, markersize=3, mew=0)
            axes.plot(found.ratio, found.lower, "^", color=BLUE, markersize=3, mew=0)
            axes.set_title(title)
            axes.set_xscale("log")
            axes.set_xticks([5, 10, 20, 50], ["5", "10", "20", "50"])
            axes.minorticks_off()
        first = next(iter(panels.values()))
        place = float(first.ratio.max())
        for text, height, colour in (
            ("upper bound ▼", 1.004, ORANGE), ("lower bound ▲", 0.976, BLUE)
        ):  # fmt: skip
            grid.flat[0].annotate(
                text, (place, height), ha="right", va="center", fontsize=7.5, color=colour
            )
        drawing.supxlabel("major diameter of the tapped hole over pitch", fontsize=9)
        drawing.supylabel("certified bound over the load of the area formula", fontsize=9)
        return drawing


def bounds_by_mesh(series: Mapping[str, tuple[FloatArray, FloatArray, FloatArray]]) -> Figure:
    """Draw both bounds over the number of triangles; `series` holds triangles, lower, upper."""
    marks = ("o", "s", "D")
    with styled():
        drawing = figure(3.0)
        axes = drawing.subplots()
        axes.axhline(1, color=GREY, linewidth=0.9)
        for (name, (triangles, lower, upper)), mark in zip(series.items(), marks, strict=False):
            axes.plot(triangles, upper, f"{mark}--", color=ORANGE, markersize=4, linewidth=1)
            axes.plot(
                triangles, lower, f"{mark}-", color=BLUE, markersize=4, linewidth=1, label=name
            )
        axes.set_xscale("log")
        axes.set_xticks([400, 1000, 2000, 4000], ["400", "1000", "2000", "4000"])
        axes.minorticks_off()
        axes.set_xlabel("triangles of the mesh")
        axes.set_ylabel("bound over formula")
        axes.legend(loc="lower right", fontsize=7.5)
        return drawing
