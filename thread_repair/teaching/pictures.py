"""The pictures that follow the controls: a position in, SVG and a sentence out."""

import math
from collections.abc import Callable, Mapping
from functools import lru_cache
from itertools import groupby
from textwrap import wrap

import numpy as np

from ..facts import mode
from ..joint.records import EQUAL
from ..units import number, percent
from ..words import term
from . import explorer, sections
from .svg import COLOUR, DASHES, PAPER, QUIET, Drawing, Plot, round_steps

#: A mode that governs over fewer of the lengths drawn than this has no room for its name.
_ROOM = 8
#: The words on the screw stand at the left, unless a curve is above the band there, in D.
_EARLY = 1.75
#: End of the scale of the thread loads, per cent: more than the first of three threads carries.
_TOP = 60.0
#: Height of a class of friction.
_ROW = 62


def _strip_load(at: explorer.Controls) -> tuple[Drawing, str]:
    """Draw pull-out strength against nominal length, its mode, the screw's band, the crossovers."""
    picture, said, found = Drawing(356), list[str](), explorer.strip(at)
    highest = found.scale / 1e3
    plot = Plot(picture=picture, box=(48, 62, 470, 312), x=(0.0, 3.1), y=(0.0, highest))
    low, high = found.screw_min / 1e3, found.screw_max / 1e3
    plot.bar(0, low, 3.1, high - low, fill=QUIET, fill_opacity=0.18)
    plot.scales((0, 0.5, 1, 1.5, 2, 2.5, 3), round_steps(highest), "nominal length / D")
    picture.text(2, 57, "kN")
    for x, y in (_mark(plot, found, name) for name in found.states):
        picture.taken.append((x - 6, x + 6, y + 6))
    crossed = [each.crossing for each in found.states.values()]
    early = any(each < _EARLY * found.diameter for each in crossed)  # false where there is none
    plot.text(
        3.08 if early else 0.04, low if early else high,
        f"screw {at.screw} fails: {number(low)} to {number(high)} kN", dy=18 if early else -5,
        anchor="end" if early else "start", colour=QUIET, backed=True,
    )  # fmt: skip
    if all(map(math.isnan, crossed)):
        plot.text(3.05, 0, "up to 3 D a screw of maximum strength never fails first", dy=-6,
                  anchor="end", backed=True)  # fmt: skip
    for row, (name, state) in enumerate(found.states.items()):
        _curve(plot, found, name)
        line, kilonewton = "● ─" if row else "◻ ╌", number(state.pull_out / 1e3)
        told = f"{line} {name} {kilonewton} kN: {term(mode(state.pull_out_mode))}"
        picture.heading(48, 20 + 20 * row, name, told)
        event = term(mode(state.pull_out_mode), "event")
        fails = ", before even the screw of minimum strength fails"
        if state.pull_out > found.screw_max:
            fails = ", but the screw fails first"
        elif state.pull_out > found.screw_min:
            fails = ", between the screw of minimum and of maximum strength"
        said.append(
            f"{name.capitalize()}: {event} at {kilonewton} kN{fails}{_limit(found, state)}."
        )
    return picture, f"{' '.join(said)} {_gain(found)}"


def _gain(found: explorer.Strip) -> str:
    """Say what the insert gains, and plainly where it gains nothing: a screw ends every gain."""
    original, repaired = (each.pull_out for each in found.states.values())
    won = "the repaired hole is the stronger one"
    if min(original, repaired) > found.screw_max:
        won = "the screw fails first in both, and the insert gains nothing"
    elif found.ratio < 1 - EQUAL:
        won = "the repaired hole is the weaker one"
    elif found.ratio <= 1 + EQUAL:
        won = "the insert gains nothing"
    elif repaired > found.screw_max:
        capped = number(found.screw_max / original)
        won = f"but the screw fails first, and the joint carries at most {capped} times as much"
    return f"Ratio {number(found.ratio)}, repaired over original: {won}."


