"""Load of each engaged thread from the joint face, both states."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator
from numpy.typing import ArrayLike

from ..arrays import FloatArray
from .style import GREY, INK, STATE, panels, styled


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ThreadShares:
    """Part of the load on each thread of one state, and the parts of a coil that slides.

    `stuck` is what is drawn; `sliding` is empty for the original hole. `threads` is the engaged
    length in pitches: the last thread may be a part of one.
    """

    stuck: FloatArray
    sliding: FloatArray
    threads: float


def load_per_thread(
    states: Mapping[str, ThreadShares], *, ax: Sequence[Axes] | None = None
) -> Sequence[Axes]:
    """Draw the share of each thread as steps, a panel for each state, on the same scales.

    The dashed level is the share of a whole thread where all carry the same.
    """
    highest = max(float(np.max(each.stuck)) for each in states.values())
    longest = max(each.threads for each in states.values())
    with styled():
        every = panels(ax, len(states), 2.7)
        for axes, (state, each) in zip(every, states.items(), strict=True):
            line = STATE[state]
            axes.stairs(
                100 * each.stuck, _edges(each), fill=True, facecolor=line.colour, alpha=0.25
            )
            axes.stairs(100 * each.stuck, _edges(each), color=line.colour, linewidth=1.6)
            if each.sliding.size:
                axes.stairs(
                    100 * each.sliding, _edges(each), color=INK, linewidth=1.1, linestyle="--"
                )
                axes.annotate(
                    "filled: coil sticks fast\ndashed: coil slides", (0.99, 0.86), ha="right",
                    va="top", xycoords="axes fraction", fontsize=7.5, color=INK,
                )  # fmt: skip
            mean = 100 / each.threads
            axes.axhline(mean, color=GREY, linestyle=":", linewidth=1.1)
            axes.annotate(
                f"even share {mean:.0f} %", (0.99, mean), xycoords=("axes fraction", "data"),
                xytext=(0, 3), textcoords="offset points", ha="right", fontsize=7.5, color=GREY,
            )  # fmt: skip
            axes.annotate(
                f"first thread {100 * each.stuck[0]:.0f} %", (1, 100 * each.stuck[0]),
                xytext=(4, 2), textcoords="offset points", fontsize=8, color=line.colour,
            )  # fmt: skip
            axes.set_title(line.words, color=line.colour)
            axes.set_xlabel("thread, from the joint face")
            axes.grid(axis="x", visible=False)
            axes.set_xlim(0, longest)
            axes.set_ylim(0, 125 * highest)
            axes.xaxis.set_major_locator(MaxNLocator(integer=True))
        every[0].set_ylabel("part of the load, %")
        return every


def _edges(shares: ThreadShares) -> ArrayLike:
    """Return the ends of the threads in pitches; the last one ends with the engagement."""
    edges = np.arange(len(shares.stuck) + 1, dtype=float)
    edges[-1] = max(shares.threads, edges[-2] + 1e-3)
    return edges
