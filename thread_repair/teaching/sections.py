"""Pictures of the thread cut open: section, motion at collapse, and the triangle behind both."""

import math
from collections.abc import Iterator
from itertools import zip_longest

import numpy as np

from ..figures.cut import WAVE, turns
from ..joint.records import StateSizes
from ..joint.sizes import sizes
from ..threads.profile import TAN_30, TRIANGLE_60
from ..units import number, percent
from . import explorer
from .svg import COLOUR, DASHES, INK, INSERT, PARENT, QUIET, SCREW, WIDTH, Drawing, Plot, shade

#: Ends of the scales in nominal diameters: depth and radius, the same at every position.
_DEPTH, _FLOOR = (-0.15, 3.15), 0.22
_TOPS, _HEIGHT = (28, 198), 138
#: Height of the root of the screw's thread below its pitch line, pitches: 17/24 H less 3/8 H.
_SCREW_ROOT = 0.28868
#: Motion drawn for a part that goes with the screw, in pitches; shades from still to moving.
_DRAWN, _SHADES = 0.4, 9


def _frames(picture: Drawing, diameter: float) -> Iterator[tuple[str, Plot]]:
    """Yield a rectangle for each condition, depth to the right and radius upwards, mm."""
    left, right = 16.0, WIDTH - 4.0
    tall = _HEIGHT * (_DEPTH[1] - _DEPTH[0]) / (right - left)
    for name, top in zip(COLOUR, _TOPS, strict=True):
        box = (left, top, right, top + _HEIGHT)
        depth = (_DEPTH[0] * diameter, _DEPTH[1] * diameter)
        radius = (_FLOOR * diameter, (_FLOOR + tall) * diameter)
        yield name, Plot(picture=picture, box=box, x=depth, y=radius)


def _title(plot: Plot, name: str, words: str) -> None:
    """Write the words above the rectangle of a condition."""
    plot.picture.heading(plot.box[0], plot.box[1] - 8, name, f"{name}: {words}")


def section(controls: explorer.Controls) -> tuple[Drawing, str]:
    """Draw both conditions at one scale, the screw pulled to the left.

    The screw's core is cut off, a wide boss as well; the set-down of the insert is not drawn. A
    thick line is the cylinder on which the parent shears, over the engaged length.
    """
    picture, found, here = Drawing(386), explorer.strip(controls), explorer.joint(controls)
    loads = {name: explorer.sharing(controls, name).loads for name in COLOUR}
    most, unshared = max(each.max() for each in loads.values()), explorer.unshared(controls)
    pitch, boss = here.thread.pitch, controls.boss * found.diameter
    for name, plot in _frames(picture, found.diameter):
        state, at = found.states[name], sizes(here, name)
        shares = (loads[name][: 0 if unshared else None] / most).tolist()
        _parent(plot, at, pitch, state.nominal, boss, shares)
        _screw(plot, at, pitch, state.nominal, 0.5 if name == "repaired" else 0.0)
        if name == "repaired":
            _wires(plot, at, pitch, state.engaged)
        end, tick = state.engaged, 0.15 * pitch
        radius = at.crest / 2 + tick * np.array([2, -2, 0, 0, 2, -2])
        plot.line([0, 0, 0, end, end, end], radius, stroke=COLOUR[name], stroke_width=3.5)
        first = "" if unshared else f"; first thread {percent(loads[name][0])}"
        _title(plot, name, f"Ø {number(at.crest)} × {number(end)} mm{first}")
    picture.text(16, 360, "thick line: shear cylinder")
    if not unshared:
        picture.text(16, 380, f"stronger colour: more load; parent {explorer.SUPPORT}")
    crests = [sizes(here, name).crest for name in COLOUR]
    first = " and ".join(percent(each[0]) for each in loads.values())
    carried = f"Its first thread carries {first} of the load while it is elastic."
    return picture, (
        f"The parent shears on {number(crests[0])} mm in the original hole and on "
        f"{number(crests[1])} mm in the repaired one, {percent(crests[1] / crests[0] - 1)} more. "
        f"{unshared or carried}"
    )


