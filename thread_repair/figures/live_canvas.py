"""A drawing surface for pictures that follow a control: one figure, drawn in a few milliseconds.

The axes of matplotlib measure their labels on every draw, which costs more than the picture. Here
lines and patches are put on the figure itself, in data coordinates, and words are stamped on it
from a memory of words once drawn, because most of them stay as they are when a control moves.
"""

from __future__ import annotations

import math
import struct
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.collections import LineCollection, PolyCollection
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle
from matplotlib.transforms import Bbox, BboxTransformFrom, BboxTransformTo, Transform
from numpy.typing import ArrayLike, NDArray

from .style import INK

#: Dots an inch; a picture of 7 in is 560 dots wide on a screen.
DPI = 80
WIDTH = 7.0
#: Text size, points; the smallest is what a person reads at this resolution.
SIZE, SMALL = 10.0, 9.0


def blank(height: float, *, width: float = WIDTH) -> Figure:
    """Return an empty figure of the size given, inches, with a canvas that draws dots."""
    drawing = Figure(figsize=(width, height), dpi=DPI)
    FigureCanvasAgg(drawing)
    return drawing


def png(drawing: Figure) -> bytes:
    """Draw a figure and return it as a PNG image, lightly compressed for speed.

    The usual encoders try five filters on every line, which takes longer than the compression.
    """
    canvas: Any = drawing.canvas
    canvas.draw()
    dots = np.asarray(canvas.buffer_rgba())[..., :3]
    height, width = dots.shape[:2]
    lines = np.zeros((height, 1 + 3 * width), np.uint8)  # each begins with filter 0: none
    lines[:, 1:] = dots.reshape(height, -1)
    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)  # 8 bits each of R, G, B
    return b"".join(
        (
            b"\x89PNG\r\n\x1a\n",
            _chunk(b"IHDR", header),
            _chunk(b"IDAT", zlib.compress(lines.tobytes(), 1)),
            _chunk(b"IEND", b""),
        )
    )


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


@lru_cache(maxsize=4096)
def _words(
    words: str, size: float, weight: str, colour: str, backed: bool, upright: bool
) -> NDArray[np.uint8]:
    """Draw words once and return them as dots, red green blue and cover."""
    properties = FontProperties(family="DejaVu Sans", size=size, weight=weight)
    agg: Any = RendererAgg  # its methods carry no types
    measure = agg(1, 1, DPI)
    width, height, descent = measure.get_text_width_height_descent(words, properties, False)
    w, h = math.ceil(width) + 2, math.ceil(height) + 2
    renderer = agg(w, h, DPI)
    context = renderer.new_gc()
    renderer.draw_text(context, 1, h - 1 - math.ceil(descent), words, properties, 0)
    cover = np.asarray(renderer.buffer_rgba())[..., 3]
    dots = np.empty((h, w, 4), np.uint8)
    ink = np.array(to_rgb(colour)) * 255
    if backed:
        share = cover[..., None] / 255
        dots[..., :3] = ink * share + 255 * (1 - share)
        dots[..., 3] = np.maximum(cover, 215)
    else:
        dots[..., :3], dots[..., 3] = ink, cover
    if upright:
        dots = np.rot90(dots)
    return np.ascontiguousarray(dots[::-1])


