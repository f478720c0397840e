"""A tapped hole cut along its axis, and how part, bore, screw and wire are drawn to scale."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon
from numpy.typing import ArrayLike

from ..arrays import FloatArray
from ..units import plain
from .style import GREY, INK, panel

#: Width of a sheet, mm of paper.
WIDTH = 160.0
SCALES = (20, 15, 12, 10, 8, 7, 6, 5, 4.5, 4, 3.5, 3, 2.5, 2.25, 2, 1.75, 1.5, 1.25, 1, 0.9, 0.8,
          0.7, 0.6, 0.5, 0.45, 0.4, 0.35, 0.3, 0.25, 0.2, 0.15, 0.1)  # fmt: skip
#: Half the point angle of a twist drill, 118 degrees.
_POINT = math.radians(59.0)
_METAL, _HATCH, SCREW, _WIRE = "#f6f4f0", "#b4aca0", "#d4d8dc", "#3a3a3a"
#: How a part ends where it is cut off: from face to bottom, between -1 and 1.
WAVE = np.sin(np.linspace(0, 6 * np.pi, 60))


@dataclass(frozen=True, slots=True, kw_only=True)
class CutHole:
    """A hole as it is drawn; lengths in mm, depths from the joint face, NaN where not known.

    Attributes
    ----------
    pitch, half_angle : of the thread; half the flank angle, degrees
    minor, major : diameters of the tapped hole
    full_thread : depth of full thread
    incomplete : pitches of incomplete thread below it
    drilled : depth at full diameter; infinite for a through hole
    thickness : of the part at a through hole
    coil : depths between which the fitted coil lies; NaN without one
    reach : how far the screw reaches
    countersink, countersink_angle : diameter at the face, included angle in degrees
    title, subtitle : words above the drawing
    screw_major, screw_root : diameters of the screw
    engaged : depths between which threads are engaged
    shear_cylinder : diameter on which the parent shears
    boss : outside diameter of the boss
    edge : distance of the axis from the nearest edge
    """

    pitch: float
    half_angle: float
    minor: float
    major: float
    full_thread: float
    incomplete: float
    drilled: float
    thickness: float
    reach: float
    coil: tuple[float, float]
    countersink: float = math.nan
    countersink_angle: float = 90.0
    title: str = ""
    subtitle: str = ""
    screw_major: float = math.nan
    screw_root: float = math.nan
    engaged: tuple[float, float] = (0.0, 0.0)
    shear_cylinder: float = math.nan
    boss: float = math.nan
    edge: float = math.nan

    @property
    def has_coil(self) -> bool:
        """Whether an insert sits in the hole."""
        return not math.isnan(self.coil[0])

    @property
    def is_through(self) -> bool:
        """Whether the hole goes through the part."""
        return math.isinf(self.drilled)

    @property
    def screw_end(self) -> float:
        """Depth to which the screw is drawn."""
        return self.engaged[1] + self.pitch if math.isnan(self.reach) else self.reach

    @property
    def bored(self) -> float:
        """Depth to which the hole is drawn drilled; a guess where the case does not say it."""
        if math.isnan(self.drilled):
            return max(self.full_thread + 3 * self.pitch, self.screw_end + self.pitch)
        return self.drilled

    @property
    def bottom(self) -> float:
        """Depth to which the part is drawn."""
        if self.is_through:
            deepest = self.coil[1] if self.has_coil else self.full_thread
            return float(np.fmax(self.thickness, max(self.engaged[1], deepest)))
        return max(self.bored, self.screw_end) + 0.6 * self.major

    @property
    def slope(self) -> float:
        """Radius of a flank over its depth."""
        return 1 / math.tan(math.radians(self.half_angle))

    def below_crest(self, depth: FloatArray, turn: float) -> FloatArray:
        """Return how far a flank is below its crest, mm; the middle of one crest is at `turn`."""
        along = (depth - turn) / self.pitch
        return (abs(along - np.round(along)) - 1 / 16) * self.pitch * self.slope

    def bore(self, depth: FloatArray, phase: float) -> FloatArray:
        """Return the radius of the hole at each depth, its turns moved; zero below its bottom."""
        minor, major = self.minor / 2, self.major / 2
        turn = phase + (self.coil[0] + self.pitch / 2 if self.has_coil else 0.0)
        goes_through = self.is_through and self.has_coil  # and so does the tap
        # Each tooth of the tap's lead cuts a little less.
        lead = (depth - self.full_thread) / (self.incomplete * self.pitch)
        grown = minor + (major - minor) * np.clip(1.0 if goes_through else 1 - lead, 0, 1)
        flank = np.clip(grown - self.below_crest(depth, turn), minor, grown)
        point = np.clip(minor - (depth - self.bored) * math.tan(_POINT), 0, minor)
        tapped = np.where(depth <= self.bored, flank, point)
        sink = self.countersink / 2 - depth / math.tan(math.radians(self.countersink_angle / 2))
        return np.fmax(tapped, sink)

    def screw(self, depth: FloatArray, phase: float) -> FloatArray:
        """Return the radius of the screw: plain above the face, chamfered at its end."""
        root, major = self.screw_root / 2, self.screw_major / 2
        # Its crest stands in the groove of the hole, or between two turns of a coil.
        turn = phase + (self.coil[0] + self.pitch if self.has_coil else 0.0)
        flank = np.clip(major - self.below_crest(depth, turn), root, major)
        shank = np.where(depth < -0.15 * self.screw_major, major, flank)
        return shank.clip(max=root + (self.screw_end - depth).clip(min=0.0))


def paper(height: float, axes: Axes | None = None) -> Axes:
    """Return axes, by default those of a sheet as high, in mm of paper from the top left corner."""
    if axes is None:
        axes = Figure(figsize=(WIDTH / 25.4, height / 25.4)).add_axes((0.0, 0.0, 1.0, 1.0))
    else:
        axes = panel(axes, height)
    axes.set_axis_off()
    axes.set(xlim=(0, WIDTH), ylim=(height, 0), aspect="equal")
    return axes


def largest_scale(*rooms: tuple[float, float]) -> float:
    """Return the largest scale of drawings at which lengths fit their rooms, both mm; or the least.

    Examples
    --------
    >>> largest_scale((12.0, 50.0), (40.0, 100.0))
    2.5
    """
    return next((s for s in SCALES if all(size * s <= room for size, room in rooms)), SCALES[-1])


def turns(
    middles: ArrayLike, radii: ArrayLike, half: ArrayLike, *,
    ends: tuple[float, float] = (-math.inf, math.inf),
) -> FloatArray:  # fmt: skip
    """Return the outlines of like turns of a thread or a wire, cut along the axis.

    Parameters
    ----------
    middles : array_like, shape (n,), mm
        Their depths.
    radii, half : array_like, shape (k,), mm
        Half the width of a turn at each radius.
    ends : least and greatest depth; what lies beyond is cut off

    Returns
    -------
    ndarray, shape (n, 2 k, 2)
        Depth and radius, up one side and down the other.
    """
    across = np.concatenate([np.negative(half), np.flip(half)])
    depth = np.clip(np.asarray(middles)[:, None] + across, *ends)
    radius = np.broadcast_to(np.concatenate([radii, np.flip(radii)]), depth.shape)
    return np.stack((depth, radius), axis=-1)


def scale_words(scale: float, at: str, system: str) -> str:
    """Name the scale, and the width of the paper at which it holds."""
    return f"scale {scale:g} : 1{at}{plain(WIDTH, dimension='length', system=system)}"


@dataclass(frozen=True, slots=True)
class CutSheet:
    """Where a cut lies on its paper, mm: the axis at the joint face, and the scale.

    Depths run downwards, or to the right where it is `turned`.
    """

    axes: Axes
    x0: float
    y0: float
    scale: float
    turned: bool

    def at(self, depth: ArrayLike, radius: ArrayLike) -> tuple[Any, Any]:
        """Return places on the paper."""
        along, across = (self.scale * each for each in np.broadcast_arrays(depth, radius))
        if self.turned:
            return self.x0 + along, self.y0 - across
        return self.x0 + across, self.y0 + along

    def fill(self, depth: ArrayLike, radius: ArrayLike, **style: Any) -> None:
        """Fill an outline."""
        # `add_patch` would search every edge for the limits of the axes, which are given
        self.axes.add_artist(Polygon(np.column_stack(self.at(depth, radius)), **style))

    def between(self, depth: FloatArray, one: FloatArray, other: FloatArray, **style: Any) -> None:
        """Fill what lies between two lines, given at equal steps of depth."""
        # A straight piece needs its ends only: every document would carry all its points.
        bends = np.abs(np.diff([one, other], 2)).max(axis=0) > 1e-9 * abs(one).max()
        kept = np.r_[True, bends, True]
        depth, one, other = depth[kept], one[kept], other[kept]
        self.fill(np.r_[depth, depth[::-1]], np.r_[one, other[::-1]], **style)

    def line(self, depth: ArrayLike, radius: ArrayLike, **style: Any) -> None:
        """Draw a line."""
        self.axes.plot(*self.at(depth, radius), **style)

    def words(self, x: float, y: float, text: str, *, ground: str = "", **style: Any) -> None:
        """Write words at a place of the paper, where lines pass on a ground of their own."""
        usual = {"ha": "center", "va": "center", "fontsize": 7.0, "color": INK, "linespacing": 1.15}
        if ground:
            usual |= {"bbox": {"facecolor": ground, "edgecolor": "none", "pad": 0.5}, "zorder": 8}
        self.axes.text(x, y, text, **{**usual, **style})

    def arrow(
        self, start: tuple[float, float], end: tuple[float, float], kind: str = "<->"
    ) -> None:
        """Draw an arrow from place to place of the paper."""
        how = {"arrowstyle": kind, "color": INK, "linewidth": 0.7, "shrinkA": 0, "shrinkB": 0}
        self.axes.annotate("", start, end, arrowprops={**how, "mutation_scale": 6}, zorder=7)

    def part(self, hole: CutHole, end: float, edges: Iterable[tuple[float, bool]]) -> None:
        """Draw the part with its hole down to a depth; one side stands half a pitch behind.

        `edges` are two radii, and whether the part is cut off there.
        """
        across, cut = zip(*edges, strict=True)
        depth = np.linspace(0, end, len(WAVE))
        sides = [radius + 0.03 * hole.major * WAVE * is_cut for radius, is_cut in edges]
        self.between(depth, *sides, facecolor=_METAL, edgecolor=_HATCH, hatch="////", linewidth=0,
                     zorder=1)  # fmt: skip
        for z, radius, open_ in (
            (depth, sides[0], cut[0]), (depth, sides[1], cut[1]),
            (0.0, across, False), (end, across, not hole.is_through),
        ):  # fmt: skip
            self.line(z, radius, color=GREY if open_ else INK, linewidth=0.6 if open_ else 0.9,
                      zorder=1.5)  # fmt: skip
        depth = np.linspace(0, end, 2400)
        upper, lower = (hole.bore(depth, phase) for phase in (0.0, hole.pitch / 2))
        there = np.minimum(upper, lower) > 0
        depth, upper, lower = depth[there], upper[there], lower[there]
        self.between(depth, upper, -lower, facecolor="white", edgecolor=INK, linewidth=0.6,
                     zorder=2)  # fmt: skip
        # The bore is open at the face and at a far side: the outline of the fill closes it.
        for mouth in (0, -1) if hole.is_through else (0,):
            self.line([depth[mouth]] * 2, [upper[mouth], -lower[mouth]], color="white",
                      linewidth=1.4, zorder=2.1)  # fmt: skip

    def coil(self, hole: CutHole, inside: float) -> None:
        """Draw the turns of the wire, rhombs from a radius to the bottom of the groove."""
        (start, end), pitch = hole.coil, hole.pitch
        radii = np.linspace(inside, hole.major / 2, 3)
        half = pitch * np.array([1 / 16, 0.43, 1 / 16])
        for side, first in ((1, 0.5), (-1, 1.0)):
            middles = np.arange(start + first * pitch, end - pitch / 4, pitch)
            for outline in turns(middles, side * radii, half):
                self.fill(*outline.T, facecolor=_WIRE, edgecolor="white", linewidth=0.3, zorder=5)

    def axis(self, start: float, end: float) -> None:
        """Draw the axis."""
        self.line([start, end], [0, 0], color=GREY, linewidth=0.6,
                  linestyle=(0, (8, 2, 1.5, 2)), zorder=4)  # fmt: skip