def _parent(
    plot: Plot, at: StateSizes, pitch: float, depth: float, boss: float, loads: list[float]
) -> None:
    """Body, edge and threads of the parent, a thread coloured by what it carries."""
    root, top = at.hole_major / 2, plot.y[1]
    cut = boss / 2 > top
    wall = top if cut else boss / 2
    plot.bar(0, root, depth, wall - root, fill=PARENT)
    for end in (0.0, depth):
        plot.line([end, end], [at.hole_minor / 2, wall], moves=False, stroke_width=2)
    outside = wall + 0.02 * wall * (WAVE - 1) * cut
    plot.line(np.linspace(0, depth, len(WAVE)), outside, moves=False,
              stroke_width=1 if cut else 2.5)  # fmt: skip
    words = "parent" if math.isinf(boss) else f"boss {number(boss)} mm"
    plot.text(depth / 2, (root + wall) / 2, words, anchor="middle", dy=6)
    middles = pitch * (np.arange(math.ceil(depth / pitch)) + 0.5)
    radii = np.array([at.hole_minor / 2, at.hole_pitch / 2, root])
    half = pitch / 4 + (radii - at.hole_pitch / 2) * TAN_30
    outlines = turns(middles, radii, half, ends=(0, depth))
    for outline, load in zip_longest(outlines, loads, fillvalue=0.0):
        plot.shape(outline, fill=shade(load), stroke=INK, stroke_width=0.7)


def _screw(plot: Plot, at: StateSizes, pitch: float, depth: float, offset: float) -> None:
    """Thread of the screw, pulled to the left until its flanks bear.

    In the insert its threads stand opposite the parent's, half a pitch `offset`, in the hole
    between them.
    """
    pitch_line = at.screw_pitch / 2
    root = pitch_line - _SCREW_ROOT * pitch
    first, last = plot.x[0], depth + 0.4 * pitch
    plot.bar(first, plot.y[0], last - first, root - plot.y[0], fill=SCREW)
    play = (at.inner_pitch - at.screw_pitch) / 2 * TAN_30
    middles = pitch * (np.arange(-1, math.ceil(last / pitch) + 1) + offset) - play
    middles = middles[(first < middles) & (middles < last)]
    radii = np.array([root, pitch_line, at.screw_major / 2])
    half = pitch / 4 - (radii - pitch_line) * TAN_30
    plot.shape(turns(middles, radii, half, ends=(first, last)), fill=SCREW, stroke=INK,
               stroke_width=0.6)  # fmt: skip
    plot.text(0, plot.y[0], "◄ screw", dx=-10, dy=-4)


def _wires(plot: Plot, at: StateSizes, pitch: float, engaged: float) -> None:
    """Coils of the insert: they fill the groove of the parent and reach into that of the screw."""
    inside, outside = at.inner_pitch / 2, at.hole_pitch / 2
    radii = np.array([at.inner_minor / 2, inside, (inside + outside) / 2, outside, at.crest / 2])
    half = pitch / 4 + np.minimum(radii - inside, outside - radii) * TAN_30
    middles = pitch * np.arange(math.floor(engaged / pitch) + 1)
    plot.shape(turns(middles, radii, half, ends=(0, engaged)), fill=INSERT, stroke="#fff",
               stroke_width=0.4)  # fmt: skip
    plot.text(0, plot.y[0], "◆ insert", dx=64, dy=-4)


