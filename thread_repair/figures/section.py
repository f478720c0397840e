"""Holes cut open and to scale: both of a case side by side, or the insert hole as it is made."""

import math
from collections.abc import Iterable, Sequence
from typing import Any, TypeAlias

import numpy as np
from matplotlib.axes import Axes

from ..facts import length
from ..units import to_decimals
from ..words import quantity
from .cut import SCALES, SCREW, WIDTH, CutHole, CutSheet, largest_scale, paper, scale_words
from .style import BLUE, GREY, INK, ORANGE, styled

#: Both holes on a sheet, in millimetres of paper: height at most, columns for the levels, gap
#: between the holes, rows of the dimensions below, title above.
HEIGHT, _COLUMN, _GAP, _ROW, _TITLE = 205.0, 36.0, 5.0, 6.4, 10.0
_ROOM = (WIDTH - 2 * _COLUMN - _GAP) / 2
#: A part without a boss, or with a wide one, is cut off this many major diameters of the larger
#: hole from the axis.
_CUT = 1.35
#: Least distance of two levels' labels, mm of paper.
_LINE = 3.5
#: One hole on a sheet, in millimetres of paper: room left of the face for the diameters, right of
#: the part, height of the part at most, a row of dimensions, head and foot.
_LEFT, _RIGHT, _PART, _LOW_ROW, _HEAD, _FOOT = 34.0, 2.0, 50.0, 5.4, 1.5, 1.0
#: Half the height to which its part is drawn, in radii of the tapped hole.
_HALF = 1.45
#: Size of its words, and width of a letter of that size, mm of paper, to see whether words fit
#: between two arrows.
_FONT, _LETTER = 7.5, 1.42
_LEADER: dict[str, Any] = {"color": GREY, "linewidth": 0.4, "zorder": 1.5,
                           "linestyle": (0, (1.5, 1.5))}  # fmt: skip

#: A length along the axis, from and to in mm below the face, and its words; a diameter at the face.
Dimension: TypeAlias = tuple[float, float, str]
Diameter: TypeAlias = tuple[float, str]


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
    units, holes = "inch" if system == "inch" else "SI", tuple(views)
    limit = _CUT * max(hole.major for hole in holes)
    half = max(_half_width(hole, limit) for hole in holes)
    above = max(0.7 * hole.screw_major for hole in holes)
    bottom = max(hole.bottom for hole in holes)
    below = max(bottom, *(hole.screw_end for hole in holes))
    levels = [_levels(hole, units) for hole in holes]
    rows = [_diameters(hole, limit, units) for hole in holes]
    around = _TITLE + max(map(len, rows)) * _ROW + 11.0
    scale = largest_scale((2 * half, _ROOM), (above + below, height - around))
    tall = around + max((above + below) * scale, max(map(len, levels)) * _LINE + above * scale)
    axes = paper(tall, ax)
    face = _TITLE + above * scale
    for hole, level, sizes, side in zip(holes, levels, rows, (-1, 1), strict=True):
        middle = WIDTH / 2 + side * (_GAP + _ROOM) / 2
        sheet = CutSheet(axes, middle, face, scale, turned=False)
        _hole(sheet, hole, bottom, side, limit)
        _label(sheet, hole, level, side)
        start, end = (face + depth * scale for depth in hole.engaged)
        sheet.arrow((middle, start), (middle, end))
        engaged = f"engaged\n{length_words(hole.engaged[1] - hole.engaged[0], units)}"
        sheet.words(middle, (start + end) / 2, engaged, rotation=90, fontsize=6.5, ground=SCREW)
        for row, (ends, text) in enumerate(sizes):
            y = face + below * scale + 3.5 + row * _ROW
            if ends:
                left, right = (middle + side * radius * scale for radius in ends)
                sheet.arrow((left, y), (right, y))
            sheet.words(middle, y + 2.4, text)
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
    number, unit = to_decimals(value, decimals=2, dimension="length", system=units).split()
    return f"{number.rstrip('0').rstrip('.')} {unit}"


def _levels(hole: CutHole, units: str) -> list[tuple[float, str]]:
    """Depths that are labelled, from the joint face down; those that are not known are not."""
    named = [("coil from", hole.coil[0]), ("coil to", hole.coil[1]), ("screw to", hole.reach)]
    if not hole.has_coil:
        named.append(("full thread", hole.full_thread))
    if not hole.is_through:
        named.append(("drilled", hole.drilled))
    found = [(at, f"{name} {length_words(at, units)}") for name, at in named if not math.isnan(at)]
    if hole.has_coil and not (hole.is_through or math.isnan(hole.full_thread)):
        least = quantity(length(hole.full_thread), system=units, how="least")
        found.append((hole.full_thread, f"full thread ≥ {least}"))
    if hole.is_through:
        known = not math.isnan(hole.thickness)
        part = f"part {length_words(hole.thickness, units)}" if known else "through hole"
        found.append((hole.bottom, part))
    return sorted([(0.0, "joint face"), *found])


