"""Pictures that follow a control, as SVG text: drawn in a millisecond, sharp at every size.

Colours are CSS variables with a light value, so that a page with a dark ground sets its own.
"""

import html
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from matplotlib.ticker import MaxNLocator
from numpy.typing import ArrayLike

from ..figures.style import BLUE, ORANGE

#: Width of every picture and size of all its letters: side by side on a screen of 1920 dots a
#: picture is at least 720 wide, and its letters then 2.2 % of the height of 1080.
WIDTH, SIZE = 480, 16
INK, PAPER, GRID = "var(--ink,#1a1a1a)", "var(--paper,#fff)", "var(--grid,#d8d8d8)"
QUIET = "var(--quiet,#5f5f5f)"
COLOUR = {"original": f"var(--original,{ORANGE})", "repaired": f"var(--repaired,{BLUE})"}
#: The parts, in the section and in the equations beside it.
PARENT, SCREW, INSERT = "var(--parent,#e4dccb)", "var(--screw,#9fb0bd)", "var(--insert,#3d3d3d)"
LOADED = "var(--loaded,#8c3308)"

DASHES = {"original": "8 4", "repaired": "none"}


def shade(share: float) -> str:
    """Return the colour of the parent that is loaded, or moves, by a share of the most."""
    return f"color-mix(in srgb,{LOADED} {100 * min(share, 1.0):.0f}%,{PARENT})"


