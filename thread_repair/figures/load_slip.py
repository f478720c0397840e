"""Load against travel of the screw in both holes."""

from __future__ import annotations

from collections.abc import Mapping

from matplotlib.axes import Axes

from ..strength.sharing.load_slip import LoadSlip
from ..units import printed, unit_of
from .style import INK, STATE, panel, styled


def load_against_travel(
    states: Mapping[str, LoadSlip],
    bounds: Mapping[str, tuple[float, float]],
    *,
    system: str = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw the curves: thick where they hold, thin beyond, a cross where a thread parts.

    Parameters
    ----------
    states : load-slip curve of each state
    bounds : certified minimum and maximum of each plateau, N; NaN where none was certified
    system : "SI" or "inch"
    """
    units = "inch" if system == "inch" else "SI"
    with styled():
        axes = panel(ax, 3.4)
        for state, found in states.items():
            line = STATE[state]
            travel = printed(found.travel, "length", units)
            load = printed(found.load, "force", units)
            last = float(printed(found.last_travel, "length", units))
            end = float(printed(found.last_load, "force", units))
            holds = found.travel < found.last_travel
            low, high = (float(printed(each, "force", units)) for each in bounds[state])
            axes.axhspan(low, high, color=line.colour, alpha=0.18, linewidth=0)
            parts = (
                ([*travel[holds], last], [*load[holds], end], 1.8),
                ([last, *travel[~holds]], [end, *load[~holds]], 0.7),
            )
            for x, y, width in parts:
                axes.plot(x, y, line.dashes, color=line.colour, linewidth=width)
            if found.small_strain_travel < found.ductility_travel:
                axes.plot(last, end, line.marker, color=line.colour, markersize=5)
            axes.plot(travel[-1], load[-1], "x", color=line.colour, markersize=7)
        _explain(axes, states, units)
        axes.set_xlabel(f"travel of the screw at the joint face, {unit_of('length', units)}")
        axes.set_ylabel(f"axial load, {unit_of('force', units)}")
        axes.set_xlim(left=0)
        axes.set_ylim(
            0, 1.12 * float(printed(max(s.plateau for s in states.values()), "force", units))
        )
        return axes


def _explain(axes: Axes, states: Mapping[str, LoadSlip], units: str) -> None:
    """Name the plateaus where no curve is yet, and below the curves what the marks mean."""
    top = max(states, key=lambda name: states[name].plateau)
    for name, found in states.items():
        axes.annotate(
            STATE[name].words, (0.01, float(printed(found.plateau, "force", units))),
            xycoords=("axes fraction", "data"), xytext=(0, 5 if name == top else -5),
            textcoords="offset points", va="bottom" if name == top else "top",
            color=STATE[name].colour,
        )  # fmt: skip
    meanings = [
        "cross: a thread parts, by the sharing model",
        "shaded: between the certified bounds of the plateau",
    ]
    if any(each.small_strain_travel < each.ductility_travel for each in states.values()):
        meanings.insert(0, "mark: small-strain theory ends")
    axes.annotate(
        "\n".join(meanings), (0.99, 0.04), ha="right", xycoords="axes fraction", fontsize=7.5,
        color=INK,
    )  # fmt: skip
