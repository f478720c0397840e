"""Thread-stripping load of both conditions against length, for the live notebook."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from ..facts import mode
from ..units import number
from ..words import term
from .live_svg import COLOUR, DASHES, PAPER, QUIET, Drawing, Plot, round_steps, runs

if TYPE_CHECKING:
    from .live_records import State, Strip

#: A mode that governs over fewer of the lengths drawn than this has no room for its name.
_ROOM = 8
#: The words on the screw stand at the left, unless a curve is above the band there, in D.
_EARLY = 1.75


def live_strip_load(found: Strip, *, screw: str) -> Drawing:
    """Draw pull-out strength against nominal length, its mode, the screw's band, the crossovers.

    Parameters
    ----------
    found : Strip
    screw : class of the screw, e.g. "8.8"
    """
    picture = Drawing(356)
    highest = found.scale / 1e3
    plot = Plot(picture=picture, box=(48, 62, 470, 312), x=(0.0, 3.1), y=(0.0, highest))
    low, high = found.screw_min / 1e3, found.screw_max / 1e3
    plot.bar(0, low, 3.1, high - low, fill=QUIET, fill_opacity=0.18)
    plot.scales((0, 0.5, 1, 1.5, 2, 2.5, 3), round_steps(highest), "nominal length / D")
    picture.text(2, 57, "kN")
    crossed = [found.state(name).crossing for name in COLOUR]
    early = any(each < _EARLY * found.diameter for each in crossed)  # false where there is none
    plot.text(
        3.08 if early else 0.04, low if early else high,
        f"screw {screw} fails: {number(low)} to {number(high)} kN", dy=18 if early else -5,
        anchor="end" if early else "start", colour=QUIET, backed=True,
    )  # fmt: skip
    for row, name in enumerate(("original", "repaired")):
        _state(plot, found, name)
        state = found.state(name)
        picture.text(
            48, 20 + 20 * row,
            f"{'◻ ╌' if name == 'original' else '● ─'} {name} {number(state.pull_out / 1e3)} kN: "
            f"{term(mode(state.pull_out_mode))}",
            colour=COLOUR[name], bold=True,
        )  # fmt: skip
    if all(map(math.isnan, crossed)):
        plot.text(3.05, 0, "the screw of maximum strength never fails first", dy=-6, anchor="end",
                  backed=True)  # fmt: skip
    return picture


def _state(plot: Plot, found: Strip, name: str) -> None:
    state, colour, diameter = found.state(name), COLOUR[name], found.diameter
    lengths, loads = found.lengths / diameter, state.curve / 1e3
    inside = loads <= plot.y[1]
    plot.line(lengths[inside], loads[inside], stroke=colour, stroke_width=3,
              stroke_dasharray=DASHES[name])  # fmt: skip
    limited = state.limit / 1e3 <= plot.y[1]  # false where it is not known
    if limited.any():
        plot.line(lengths[limited], state.limit[limited] / 1e3, stroke=colour, stroke_width=2,
                  stroke_dasharray="1 5", stroke_linecap="round")  # fmt: skip
        if name == "original":
            at = int(limited.nonzero()[0][-1])
            plot.text(lengths[at], state.limit[at] / 1e3, "brittle limit", dy=20, anchor="end",
                      colour=colour, backed=True)  # fmt: skip
    for what, first, last in runs(state.modes):
        last = min(last, int(inside.nonzero()[0][-1]))
        if last - first >= _ROOM and what != "parent_thread_strip":
            above = state.curve[last] > min(found.state(other).curve[last] for other in COLOUR)
            plot.text(lengths[last], loads[last], term(mode(what)), dx=-10, dy=12 if above else 24,
                      anchor="end", colour=colour, backed=True)  # fmt: skip
    if math.isfinite(state.crossing):
        cross, level = state.crossing / diameter, found.screw_max / 1e3
        plot.line([cross] * 2, [0, level], stroke=colour, stroke_width=2, stroke_dasharray="2 3")
        others = [found.state(other).crossing for other in COLOUR if other != name]
        right = not others[0] >= state.crossing  # the later one to the right, or the only one
        plot.text(cross, 0, f"{number(state.crossing)} mm", dx=4 if right else -4, dy=-6,
                  anchor="start" if right else "end", colour=colour, backed=True)  # fmt: skip
    x, y = plot.at(state.nominal / diameter, min(state.pull_out / 1e3, plot.y[1])).tolist()
    style = f"fill:{PAPER if name == 'original' else colour};stroke:{colour};stroke-width:3"
    plot.picture.moving.append(
        f'<rect x="{x - 6:.1f}" y="{y - 6:.1f}" width="12" height="12" style="{style}"/>'
        if name == "original"
        else f'<circle cx="{x:.1f}" cy="{y:.1f}" r="6" style="{style}"/>'
    )


def strip_words(found: Strip) -> str:
    """Say in sentences what the picture shows."""
    parts = []
    for name in ("original", "repaired"):
        state = found.state(name)
        fails = "" if state.pull_out > found.screw_max else " before the screw of maximum strength"
        if found.screw_min < state.pull_out <= found.screw_max:
            fails = ", between the screw of minimum and of maximum strength"
        elif not fails:
            fails = ", but the screw fails first"
        parts.append(
            f"{name.capitalize()}: {term(mode(state.pull_out_mode), 'event')} at "
            f"{number(state.pull_out / 1e3)} kN{fails}{_limit(found, state)}."
        )
    return f"{' '.join(parts)} Ratio {number(found.ratio)}."


def _limit(found: Strip, state: State) -> str:
    """Say what a parent that stretches little may do instead, as one part of the same sentence."""
    limit = float(np.interp(state.nominal, found.lengths, state.limit))
    if math.isnan(limit):
        return "; its brittle limit is not known"
    return f"; brittle limit {number(limit / 1e3)} kN" if limit < 0.98 * state.pull_out else ""
