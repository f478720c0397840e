"""The insert hole as it is to be made, cut open along its axis and to scale, with its limits."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, TypeAlias

from matplotlib.axes import Axes

from .cut import SCALES, WIDTH, CutHole, CutSheet, paper, scale_words
from .style import GREY, INK, styled

#: Millimetres of paper: room left of the face for the diameters, right of the part, height of the
#: part at most, one row of dimensions, head and foot.
_LEFT, _RIGHT, _PART, _ROW, _HEAD, _FOOT = 34.0, 2.0, 50.0, 5.4, 1.5, 1.0
#: Half the height to which the part is drawn, in radii of the tapped hole.
_CUT = 1.45
#: Size of the words, and width of a letter of that size, mm of paper, to see whether words fit
#: between two arrows.
_FONT, _LETTER = 7.5, 1.42
_LEADER: dict[str, Any] = {
    "color": GREY,
    "linewidth": 0.4,
    "zorder": 1.5,
    "linestyle": (0, (1.5, 1.5)),
}

#: A length along the axis, from and to in mm below the face, and its words; a diameter at the face.
Dimension: TypeAlias = tuple[float, float, str]
Diameter: TypeAlias = tuple[float, str]


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
    room, half = WIDTH - _LEFT - _RIGHT, _CUT * hole.major / 2
    scale = next(
        (s for s in SCALES if hole.bottom * s <= room and 2 * half * s <= _PART), SCALES[-1]
    )
    # Words at the side stand upright: room for the longest of them.
    tall = max(2 * half * scale, *(_width(words) + 4 for _, words in diameters))
    height = _HEAD + tall + len(dimensions) * _ROW + _FOOT
    # Near the middle, but so that the words beside the arrows fit on the paper.
    beside = max(
        end * scale + (0.0 if _inside(start, end, words, scale) else _width(words) + 5)
        for start, end, words in dimensions
    )
    left = max(_LEFT, min(_LEFT + (room - hole.bottom * scale) / 4, WIDTH - 1 - beside))
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
        _dimension(sheet, each, _HEAD + tall + (row + 0.6) * _ROW)
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
                ha="center" if inside else "left", fontsize=_FONT, zorder=8,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5})  # fmt: skip


def _diameter(sheet: CutSheet, size: float, words: str, x: float) -> None:
    """Draw one diameter before the face, its words upright beside it."""
    top, bottom = (sheet.y0 + sign * size / 2 * sheet.scale for sign in (-1, 1))
    for y in (top, bottom):
        sheet.axes.plot([sheet.x0, x - 1.2], [y, y], **_LEADER)
    sheet.arrow((x, top), (x, bottom))
    sheet.words(x - 1.2, sheet.y0, words, rotation=90, ha="right", fontsize=_FONT, zorder=8,
                multialignment="center",
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.3})  # fmt: skip
