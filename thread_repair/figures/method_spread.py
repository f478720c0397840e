"""Strip load of both states by every method, beside the band in which the screw breaks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes

from ..arrays import FloatArray
from ..units import number, printed, unit_of
from .style import GREY, INK, STATE, legend, panel, styled


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodLoads:
    """Strip load of the parent by one method, N; `is_verdict` marks the one the verdict uses.

    One that is not `comparable` is drawn grey, without the line that joins the states.
    """

    name: str
    original: float
    repaired: float
    is_verdict: bool
    in_range: bool
    comparable: bool = True


def strip_load_by_method(
    methods: Sequence[MethodLoads],
    *,
    screw_min: float,
    screw_max: float,
    screw_words: str,
    system: str = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw a row of two dots for each method, the verdict's first, the others from high to low.

    Those that cannot be compared stand last.

    Parameters
    ----------
    methods : sequence of MethodLoads
    screw_min, screw_max : breaking load of the weakest and the strongest screw of its class, N
    screw_words : how the screw is named, e.g. "screw 8.8"
    system : "SI" or "inch"
    ax : axes to draw in; by default those of a new figure
    """
    units = "inch" if system == "inch" else "SI"
    rows = sorted(methods, key=lambda m: (not m.is_verdict, not m.comparable, -m.original))
    loads: dict[str, FloatArray] = {
        state: np.array([float(printed(getattr(row, state), "force", units)) for row in rows])
        for state in STATE
    }
    low, high = (float(printed(load, "force", units)) for load in (screw_min, screw_max))
    places = -np.arange(len(rows), dtype=float)
    places[1:] -= 0.35  # the verdict stands apart
    with styled():
        axes = panel(ax, 1.25 + 0.27 * len(rows))
        axes.axvspan(low, high, color="#e9e9e9", zorder=0)
        for level in (low, high):
            axes.axvline(level, color=GREY, linestyle=":", linewidth=1.0)
        axes.annotate(
            f"{screw_words} breaks,\n{number(low)} to {number(high)} {unit_of('force', units)}",
            ((low + high) / 2, 1.0), xycoords=("data", "axes fraction"), xytext=(0, 3),
            textcoords="offset points", ha="center", va="bottom", fontsize=7.5, color=INK,
        )  # fmt: skip
        counts = np.array([row.comparable for row in rows])
        axes.hlines(
            places[counts], loads["original"][counts], loads["repaired"][counts],
            color="#b0b0b0", linewidth=1,
        )  # fmt: skip
        for state, line in STATE.items():
            for some, colour, words in ((counts, line.colour, line.words), (~counts, GREY, None)):
                axes.plot(
                    loads[state][some], places[some], line.marker, color=colour, markersize=6,
                    markerfacecolor="white" if state == "original" else colour, label=words,
                )  # fmt: skip
        axes.set_yticks(places, [_name(row) for row in rows])
        axes.get_yticklabels()[0].set_fontweight("bold")
        axes.set_ylim(places[-1] - 0.6, 0.6)
        axes.set_xlim(0, 1.12 * max(high, *(float(np.max(values)) for values in loads.values())))
        axes.grid(axis="y", visible=False)
        axes.set_xlabel(f"strip load of the parent's thread, {unit_of('force', units)}")
        legend(axes, own=ax is None)
        return axes


def _name(row: MethodLoads) -> str:
    if row.is_verdict:
        return "reference method"
    return row.name if row.in_range else f"{row.name} *"
