"""Torque that strips each state, by class of friction, beside the torque that yields the screw."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from matplotlib.figure import Figure

from ..units import number
from .live_canvas import SIZE, Plot, blank, round_steps, write
from .style import INK, STATE

if TYPE_CHECKING:
    from .live_records import StripTorque

_FILL = {"original": "#f3d9c6", "repaired": STATE["repaired"].colour}
_ROW = 62


def live_strip_torque(torques: Sequence[StripTorque]) -> Figure:
    """Draw a bar from the least to the highest friction of a class, for each state.

    Parameters
    ----------
    torques : sequence of StripTorque
        Both states of every class, class by class.
    """
    drawing = blank(4.3)
    classes = list(dict.fromkeys(each.friction for each in torques))
    highest = 1.05 * max(max(each.highest, each.screw_highest) for each in torques)
    steps = round_steps(highest)
    top = 298
    plot = Plot(
        drawing=drawing,
        box=(30, top - _ROW * len(classes), 540, top),
        x=(0.0, highest),
        y=(0.0, float(_ROW * len(classes))),
    )
    plot.grid(x=steps[1:])
    corners, faces, edges = [], [], []
    for each in torques:
        base = plot.y[1] - _ROW * (classes.index(each.friction) + 1)
        y = base + (26 if each.state == "original" else 14)
        corners.append(_box(each.least, each.highest, y, 11))
        faces.append(_FILL[each.state])
        edges.append(STATE[each.state].colour)
        if each.state == "original":
            corners.append(_box(each.screw_least, each.screw_highest, base + 5, 6))
            faces.append("#b9b9b9")
            edges.append(INK)
            plot.text(0.005 * highest, base + 40, each.words, backed=True)
    plot.polygons(corners, facecolors=faces, edgecolors=edges, linewidths=1.2, zorder=2)
    plot.frame()
    plot.numbers_below(steps, "torque without prevailing torque, N·m")
    for x, words, colour in (
        (30, "□ original strips", STATE["original"].colour),
        (180, "■ repaired strips", STATE["repaired"].colour),
        (330, "▬ screw yields (thin bar)", "#555555"),
    ):
        write(drawing, x, top + 10, words, size=SIZE, weight="bold", color=colour)
    return drawing


def _box(left: float, right: float, bottom: float, height: float) -> list[tuple[float, float]]:
    return [(left, bottom), (right, bottom), (right, bottom + height), (left, bottom + height)]


def strip_torque_words(torques: Sequence[StripTorque]) -> str:
    """Say in a sentence what the picture shows."""
    low = {s: min(e.least for e in torques if e.state == s) for s in ("original", "repaired")}
    yields = min(each.screw_least for each in torques)
    return (
        f"With the most slippery class the original thread strips from {number(low['original'])} "
        f"N·m and the repaired one from {number(low['repaired'])} N·m; the screw yields from "
        f"{number(yields)} N·m."
    )
