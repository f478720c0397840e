"""Both holes cut open, side by side and to the same scale: what is drilled, tapped and engaged."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ..arrays import FloatArray
from ..units import plain, printed, unit_of
from .hole_profile import CutSheet, bore, distance, turns
from .style import BLUE, GREY, INK, ORANGE, styled

#: The sheet, in millimetres of paper: width, height at most, columns for the levels, gap between
#: the holes, rows of the dimensions below, title above.
_WIDTH, HEIGHT, _COLUMN, _GAP, _ROW, _TITLE = 160.0, 205.0, 36.0, 5.0, 6.4, 10.0
_SCALES = (20, 15, 12, 10, 8, 7, 6, 5, 4.5, 4, 3.5, 3, 2.5, 2.25, 2, 1.75, 1.5, 1.25, 1, 0.9, 0.8,
           0.7, 0.6, 0.5, 0.45, 0.4, 0.35, 0.3, 0.25, 0.2, 0.15, 0.1)  # fmt: skip
#: A part without a boss, or with a wide one, is cut off this many major diameters of the larger
#: hole from the axis.
_CUT = 1.35
#: Least distance of two levels' labels, mm of paper.
_LINE = 3.5
_FONT = 7.0
_METAL, _SCREW, _COIL, _HATCH = "#f6f4f0", "#d4d8dc", "#3a3a3a", "#b4aca0"


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleSection:
    """One hole as it is drawn; lengths in mm, depths from the joint face, NaN where not known.

    Attributes
    ----------
    title, subtitle : words above the drawing
    pitch, half_angle : of the thread, degrees
    screw_major, screw_root : diameters of the screw
    hole_major, hole_minor : diameters of the tapped hole
    full_thread : depth of full thread
    incomplete : pitches of incomplete thread below it
    drilled : drilled depth; infinite for a through hole
    thickness : of the part at a through hole
    coil : depths between which the fitted coil lies; NaN without one
    engaged : depths between which threads are engaged
    shear_cylinder : diameter on which the parent shears
    reach : how far the screw reaches
    boss : outside diameter of the boss
    edge : distance of the axis from the nearest edge
    """

    title: str
    subtitle: str
    pitch: float
    half_angle: float
    screw_major: float
    screw_root: float
    hole_major: float
    hole_minor: float
    full_thread: float
    incomplete: float
    drilled: float
    thickness: float
    coil: tuple[float, float]
    engaged: tuple[float, float]
    shear_cylinder: float
    reach: float
    boss: float
    edge: float

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
    def bottom(self) -> float:
        """Depth to which the part is drawn."""
        if self.is_through:
            deepest = max(self.engaged[1], self.coil[1] if self.has_coil else self.full_thread)
            return self.thickness if self.thickness >= deepest else deepest
        return max(self.bored, self.screw_end) + 0.6 * self.hole_major

    @property
    def bored(self) -> float:
        """Depth to which the hole is drawn drilled; a guess where the case does not say it."""
        if math.isnan(self.drilled):
            return max(self.full_thread + 3 * self.pitch, self.screw_end + self.pitch)
        return self.drilled


def section(
    views: Iterable[HoleSection],
    *,
    note: str = "",
    system: str = "SI",
    height: float = HEIGHT,
    ax: Axes | None = None,
) -> Axes:
    """Draw two holes to scale with their levels, engaged lengths and diameters.

    Parameters
    ----------
    views : the original and the repaired hole
    note : words at the foot, such as the tolerance position
    system : "SI" or "inch"
    height : of the sheet at most, mm of paper
    ax : axes to draw in, at a scale of their own; by default a new sheet
    """
    units = "inch" if system == "inch" else "SI"
    holes = tuple(views)
    limit = _CUT * max(hole.hole_major for hole in holes)
    half = max(_half_width(hole, limit) for hole in holes)
    above = max(0.7 * hole.screw_major for hole in holes)
    bottom = max(hole.bottom for hole in holes)
    depth = above + max(bottom, *(hole.screw_end for hole in holes))
    rows = max(len(_diameters(hole, units, limit)) for hole in holes)
    room = (_WIDTH - 2 * _COLUMN - _GAP) / 2
    around = _TITLE + rows * _ROW + 11.0
    scale = next(
        (s for s in _SCALES if 2 * half * s <= room and depth * s <= height - around), _SCALES[-1]
    )
    levels = max(len(_levels(hole, units)) for hole in holes)
    paper = max(depth * scale, levels * _LINE + above * scale) + around
    with styled():
        sheet_size = (_WIDTH / 25.4, paper / 25.4)
        axes = ax or Figure(figsize=sheet_size).add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set_axis_off()
        axes.set_xlim(0, _WIDTH)
        axes.set_ylim(paper, 0)
        axes.set_aspect("equal")
        face = _TITLE + above * scale
        for hole, side in zip(holes, (-1, 1), strict=True):
            middle = _COLUMN + room / 2 if side < 0 else _WIDTH - _COLUMN - room / 2
            sheet = _Sheet(axes, middle, face, scale, 1, side, limit)
            sheet.hole(hole, bottom)
            sheet.labels(_levels(hole, units), room, hole)
            sheet.engaged(hole, units)
            sheet.diameters(_diameters(hole, units, limit), face + (depth - above) * scale + 3.5)
            for y, words, weight in ((2.8, hole.title, "bold"), (6.6, hole.subtitle, "normal")):
                axes.text(
                    middle, y, words, ha="center", va="center", fontsize=8, fontweight=weight,
                    color=ORANGE if side < 0 else BLUE,
                )  # fmt: skip
        width = plain(_WIDTH, dimension="length", system=units)
        axes.text(
            _WIDTH / 2, paper - 4.0, f"scale {scale:g} : 1 at a width of {width}\n{note}",
            ha="center", va="center", fontsize=_FONT, color=INK, linespacing=1.3,
        )  # fmt: skip
        return axes


def _half_width(hole: HoleSection, limit: float) -> float:
    """Half the width to which the part is drawn; a wide boss is cut off at the limit."""
    return limit if math.isnan(hole.boss) else min(hole.boss / 2, limit)


def length_words(value: float, units: str) -> str:
    """Write a length as a drawing does: hundredths of a millimetre, thousandths of an inch."""
    decimals = 2 if units == "SI" else 3
    text = f"{printed(value, 'length', units):.{decimals}f}"
    return f"{text.rstrip('0').rstrip('.')} {unit_of('length', units)}"


def _levels(hole: HoleSection, units: str) -> list[tuple[float, str]]:
    """Depths that are labelled, from the joint face down."""
    found = [(0.0, "joint face")]
    if hole.has_coil:
        found += [
            (hole.coil[0], f"coil from {length_words(hole.coil[0], units)}"),
            (hole.coil[1], f"coil to {length_words(hole.coil[1], units)}"),
        ]
        if not hole.is_through:
            words = f"full thread ≥ {length_words(hole.full_thread, units)}"
            found.append((hole.full_thread, words))
    else:
        found.append((hole.full_thread, f"full thread {length_words(hole.full_thread, units)}"))
    if not math.isnan(hole.reach):
        found.append((hole.reach, f"screw to {length_words(hole.reach, units)}"))
    if hole.is_through:
        known = "" if math.isnan(hole.thickness) else f" {length_words(hole.thickness, units)}"
        found.append((hole.bottom, f"part{known}" if known else "through hole"))
    elif not math.isnan(hole.drilled):
        found.append((hole.drilled, f"drilled {length_words(hole.drilled, units)}"))
    return sorted(found)


def _diameters(hole: HoleSection, units: str, limit: float) -> list[tuple[float, float, str]]:
    """List the diameters: from, to (from the axis, mm; NaN: not drawn), words."""
    found = [
        (hole.shear_cylinder, "shear cylinder"),
        (hole.hole_major, "hole, major"),
        (hole.boss, "boss"),
    ]
    rows = []
    for size, words in found:
        if math.isnan(size):
            rows.append((math.nan, math.nan, "no boss given: thick part"))
            continue
        drawn = size / 2 <= limit
        text = f"{words} Ø {length_words(size, units)}" + ("" if drawn else ", not drawn whole")
        rows.append((-size / 2, size / 2, text) if drawn else (math.nan, math.nan, text))
    if not math.isnan(hole.edge):
        drawn = hole.edge <= _half_width(hole, limit)
        text = f"axis to edge {length_words(hole.edge, units)}" + ("" if drawn else ", not drawn")
        rows.append((0.0, hole.edge, text) if drawn else (math.nan, math.nan, text))
    return rows


@dataclass(frozen=True, slots=True)
class _Sheet(CutSheet):
    """One hole's place on the paper: `side` is where its labels stand, -1 left, 1 right."""

    side: int
    limit: float

    def hole(self, hole: HoleSection, bottom: float) -> None:
        """Draw the part down to a depth, the hole in it, the screw and the coil."""
        self._part(hole, bottom)
        depth = np.linspace(0, bottom, 2400)
        right, left = (_bore(hole, depth, phase) for phase in (0.0, hole.pitch / 2))
        keep = right > 0
        self.fill(
            np.concatenate([right[keep], -left[keep][::-1]]),
            np.concatenate([depth[keep], depth[keep][::-1]]),
            facecolor="white", edgecolor=INK, linewidth=0.6, zorder=2,
        )  # fmt: skip
        if hole.is_through:
            # The bore is open at the far side: the outline of the fill closes it.
            ends = [-left[keep][-1], right[keep][-1]]
            self.line(ends, [bottom] * 2, color="white", linewidth=1.0, zorder=2.1)
        self._screw(hole)
        if hole.has_coil:
            inside = hole.screw_major / 2 - _flank_depth(hole.pitch, hole.half_angle)
            found = turns(hole.coil, hole.pitch, inside, hole.hole_major / 2, hole.pitch / 4)
            for _, turn, radius in found:
                self.fill(
                    radius, turn, facecolor=_COIL, edgecolor="white", linewidth=0.3, zorder=5
                )  # fmt: skip
        for sign in (-1.0, 1.0):
            self.line(
                [sign * hole.shear_cylinder / 2] * 2, hole.engaged, color="#b00020",
                linewidth=1.5, linestyle=(0, (2.2, 1.2)), zorder=6, solid_capstyle="butt",
            )  # fmt: skip

    def _part(self, hole: HoleSection, bottom: float) -> None:
        sides = []
        for sign in (-1, 1):
            wide = _half_width(hole, self.limit)
            cut = math.isnan(hole.boss) or hole.boss / 2 > wide
            if sign == self.side and hole.edge <= wide:
                wide, cut = hole.edge, False
            depth = np.linspace(0, bottom, 60)
            wave = 0.03 * hole.hole_major * np.sin(depth / bottom * 6 * np.pi) if cut else 0.0
            sides.append((sign * wide + wave * np.ones_like(depth), depth, cut))
        (left, depth, left_cut), (right, _, right_cut) = sides
        self.fill(
            np.concatenate([left, right[::-1]]), np.concatenate([depth, depth[::-1]]),
            facecolor=_METAL, edgecolor=_HATCH, hatch="////", linewidth=0, zorder=1,
        )  # fmt: skip
        for side, cut in ((left, left_cut), (right, right_cut)):
            self.line(side, depth, color=GREY if cut else INK, linewidth=0.6 if cut else 0.9)
        self.line([left[0], right[0]], [0, 0], color=INK, linewidth=0.9, zorder=2)
        self.line(
            [left[-1], right[-1]], [bottom] * 2,
            color=INK if hole.is_through else GREY, linewidth=0.9 if hole.is_through else 0.6,
        )  # fmt: skip

    def _screw(self, hole: HoleSection) -> None:
        top = -0.7 * hole.screw_major
        depth = np.linspace(top, hole.screw_end, 2400)
        # The crest of the screw stands in the groove of the hole, or between two turns of a coil.
        phase = hole.coil[0] + hole.pitch if hole.has_coil else 0.0
        right = _external(hole, depth, phase)
        left = _external(hole, depth, phase + hole.pitch / 2)
        self.fill(
            np.concatenate([right, -left[::-1]]), np.concatenate([depth, depth[::-1]]),
            facecolor=_SCREW, edgecolor=INK, linewidth=0.6, zorder=3,
        )  # fmt: skip
        self.line(
            [0, 0], [top * 1.15, hole.engaged[0] + 0.1], color=GREY, linewidth=0.6,
            linestyle=(0, (8, 2, 1.5, 2)), zorder=4,
        )  # fmt: skip

    def labels(self, levels: list[tuple[float, str]], room: float, hole: HoleSection) -> None:
        """Write the levels beside the part, moved apart where they would touch."""
        places = _apart([float(self.y(depth)) for depth, _ in levels])
        edge = self.x0 + self.side * room / 2
        start = edge + self.side * 4.5
        near = self.x0 + self.side * hole.hole_major / 2 * self.scale
        for (depth, text), place in zip(levels, places, strict=True):
            level = float(self.y(depth))
            self.axes.plot(
                [near, edge + self.side * 1.0, start], [level, level, place], color=INK,
                linewidth=0.5, zorder=7,
            )  # fmt: skip
            self.axes.text(
                start + self.side * 0.6, place, text, ha="left" if self.side > 0 else "right",
                va="center", fontsize=_FONT, color=INK,
            )  # fmt: skip

    def engaged(self, hole: HoleSection, units: str) -> None:
        """Draw the engaged length as a dimension inside the screw."""
        top, bottom = (float(self.y(depth)) for depth in hole.engaged)
        self.arrow((self.x0, top), (self.x0, bottom), width=0.8, size=7, zorder=7)
        self.axes.text(
            self.x0, (top + bottom) / 2,
            f"engaged\n{length_words(hole.engaged[1] - hole.engaged[0], units)}",
            rotation=90, ha="center", va="center", fontsize=6.5, color=INK, linespacing=1.15,
            bbox={"facecolor": _SCREW, "edgecolor": "none", "pad": 0.6}, zorder=8,
        )  # fmt: skip

    def diameters(self, rows: list[tuple[float, float, str]], top: float) -> None:
        """Dimension the diameters below the part, one row each."""
        for index, (start, end, text) in enumerate(rows):
            y = top + index * _ROW
            if not math.isnan(start):
                if start == 0.0:
                    start, end = sorted((0.0, self.side * end))
                self.arrow((float(self.x(start)), y), (float(self.x(end)), y))
            self.axes.text(
                self.x0, y + 2.4, text, ha="center", va="center", fontsize=_FONT, color=INK
            )


