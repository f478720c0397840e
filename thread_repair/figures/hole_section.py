"""The insert hole as it is to be made, cut open along its axis and to scale, with its limits."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.figure import Figure

from ..arrays import FloatArray
from ..units import plain
from .hole_profile import CutSheet, bore, turns
from .style import GREY, INK, styled

#: Millimetres of paper: width, room left of the face for the diameters, right of the part, height
#: of the part at most, one row of dimensions, head and foot.
_WIDTH, _LEFT, _RIGHT, _PART, _ROW, _HEAD, _FOOT = 160.0, 34.0, 2.0, 50.0, 5.4, 1.5, 1.0
_SCALES = (20, 15, 12, 10, 8, 7, 6, 5, 4.5, 4, 3.5, 3, 2.5, 2, 1.5, 1.25, 1, 0.8, 0.6, 0.5, 0.4,
           0.3, 0.2, 0.1)  # fmt: skip
#: Half the height to which the part is drawn, in radii of the tapped hole.
_CUT = 1.45
_FONT = 7.5
#: Width of a letter of that size, mm of paper, to see whether words fit between two arrows.
_LETTER = 1.42
_METAL, _HATCH, _WIRE = "#f4f4f4", "#b8b8b8", "#3a3a3a"


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """A length along the axis, from and to in mm below the face, and its words."""

    start: float
    end: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Diameter:
    """A diameter at the face, mm, and its words, a line each."""

    size: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class InsertHole:
    """The hole as it is drawn, mm; depths below the joint face.

    Attributes
    ----------
    pitch, half_angle : of the thread; half the flank angle, degrees
    minor, major : diameters of the tapped hole
    countersink, countersink_angle : diameter at the face, included angle in degrees
    full_thread : depth of full thread; infinite where the tap goes through
    incomplete : pitches of incomplete thread below it
    drilled : depth at full diameter; infinite for a through hole
    thickness : to which the part is drawn where the hole goes through
    coil : depths between which the fitted insert lies
    screw_end : depth of the screw's end; NaN where it is not known
    """

    pitch: float
    half_angle: float
    minor: float
    major: float
    countersink: float
    countersink_angle: float
    full_thread: float
    incomplete: float
    drilled: float
    thickness: float
    coil: tuple[float, float]
    screw_end: float

    @property
    def through(self) -> bool:
        """Whether the hole goes through the part."""
        return math.isinf(self.drilled)

    @property
    def end(self) -> float:
        """Depth to which the part is drawn."""
        deepest = max(self.coil[1], 0.0 if math.isnan(self.screw_end) else self.screw_end)
        if self.through:
            return max(self.thickness, deepest)
        return max(self.drilled + 0.75 * self.minor, deepest + self.pitch)


def hole_section(
    hole: InsertHole,
    dimensions: Sequence[Dimension],
    diameters: Sequence[Diameter],
    *,
    system: str = "SI",
) -> Figure:
    """Draw the hole to scale, its depths dimensioned below it and its diameters beside it.

    Parameters
    ----------
    hole : InsertHole
    dimensions : one row each, from the top
    diameters : the one nearest the part first; two at most fit
    system : of the paper's width, "SI" or "inch"; the other words are given
    """
    room = _WIDTH - _LEFT - _RIGHT
    half = _CUT * hole.major / 2
    scale = next(
        (s for s in _SCALES if hole.end * s <= room and 2 * half * s <= _PART), _SCALES[-1]
    )
    # Words at the side stand upright: room for the longest of them.
    tall = max(2 * half * scale, *(_width(each.text) + 4 for each in diameters))
    height = _HEAD + tall + len(dimensions) * _ROW + _FOOT
    with styled():
        drawing = Figure(figsize=(_WIDTH / 25.4, height / 25.4))
        axes = drawing.add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set_axis_off()
        axes.set_xlim(0, _WIDTH)
        axes.set_ylim(height, 0)
        # Near the middle, but so that the words beside the arrows fit on the paper.
        beside = max(
            each.end * scale + (0.0 if _inside(each, scale) else _width(each.text) + 5)
            for each in dimensions
        )
        left = max(_LEFT, min(_LEFT + (room - hole.end * scale) / 4, _WIDTH - 1 - beside))
        paper = _Paper(axes, left, _HEAD + tall / 2, scale, -1)
        paper.part(hole, half)
        paper.coil(hole)
        if not math.isnan(hole.screw_end):
            paper.screw_end(hole)
        top = _HEAD + tall + 0.6 * _ROW
        for row, each in enumerate(dimensions):
            paper.dimension(each, top + row * _ROW)
        for row, size in enumerate(diameters):
            paper.diameter(size, -7.0 - row * 13.0)
        width = plain(_WIDTH, dimension="length", system=system)
        axes.text(
            1.0, height - 1.0, f"scale {scale:g} : 1\nat {width} wide",
            ha="left", va="bottom", fontsize=6.5, color=GREY,
        )  # fmt: skip
        return drawing


def _width(text: str) -> float:
    """Width of words on paper, mm."""
    return max(len(line) for line in text.splitlines()) * _LETTER


def _inside(each: Dimension, scale: float) -> bool:
    """Whether the words fit between the arrows."""
    return (each.end - each.start) * scale > _width(each.text) + 6


class _Paper(CutSheet):
    """The sheet: depths run to the right, radii upwards."""

    def part(self, hole: InsertHole, half: float) -> None:
        """Draw the part cut open, and the hole in it; one side half a pitch behind the other."""
        end = hole.end
        self.fill(
            [0, end, end, 0], [half, half, -half, -half], facecolor=_METAL, edgecolor=_HATCH,
            hatch="////", linewidth=0, zorder=1,
        )  # fmt: skip
        depth = np.linspace(0, end, 3000)
        upper, lower = (_bore(hole, depth, phase) for phase in (0.0, hole.pitch / 2))
        keep = np.minimum(upper, lower) > 0
        depth, upper, lower = depth[keep], upper[keep], lower[keep]
        self.fill(
            np.concatenate([depth, depth[::-1]]), np.concatenate([upper, -lower[::-1]]),
            facecolor="white", linewidth=0, zorder=2,
        )  # fmt: skip
        for radius in (upper, -lower):
            self.line(depth, radius, color=INK, linewidth=0.7, zorder=3)
        if not hole.through:
            for each in (hole.full_thread, hole.drilled):
                self.line([each, each], [-hole.minor / 2, hole.minor / 2], color=INK,
                          linewidth=0.5, zorder=3)  # fmt: skip
        for place, solid in ((0.0, True), (end, hole.through)):
            bore = float(np.interp(place, depth, upper)) if solid else 0.0
            for sign in (-1, 1):
                self.line([place, place], [sign * bore, sign * half], color=INK if solid else GREY,
                          linewidth=1.0 if solid else 0.5, zorder=3)  # fmt: skip
        self.line(
            [-0.06 * end, 1.03 * end], [0, 0], color=GREY, linewidth=0.6,
            linestyle=(0, (9, 2, 1.5, 2)), zorder=4,
        )  # fmt: skip

    def coil(self, hole: InsertHole) -> None:
        """Draw the wire's section: rhombs, half of each standing into the bore."""
        inside = hole.major / 2 - (hole.major - hole.minor)
        found = turns(hole.coil, hole.pitch, inside, hole.major / 2, 0.3 * hole.pitch)
        for _, depth, radius in found:
            self.fill(
                depth, radius, facecolor=_WIRE, edgecolor="white", linewidth=0.3, zorder=5
            )  # fmt: skip

    def screw_end(self, hole: InsertHole) -> None:
        reach = hole.screw_end
        self.line(
            [reach, reach], [-0.52 * hole.minor, 0.52 * hole.minor], color=INK, linewidth=1.4,
            linestyle=(0, (3, 1.2)), zorder=6,
        )  # fmt: skip

    def dimension(self, each: Dimension, y: float) -> None:
        """Draw one depth on its own row, with lines up to the hole."""
        start, end = float(self.x(each.start)), float(self.x(each.end))
        for x in (start, end):
            self.axes.plot(
                [x, x], [self.y0, y + 1.2], color=GREY, linewidth=0.4, zorder=1.5,
                linestyle=(0, (1.5, 1.5)),
            )  # fmt: skip
        inside = _inside(each, self.scale)
        wide = end - start > 3.2
        self.arrow((start if wide else start - 4, y), (end, y), "<->" if wide else "-", zorder=7)
        if not wide:
            for x, away in ((start, -4.0), (end, 4.0)):
                self.arrow((x, y), (x + away, y), "->", zorder=7)
        self.axes.text(
            (start + end) / 2 if inside else end + (1.5 if wide else 5.0), y, each.text,
            ha="center" if inside else "left", va="center", fontsize=_FONT, color=INK, zorder=8,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5},
        )  # fmt: skip

    def diameter(self, each: Diameter, away: float) -> None:
        """Draw one diameter before the face, its words upright beside it."""
        x = self.x0 + away
        top, bottom = (float(self.y(sign * each.size / 2)) for sign in (1, -1))
        for y in (top, bottom):
            self.axes.plot(
                [self.x0, x - 1.2], [y, y], color=GREY, linewidth=0.4, zorder=1.5,
                linestyle=(0, (1.5, 1.5)),
            )  # fmt: skip
        self.arrow((x, top), (x, bottom), zorder=7)
        self.axes.text(
            x - 1.2, self.y0, each.text, rotation=90, ha="right", va="center", fontsize=_FONT,
            color=INK, zorder=8, linespacing=1.15, multialignment="center",
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.3},
        )  # fmt: skip


def _bore(hole: InsertHole, depth: FloatArray, phase: float) -> FloatArray:
    """Radius of the hole at each depth, widened at the face; zero below its bottom."""
    thread = bore(
        depth, hole.coil[0] + hole.pitch / 2 + phase, minor=hole.minor, major=hole.major,
        pitch=hole.pitch, half_angle=hole.half_angle, full_thread=hole.full_thread,
        lead=hole.incomplete * hole.pitch, drilled=hole.drilled,
    )  # fmt: skip
    sink = hole.countersink / 2 - depth / math.tan(math.radians(hole.countersink_angle / 2))
    return np.maximum(thread, sink)
