"""Strip load of both states in every parent, one row of dots a parent."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.figure import Figure
from numpy.typing import ArrayLike

from ..units import printed, unit_of
from .style import GREY, INK, STATE, figure, styled


def strip_load_by_parent(
    names: Sequence[str],
    original: ArrayLike,
    repaired: ArrayLike,
    *,
    screw_min: float,
    screw_words: str,
    chosen: str,
    system: str = "SI",
) -> Figure:
    """Draw a dot for each state in each parent, the weakest parent at the bottom.

    Parameters
    ----------
    names : parents, in the order of the loads
    original, repaired : array_like, N
    screw_min : breaking load of the weakest screw of its class, N
    screw_words : how the screw is named, e.g. "screw 8.8"
    chosen : the parent of the case; its row is marked
    system : "SI" or "inch"
    """
    units = "inch" if system == "inch" else "SI"
    loads = {
        "original": np.asarray(printed(np.asarray(original, float), "force", units)),
        "repaired": np.asarray(printed(np.asarray(repaired, float), "force", units)),
    }
    order = np.argsort(loads["original"], kind="stable")
    rows = np.arange(len(order))
    with styled():
        drawing = figure(0.9 + 0.19 * len(order))
        axes = drawing.add_subplot()
        axes.hlines(
            rows, loads["original"][order], loads["repaired"][order], color="#b0b0b0", linewidth=1
        )
        for state, line in STATE.items():
            axes.plot(
                loads[state][order],
                rows,
                line.marker,
                color=line.colour,
                markersize=5,
                markerfacecolor="white" if state == "original" else line.colour,
                label=line.words,
            )
        level = float(printed(screw_min, "force", units))
        axes.axvline(level, color=GREY, linestyle=":", linewidth=1.2)
        axes.annotate(
            f"weakest {screw_words} breaks",
            (level, len(order) - 0.4),
            xytext=(3, 0),
            textcoords="offset points",
            fontsize=7.5,
            color=INK,
            va="center",
        )
        axes.set_yticks(rows, [names[i] for i in order])
        for tick, index in zip(axes.get_yticklabels(), order, strict=True):
            if names[index] == chosen:
                tick.set_fontweight("bold")
        axes.set_ylim(-0.6, len(order) + 0.1)
        axes.set_xlim(left=0)
        axes.grid(axis="y", visible=False)
        axes.set_xlabel(f"pull-out strength, {unit_of('force', units)}")
        axes.legend(loc="lower right", frameon=True, framealpha=1, edgecolor="#cccccc")
        return drawing
