"""Every parent of a kind: strip load of both states, and the insert that each needs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.figure import Figure
from numpy.typing import ArrayLike

from ..joint import Evaluation
from ..units import number
from .style import ACROSS, STATE, dots, figure, legend, note, scale, screw_band, styled

#: From white to mid-grey: the longer the insert, the darker its cell; the text stays readable.
_SHADES = ("#ffffff", "#f0f0f0", "#e0e0e0", "#cfcfcf", "#bdbdbd")
_NONE = "#666666"


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


@styled
def all_parents(rows: Sequence[ParentRow], evaluation: Evaluation, *, system: str = "SI") -> Figure:
    """Draw two columns of parents by group, the strongest of each group first.

    Parameters
    ----------
    rows : sequence of ParentRow
        In the order of the groups.
    evaluation : of the case, whose parent stands in bold
    system : "SI" or "inch"
    """
    force, kilonewton = scale("force", system)
    columns = _columns(rows)
    longest = max(map(len, columns))
    drawing = figure(1.0 + 0.135 * longest)
    panels = drawing.subplots(1, 2, sharex=True, gridspec_kw={"wspace": 0.06})
    for axes, lines in zip(panels, columns, strict=True):
        screw_band(axes, evaluation, force)
        parents = {i: line for i, line in enumerate(lines) if isinstance(line, ParentRow)}
        loads = {
            state: force([getattr(each, state) for each in parents.values()]) for state in STATE
        }
        axes.hlines([*parents], *loads.values(), color="#b0b0b0", linewidth=0.8)
        for state, line in STATE.items():
            dots(axes, state, loads[state], [*parents], 3.4, markeredgewidth=0.9,
                 label=line.words)  # fmt: skip
        axes.set_yticks([*parents], [each.name for each in parents.values()], fontsize=5.8)
        axes.tick_params(axis="y", length=0, pad=1.5)
        for tick in axes.get_yticklabels():
            if tick.get_text() == evaluation.joint.parent.id:
                tick.set_fontweight("bold")
        for place, each in enumerate(lines):
            if isinstance(each, str):
                note(axes, each, (0.0, place), (3, 0), frame=ACROSS, size=7, va="center",
                     fontweight="bold", ground=1.0)  # fmt: skip
                continue
            words = number(each.needed, 2).removesuffix(".0")
            note(axes, words if words == "–" else f"{words} D", (1.0, place), (2, 0),
                 frame=ACROSS, size=5.8, va="center")  # fmt: skip
        note(axes, "insert", (1.0, -0.7), (2, 2), frame=ACROSS, size=6)
        axes.grid(axis="y", visible=False)
        most = force(max(max(row.original, row.repaired) for row in rows))
        axes.set(xlim=(0, 1.05 * most), ylim=(longest - 0.4, -0.7))
        axes.set_xlabel(f"pull-out strength, {kilonewton}")
    legend(panels[0], own=True)
    return drawing


def _columns(rows: Sequence[ParentRow]) -> tuple[list[ParentRow | str], list[ParentRow | str]]:
    """Halve the rows under the headings of their groups; a group that is cut has it repeated."""
    lines: list[ParentRow | str] = []
    for group in dict.fromkeys(row.group for row in rows):
        members = [row for row in rows if row.group == group]
        lines += [group, *sorted(members, key=lambda row: -row.original)]
    middle = (len(lines) + 1) // 2
    if isinstance(lines[middle - 1], str):
        middle -= 1  # no heading at the foot of a column
    first, second = lines[:middle], lines[middle:]
    if second and isinstance(second[0], ParentRow):
        second = [f"{second[0].group}, continued", *second]
    return first, second


@styled
def insert_length_chart(
    parents: Sequence[str],
    screws: Sequence[str],
    needed: ArrayLike,
    *,
    lengths: Sequence[float],
    thread: str,
) -> Figure:
    """Draw a table of the shortest insert with which the screw breaks before a thread strips.

    Parameters
    ----------
    parents, screws : sequence of str
        Rows and columns; the screws from the weakest to the strongest.
    needed : array_like, shape (parents, screws)
        Nominal insert length in diameters, one of `lengths`; NaN where none is long enough.
    lengths : sequence of float
        The lengths that inserts have, in diameters.
    thread : str
        Designation, for the title.
    """
    values = np.asarray(needed, dtype=np.float64)
    steps = sorted(lengths)
    drawing = figure(1.1 + 0.155 * len(parents))
    axes = drawing.subplots()
    axes.grid(visible=False)
    for (row, column), value in np.ndenumerate(values):
        fill, words, colour, weight = _NONE, "–", "#ffffff", "bold"
        if not np.isnan(value):
            fill = _SHADES[min(steps.index(value), len(_SHADES) - 1)]
            words, colour, weight = f"{value:g}", "#1a1a1a", "normal"
        axes.barh(row, 1, 1, column - 0.5, facecolor=fill, edgecolor="#ffffff", linewidth=0.6)
        axes.text(column, row, words, ha="center", va="center", fontsize=6.5, color=colour,
                  fontweight=weight)  # fmt: skip
    axes.set(xlim=(-0.5, len(screws) - 0.5), ylim=(len(parents) - 0.5, -0.5))
    axes.set_xticks(range(len(screws)), screws, rotation=90, fontsize=7)
    axes.set_yticks(range(len(parents)), parents, fontsize=6.5)
    axes.xaxis.tick_top()
    axes.xaxis.set_label_position("top")
    axes.set_xlabel(f"screw class; thread {thread}")
    axes.tick_params(length=0)
    axes.spines[:].set_visible(False)
    drawing.supxlabel(
        "Shortest nominal insert length, diameters, with which a screw at the maximum strength"
        "\nof its class fails before a thread strips. –: longer than any standard insert.",
        fontsize=7.5,
    )
    return drawing
