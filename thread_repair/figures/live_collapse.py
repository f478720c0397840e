"""How the parent moves when it strips: the velocity field of the upper bound, both conditions."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..units import number
from .live_section import frames, title
from .live_svg import PARENT, Drawing, shade

if TYPE_CHECKING:
    from .live_records import CollapseField

#: Motion drawn for a part that goes with the screw, in pitches; shades from still to moving.
_DRAWN, _SHADES = 0.4, 9


def live_collapse(
    original: CollapseField, repaired: CollapseField, *, diameter: float, pitch: float
) -> Drawing:
    """Draw the parent just after it has given way, darker where it moves with the screw.

    Depth to the right, radius upwards, as in the section; the screw is not drawn.
    """
    picture = Drawing(366)
    both = {"original": original, "repaired": repaired}
    for name, plot in frames(picture, diameter).items():
        each = both[name]
        # Motion is towards the face, which lies at depth zero, and outwards.
        moved = pitch * (each.corners + _DRAWN * each.motion * np.array([-1.0, 1.0]))
        speed = np.hypot(*np.moveaxis(each.motion.mean(axis=1), -1, 0))
        # Beyond the outermost moving part the parent is drawn in one piece.
        moving = moved[speed > 0.5 / _SHADES]
        edge = float(moving[..., 1].max()) if len(moving) else 0.0
        low, top = moved[..., 1].min(axis=1), min(float(moved[..., 1].max()), plot.y[1])
        if edge < top:
            plot.bar(0, edge, float(moved[..., 0].max()), top - edge, fill=PARENT)
        shown = low < min(edge, top)
        moved = np.minimum(moved[shown], [np.inf, plot.y[1]])
        steps = np.rint(np.clip(speed[shown], 0, 1) * _SHADES).astype(int)
        for one in np.unique(steps).tolist():
            colour = shade(one / _SHADES)
            plot.shape(moved[steps == one], fill=colour, stroke=colour, stroke_width=0.6)
        title(plot, name, solved_for(each) + f", ≤ {number(each.ratio)} × τA")
    picture.text(16, 360, "darker: moves to the left with the screw (enlarged)")
    return picture


def solved_for(each: CollapseField) -> str:
    """Say which boss and how many threads were solved."""
    wide = "wider than" if each.cut_off else "of"
    return f"{each.threads} threads, boss {wide} {number(each.boss)} mm".replace("boss of", "boss")


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
        parts.append(
            f"{name.capitalize()} ({solved_for(each)}): {what}, at no more than "
            f"{number(each.ratio)} times the load of the area formula."
        )
    return " ".join(parts)
