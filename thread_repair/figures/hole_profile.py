"""What every section of a hole has in common: its bore, the turns of a wire, arrows on paper."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Polygon
from numpy.typing import ArrayLike

from ..arrays import FloatArray
from .style import INK

#: Half the point angle of a twist drill, 118 degrees.
_POINT = math.radians(59.0)


@dataclass(frozen=True, slots=True)
class CutSheet:
    """Where a section lies on its sheet, mm of paper; `down` is 1 where heights grow downwards."""

    axes: Axes
    x0: float
    y0: float
    scale: float
    down: int

    def x(self, across: ArrayLike) -> FloatArray:
        """Return places across the sheet."""
        return self.x0 + np.asarray(across, dtype=np.float64) * self.scale

    def y(self, along: ArrayLike) -> FloatArray:
        """Return places from the top of the sheet."""
        return self.y0 + self.down * (np.asarray(along, dtype=np.float64) * self.scale)

    def fill(self, across: ArrayLike, along: ArrayLike, **style: Any) -> None:
        """Fill an outline."""
        points = np.column_stack([self.x(across), self.y(along)])
        # `add_patch` would search every edge for the limits of the axes, which are given
        self.axes.add_artist(Polygon(points, closed=True, **style))

    def line(self, across: ArrayLike, along: ArrayLike, **style: Any) -> None:
        """Draw a line."""
        self.axes.plot(self.x(across), self.y(along), **style)

    def arrow(
        self, start: tuple[float, float], end: tuple[float, float], kind: str = "<->", *,
        width: float = 0.7, size: float = 6, **style: Any,
    ) -> None:  # fmt: skip
        """Draw an arrow from place to place of the sheet."""
        how = {"arrowstyle": kind, "color": INK, "linewidth": width, "shrinkA": 0, "shrinkB": 0}
        self.axes.annotate("", start, end, arrowprops={**how, "mutation_scale": size}, **style)


def distance(depth: FloatArray, pitch: float, turn: float) -> FloatArray:
    """Return the axial distance from the nearest turn, mm, of which one is at `turn`."""
    turns = (depth - turn) / pitch
    found: FloatArray = np.abs(turns - np.round(turns)) * pitch
    return found


def bore(
    depth: FloatArray, turn: float, *, minor: float, major: float, pitch: float, half_angle: float,
    full_thread: float, lead: float, drilled: float,
) -> FloatArray:  # fmt: skip
    """Return the radius of a tapped hole at each depth; zero below its bottom.

    Each tooth of the tap's lead cuts a little less; an infinite `full_thread` has no lead.
    """
    minor, major = minor / 2, major / 2
    left = 1.0 if math.isinf(full_thread) else 1 - (depth - full_thread) / lead
    grown = minor + (major - minor) * np.clip(left, 0, 1)
    slope = 1 / math.tan(math.radians(half_angle))
    thread = np.clip(grown - (distance(depth, pitch, turn) - pitch / 16) * slope, minor, grown)
    point = np.clip(minor - (depth - drilled) * math.tan(_POINT), 0.0, minor)
    found: FloatArray = np.where(depth <= drilled, thread, point)
    return found


def turns(
    coil: tuple[float, float], pitch: float, inside: float, outside: float, spare: float
) -> Iterator[tuple[float, FloatArray, FloatArray]]:
    """Yield the turns of a wire, half a pitch apart on both sides: side, depths, radii.

    Rhombs between two radii; the last ends `spare` before the end of the coil.
    """
    middle = (inside + outside) / 2
    radius = np.array([inside, middle, outside, outside, middle, inside])
    for sign, shift in ((1.0, 0.0), (-1.0, pitch / 2)):
        centre = coil[0] + pitch / 2 + shift
        while centre + spare <= coil[1]:
            depth = centre + pitch * np.array([-1 / 16, -0.43, -1 / 16, 1 / 16, 0.43, 1 / 16])
            yield sign, depth, sign * radius
            centre += pitch
