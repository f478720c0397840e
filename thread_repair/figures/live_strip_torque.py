"""Torque that strips each condition and torque that yields the screw, by class of friction."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..units import number
from .live_svg import COLOUR, PAPER, QUIET, Drawing, Plot, round_steps

if TYPE_CHECKING:
    from .live_records import StripTorque

_ROW = 62


def live_strip_torque(torques: Sequence[StripTorque], *, scale: float) -> Drawing:
    """Draw a bar from the minimum to the maximum friction of a class, for each condition.

    Parameters
    ----------
    torques : sequence of StripTorque
        Both conditions of every class, class by class.
    scale : end of the axis, N·m
    """
    classes = list(dict.fromkeys(each.friction for each in torques))
    picture = Drawing(66 + _ROW * len(classes) + 44)
    plot = Plot(
        picture=picture, box=(16, 62, 470, 62 + _ROW * len(classes)), x=(0.0, scale),
        y=(0.0, float(_ROW * len(classes))),
    )  # fmt: skip
    plot.scales(round_steps(scale), (), "torque, N·m (no prevailing torque)")
    for each in torques:
        base = plot.y[1] - _ROW * (classes.index(each.friction) + 1)
        first = each.state == "original"
        bars = [(each.minimum, each.maximum, 26 if first else 14, 11,
                 PAPER if first else COLOUR["repaired"], COLOUR[each.state])]  # fmt: skip
        if first:
            bars.append((each.screw_minimum, each.screw_maximum, 5, 6, QUIET, QUIET))
            plot.text(0, base + 42, each.words, dx=4, backed=True)
        for low, high, up, tall, fill, edge in bars:
            if low < scale:
                plot.bar(low, base + up, min(high, scale) - low, tall, moves=True, fill=fill,
                         stroke=edge, stroke_width=1.5)  # fmt: skip
    picture.text(16, 20, "□ original strips", colour=COLOUR["original"], bold=True)
    picture.text(180, 20, "■ repaired strips", colour=COLOUR["repaired"], bold=True)
    picture.text(16, 42, "▬ screw yields (thin bar)", colour=QUIET, bold=True)
    return picture


def strip_torque_words(torques: Sequence[StripTorque]) -> str:
    """Say in a sentence what the picture shows."""
    low = {s: min(e.minimum for e in torques if e.state == s) for s in COLOUR}
    yields = min(each.screw_minimum for each in torques)
    return (
        f"At minimum friction the original thread strips at {number(low['original'])} "
        f"N·m and the repaired one at {number(low['repaired'])} N·m; the screw yields at "
        f"{number(yields)} N·m."
    )
