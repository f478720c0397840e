"""The thread's triangle in the tapped hole and, further out, in the hole for the insert."""

from __future__ import annotations

import numpy as np

from ..threads.profile import TRIANGLE_60
from .live_svg import COLOUR, INK, PARENT, QUIET, Drawing, Plot


def triangle() -> Drawing:
    """Draw the basic profile of both holes, depth to the right and radius upwards, in pitches.

    Both are the same triangle of height H: cut off by H/8 at the major diameter, H/4 at the minor
    one; the insert hole's lies 3/4 H further out on the radius (ISO 68-1; ASME B18.29.2M).
    """
    picture = Drawing(346)
    # One scale for both directions, so that the flanks stand at 60 degrees.
    plot = Plot(picture=picture, box=(10, 60, 470, 330), x=(-0.4, 2.4), y=(-0.2, 1.4435))
    h, turns = TRIANGLE_60, np.arange(3)
    for name, out in (("repaired", 0.75 * h), ("original", 0.0)):
        # Groove of the parent about each whole pitch: flat P/8 at the top, land P/4 below.
        z = (turns[:, None] + np.array([-3 / 8, -1 / 16, 1 / 16, 3 / 8])).ravel()
        r = np.tile([0.0, 5 / 8 * h, 5 / 8 * h, 0.0], len(turns)) + out
        if name == "repaired":
            plot.shape(np.stack((np.r_[z, z[-1], z[0]], np.r_[r, [plot.y[1]] * 2]), -1),
                       fill=PARENT)  # fmt: skip
        plot.line(z, r, stroke=COLOUR[name], stroke_width=3,
                  stroke_dasharray="8 4" if name == "original" else "none")  # fmt: skip
        plot.line([0.5, 1.0, 1.5], np.array([-1 / 4, 3 / 4, -1 / 4]) * h + out, stroke=QUIET,
                  stroke_dasharray="2 3")  # fmt: skip
    for x, low, high, words in ((1.0, 0.75 * h, 1.5 * h, "¾ H"), (1.5, -h / 4, h * 3 / 4, "H")):
        plot.line([x, x], [low, high], stroke_width=1.5)
        for end, way in ((low, 1), (high, -1)):
            plot.line([x - 0.03, x, x + 0.03], [end + 0.06 * way, end, end + 0.06 * way])
        plot.text(x, (low + high) / 2, words, dx=6, dy=5, backed=True)
    plot.line([0.0, 1.0], [1.36] * 2, stroke=INK, stroke_width=1.5)
    for x in (0.0, 1.0):
        plot.line([x, x], [1.31, 1.41])
    plot.text(0.5, 1.36, "P", anchor="middle", dy=-6)
    picture.text(10, 20, "╌ hole tapped for the screw", colour=COLOUR["original"], bold=True)
    picture.text(10, 42, "─ hole tapped for the insert: ¾ H further out on the radius",
                 colour=COLOUR["repaired"], bold=True)  # fmt: skip
    return picture
