"""Section through screw, insert and parent, to scale, with the cylinder that shears."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from numpy.typing import ArrayLike

from ..arrays import FloatArray
from ..threads.profile import TAN_30
from ..units import number, percent
from .live_canvas import DPI, SIZE, WIDTH, Plot, blank, write
from .style import INK, STATE

if TYPE_CHECKING:
    from .live_records import Section

_PARENT, _SCREW, _WIRE = "#ece9e2", "#a9b1b8", "#4a4a4a"
#: Shades of a thread from unloaded to most loaded: darker is more, so that grey tells it too.
_PALE, _DARK = np.array([1.0, 0.96, 0.86]), np.array([0.55, 0.20, 0.03])
_BOXES = ((40, 222, 550, 360), (40, 40, 550, 178))
#: Height of the root of the screw's thread below its pitch line, pitches: 17/24 H less 3/8 H.
_SCREW_ROOT = 0.28868


def live_section(original: Section, repaired: Section) -> Figure:
    """Draw both states at one scale, depth to the right, radius upwards.

    The screw is pulled to the left. Its core and the parent far from the thread are cut off; the
    set-down of the insert is not drawn.

    Parameters
    ----------
    original, repaired : Section
    """
    drawing = blank(5.0)
    p = original.pitch
    inner = original.sizes.screw_pitch / 2 - 0.9 * p
    outer = repaired.sizes.hole_major / 2 + 1.1 * p
    longest = max(original.nominal, repaired.nominal) + 1.3 * p
    left, bottom, right, top = _BOXES[0]
    scale = min((right - left) / longest, (top - bottom) / (outer - inner))
    most = float(max(original.loads.max(), repaired.loads.max()))
    for section, box in zip((original, repaired), _BOXES, strict=True):
        plot = Plot(
            drawing=drawing,
            box=box,
            x=(-0.8 * p, -0.8 * p + (right - left) / scale),
            y=(max(outer - (top - bottom) / scale, 0.0), outer),
        )
        _parent(plot, section, outer, most)
        _screw(plot, section)
        if section.state == "repaired":
            _wires(plot, section)
        _cylinder(plot, section)
        _percentages(plot, section, scale)
    _key(drawing, most)
    return drawing


def _parent(plot: Plot, section: Section, outer: float, most: float) -> None:
    """Body and threads of the parent; a thread is the darker the more it carries."""
    p, at = section.pitch, section.sizes
    root, depth = at.hole_major / 2, section.nominal
    wall = min(section.boss / 2, outer)
    plot.bar(0, root, depth, wall - root, color=_PARENT, linewidth=0, zorder=1)
    plot.line([0, 0], [at.hole_minor / 2, wall], color=INK, linewidth=1.5, zorder=2.2)
    plot.line([depth, depth], [at.hole_minor / 2, wall], color=INK, linewidth=0.8, zorder=2.2)
    if section.boss / 2 <= outer:
        plot.line([0, depth], [wall, wall], color=INK, linewidth=1.5)
    middles = p * (np.arange(math.ceil(depth / p)) + 0.5)
    shares = _shares(section, len(middles))
    shade = np.clip(shares / most, 0, 1)[:, None]
    radii = np.array([at.hole_minor / 2, at.hole_pitch / 2, root])
    half = np.minimum(p / 4 + (radii - at.hole_pitch / 2) * TAN_30, p / 2)
    plot.polygons(
        _symmetric(middles, radii, half, ends=(0, depth)),
        facecolors=_PALE + (_DARK - _PALE) * shade,
        zorder=2,
    )


def _screw(plot: Plot, section: Section) -> None:
    """Thread of the screw, pulled to the left until its flanks bear."""
    p, at = section.pitch, section.sizes
    pitch_line = at.screw_pitch / 2
    root = pitch_line - _SCREW_ROOT * p
    first, last = plot.x[0], section.nominal + 0.4 * p
    core = plot.y[0]
    plot.bar(first, core, last - first, root - core, color=_SCREW, linewidth=0, zorder=1)
    # In the insert the screw's threads stand opposite the parent's, in the hole between them.
    offset = 0.5 if section.state == "repaired" else 0.0
    play = (at.inner_pitch - at.screw_pitch) / 2 * TAN_30
    middles = p * (np.arange(-1, math.ceil(last / p) + 1) + offset) - play
    middles = middles[(first < middles) & (middles < last)]
    radii = np.array([root, pitch_line, at.screw_major / 2])
    half = p / 4 - (radii - pitch_line) * TAN_30
    plot.polygons(
        _symmetric(middles, radii, half, ends=(first, last)), facecolors=_SCREW, zorder=1.8
    )


def _wires(plot: Plot, section: Section) -> None:
    """Coils of the insert: they fill the groove of the parent and reach into that of the screw."""
    p, at = section.pitch, section.sizes
    inside, outside = at.inner_pitch / 2, at.hole_pitch / 2
    radii = np.array([at.inner_minor / 2, inside, (inside + outside) / 2, outside, at.crest / 2])
    half = p / 4 + np.minimum(radii - inside, outside - radii) * TAN_30
    middles = p * np.arange(math.floor(section.engaged / p) + 1)
    plot.polygons(
        _symmetric(middles, radii, half, ends=(0, section.engaged)),
        facecolors=_WIRE,
        zorder=2.4,
    )


def _cylinder(plot: Plot, section: Section) -> None:
    """Line on which the parent shears, over the engaged length."""
    crest, end, tick = section.sizes.crest / 2, section.engaged, 0.22 * section.pitch
    style = {"color": "black", "zorder": 3.0}
    plot.line([0, end], [crest, crest], linewidth=2.5, **style)
    for z in (0.0, end):
        plot.line([z, z], [crest - tick, crest + tick], linewidth=2.5, **style)
    left, _, _, top = plot.box
    write(
        plot.drawing,
        left,
        top + 6,
        f"{section.state}: the parent shears on a cylinder of {number(2 * crest)} mm, "
        f"{number(end)} mm long (thick line)",
        size=SIZE,
        weight="bold",
        color=STATE[section.state].colour,
    )


def _percentages(plot: Plot, section: Section, scale: float) -> None:
    """Write what the threads carry above them, as many as have room."""
    p = section.pitch
    every = math.ceil(30 / (p * scale))
    height = section.sizes.hole_major / 2 + 0.12 * p
    for i in range(0, math.ceil(section.engaged / p - 1e-9), every):
        middle = min(p * (i + 0.5), (i * p + section.engaged) / 2)
        share = section.loads[i] if i < len(section.loads) else 0.0
        plot.text(middle, height, percent(share), ha="center")


def _key(drawing: Figure, most: float) -> None:
    """Say what is what, below the pictures."""
    left, bottom, right, top = 0, 0, WIDTH * DPI, 40
    plot = Plot(drawing=drawing, box=(left, bottom, right, top), x=(left, right), y=(bottom, top))
    shades = [_PALE + (_DARK - _PALE) * share for share in np.linspace(0, 1, 6)]
    places = [*(256 + 16 * i for i in range(6)), 410, 478]
    plot.polygons(
        np.array([[(x, 10), (x + 16, 10), (x + 16, 22), (x, 22)] for x in places]),
        facecolors=[*shades, to_rgb(_SCREW), to_rgb(_WIRE)],
    )
    write(drawing, 250, 16, "thread of the parent, load carried: 0 %", ha="right", va="center")
    for x, words in ((358, percent(most)), (430, "screw"), (498, "insert")):
        write(drawing, x, 16, words, va="center")


def _shares(section: Section, count: int) -> FloatArray:
    found = np.zeros(count)
    found[: len(section.loads)] = section.loads[:count]
    return found


def _symmetric(
    middles: ArrayLike, radii: ArrayLike, half: ArrayLike, *, ends: tuple[float, float]
) -> FloatArray:
    """Outlines of like shapes about depths, cut off at two depths.

    Parameters
    ----------
    middles : array_like, shape (n,), mm
    radii, half : array_like, shape (k,), mm; half the width of the shape at each radius
    ends : least and greatest depth

    Returns
    -------
    ndarray, shape (n, 2 k, 2)
        Up one side and down the other.
    """
    z, r, h = (np.asarray(v, dtype=np.float64) for v in (middles, radii, half))
    depth = np.clip(z[:, None] + np.concatenate((-h, h[::-1])), *ends)
    radius = np.broadcast_to(np.concatenate((r, r[::-1])), depth.shape)
    return np.stack((depth, radius), axis=-1)


def section_words(original: Section, repaired: Section) -> str:
    """Say in a sentence what the picture shows."""
    larger = repaired.sizes.crest / original.sizes.crest - 1
    return (
        f"The parent shears on {number(original.sizes.crest)} mm in the original hole and on "
        f"{number(repaired.sizes.crest)} mm in the repaired one, {percent(larger)} more. "
        f"Its first thread carries {percent(original.loads[0])} and {percent(repaired.loads[0])} "
        "of the load while it is elastic."
    )