def _diameters(hole: CutHole, limit: float, units: str) -> list[tuple[tuple[float, ...], str]]:
    """List the diameters: ends from the axis, mm, none where it is not drawn; words."""
    rows: list[tuple[tuple[float, ...], str]] = []
    for size, name in (
        (hole.shear_cylinder, "shear cylinder"), (hole.major, "hole, major"), (hole.boss, "boss")
    ):  # fmt: skip
        text, drawn = f"{name} Ø {length_words(size, units)}", size / 2 <= limit
        rows.append(((-size / 2, size / 2), text) if drawn else ((), f"{text}, not drawn whole"))
    if math.isnan(hole.boss):
        rows[-1] = ((), "no boss given: thick part")
    if not math.isnan(hole.edge):
        text, wide = f"axis to edge {length_words(hole.edge, units)}", _half_width(hole, limit)
        rows.append(((0.0, hole.edge), text) if hole.edge <= wide else ((), f"{text}, not drawn"))
    return rows


def _hole(sheet: CutSheet, hole: CutHole, bottom: float, side: int, limit: float) -> None:
    """Draw the part, the hole in it, the screw, the coil and the cylinder that shears."""
    wide, cut = _half_width(hole, limit), not hole.boss / 2 <= limit
    edges = [(-wide, cut), (wide, cut)]
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


@styled
def hole_section(
    hole: CutHole,
    dimensions: Sequence[Dimension],
    diameters: Sequence[Diameter],
    *,
    system: str = "SI",
) -> Axes:
    """Draw the hole to scale, its depths dimensioned below it and its diameters beside it.

    Parameters
    ----------
    hole : CutHole
    dimensions : one row each, from the top
    diameters : the one nearest the part first; two at most fit
    system : of the paper's width, "SI" or "inch"; the other words are given
    """
    room, half = WIDTH - _LEFT - _RIGHT, _HALF * hole.major / 2
    scale = largest_scale((hole.bottom, room), (2 * half, _PART))

    def beside(scale: float) -> float:
        """How far the words reach right of the face."""
        return max(
            end * scale + (0.0 if _inside(start, end, words, scale) else _width(words) + 5)
            for start, end, words in dimensions
        )

    # Near the middle, but so that the words beside the arrows fit on the paper.
    fitting = (each for each in SCALES if each <= scale and _LEFT + beside(each) < WIDTH)
    scale = next(fitting, scale)
    # Words at the side stand upright: room for the longest of them.
    tall = max(2 * half * scale, *(_width(words) + 4 for _, words in diameters))
    height = _HEAD + tall + len(dimensions) * _LOW_ROW + _FOOT
    left = max(_LEFT, min(_LEFT + (room - hole.bottom * scale) / 4, WIDTH - 1 - beside(scale)))
    sheet = CutSheet(paper(height), left, _HEAD + tall / 2, scale, turned=True)
    sheet.part(hole, hole.bottom, ((half, True), (-half, True)))
    if not hole.is_through:
        for depth in (hole.full_thread, hole.drilled):
            sheet.line([depth] * 2, [-hole.minor / 2, hole.minor / 2], color=INK,
                       linewidth=0.5, zorder=3)  # fmt: skip
    sheet.axis(-0.06 * hole.bottom, 1.03 * hole.bottom)
    # The wire stands half into the bore.
    sheet.coil(hole, hole.minor - hole.major / 2)
    if not math.isnan(hole.reach):
        sheet.line([hole.reach] * 2, [-0.52 * hole.minor, 0.52 * hole.minor], color=INK,
                   linewidth=1.4, linestyle=(0, (3, 1.2)), zorder=6)  # fmt: skip
    for row, each in enumerate(dimensions):
        _dimension(sheet, each, _HEAD + tall + (row + 0.6) * _LOW_ROW)
    for row, (size, words) in enumerate(diameters):
        _diameter(sheet, size, words, sheet.x0 - 7.0 - row * 13.0)
    sheet.words(1.0, height - 1.0, scale_words(scale, "\nat ", system) + " wide", ha="left",
                va="bottom", fontsize=6.5, color=GREY)  # fmt: skip
    return sheet.axes


def _width(text: str) -> float:
    """Width of words on paper, mm."""
    return max(map(len, text.splitlines())) * _LETTER


def _inside(start: float, end: float, words: str, scale: float) -> bool:
    """Whether the words fit between the arrows."""
    return (end - start) * scale > _width(words) + 6


def _dimension(sheet: CutSheet, each: Dimension, y: float) -> None:
    """Draw one depth on its own row, with lines up to the hole."""
    start, end = (sheet.x0 + depth * sheet.scale for depth in each[:2])
    for x in (start, end):
        sheet.axes.plot([x, x], [sheet.y0, y + 1.2], **_LEADER)
    wide, inside = end - start > 3.2, _inside(*each, sheet.scale)
    sheet.arrow((start if wide else start - 4, y), (end, y), "<->" if wide else "-")
    if not wide:
        for x, away in ((start, -4.0), (end, 4.0)):
            sheet.arrow((x, y), (x + away, y), "->")
    sheet.words((start + end) / 2 if inside else end + (1.5 if wide else 5.0), y, each[2],
                ha="center" if inside else "left", fontsize=_FONT, ground="white")  # fmt: skip


def _diameter(sheet: CutSheet, size: float, words: str, x: float) -> None:
    """Draw one diameter before the face, its words upright beside it."""
    top, bottom = (sheet.y0 + sign * size / 2 * sheet.scale for sign in (-1, 1))
    for y in (top, bottom):
        sheet.axes.plot([sheet.x0, x - 1.2], [y, y], **_LEADER)
    sheet.arrow((x, top), (x, bottom))
    sheet.words(x - 1.2, sheet.y0, words, rotation=90, ha="right", fontsize=_FONT, ground="white",
                multialignment="center")  # fmt: skip
