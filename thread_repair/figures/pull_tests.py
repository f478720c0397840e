"""Test pieces: how their loads scatter, and whether a shape fits them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import ArrayLike

from ..arrays import FloatArray
from ..units import number, printed, unit_of
from .style import GREY, INK, STATE, figure, styled

#: Percentages that the probability paper names.
_PERCENT = (1, 2, 5, 10, 20, 50, 80, 90, 95, 98, 99)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PieceGroup:
    """Pieces of one state: loads N, their mean with its interval, bounds by claim, prediction.

    `mean`, its ends and `sd` are NaN where the pieces are too few, `predicted` where nothing is
    predicted; `bounds` holds those that exist.
    """

    state: str
    words: str
    loads: FloatArray
    mean: float
    mean_low: float
    mean_high: float
    sd: float
    bounds: Mapping[str, float]
    predicted: float


def probability_paper(groups: Sequence[PieceGroup], *, system: str = "SI") -> Figure:
    """Draw the loads on normal probability paper: a normal sample lies near its line.

    Parameters
    ----------
    groups : one for each state
    system : "SI" or "inch"
    """
    units = "inch" if system == "inch" else "SI"
    quantile = NormalDist().inv_cdf
    low, high = quantile(0.006), quantile(0.994)
    with styled():
        drawing = figure(3.5)
        axes = drawing.add_subplot()
        for group in groups:
            line = STATE[group.state]
            loads = np.sort(_force(group.loads, units))
            # Median ranks.
            fraction = (np.arange(1, loads.size + 1) - 0.3) / (loads.size + 0.4)
            score = np.array([quantile(f) for f in fraction])
            axes.plot(
                loads,
                score,
                line.marker,
                color=line.colour,
                markersize=5,
                markerfacecolor="white",
                markeredgewidth=1.3,
                zorder=3,
            )
            if not np.isfinite(group.sd):
                continue
            ends = np.array([low, high])
            axes.plot(
                _force(group.mean + group.sd * ends, units), ends, line.dashes, color=line.colour
            )
            axes.annotate(
                group.words,
                (float(_force(group.mean + group.sd * high, units)), high),
                xytext=(0, 3),
                textcoords="offset points",
                ha="center",
                color=line.colour,
                annotation_clip=False,
            )
            if "99/95" in group.bounds:
                _mark_bound(axes, float(_force(group.bounds["99/95"], units)), group.state, units)
        axes.axhline(quantile(0.01), color=GREY, linewidth=0.8)
        axes.set_yticks([quantile(p / 100) for p in _PERCENT], [f"{p}" for p in _PERCENT])
        axes.set_ylim(low, high)
        left, right = axes.get_xlim()
        axes.set_xlim(left - 0.14 * (right - left), right)  # room for the name of a bound
        axes.set_xlabel(f"peak load, {unit_of('force', units)}")
        axes.set_ylabel("specimens at or below, %")
        return drawing


def _mark_bound(axes: Axes, x: float, state: str, units: str) -> None:
    """Mark the load that 99 % of all pieces exceed with 95 % confidence, on the 1 % line."""
    line = STATE[state]
    y = NormalDist().inv_cdf(0.01)
    axes.plot(x, y, "D", color=line.colour, markersize=5.5, zorder=4)
    axes.annotate(
        f"99/95 bound\n{number(x)} {unit_of('force', units)}",
        (x, y),
        xytext=(-7, 0),
        textcoords="offset points",
        ha="right",
        va="center",
        color=line.colour,
        fontsize=7.5,
        bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.75, "pad": 0.5},
        zorder=4,
    )


def loads_by_state(groups: Sequence[PieceGroup], *, system: str = "SI") -> Figure:
    """Draw every piece, the mean with its interval, the tolerance bounds and the prediction.

    Parameters
    ----------
    groups : one row for each, the first on top
    system : "SI" or "inch"
    """
    units = "inch" if system == "inch" else "SI"
    with styled():
        drawing = figure(0.7 + 1.25 * len(groups))
        axes = drawing.add_subplot()
        for row, group in zip(range(len(groups))[::-1], groups, strict=True):
            _row(axes, row, group, units)
        axes.set_yticks(
            range(len(groups))[::-1],
            [g.words.replace(", ", "\n") + f"\n{len(g.loads)} specimens" for g in groups],
        )
        axes.set_ylim(-0.55, len(groups) - 0.45)
        axes.grid(axis="y", visible=False)
        axes.margins(x=0.08)
        axes.set_xlabel(f"peak load, {unit_of('force', units)}")
        return drawing


def _row(axes: Axes, row: int, group: PieceGroup, units: str) -> None:
    line = STATE[group.state]
    loads = np.sort(_force(group.loads, units))
    # Neighbours stand at different heights, so that equal loads are both seen.
    height = row + 0.07 * (np.arange(loads.size) % 3 - 1)
    axes.plot(
        loads,
        height,
        line.marker,
        color=line.colour,
        markersize=5,
        markerfacecolor="white",
        markeredgewidth=1.2,
        linestyle="none",
        zorder=3,
    )
    if np.isfinite(group.mean):
        low, mean, high = _force([group.mean_low, group.mean, group.mean_high], units)
        axes.plot([low, high], [row + 0.24] * 2, "-", color=line.colour, linewidth=2.2)
        axes.plot(mean, row + 0.24, "|", color=line.colour, markersize=11, markeredgewidth=2)
        _words(axes, float(mean), row + 0.32, f"mean {number(float(mean))}", line.colour, "bottom")
    if np.isfinite(group.predicted):
        at = float(_force(group.predicted, units))
        axes.plot([at, at], [row - 0.17, row + 0.17], "-", color=INK, linewidth=1.4)
        _words(axes, at, row - 0.19, f"predicted {number(at)}", INK, "top")
    for claim, bound in group.bounds.items():
        at = float(_force(bound, units))
        axes.plot(at, row, ">", color=line.colour, markersize=7)
        _words(axes, at, row + 0.09, f"{claim}\n{number(at)}", line.colour, "bottom")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CurveLine:
    """Load, N, against travel, mm, of one piece; `first_yield` is NaN where it cannot be told."""

    piece: str
    state: str
    travel: FloatArray
    load: FloatArray
    first_yield: float


def load_against_travel(
    curves: Sequence[CurveLine], predicted: Mapping[str, float], *, system: str = "SI"
) -> Figure:
    """Draw the curves of pieces beside the load predicted for their state.

    Parameters
    ----------
    curves : sequence of CurveLine
    predicted : strip load by state, N
    system : "SI" or "inch"
    """
    units = "inch" if system == "inch" else "SI"
    with styled():
        drawing = figure(3.0)
        axes = drawing.add_subplot()
        for state, strip_load in predicted.items():
            level = float(_force(strip_load, units))
            axes.axhline(level, color=STATE[state].colour, linestyle=":", linewidth=1.2)
            axes.annotate(
                f"{state}, predicted {number(level)}", (0.01, level),
                xycoords=("axes fraction", "data"), xytext=(0, 2), textcoords="offset points",
                fontsize=7.5, color=STATE[state].colour,
            )  # fmt: skip
        for curve in curves:
            line = STATE[curve.state]
            travel = np.asarray(printed(curve.travel, "length", units))
            load = _force(curve.load, units)
            axes.plot(travel, load, line.dashes, color=line.colour)
            top = int(np.argmax(load))
            axes.annotate(
                curve.piece, (travel[top], load[top]), xytext=(0, 3), textcoords="offset points",
                ha="center", fontsize=7.5, color=line.colour,
            )  # fmt: skip
            if np.isfinite(curve.first_yield):
                at = int(np.argmax(curve.load >= curve.first_yield))
                axes.plot(
                    travel[at], load[at], "o", color=line.colour, markersize=5,
                    markerfacecolor="white",
                )  # fmt: skip
        axes.set_xlim(left=0)
        axes.set_ylim(bottom=0)
        axes.margins(y=0.12)
        axes.set_xlabel(f"travel of the machine's head, {unit_of('length', units)}")
        axes.set_ylabel(f"load, {unit_of('force', units)}")
        return drawing


def _words(axes: Axes, x: float, y: float, text: str, colour: str, va: str) -> None:
    axes.annotate(text, (x, y), ha="center", va=va, color=colour, fontsize=7.5, linespacing=1.05)


def _force(value: ArrayLike, units: str) -> FloatArray:
    return np.asarray(printed(np.asarray(value, float), "force", units))
