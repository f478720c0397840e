"""Section through boss, screw and insert, to scale, with the cylinder that shears."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import FloatArray
from ..threads.profile import TAN_30
from ..units import number, percent
from .live_svg import COLOUR, INK, INSERT, PARENT, SCREW, WIDTH, Drawing, Plot, shade

if TYPE_CHECKING:
    from .live_records import Section

#: Ends of the scales in nominal diameters: depth and radius, the same at every position.
_DEPTH, _FLOOR = (-0.15, 3.15), 0.22
_TOPS, _HEIGHT = (28, 198), 138
#: Height of the root of the screw's thread below its pitch line, pitches: 17/24 H less 3/8 H.
_SCREW_ROOT = 0.28868


def frames(picture: Drawing, diameter: float) -> dict[str, Plot]:
    """Return a rectangle for each condition, depth to the right and radius upwards, mm."""
    left, right = 16.0, WIDTH - 4.0
    tall = _HEIGHT * (_DEPTH[1] - _DEPTH[0]) / (right - left)
    return {
        name: Plot(
            picture=picture,
            box=(left, top, right, top + _HEIGHT),
            x=(_DEPTH[0] * diameter, _DEPTH[1] * diameter),
            y=(_FLOOR * diameter, (_FLOOR + tall) * diameter),
        )
        for name, top in zip(COLOUR, _TOPS, strict=True)
    }


def title(plot: Plot, name: str, words: str) -> None:
    """Write the words above the rectangle of a condition."""
    plot.picture.text(
        plot.box[0], plot.box[1] - 8, f"{name}: {words}", colour=COLOUR[name], bold=True
    )


def live_section(original: Section, repaired: Section) -> Drawing:
    """Draw both conditions at one scale, the screw pulled to the left.

    The screw's core is cut off, a wide boss as well; the set-down of the insert is not drawn.
    """
    picture = Drawing(366)
    most = float(max(original.loads.max(), repaired.loads.max()))
    for name, plot in frames(picture, original.diameter).items():
        section = original if name == "original" else repaired
        _parent(plot, section, most)
        _screw(plot, section)
        if name == "repaired":
            _wires(plot, section)
        _cylinder(plot, section)
    picture.text(16, 360, "thick line: shear cylinder; a darker thread carries more")
    return picture


def _parent(plot: Plot, section: Section, most: float) -> None:
    """Body and threads of the parent, a thread the darker the more it carries; the boss's edge."""
    p, at, depth = section.pitch, section.sizes, section.nominal
    root, top = at.hole_major / 2, plot.y[1]
    cut = section.boss / 2 > top
    wall = top if cut else section.boss / 2
    plot.bar(0, root, depth, wall - root, fill=PARENT)
    for end in (0.0, depth):
        plot.line([end, end], [at.hole_minor / 2, wall], moves=False, stroke_width=2)
    z = np.linspace(0, depth, 60)
    wave = 0.02 * wall * (np.sin(z / depth * 6 * math.pi) - 1) if cut else 0 * z
    plot.line(z, wall + wave, moves=False, stroke_width=1 if cut else 2.5)
    words = "parent" if math.isinf(section.boss) else f"boss {number(section.boss)} mm"
    plot.text(depth / 2, (root + wall) / 2, words, anchor="middle", dy=6)
    middles = p * (np.arange(math.ceil(depth / p)) + 0.5)
    radii = np.array([at.hole_minor / 2, at.hole_pitch / 2, root])
    half = np.minimum(p / 4 + (radii - at.hole_pitch / 2) * TAN_30, p / 2)
    outlines = _symmetric(middles, radii, half, ends=(0, depth))
    loads = np.zeros(len(outlines))
    loads[: len(section.loads)] = section.loads[: len(outlines)]
    for outline, load in zip(outlines, loads.tolist(), strict=True):
        plot.shape(outline, fill=shade(load / most), stroke=INK, stroke_width=0.7)


def _screw(plot: Plot, section: Section) -> None:
    """Thread of the screw, pulled to the left until its flanks bear."""
    p, at = section.pitch, section.sizes
    pitch_line = at.screw_pitch / 2
    root = pitch_line - _SCREW_ROOT * p
    first, last = plot.x[0], section.nominal + 0.4 * p
    plot.bar(first, plot.y[0], last - first, root - plot.y[0], fill=SCREW)
    # In the insert the screw's threads stand opposite the parent's, in the hole between them.
    offset = 0.5 if section.state == "repaired" else 0.0
    play = (at.inner_pitch - at.screw_pitch) / 2 * TAN_30
    middles = p * (np.arange(-1, math.ceil(last / p) + 1) + offset) - play
    middles = middles[(first < middles) & (middles < last)]
    radii = np.array([root, pitch_line, at.screw_major / 2])
    half = p / 4 - (radii - pitch_line) * TAN_30
    plot.shape(_symmetric(middles, radii, half, ends=(first, last)), fill=SCREW, stroke=INK,
               stroke_width=0.6)  # fmt: skip
    plot.text(0, plot.y[0], "◄ screw", dx=-10, dy=-4)


def _wires(plot: Plot, section: Section) -> None:
    """Coils of the insert: they fill the groove of the parent and reach into that of the screw."""
    p, at = section.pitch, section.sizes
    inside, outside = at.inner_pitch / 2, at.hole_pitch / 2
    radii = np.array([at.inner_minor / 2, inside, (inside + outside) / 2, outside, at.crest / 2])
    half = p / 4 + np.minimum(radii - inside, outside - radii) * TAN_30
    middles = p * np.arange(math.floor(section.engaged / p) + 1)
    plot.shape(_symmetric(middles, radii, half, ends=(0, section.engaged)), fill=INSERT,
               stroke="#fff", stroke_width=0.4)  # fmt: skip
    plot.text(0, plot.y[0], "◆ insert", dx=64, dy=-4)


def _cylinder(plot: Plot, section: Section) -> None:
    """Line on which the parent shears, over the engaged length."""
    crest, end, tick = section.sizes.crest / 2, section.engaged, 0.3 * section.pitch
    z = np.array([0, 0, 0, end, end, end])
    plot.line(z, crest + tick * np.array([1, -1, 0, 0, 1, -1]), stroke=COLOUR[section.state],
              stroke_width=3.5)  # fmt: skip
    title(
        plot, section.state,
        f"Ø {number(2 * crest)} × {number(end)} mm; first thread {percent(section.loads[0])}",
    )  # fmt: skip


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
