"""Both holes cut open, side by side and to the same scale: what is drilled, tapped and engaged."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from functools import partial
from typing import TypeAlias

import numpy as np
from matplotlib.axes import Axes

from ..units import printed, unit_of
from .cut import SCALES, SCREW, WIDTH, CutHole, CutSheet, paper, scale_words
from .style import BLUE, INK, ORANGE, styled

#: The sheet, in millimetres of paper: height at most, columns for the levels, gap between the
#: holes, rows of the dimensions below, title above.
HEIGHT, _COLUMN, _GAP, _ROW, _TITLE = 205.0, 36.0, 5.0, 6.4, 10.0
_ROOM = (WIDTH - 2 * _COLUMN - _GAP) / 2
#: A part without a boss, or with a wide one, is cut off this many major diameters of the larger
#: hole from the axis.
_CUT = 1.35
#: Least distance of two levels' labels, mm of paper.
_LINE = 3.5
Words: TypeAlias = Callable[[float], str]


@styled
def section(
    views: Iterable[CutHole],
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
    words = partial(length_words, units=units)
    holes = tuple(views)
    limit = _CUT * max(hole.major for hole in holes)
    half = max(_half_width(hole, limit) for hole in holes)
    above = max(0.7 * hole.screw_major for hole in holes)
    bottom = max(hole.bottom for hole in holes)
    below = max(bottom, *(hole.screw_end for hole in holes))
    levels = [_levels(hole, words) for hole in holes]
    rows = max(len(_diameters(hole, limit, words)) for hole in holes)
    around = _TITLE + rows * _ROW + 11.0
    scale = next(
        (s for s in SCALES if 2 * half * s <= _ROOM and (above + below) * s <= height - around),
        SCALES[-1],
    )
    tall = around + max((above + below) * scale, max(map(len, levels)) * _LINE + above * scale)
    axes = paper(tall, ax)
    face = _TITLE + above * scale
    for hole, level, side in zip(holes, levels, (-1, 1), strict=True):
        middle = WIDTH / 2 + side * (_GAP + _ROOM) / 2
        sheet = CutSheet(axes, middle, face, scale, turned=False)
        _hole(sheet, hole, bottom, side, limit)
        _label(sheet, hole, level, side)
        _dimension(sheet, hole, limit, words, side, face + below * scale + 3.5)
        for y, text, weight in ((2.8, hole.title, "bold"), (6.6, hole.subtitle, "normal")):
            sheet.words(middle, y, text, fontsize=8, fontweight=weight,
                        color=ORANGE if side < 0 else BLUE)  # fmt: skip
    foot = f"{scale_words(scale, ' at a width of ', units)}\n{note}"
    sheet.words(WIDTH / 2, tall - 4.0, foot, linespacing=1.3)
    return axes


def _half_width(hole: CutHole, limit: float) -> float:
    """Half the width to which the part is drawn; a wide boss is cut off at the limit."""
    return float(np.fmin(hole.boss / 2, limit))


def length_words(value: float, units: str) -> str:
    """Write a length as a drawing does: hundredths of a millimetre, thousandths of an inch."""
    decimals = 2 if units == "SI" else 3
    text = f"{printed(value, 'length', units):.{decimals}f}"
    return f"{text.rstrip('0').rstrip('.')} {unit_of('length', units)}"


def _levels(hole: CutHole, words: Words) -> list[tuple[float, str]]:
    """Depths that are labelled, from the joint face down; those that are not known are not."""
    found = [
        (0.0, "joint face"),
        (hole.coil[0], f"coil from {words(hole.coil[0])}"),
        (hole.coil[1], f"coil to {words(hole.coil[1])}"),
        (hole.reach, f"screw to {words(hole.reach)}"),
    ]
    if not (hole.has_coil and hole.is_through):
        at_least = "≥ " if hole.has_coil else ""
        found.append((hole.full_thread, f"full thread {at_least}{words(hole.full_thread)}"))
    if not hole.is_through:
        found.append((hole.drilled, f"drilled {words(hole.drilled)}"))
    elif math.isnan(hole.thickness):
        found.append((hole.bottom, "through hole"))
    else:
        found.append((hole.bottom, f"part {words(hole.thickness)}"))
    return sorted(each for each in found if not math.isnan(each[0]))


def _diameters(hole: CutHole, limit: float, words: Words) -> list[tuple[tuple[float, ...], str]]:
    """List the diameters: ends from the axis, mm, none where it is not drawn; words."""
    rows: list[tuple[tuple[float, ...], str]] = []
    for size, name in (
        (hole.shear_cylinder, "shear cylinder"), (hole.major, "hole, major"), (hole.boss, "boss")
    ):  # fmt: skip
        text, drawn = f"{name} Ø {words(size)}", size / 2 <= limit
        rows.append(((-size / 2, size / 2), text) if drawn else ((), f"{text}, not drawn whole"))
    if math.isnan(hole.boss):
        rows[-1] = ((), "no boss given: thick part")
    if not math.isnan(hole.edge):
        text, drawn = f"axis to edge {words(hole.edge)}", hole.edge <= _half_width(hole, limit)
        rows.append(((0.0, hole.edge), text) if drawn else ((), f"{text}, not drawn"))
    return rows


def _hole(sheet: CutSheet, hole: CutHole, bottom: float, side: int, limit: float) -> None:
    """Draw the part, the hole in it, the screw, the coil and the cylinder that shears."""
    wide = _half_width(hole, limit)
    edges = [(-wide, not hole.boss / 2 <= limit), (wide, not hole.boss / 2 <= limit)]
    if hole.edge <= wide:
        edges[side > 0] = (side * hole.edge, False)
    sheet.part(hole, bottom, edges)
    top = -0.7 * hole.screw_major
    depth = np.linspace(top, hole.screw_end, 2400)
    right, left = (hole.screw(depth, phase) for phase in (0.0, hole.pitch / 2))
    sheet.between(depth, right, -left, facecolor=SCREW, edgecolor=INK, linewidth=0.6, zorder=3)
    sheet.axis(top * 1.15, hole.engaged[0] + 0.1)
    if hole.has_coil:
        # The wire reaches in as deep as the thread of a hole for the screw: five eighths of the
        # triangle's height.
        sheet.coil(hole, hole.screw_major / 2 - 5 / 16 * hole.pitch * hole.slope)
    for radius in (-hole.shear_cylinder / 2, hole.shear_cylinder / 2):
        sheet.line(hole.engaged, [radius] * 2, color="#b00020", linewidth=1.5,
                   linestyle=(0, (2.2, 1.2)), zorder=6, solid_capstyle="butt")  # fmt: skip


def _label(sheet: CutSheet, hole: CutHole, levels: list[tuple[float, str]], side: int) -> None:
    """Write the levels beside the part, moved apart where they would touch."""
    edge, near = sheet.x0 + side * _ROOM / 2, sheet.x0 + side * hole.major / 2 * sheet.scale
    place = -math.inf
    for depth, text in levels:
        level = sheet.y0 + depth * sheet.scale
        place = max(level, place + _LINE)
        sheet.axes.plot([near, edge + side, edge + side * 4.5], [level, level, place], color=INK,
                        linewidth=0.5, zorder=7)  # fmt: skip
        sheet.words(edge + side * 5.1, place, text, ha="left" if side > 0 else "right")


def _dimension(
    sheet: CutSheet, hole: CutHole, limit: float, words: Words, side: int, top: float
) -> None:
    """Dimension the engaged length inside the screw, and the diameters below the part."""
    start, end = (sheet.y0 + depth * sheet.scale for depth in hole.engaged)
    sheet.arrow((sheet.x0, start), (sheet.x0, end))
    sheet.words(sheet.x0, (start + end) / 2, f"engaged\n{words(hole.engaged[1] - hole.engaged[0])}",
                rotation=90, fontsize=6.5, zorder=8,
                bbox={"facecolor": SCREW, "edgecolor": "none", "pad": 0.6})  # fmt: skip
    for row, (ends, text) in enumerate(_diameters(hole, limit, words)):
        y = top + row * _ROW
        if ends:
            left, right = (sheet.x0 + side * radius * sheet.scale for radius in ends)
            sheet.arrow((left, y), (right, y))
        sheet.words(sheet.x0, y + 2.4, text)