def _curve(plot: Plot, found: explorer.Strip, name: str) -> None:
    """Draw a condition's curve, its brittle limit, modes and crossover, and where it stands."""
    state, colour, lengths = found.states[name], COLOUR[name], found.lengths / found.diameter
    (other,) = (each for key, each in found.states.items() if key != name)
    loads, limit = state.curve / 1e3, state.limit / 1e3
    inside = loads <= plot.y[1]
    plot.line(lengths[inside], loads[inside], stroke=colour, stroke_width=3,
              stroke_dasharray=DASHES[name])  # fmt: skip
    limited = limit <= plot.y[1]  # false where it is not known
    if limited.any():
        x, y = lengths[limited], limit[limited]
        plot.line(x, y, stroke=colour, stroke_width=2, stroke_dasharray="1 5",
                  stroke_linecap="round")  # fmt: skip
        if name == "original":
            plot.text(x[-1], y[-1], "brittle limit", dy=20, anchor="end", colour=colour,
                      backed=True)  # fmt: skip
    left, top = _mark(plot, found, name)
    if state.pull_out / 1e3 > plot.y[1]:
        above = f"↑ {number(state.pull_out / 1e3)} kN"
        plot.text(state.nominal / found.diameter, plot.y[1], above, dx=-10, dy=14, anchor="end",
                  colour=colour, backed=True)  # fmt: skip
    for what, run in groupby(range(len(lengths)), key=state.modes.__getitem__):
        places = [*run]
        last = min(places[-1], int(inside.nonzero()[0][-1]))
        if last - places[0] >= _ROOM and what != "parent_thread_strip":
            above = state.curve[last] > other.curve[last]
            plot.text(lengths[last], loads[last], term(mode(what)), dx=-10, dy=12 if above else 24,
                      anchor="end", colour=colour, backed=True)  # fmt: skip
    if math.isfinite(state.crossing):
        cross = state.crossing / found.diameter
        plot.line([cross] * 2, [0, found.screw_max / 1e3], stroke=colour, stroke_width=2,
                  stroke_dasharray="2 3")  # fmt: skip
        right = not other.crossing >= state.crossing  # the later one to the right, or the only one
        mark = "◻" if name == "original" else "●"
        plot.text(cross, 0, f"{mark} {number(state.crossing)} mm", dx=4 if right else -4, dy=-6,
                  anchor="start" if right else "end", colour=colour, backed=True)  # fmt: skip
    style = f"fill:{PAPER if name == 'original' else colour};stroke:{colour};stroke-width:3"
    plot.picture.moving.append(
        f'<rect x="{left - 6:.1f}" y="{top - 6:.1f}" width="12" height="12" style="{style}"/>'
        if name == "original"
        else f'<circle cx="{left:.1f}" cy="{top:.1f}" r="6" style="{style}"/>'
    )


def _mark(plot: Plot, found: explorer.Strip, name: str) -> tuple[float, float]:
    """Return where the mark of a condition stands: not above the end of the scale."""
    state = found.states[name]
    x, y = plot.at(state.nominal / found.diameter, min(state.pull_out / 1e3, plot.y[1])).tolist()
    return x, y


def _limit(found: explorer.Strip, state: explorer.State) -> str:
    """Say what a parent that stretches little may do instead, as one part of the same sentence."""
    limit = float(np.interp(state.nominal, found.lengths, state.limit))
    if math.isnan(limit):
        return "; its brittle limit is not known"
    holds = ", at which the screw may still hold" * bool(limit < found.screw_max < state.pull_out)
    told = f"; brittle limit {number(limit / 1e3)} kN{holds}"
    return told if limit < 0.98 * state.pull_out else ""


