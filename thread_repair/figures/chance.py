"""How the loads of many joints of one kind scatter, and what drives the scatter."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ..arrays import FloatArray
from ..units import number, printed, unit_of
from .style import BLUE, GREY, INK, STATE, figure, panel, styled

#: Bins of a smoothed distribution, and the width of the smoothing in bins.
_BINS, _SMOOTH = 160, 2.5
#: Shares below this are drawn together: no reader acts on them.
LEAST_SHARE = 0.01


def load_distributions(
    strip: Mapping[str, FloatArray],
    screw: FloatArray,
    *,
    screw_words: str,
    load: float | None = None,
    load_words: str = "",
    system: str = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw how strip loads and the screw's breaking load are distributed.

    Parameters
    ----------
    strip : by state, ndarray, N
        Strip loads of the sampled joints.
    screw : ndarray, N
        Loads that break the screws of these joints.
    screw_words : how the screw is named, e.g. "screw 8.8 breaks"
    load : N, optional
        Load that the joint must carry, marked by a line, and `load_words` for it.
    system : "SI" or "inch"
    ax : axes to draw in; by default those of a new figure
    """
    units = "inch" if system == "inch" else "SI"
    force = partial(printed, dimension="force", system=units)
    with styled():
        axes = panel(ax, 3.0)
        screws = _density(force(screw))
        axes.fill_between(*screws, color="#e3e3e3", linewidth=0, zorder=1)
        axes.plot(*screws, ":", color=GREY, linewidth=1.3)
        threads = {state: _density(force(loads)) for state, loads in strip.items()}
        for state, curve in threads.items():
            axes.plot(*curve, STATE[state].dashes, color=STATE[state].colour)
        top = max(float(y.max()) for _, y in (screws, *threads.values()))
        _label(axes, *screws, screw_words, INK, side=0)
        # The lower of the two is named on its left flank, the higher on its right one.
        ranked = sorted(threads, key=lambda state: float(_peak(*threads[state])[0]))
        for rank, state in enumerate(ranked):
            words = STATE[state].words.replace(" ", "\n") + "\nstrips"
            _label(axes, *threads[state], words, STATE[state].colour, side=2 * rank - 1)
        if load is not None:
            at = float(force(load))
            axes.axvline(at, color=INK, linewidth=1.1)
            axes.annotate(
                f"{load_words}\n{number(at)} {unit_of('force', units)}",
                (at, 1.22 * top),
                xytext=(4, 0),
                textcoords="offset points",
                va="top",
                color=INK,
                fontsize=7.5,
            )
        axes.set_ylim(0, 1.25 * top)
        axes.set_xlabel(f"load, {unit_of('force', units)}")
        axes.set_ylabel(f"joints, % per {unit_of('force', units)}")
        return axes


def _density(loads: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Share of the joints per unit of load, %, smoothed; a constant load is a spike."""
    low, high = float(loads.min()), float(loads.max())
    pad = max((high - low) * 0.05, abs(high) * 0.002)
    counts, edges = np.histogram(loads, bins=_BINS, range=(low - pad, high + pad), density=True)
    reach = np.arange(-8, 9)
    kernel = np.exp(-0.5 * (reach / _SMOOTH) ** 2)
    smooth = np.convolve(counts, kernel / kernel.sum(), mode="same")
    return (edges[1:] + edges[:-1]) / 2, 100 * smooth


def _peak(x: FloatArray, y: FloatArray) -> tuple[float, float]:
    at = int(np.argmax(y))
    return float(x[at]), float(y[at])


def _label(axes: Axes, x: FloatArray, y: FloatArray, words: str, colour: str, *, side: int) -> None:
    """Name a distribution above its peak, or on its left (-1) or right (1) flank."""
    at, height = _peak(x, y)
    if side:
        flank = (np.sign(x - at) == side) & (y <= 0.7 * height)
        if np.any(flank):
            nearest = int(np.argmin(np.where(flank, np.abs(x - at), np.inf)))
            at, height = float(x[nearest]), float(y[nearest])
    axes.annotate(
        words,
        (at, height),
        xytext=(5 * side, 0 if side else 3),
        textcoords="offset points",
        ha={-1: "right", 0: "center", 1: "left"}[side],
        va="bottom",
        color=colour,
        fontsize=7.5,
        linespacing=1.05,
        zorder=4,
    )


def driver_shares(panels: Mapping[str, Mapping[str, Any]]) -> Figure:
    """Draw what share of the scatter each input has, the greatest on top.

    Parameters
    ----------
    panels : by what scatters, tidy columns of `reliability.Drivers.columns`
        `label`, `total`, `total_low`, `total_high`, sorted.
    """
    kept = {words: _kept(columns) for words, columns in panels.items()}
    rows = [len(labels) for labels, _, _, _ in kept.values()]
    with styled():
        drawing = figure(0.55 + sum(0.24 * n + 0.42 for n in rows))
        every = drawing.subplots(
            len(rows), 1, sharex=True, squeeze=False, height_ratios=[n + 0.8 for n in rows]
        )[:, 0]
        for axes, (words, (labels, share, low, high)) in zip(every, kept.items(), strict=True):
            at = np.arange(len(labels))[::-1]
            axes.barh(at, share, height=0.6, color=BLUE, alpha=0.75)
            axes.hlines(at, low, high, color=INK, linewidth=1.2)
            for y, value, end in zip(at, share, high, strict=True):
                axes.annotate(
                    f"{number(value, 2)} %",
                    (max(value, end), y),
                    xytext=(4, 0),
                    textcoords="offset points",
                    va="center",
                    fontsize=7.5,
                )
            axes.set_yticks(at, labels)
            axes.set_ylim(-0.6, len(labels) - 0.4)
            axes.set_xlim(0, 105)
            axes.grid(axis="y", visible=False)
            axes.set_title(words, loc="left")
        every[-1].set_xlabel("share of the variance with all interactions, %")
        return drawing


def _kept(
    columns: Mapping[str, Any],
) -> tuple[list[str], FloatArray, FloatArray, FloatArray]:
    """Labels and shares in percent of the inputs that matter; the greatest always does."""
    total, low, high = (
        100 * np.asarray(columns[name], float) for name in ("total", "total_low", "total_high")
    )
    keep = total >= 100 * LEAST_SHARE
    keep[0] = True
    labels = [str(label) for label, kept in zip(columns["label"], keep, strict=True) if kept]
    return labels, total[keep], np.maximum(low[keep], 0), high[keep]