def collapse(controls: explorer.Controls) -> tuple[Drawing, str]:
    """Draw the parent just after it has given way, in colour where it moves with the screw.

    Depth to the right, radius upwards, as in the section; the screw is not drawn.
    """
    picture, said, thread = Drawing(366), list[str](), explorer.joint(controls).thread
    for name, plot in _frames(picture, thread.major):
        each = explorer.collapse(controls, name)
        # Motion is towards the face, which lies at depth zero, and outwards.
        moved = thread.pitch * (each.corners + _DRAWN * each.motion * np.array([-1.0, 1.0]))
        speed = np.hypot(*np.moveaxis(each.motion.mean(axis=1), -1, 0))
        # Beyond the outermost moving part the parent is drawn in one piece.
        edge = float(moved[speed > 0.5 / _SHADES, :, 1].max(initial=0.0))
        low, top = moved[..., 1].min(axis=1), min(float(moved[..., 1].max()), plot.y[1])
        if edge < top:
            plot.bar(0, edge, float(moved[..., 0].max()), top - edge, fill=PARENT)
        shown = low < min(edge, top)
        moved = np.minimum(moved[shown], [np.inf, plot.y[1]])
        steps = np.rint(np.clip(speed[shown], 0, 1) * _SHADES).astype(int)
        for one in np.unique(steps).tolist():
            colour = shade(one / _SHADES)
            plot.shape(moved[steps == one], fill=colour, stroke=colour, stroke_width=0.6)
        wide = "boss wider than" if each.cut_off else "boss"
        solved = f"{each.threads} threads, {wide} {number(each.boss)} mm"
        _title(plot, name, f"{solved}, ≤ {number(each.ratio)} × τA")
        what = "the threads are cut off along the cylinder and the wall stands still"
        if np.abs(each.motion[..., 1]).max() > 0.05:
            what = "the wall spreads and the threads slip out of it"
        said.append(
            f"{name.capitalize()} ({solved}): {what}, at no more than {number(each.ratio)} times "
            "the load of the area formula."
        )
    picture.text(16, 360, "stronger colour: moves to the left with the screw (enlarged)")
    return picture, " ".join(said)


def triangle() -> Drawing:
    """Draw the basic profile of both holes, depth to the right and radius upwards, in pitches.

    Both are the same triangle of height H: cut off by H/8 at the major diameter, H/4 at the minor
    one; the insert hole's lies 3/4 H further out on the radius (ISO 68-1; ASME B18.29.2M).
    """
    picture = Drawing(346)
    # One scale for both directions, so that the flanks stand at 60 degrees.
    plot = Plot(picture=picture, box=(10, 60, 470, 330), x=(-0.4, 2.4), y=(-0.2, 1.4435))
    h, turns = TRIANGLE_60, np.arange(3)
    for name, out in (("repaired", 0.75 * h), ("original", 0.0)):
        # Groove of the parent about each whole pitch: flat P/8 at the top, land P/4 below.
        z = (turns[:, None] + np.array([-3 / 8, -1 / 16, 1 / 16, 3 / 8])).ravel()
        r = np.tile([0.0, 5 / 8 * h, 5 / 8 * h, 0.0], len(turns)) + out
        if name == "repaired":
            plot.shape(np.stack((np.r_[z, z[-1], z[0]], np.r_[r, [plot.y[1]] * 2]), -1),
                       fill=PARENT)  # fmt: skip
        plot.line(z, r, stroke=COLOUR[name], stroke_width=3, stroke_dasharray=DASHES[name])
        plot.line([0.5, 1.0, 1.5], np.array([-1 / 4, 3 / 4, -1 / 4]) * h + out, stroke=QUIET,
                  stroke_dasharray="2 3")  # fmt: skip
    for x, low, high, words in ((1.0, 0.75 * h, 1.5 * h, "¾ H"), (1.5, -h / 4, h * 3 / 4, "H")):
        plot.line([x, x], [low, high], stroke_width=1.5)
        for end, way in ((low, 1), (high, -1)):
            plot.line([x - 0.03, x, x + 0.03], [end + 0.06 * way, end, end + 0.06 * way])
        plot.text(x, (low + high) / 2, words, dx=6, dy=5, backed=True)
    plot.line([0.0, 1.0], [1.36] * 2, stroke_width=1.5)
    for x in (0.0, 1.0):
        plot.line([x, x], [1.31, 1.41])
    plot.text(0.5, 1.36, "P", anchor="middle", dy=-6)
    further = "─ hole tapped for the insert: ¾ H further out on the radius"
    picture.heading(10, 20, "original", "╌ hole tapped for the screw")
    picture.heading(10, 42, "repaired", further)
    return picture
