"""Why the ratio of pull-out strengths is what it is: its factors, one after the other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import NullLocator

from ..units import number
from .style import GREEN, GREY, INK, panel, styled

#: Bars that raise and that lower the ratio are told apart in grey by their hatch as well.
_UP, _DOWN = (GREEN, ""), ("#b5500c", "////")


def ratio_waterfall(
    names: Sequence[str], factors: Sequence[float], *, ax: Axes | None = None
) -> Axes:
    """Draw the factors of the ratio repaired over original as steps from 1 to their product.

    Equal factors are equally tall: the scale is logarithmic.

    Parameters
    ----------
    names : what each factor stands for, in a word
    factors : above zero
    ax : axes to draw in; by default those of a new figure
    """
    values = np.asarray(factors, dtype=float)
    ends = np.cumprod(values)
    starts = np.concatenate([[1.0], ends[:-1]])
    with styled():
        axes = panel(ax, 2.9)
        axes.set_yscale("log")
        axes.axhline(1.0, color=GREY, linewidth=1.0, linestyle=":")
        for place, (start, end, value) in enumerate(zip(starts, ends, values, strict=True)):
            colour, hatch = _UP if value >= 1 else _DOWN
            axes.bar(
                place, end - start, bottom=start, width=0.62, facecolor=colour, alpha=0.85,
                edgecolor="white" if hatch else colour, hatch=hatch, linewidth=0.8,
            )  # fmt: skip
            axes.plot([place + 0.31, place + 1 - 0.31], [end, end], color=INK, linewidth=0.7)
            axes.annotate(
                f"× {number(value)}", (place, max(start, end)), xytext=(0, 3),
                textcoords="offset points", ha="center", fontsize=8, color=INK,
            )  # fmt: skip
        last, product = len(values), float(ends[-1])
        axes.bar(last, product - 1, bottom=1.0, width=0.62, facecolor=INK, alpha=0.85)
        axes.annotate(
            f"= {number(product)}", (last, max(product, 1.0)), xytext=(0, 3),
            textcoords="offset points", ha="center", fontsize=9, fontweight="bold", color=INK,
        )  # fmt: skip
        axes.set_xticks(range(last + 1), [*names, "ratio"])
        low, high = (f(1.0, *starts, *ends) for f in (min, max))
        axes.set_ylim(low / 1.06, high * 1.1)
        axes.set_xlim(-0.6, last + 0.6)
        axes.yaxis.set_minor_locator(NullLocator())
        ticks = _ticks(low / 1.06, high * 1.1)
        axes.set_yticks(ticks, [f"{tick:.2f}" for tick in ticks])
        axes.grid(axis="x", visible=False)
        axes.set_ylabel("repaired over original")
        return axes


def _ticks(low: float, high: float) -> list[float]:
    """Return a few round levels between the limits, 1 among them."""
    for step in (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0):
        if (high - low) / step <= 7:
            found = np.arange(np.ceil(low / step), np.floor(high / step) + 1) * step
            return [float(tick) for tick in found if tick > 0]
    return [1.0]
