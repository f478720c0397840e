"""Load of each thread in both states, elastic, as bars."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from matplotlib.figure import Figure

from ..units import number, percent
from .live_canvas import SIZE, Plot, blank, round_steps
from .style import STATE

if TYPE_CHECKING:
    from ..strength.sharing.states import StateSharing

#: Bars told apart without colour: one empty with a thick edge, one full.
_FILL = {"original": "#f3d9c6", "repaired": STATE["repaired"].colour}


def live_thread_loads(original: StateSharing, repaired: StateSharing) -> Figure:
    """Draw the part of the load on each thread from the joint face, in per cent.

    Parameters
    ----------
    original, repaired : StateSharing
        Of one joint; each has one load a thread.
    """
    drawing = blank(4.1)
    both = {"original": original, "repaired": repaired}
    count = max(len(each.elastic.loads) for each in both.values())
    highest = 115 * max(each.elastic.loads.max() for each in both.values())
    steps = round_steps(highest, most=5)
    plot = Plot(
        drawing=drawing, box=(50, 48, 540, 272), x=(0.15, max(count, 4) + 0.6), y=(0.0, highest)
    )
    plot.grid(y=steps[1:])
    corners, faces, edges = [], [], []
    for offset, (name, each) in zip((-0.4, 0.0), both.items(), strict=True):
        for i, load in enumerate(100 * each.elastic.loads):
            x = i + 1 + offset
            corners.append([(x, 0), (x + 0.4, 0), (x + 0.4, load), (x, load)])
            faces.append(_FILL[name])
            edges.append(STATE[name].colour)
    plot.polygons(corners, facecolors=faces, edgecolors=edges, linewidths=1.5)
    for offset, (name, each) in zip((-0.2, 0.2), both.items(), strict=True):
        plot.text(
            1 + offset + (-0.12 if name == "original" else 0.3),
            100 * each.elastic.loads[0] + 0.01 * highest,
            percent(each.first_thread_share),
            ha="center",
            weight="bold",
            color=STATE[name].colour,
        )
    for y, name, sign in ((0.92, "original", "□"), (0.82, "repaired", "■")):
        each = both[name]
        plot.text(
            plot.x[1],
            y * highest,
            f"{sign} {name}: most over mean {number(each.peak_over_mean)}; "
            f"needs {number(each.ductility_demand, 2)} times the slip at yield, "
            f"has {_known(each)}",
            ha="right",
            color=STATE[name].colour,
            backed=True,
        )
    plot.frame()
    plot.numbers_below(
        range(1, count + 1, math.ceil(count / 14)), "thread, counted from the joint face"
    )
    plot.numbers_left(steps, "load carried while elastic, %")
    plot.text(plot.x[1], highest * 1.03, _coil(repaired), ha="right", size=SIZE, color="#333333")
    return drawing


def _known(each: StateSharing) -> str:
    return number(each.ductility_capacity, 2) if each.ductility_known else "not known"


def _coil(repaired: StateSharing) -> str:
    length = repaired.useful_length
    if math.isnan(length):
        return "useful length: elongation of the parent not known"
    return f"repaired: no use beyond {number(length)} mm"


def thread_loads_words(original: StateSharing, repaired: StateSharing) -> str:
    """Say in a sentence what the picture shows."""
    parts = [
        f"The first thread carries {percent(original.first_thread_share)} of the load in the "
        f"original hole and {percent(repaired.first_thread_share)} in the repaired one."
    ]
    for each in (original, repaired):
        if not each.ductility_known:
            parts.append(f"Whether the parent stretches enough is not known ({each.state}).")
        elif each.full_strength:
            parts.append(f"The parent stretches enough to share the load ({each.state}).")
        else:
            parts.append(
                "The first thread parts before all share the load: "
                f"{percent(each.efficiency)} of the full strip load is left ({each.state})."
            )
    return " ".join(parts)
