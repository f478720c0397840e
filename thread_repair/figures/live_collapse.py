"""How the parent moves when it strips: the velocity field of the upper bound, both states."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure

from ..units import number
from .live_canvas import SIZE, Plot, blank, write
from .style import STATE

if TYPE_CHECKING:
    from .live_records import CollapseField

_BOXES = ((12, 64, 274, 244), (286, 64, 548, 244))
#: Motion drawn for a part that goes with the screw, in pitches.
_DRAWN = 0.4
_STILL, _MOVING = np.array([0.93, 0.92, 0.88]), np.array([0.16, 0.22, 0.30])


def live_collapse(original: CollapseField, repaired: CollapseField) -> Figure:
    """Draw the parent just after it has given way, darker where it moves with the screw.

    Depth to the right, radius upwards, as in the section; the screw is not drawn.

    Parameters
    ----------
    original, repaired : CollapseField
    """
    drawing = blank(3.4)
    fields = {"original": original, "repaired": repaired}
    lowest = {name: float(each.corners[..., 1].min()) for name, each in fields.items()}
    depth = max(float(each.corners[..., 0].max()) for each in fields.values())
    left, bottom, right, top = _BOXES[0]
    scale = (right - left) / (depth + 2 * _DRAWN + 0.2)
    for (name, each), box in zip(fields.items(), _BOXES, strict=True):
        floor = lowest[name] - 0.3
        plot = Plot(
            drawing=drawing,
            box=box,
            x=(-2 * _DRAWN, -2 * _DRAWN + (right - left) / scale),
            y=(floor, floor + (top - bottom) / scale),
        )
        # Motion is towards the face, which lies at depth zero, and outwards.
        moved = each.corners + _DRAWN * each.motion * np.array([-1.0, 1.0])
        speed = np.clip(np.hypot(*np.moveaxis(each.motion.mean(axis=1), -1, 0)), 0, 1)
        shade = _STILL + (_MOVING - _STILL) * speed[:, None]
        plot.polygons(
            moved,
            inside=True,
            facecolors=shade,
            edgecolors=shade,
            linewidths=0.4,
            antialiaseds=False,
        )
        write(
            drawing,
            box[0],
            top + 8,
            f"{name}: at most {number(each.ratio)} × the formula",
            size=SIZE,
            weight="bold",
            color=STATE[name].colour,
        )
    _key(drawing, original.wall)
    return drawing


def _key(drawing: Figure, wall: float) -> None:
    plot = Plot(drawing=drawing, box=(0, 0, 560, 60), x=(0, 560), y=(0, 60))
    shares = np.linspace(0, 1, 5)[:, None]
    plot.polygons(
        [[(x, 34), (x + 18, 34), (x + 18, 46), (x, 46)] for x in 84 + 18 * np.arange(5)],
        facecolors=_STILL + (_MOVING - _STILL) * shares,
    )
    write(drawing, 78, 40, "stands still", ha="right", va="center")
    write(
        drawing,
        180,
        40,
        "moves as fast as the screw, which is pulled to the left (enlarged)",
        va="center",
    )
    write(
        drawing,
        12,
        16,
        f"solved for eight threads in a boss of {wall:g} D pressed on its face, least material",
        va="center",
    )


def collapse_words(original: CollapseField, repaired: CollapseField) -> str:
    """Say in a sentence what the picture shows."""
    parts = []
    for name, each in (("original", original), ("repaired", repaired)):
        spreads = float(np.abs(each.motion[..., 1]).max())
        what = (
            "the wall spreads and the threads slip out of it"
            if spreads > 0.05
            else "the threads are cut off along the cylinder and the wall stands still"
        )
        parts.append(f"{name}, {what}, at {number(each.ratio)} times the formula's load at most")
    return f"Solved for a boss of {original.wall:g} D: {'; '.join(parts)}."