def on_paper(svg: str) -> str:
    """Return a picture with plain colours, for what knows neither variables nor mixtures.

    Its letters are those of a report, a sixth wider than a screen's, and smaller for that.
    """

    def mixed(found: re.Match[str]) -> str:
        one, share, other = found.groups()
        parts = ([int(each[at : at + 2], 16) for at in (0, 2, 4)] for each in (one, other))
        mix = (b + (a - b) * int(share) / 100 for a, b in zip(*parts, strict=True))
        return "#" + "".join(f"{round(each):02x}" for each in mix)

    plain = re.sub(r"var\(--[\w-]+,([^()]*)\)", r"\1", svg)
    plain = plain.replace(f'font-size="{SIZE}"', f'font-size="{SIZE / 1.18:.1f}"')
    return re.sub(r"color-mix\(in srgb,#(\w{6}) (\d+)%,#(\w{6})\)", mixed, plain)


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing that is put together piece by piece.

    `moving` is what a page may show once more, pale, after a control has moved on: lines, no words.
    `taken` is where words among the lines stand: left, right and base line.
    """

    height: int
    still: list[str] = field(default_factory=list)
    moving: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    taken: list[tuple[float, float, float]] = field(default_factory=list)

    def text(
        self, x: float, y: float, words: str, *, anchor: str = "start", colour: str = INK,
        bold: bool = False, backed: bool = False,
    ) -> None:  # fmt: skip
        """Write words whose base line begins, has its middle or ends at a point."""
        style = f"fill:{colour}" + (";font-weight:bold" if bold else "")
        if backed:
            style += f";stroke:{PAPER};stroke-width:5;stroke-linejoin:round;paint-order:stroke"
        self.words.append(
            f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" style="{style}">'
            f"{html.escape(words)}</text>"
        )

    def heading(self, x: float, y: float, name: str, words: str) -> None:
        """Write words about a condition, in its colour."""
        self.text(x, y, words, colour=COLOUR[name], bold=True)

    def svg(self, label: str) -> str:
        """Return the picture; `label` says what it shows to who cannot see it."""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {self.height}" '
            f'role="img" aria-label="{html.escape(label)}" font-size="{SIZE}" '
            f'font-family="Arial, Liberation Sans, DejaVu Sans, sans-serif">{"".join(self.still)}'
            f'<g class="moving">{"".join(self.moving)}</g>{"".join(self.words)}</svg>'
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """A rectangle of a picture with data coordinates.

    Attributes
    ----------
    picture : Drawing
    box : left, top, right, bottom of the rectangle
    x, y : ends of the scales; y rises upwards
    """

    picture: Drawing
    box: tuple[float, float, float, float]
    x: tuple[float, float]
    y: tuple[float, float]

    def at(self, x: ArrayLike, y: ArrayLike) -> np.ndarray[Any, np.dtype[np.float64]]:
        """Return where points lie in the picture, last axis x and y."""
        left, top, right, bottom = self.box
        across = (np.asarray(x, float) - self.x[0]) / (self.x[1] - self.x[0])
        upwards = (np.asarray(y, float) - self.y[0]) / (self.y[1] - self.y[0])
        return np.stack(
            (left + across * (right - left), bottom - upwards * (bottom - top)), axis=-1
        )

    def shape(
        self, outlines: Any, *, moves: bool = False, closed: bool = True, **style: Any
    ) -> None:
        """Draw outlines, shape (..., points, 2) of x and y, as one path."""
        places = np.asarray(outlines, float)
        dots = np.rint(10 * self.at(places[..., 0], places[..., 1])).astype(int)
        dots = dots.reshape(-1, *places.shape[-2:])
        steps = np.diff(dots, axis=1, prepend=0)  # steps are shorter to write than places
        path = ""
        for each in steps.reshape(len(dots), -1).tolist():
            start, further = (
                " ".join(f"{v / 10:g}" for v in part) for part in (each[:2], each[2:])
            )
            path += f"M{start}l{further}" + ("z" if closed else "")
        look = ";".join(f"{name.replace('_', '-')}:{value}" for name, value in style.items())
        into = self.picture.moving if moves else self.picture.still
        into.append(f'<path d="{path}" style="{look}"/>')

    def line(self, x: ArrayLike, y: ArrayLike, *, moves: bool = True, **style: Any) -> None:
        """Draw a line through points."""
        points = np.stack(np.broadcast_arrays(x, y), axis=-1)
        self.shape(points, closed=False, moves=moves, **{"fill": "none", "stroke": INK} | style)

    def bar(self, x: float, y: float, width: float, height: float, **style: Any) -> None:
        """Draw a rectangle from its lower left corner."""
        self.shape([(x, y), (x + width, y), (x + width, y + height), (x, y + height)], **style)

    def text(
        self, x: float, y: float, words: str, *, dx: float = 0, dy: float = 0,
        anchor: str = "start", backed: bool = False, **style: Any,
    ) -> None:  # fmt: skip
        """Write words at a point, moved by dots to the right and down.

        Those that are `backed` stand among lines whose places nobody knows before: they are moved
        further, up or down, until they are clear of each other, and into the picture.
        """
        left, top = (self.at(x, y) + np.array([dx, dy])).tolist()
        if backed:
            wide = 7 * len(words) + SIZE  # in Arial at this size, a little more than they take
            before = {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
            left = min(left, WIDTH - wide + before)
            start, end = left - before, left - before + wide
            other = [at for a, b, at in self.picture.taken if start < b and a < end]
            way = 1 if dy > SIZE else -1  # words below their point move down first
            rows = (top + step * SIZE for n in range(9) for step in (n * way, -n * way))
            inside = (at for at in rows if self.box[1] + SIZE <= at <= max(top, self.box[3]))
            top = next((at for at in inside if all(abs(at - o) >= SIZE for o in other)), top)
            self.picture.taken.append((start, end, top))
        self.picture.text(left, top, words, anchor=anchor, backed=backed, **style)

    def scales(self, x: Iterable[float], y: Iterable[float], below: str) -> None:
        """Draw the grid, the edges, the numbers and what the lower scale is."""
        left, _, right, bottom = self.box
        for value in x:
            self.line([value] * 2, self.y, moves=False, stroke=GRID)
            self.text(value, self.y[0], f"{value:g}", dy=SIZE + 2, anchor="middle")
        for value in y:
            self.line(self.x, [value] * 2, moves=False, stroke=GRID)
            self.text(self.x[0], value, f"{value:g}", dx=-5, dy=5, anchor="end")
        self.line([self.x[0], *self.x], [self.y[1], self.y[0], self.y[0]], moves=False)
        self.picture.text((left + right) / 2, bottom + 2 * SIZE + 6, below, anchor="middle")


def round_steps(highest: float) -> list[float]:
    """Return round numbers from zero to not above `highest`, at most five steps.

    Examples
    --------
    >>> round_steps(47.0)
    [0.0, 10.0, 20.0, 30.0, 40.0]
    """
    steps = MaxNLocator(5, steps=[1, 2, 2.5, 5, 10]).tick_values(0, highest)
    return [float(step) for step in steps if step <= highest]