def _flank_depth(pitch: float, half_angle: float) -> float:
    """Depth of the internal thread: five eighths of the triangle's height."""
    return 5 / 8 * pitch / 2 / math.tan(math.radians(half_angle))


def _bore(hole: HoleSection, depth: FloatArray, phase: float) -> FloatArray:
    """Radius of the hole at each depth; zero below its bottom."""
    goes_through = hole.is_through and hole.has_coil  # and so does the tap
    return bore(
        depth, phase + hole.coil[0] + hole.pitch / 2 if hole.has_coil else phase,
        minor=hole.hole_minor, major=hole.hole_major, pitch=hole.pitch,
        half_angle=hole.half_angle, full_thread=math.inf if goes_through else hole.full_thread,
        lead=max(hole.incomplete * hole.pitch, 1e-9), drilled=hole.bored,
    )  # fmt: skip


def _external(hole: HoleSection, depth: FloatArray, phase: float) -> FloatArray:
    """Radius of the screw at each depth: plain above the face, chamfered at its end."""
    root, major = hole.screw_root / 2, hole.screw_major / 2
    slope = 1 / math.tan(math.radians(hole.half_angle))
    thread = np.clip(
        major - (distance(depth, hole.pitch, phase) - hole.pitch / 16) * slope, root, major
    )
    chamfer = root + np.maximum(hole.screw_end - depth, 0.0) * 1.0
    plain = np.where(depth < -0.15 * hole.screw_major, major, thread)
    radius: FloatArray = np.minimum(plain, np.maximum(chamfer, root))
    return radius


def _apart(places: list[float]) -> list[float]:
    """Move sorted places apart to the least distance, each as little as needed downwards."""
    moved: list[float] = []
    for place in places:
        moved.append(max(place, moved[-1] + _LINE) if moved else place)
    return moved
