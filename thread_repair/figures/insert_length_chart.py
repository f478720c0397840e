"""Which insert length, for which parent and which screw class: one thread on one page."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from numpy.typing import ArrayLike

from .style import figure, styled

#: Height of a row, inches.
_ROW = 0.155
#: From white to mid-grey: the longer the insert, the darker its cell; the text stays readable.
_SHADES = ("#ffffff", "#f0f0f0", "#e0e0e0", "#cfcfcf", "#bdbdbd")
_NONE = "#666666"


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
    with styled():
        drawing = figure(1.1 + _ROW * len(parents))
        axes = drawing.subplots()
        axes.grid(visible=False)
        for row in range(len(parents)):
            for column in range(len(screws)):
                value = values[row, column]
                none = np.isnan(value)
                shade = _NONE if none else _SHADES[min(steps.index(value), len(_SHADES) - 1)]
                axes.add_patch(_cell(column, row, shade))
                axes.text(
                    column,
                    row,
                    "–" if none else f"{value:g}",
                    ha="center",
                    va="center",
                    fontsize=6.5,
                    color="#ffffff" if none else "#1a1a1a",
                    fontweight="bold" if none else "normal",
                )
        axes.set_xlim(-0.5, len(screws) - 0.5)
        axes.set_ylim(len(parents) - 0.5, -0.5)
        axes.set_xticks(range(len(screws)), screws, rotation=90, fontsize=7)
        axes.set_yticks(range(len(parents)), parents, fontsize=6.5)
        axes.xaxis.tick_top()
        axes.xaxis.set_label_position("top")
        axes.set_xlabel(f"screw class; thread {thread}")
        axes.tick_params(length=0)
        for spine in axes.spines.values():
            spine.set_visible(False)
        drawing.supxlabel(
            "Shortest nominal insert length, diameters, with which a screw at the maximum strength"
            "\nof its class fails before a thread strips. –: longer than any standard insert.",
            fontsize=7.5,
        )
        return drawing


def _cell(column: int, row: int, shade: str) -> Rectangle:
    return Rectangle(
        (column - 0.5, row - 0.5), 1, 1, facecolor=shade, edgecolor="#ffffff", linewidth=0.6
    )