def _thread_loads(at: explorer.Controls) -> tuple[Drawing, str]:
    """Draw the part of the load on each thread from the joint face, in per cent, while elastic."""
    picture, thread = Drawing(356), explorer.joint(at).thread
    shares, said = list[str](), list[str]()
    # The threads of the longest insert end the scale.
    threads = max(3.0, at.engagement, at.insert_length) * thread.major / thread.pitch
    plot = Plot(picture=picture, box=(48, 62, 470, 312), x=(0.2, threads + 0.8), y=(0.0, _TOP))
    step = max(1, round(threads / 10))
    plot.scales(
        range(1, int(threads) + 1, step),
        (0, 20, 40),
        f"thread, from the joint face; parent {explorer.SUPPORT}",
    )
    picture.text(2, 57, "%")
    if unshared := explorer.unshared(at):
        for row, line in enumerate(wrap(unshared, 60)):
            picture.text(48, 20 + 20 * row, line)
        return picture, unshared
    for row, name in enumerate(COLOUR):
        each = explorer.sharing(at, name)
        loads = 100 * np.minimum(each.loads, _TOP / 100)
        left = np.arange(len(loads)) + 1 - 0.42 + 0.42 * row
        sides = np.stack((left, left, left + 0.42, left + 0.42), axis=-1)
        tops = np.stack((0 * loads, loads, loads, 0 * loads), axis=-1)
        plot.shape(np.stack((sides, tops), axis=-1), moves=True, stroke_width=1.5,
                   stroke=COLOUR[name], fill=COLOUR[name] if row else PAPER)  # fmt: skip
        shares.append(percent(float(each.first_thread_share)))
        mark = "■" if row else "□"
        told = f"first thread {shares[row]}, peak / mean {number(float(each.peak_over_mean))}"
        picture.heading(48, 20 + 20 * row, name, f"{mark} {name}: {told}")
        known = not np.isnan(each.ductility_capacity)
        has = number(float(each.ductility_capacity), 2) if known else "not known"
        picture.text(
            470, 84 + 20 * row,
            f"{mark} slip ratio needed {number(float(each.ductility_demand), 2)}, available {has}",
            anchor="end", colour=COLOUR[name], backed=True,
        )  # fmt: skip
        yields = "The first thread may part before the last one yields"
        if not known:
            yields = "Whether the parent stretches enough is not known"
        elif each.ductility_capacity >= each.ductility_demand:
            yields = "All threads yield before the first one parts"
        said.append(f"{yields} ({name}).")
    return picture, (
        f"The first thread carries {shares[0]} of the load in the original hole and {shares[1]} "
        f"in the repaired one. {' '.join(said)}"
    )


def _strip_torque(at: explorer.Controls) -> tuple[Drawing, str]:
    """Draw, for each class of friction, bars from its minimum to its maximum friction."""
    torques, scale = explorer.strip_torques(at), explorer.torque_scale(at.thread, at.screw)
    tall = _ROW * len(torques)
    picture = Drawing(66 + tall + 44)
    plot = Plot(picture=picture, box=(16, 62, 462, 62 + tall), x=(0.0, scale), y=(0.0, tall))
    plot.scales(round_steps(scale), (), "torque, N·m (no prevailing torque)")
    for row, (words, each) in enumerate(torques.items()):
        base = tall - _ROW * (row + 1)
        for name, up, thick, fill, edge in (
            ("original", 26, 11, PAPER, COLOUR["original"]),
            ("screw", 5, 6, QUIET, QUIET),
            ("repaired", 14, 11, COLOUR["repaired"], COLOUR["repaired"]),
        ):
            low, high = each[name]
            if low < scale:
                plot.bar(low, base + up, min(high, scale) - low, thick, moves=True, fill=fill,
                         stroke=edge, stroke_width=1.5)  # fmt: skip
            if high > scale:
                plot.text(scale, base + up, "→", dx=1, colour=edge)
        plot.text(0, base + 42, words, dx=4, backed=True)
    picture.heading(16, 20, "original", "□ original strips")
    picture.heading(180, 20, "repaired", "■ repaired strips")
    picture.text(16, 42, "▬ screw of minimum strength yields (thin bar)", colour=QUIET, bold=True)
    least = {name: number(min(each[name][0] for each in torques.values())) for name in each}
    return picture, (
        f"At minimum friction the original thread strips at {least['original']} N·m and the "
        f"repaired one at {least['repaired']} N·m; the screw of minimum strength yields at "
        f"{least['screw']} N·m."
    )


#: Title, short name, and what draws and tells each picture, in the order of the argument.
PICTURES: Mapping[str, tuple[str, str, Callable[[explorer.Controls], tuple[Drawing, str]]]] = {
    "strip-load": ("Thread-stripping load against length", "stripping load", _strip_load),
    "section": ("Section through the thread", "section", sections.section),
    "thread-loads": ("Load on each thread", "thread loads", _thread_loads),
    "collapse": ("How the parent moves when it strips", "collapse", sections.collapse),
    "strip-torque": ("Torque that strips the thread", "torque", _strip_torque),
}


@lru_cache(maxsize=128)
def drawn(name: str, controls: explorer.Controls) -> tuple[str, str]:
    """Return a picture at a position, as SVG that says what it shows, and its sentence."""
    title, _, draw = PICTURES[name]
    picture, said = draw(controls)
    return picture.svg(f"{title}. {said}"), said


def image(name: str, controls: explorer.Controls) -> str:
    """Return a picture at a position, as SVG that says what it shows."""
    return drawn(name, controls)[0]


def words(name: str, controls: explorer.Controls) -> str:
    """Return the sentence that goes with a picture, for a reader who cannot see it."""
    return drawn(name, controls)[1]
