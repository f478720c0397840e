"""What decides, at a glance: margins of safety by failure mode, and the options side by side."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator
from numpy.typing import ArrayLike

from ..arrays import FloatArray
from ..units import printed, unit_of
from .style import BLUE, GREY, INK, ORANGE, STATE, legend, panel, styled

#: Inches for a row, for one with its name above it, and for title, axis and legend.
_ROW, _NAMED_ROW, _FRAME = 0.27, 0.36, 1.0
_TICKS = (-0.9, -0.5, 0, 0.5, 1, 2, 5, 10, 20, 50, 100, 1000)
#: A margin below this is drawn there: what holds nothing has no logarithm.
_LOWEST = -0.95


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionRow:
    """One option: stripping strength, N (NaN: not assessed), and how it is assessed."""

    name: str
    load: float
    assessment: str
    words: str


#: Marker, fill and colour of an assessment; told apart without colour by shape and fill.
_MARKS = {
    "proposed": ("D", BLUE, BLUE),
    "acceptable": ("o", BLUE, "white"),
    "not_acceptable": ("X", ORANGE, ORANGE),
    "not_assessed": ("", GREY, GREY),
}


def margins_by_mode(rows: Mapping[str, Mapping[str, float]], *, ax: Axes | None = None) -> Axes:
    """Draw the minimum margin of each failure mode in both conditions, zero marked.

    Parameters
    ----------
    rows : by name of the failure mode, then by condition; NaN: not known
    ax : axes to draw in; by default those of a new figure
    """
    with styled():
        axes = panel(ax, _FRAME + _ROW * len(rows))
        known = [m for row in rows.values() for m in row.values() if math.isfinite(m)]
        low, high = min([*known, 0.0]), max([*known, 1.0])
        axes.set_xscale("function", functions=(_log_of_ratio, np.expm1))
        axes.set_xlim(_beyond(low, -0.15), _beyond(high, 0.15))
        axes.axvspan(axes.get_xlim()[0], 0, color="#e9e9e9", zorder=0)
        axes.axvline(0, color=INK, linewidth=1.0)
        for state, line in STATE.items():
            values = [row.get(state, math.nan) for row in rows.values()]
            axes.plot(
                values, range(len(rows)), line.marker, color=line.colour, markersize=5.5,
                markerfacecolor="white" if state == "original" else line.colour,
                label=line.words,
            )  # fmt: skip
        axes.xaxis.set_major_locator(FixedLocator([tick for tick in _TICKS if low <= tick <= high]))
        axes.xaxis.set_minor_locator(NullLocator())
        axes.xaxis.set_major_formatter(
            FuncFormatter(lambda value, _: f"{value:+g}" if value else "0")
        )
        axes.set_xlabel(
            "minimum margin of safety (logarithm of capacity over demand); grey: not sufficient"
        )
        for place, row in enumerate(rows.values()):
            shown = (_signed(row.get(state, math.nan)) for state in STATE)
            _at_right(axes, place, " / ".join(shown))
        _rows(axes, list(rows))
        _at_right(axes, -0.95, " /\n".join(line.words for line in STATE.values()), small=True)
        legend(axes, own=ax is None)
        return axes


def _log_of_ratio(margin: ArrayLike) -> FloatArray:
    """Logarithm of capacity over demand, which is the margin plus one."""
    return np.log1p(np.maximum(margin, _LOWEST))


def _beyond(margin: float, room: float) -> float:
    """Return a margin a little further on the scale."""
    return float(np.expm1(_log_of_ratio(margin) + room))


def _signed(margin: float) -> str:
    return "–" if math.isnan(margin) else f"{margin:+.2f}"


def options_side_by_side(
    rows: Sequence[OptionRow],
    *,
    original: float,
    screw_min: float,
    screw_max: float,
    system: str = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw the stripping strength of each option beside that of the original and of the screw.

    Parameters
    ----------
    rows : sequence of OptionRow
    original : pull-out strength of the undamaged original thread, N
    screw_min, screw_max : breaking load of a screw at minimum and maximum strength, N
    system : "SI" or "inch"
    ax : axes to draw in; by default those of a new figure
    """
    units = "inch" if system == "inch" else "SI"
    unit = unit_of("force", units)
    low, high, before = (
        float(printed(load, "force", units)) for load in (screw_min, screw_max, original)
    )
    with styled():
        axes = panel(ax, _FRAME + _NAMED_ROW * len(rows))
        axes.axvspan(low, high, color="#e9e9e9", zorder=0)
        for level in (low, high):
            axes.axvline(level, color=GREY, linestyle=":", linewidth=0.9)
        axes.axvline(before, color=ORANGE, linestyle="--", linewidth=1.2)
        for place, row in enumerate(rows):
            marker, edge, fill = _MARKS[row.assessment]
            axes.plot(
                float(printed(np.asarray(row.load), "force", units)), place, marker, color=edge,
                markerfacecolor=fill, markersize=6.5,
            )  # fmt: skip
            _at_right(axes, place, row.words)
        axes.set_xlim(left=0)
        axes.set_xlabel(
            f"thread-stripping strength, {unit}; dashed: original thread; grey: screw fails"
        )
        _rows(axes, [""] * len(rows))
        for place, row in enumerate(rows):  # above its mark: beside it a long name takes the room
            axes.annotate(
                row.name, (0.0, place - 0.4), xycoords=("axes fraction", "data"), xytext=(3, 0),
                textcoords="offset points", va="center", fontsize=8, color=INK, zorder=4,
                bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 0.5},
            )  # fmt: skip
        return axes


def _rows(axes: Axes, names: list[str]) -> None:
    axes.set_yticks(range(len(names)), names)
    axes.set_ylim(len(names) - 0.5, -0.75)
    axes.tick_params(axis="y", length=0)


def _at_right(axes: Axes, place: float, text: str, *, small: bool = False) -> None:
    axes.annotate(
        text, (1.0, place), xycoords=("axes fraction", "data"), xytext=(4, 0),
        textcoords="offset points", va="center", fontsize=7 if small else 8, color=INK,
        annotation_clip=False,
    )  # fmt: skip
