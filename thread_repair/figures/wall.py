"""What is left of the strip load in a boss: certified brackets beside the published curve."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes

from ..arrays import FloatArray
from ..units import printed, unit_of
from .style import GREEN, GREY, INK, STATE, panels, styled


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WallBand:
    """One state and one support: bracket of the strip load over that in a thick wall."""

    boss: FloatArray
    lower: FloatArray
    upper: FloatArray
    curve: FloatArray


#: Colour, hatching and words of each support.
_SUPPORT = {
    "base": (GREEN, "", "held at its base"),
    "face": (STATE["original"].colour, "////", "held on its face"),
}


def wall_factor_by_boss(
    bands: Mapping[str, Mapping[str, WallBand]],
    *,
    case_boss: float | None,
    system: str = "SI",
    ax: Sequence[Axes] | None = None,
) -> Sequence[Axes]:
    """Draw, for each state, the certified bands of both supports and the published curve.

    Parameters
    ----------
    bands : by state, then by support ("base", "face")
    case_boss : boss of the case, mm, or None
    system : "SI" or "inch"
    ax : as many axes to draw in; by default those of a new figure
    """
    units = "inch" if system == "inch" else "SI"
    with styled():
        every = panels(ax, len(bands), 3.3)
        for axes, (state, supports) in zip(every, bands.items(), strict=True):
            for support, band in supports.items():
                colour, hatch, words = _SUPPORT[support]
                axes.fill_between(
                    printed(band.boss, "length", units), band.lower, band.upper, facecolor=colour,
                    edgecolor=colour, alpha=0.5, hatch=hatch, linewidth=0.6, label=words,
                )  # fmt: skip
            curve = next(iter(supports.values()))
            axes.plot(
                printed(curve.boss, "length", units), curve.curve, ":", color=INK, linewidth=1.4,
                label="C1 of SAE 770420",
            )  # fmt: skip
            if case_boss is not None:
                place = float(printed(case_boss, "length", units))
                axes.axvline(place, color=GREY, linewidth=1, linestyle="--")
                axes.annotate(
                    "this boss", (place, 0.62), xytext=(-2, 0), textcoords="offset points",
                    fontsize=7.5, color=INK, rotation=90, ha="right", va="center",
                )  # fmt: skip
            axes.set_title(f"{STATE[state].words}")
            axes.set_xlabel(f"boss diameter, {unit_of('length', units)}")
            axes.set_ylim(0, 1.12)
        every[0].set_ylabel("strip load over that in a thick wall")
        every[-1].legend(loc="lower right", frameon=True, framealpha=1, edgecolor="#cccccc")
        return every