class _Stamp(Artist):
    """Words at a point of the figure, in dots."""

    def __init__(self, dots: NDArray[np.uint8], left: float, bottom: float) -> None:
        super().__init__()
        self._dots, self._at = dots, (round(left), round(bottom))
        self.set_zorder(4)

    def draw(self, renderer: Any) -> None:
        """Copy the dots."""
        renderer.draw_image(renderer.new_gc(), *self._at, self._dots)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """A rectangle of a figure with data coordinates.

    Attributes
    ----------
    drawing : the figure
    box : left, bottom, right, top of the rectangle, dots from the lower left corner
    x, y : ends of the scales
    """

    drawing: Figure
    box: tuple[float, float, float, float]
    x: tuple[float, float]
    y: tuple[float, float]

    @property
    def data(self) -> Transform:
        """Data to dots."""
        left, bottom, right, top = self.box
        return BboxTransformFrom(
            Bbox([[self.x[0], self.y[0]], [self.x[1], self.y[1]]])
        ) + BboxTransformTo(Bbox([[left, bottom], [right, top]]))

    def line(self, x: ArrayLike, y: ArrayLike, **style: Any) -> None:
        """Draw a line through points."""
        self.drawing.add_artist(Line2D(x, y, transform=self.data, **style), clip=False)

    def bar(self, x: float, y: float, width: float, height: float, **style: Any) -> None:
        """Draw a rectangle from its lower left corner."""
        self.drawing.add_artist(
            Rectangle((x, y), width, height, transform=self.data, **style), clip=False
        )

    def polygons(self, corners: Any, *, inside: bool = False, **style: Any) -> None:
        """Draw filled polygons, `inside` the rectangle only if asked.

        The corners are a sequence of arrays, or one array where all have as many: that is faster.
        """
        style = {"edgecolors": INK, "linewidths": 0.6, **style}
        shapes = PolyCollection(corners, transform=self.data, **style)
        self.drawing.add_artist(shapes, clip=False)
        if inside:
            left, bottom, right, top = self.box
            shapes.set_clip_box(Bbox([[left, bottom], [right, top]]))

    def text(self, x: float, y: float, words: str, **style: Any) -> None:
        """Write words at a point; style as `write`."""
        left, bottom, right, top = self.box
        write(
            self.drawing,
            left + (x - self.x[0]) / (self.x[1] - self.x[0]) * (right - left),
            bottom + (y - self.y[0]) / (self.y[1] - self.y[0]) * (top - bottom),
            words,
            **style,
        )

    def grid(self, *, x: Sequence[float] = (), y: Sequence[float] = ()) -> None:
        """Draw thin lines across at the values given."""
        across = [[(v, self.y[0]), (v, self.y[1])] for v in x]
        along = [[(self.x[0], v), (self.x[1], v)] for v in y]
        self.drawing.add_artist(
            LineCollection(
                across + along,
                colors="#d8d8d8",
                linewidths=0.7,
                transform=self.data,
                zorder=0.5,
                antialiaseds=False,
            ),
            clip=False,
        )

    def frame(self) -> None:
        """Draw the left and the lower edge."""
        (x0, x1), (y0, y1) = self.x, self.y
        self.line([x0, x0, x1], [y1, y0, y0], color=INK, linewidth=0.9)

    def numbers_below(self, values: Sequence[float], words: str) -> None:
        """Write the numbers of the lower scale and what they are."""
        left, bottom, right, _ = self.box
        for value in values:
            dots = left + (value - self.x[0]) / (self.x[1] - self.x[0]) * (right - left)
            write(self.drawing, dots, bottom - 6, f"{value:g}", ha="center", va="top")
        write(
            self.drawing, (left + right) / 2, bottom - 23, words, ha="center", va="top", size=SIZE
        )

    def numbers_left(self, values: Sequence[float], words: str) -> None:
        """Write the numbers of the left scale, and above it what they are."""
        left, bottom, _, top = self.box
        for value in values:
            dots = bottom + (value - self.y[0]) / (self.y[1] - self.y[0]) * (top - bottom)
            write(self.drawing, left - 6, dots, f"{value:g}", ha="right", va="center")
        write(self.drawing, 4, top + 10, words, size=SIZE)


def write(
    drawing: Figure,
    x: float,
    y: float,
    words: str,
    *,
    size: float = SMALL,
    weight: str = "normal",
    color: str = INK,
    ha: str = "left",
    va: str = "bottom",
    backed: bool = False,
    upright: bool = False,
) -> None:
    """Write words on a figure.

    Parameters
    ----------
    drawing : Figure
    x, y : dots from the lower left corner
    words : str
    size, weight, color : of the letters; size in points
    ha, va : which edge or middle of the words lies at the point
    backed : whether they stand on a white ground
    upright : whether they are turned to be read from the right
    """
    dots = _words(words, size, weight, color, backed, upright)
    height, width = dots.shape[:2]
    left = x - {"left": 0, "center": width / 2, "right": width}[ha]
    bottom = y - {"bottom": 0, "center": height / 2, "top": height}[va]
    drawing.add_artist(_Stamp(dots, left, bottom), clip=False)


def round_steps(highest: float, *, most: int = 6) -> tuple[float, ...]:
    """Return round numbers from zero to not above `highest`, at most `most` steps.

    Examples
    --------
    >>> round_steps(47.0)
    (0.0, 10.0, 20.0, 30.0, 40.0)
    """
    rough = highest / most
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(s * power for s in (1, 2, 2.5, 5, 10) if s * power >= rough)
    return tuple(round(step * i, 10) for i in range(math.floor(highest / step * (1 + 1e-9)) + 1))
