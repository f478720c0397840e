"""Every parent of a kind: strip load of both states, and the insert that each needs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ..units import number, printed, unit_of
from .style import GREY, INK, STATE, figure, styled

#: Height of a row and of a group's heading, inches.
_ROW = 0.135


@dataclass(frozen=True, slots=True, kw_only=True)
class ParentRow:
    """One parent: strip loads, N, and the standard insert it needs, in diameters (NaN: none).

    The insert is the shortest with which even the strongest screw of its class breaks first.
    """

    name: str
    group: str
    original: float
    repaired: float
    needed: float


def all_parents(
    rows: Sequence[ParentRow],
    *,
    screw_min: float,
    screw_max: float,
    chosen: str,
    system: str = "SI",
) -> Figure:
    """Draw two columns of parents by group, the strongest of each group first.

    Parameters
    ----------
    rows : sequence of ParentRow
        In the order of the groups.
    screw_min, screw_max : breaking load of the weakest and the strongest screw of its class, N
    chosen : the parent of the case, in bold
    system : "SI" or "inch"
    """
    units = "inch" if system == "inch" else "SI"
    lines = _lines(rows)
    columns = _columns(lines)
    longest = max(len(column) for column in columns)
    top = 1.05 * max(float(printed(max(r.original, r.repaired), "force", units)) for r in rows)
    low, high = (float(printed(load, "force", units)) for load in (screw_min, screw_max))
    with styled():
        drawing = figure(1.0 + _ROW * longest)
        panels = drawing.subplots(1, 2, sharex=True, gridspec_kw={"wspace": 0.06})
        for axes, column in zip(panels, columns, strict=True):
            axes.axvspan(low, high, color="#e9e9e9", zorder=0)
            for level in (low, high):
                axes.axvline(level, color=GREY, linestyle=":", linewidth=0.9)
            _column(axes, column, chosen, units)
            axes.set_ylim(longest - 0.4, -0.7)
            axes.set_xlim(0, top)
            axes.set_xlabel(f"pull-out strength, {unit_of('force', units)}")
        handles = panels[0].get_legend_handles_labels()
        drawing.legend(*handles, loc="outside lower center", ncols=2, frameon=False)
        return drawing


def _lines(rows: Sequence[ParentRow]) -> list[ParentRow | str]:
    """Rows with the heading of each group before them."""
    found: list[ParentRow | str] = []
    for group in dict.fromkeys(row.group for row in rows):
        found.append(group)
        members = [row for row in rows if row.group == group]
        members.sort(key=lambda row: -row.original)
        found += members
    return found


def _columns(lines: list[ParentRow | str]) -> list[list[ParentRow | str]]:
    """Halve the lines; a group that is cut has its heading repeated."""
    middle = (len(lines) + 1) // 2
    if isinstance(lines[middle - 1], str):
        middle -= 1  # no heading at the foot of a column
    first, second = lines[:middle], lines[middle:]
    if second and isinstance(second[0], ParentRow):
        second = [f"{second[0].group}, continued", *second]
    return [first, second]


def _column(axes: Axes, lines: list[ParentRow | str], chosen: str, units: str) -> None:
    rows = [(i, line) for i, line in enumerate(lines) if isinstance(line, ParentRow)]
    places = np.array([i for i, _ in rows], dtype=float)
    loads = {
        state: np.array([float(printed(getattr(r, state), "force", units)) for _, r in rows])
        for state in STATE
    }
    axes.hlines(places, loads["original"], loads["repaired"], color="#b0b0b0", linewidth=0.8)
    for state, line in STATE.items():
        axes.plot(
            loads[state], places, line.marker, color=line.colour, markersize=3.4,
            markeredgewidth=0.9, label=line.words,
            markerfacecolor="white" if state == "original" else line.colour,
        )  # fmt: skip
    axes.set_yticks(places, [row.name for _, row in rows], fontsize=5.8)
    axes.tick_params(axis="y", length=0, pad=1.5)
    for tick, (_, row) in zip(axes.get_yticklabels(), rows, strict=True):
        if row.name == chosen:
            tick.set_fontweight("bold")
    for place, row in rows:
        words = "–" if np.isnan(row.needed) else f"{number(row.needed, 2).removesuffix('.0')} D"
        axes.annotate(
            words, (1.0, place), xycoords=("axes fraction", "data"), xytext=(2, 0),
            textcoords="offset points", va="center", fontsize=5.8, color=INK,
            annotation_clip=False,
        )  # fmt: skip
    for place, heading in enumerate(lines):
        if isinstance(heading, str):
            axes.annotate(
                heading, (0.0, place), xycoords=("axes fraction", "data"), xytext=(3, 0),
                textcoords="offset points", va="center", fontsize=7, fontweight="bold", color=INK,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5},
            )  # fmt: skip
    axes.annotate(
        "insert", (1.0, -0.7), xycoords=("axes fraction", "data"), xytext=(2, 2),
        textcoords="offset points", fontsize=6, color=INK, annotation_clip=False,
    )  # fmt: skip
    axes.grid(axis="y", visible=False)
