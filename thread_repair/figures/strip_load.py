"""Strip loads by length, method and parent, and the insert with which the screw fails first."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ..inserts import LENGTHS
from ..units import number
from .style import ACROSS, GREY, STATE, dots, figure, legend, note, panel, scale, screw_band, styled

if TYPE_CHECKING:
    import pandas as pd

    from ..study import Study

#: Least distance of the names of two curves, as a part of the height.
_NAMES_APART = 0.055
#: Parts of the width and of the height that the words on the screw's strength take.
_WORDS, _LINES = 0.3, 0.13
#: From white to mid-grey: the longer the insert, the darker its cell; the text stays readable.
_SHADES = ("#ffffff", "#f0f0f0", "#e0e0e0", "#cfcfcf", "#bdbdbd")
_NONE = "#666666"


@styled
def strip_load_against_length(study: Study, ax: Axes | None = None) -> Axes:
    """Draw the strip load of the original and the repaired thread against engagement.

    Where the strongest screw of the class breaks first a line drops to the axis.

    Parameters
    ----------
    study : Study
    ax : axes to draw in; by default those of a new figure
    """
    evaluation, joint = study.evaluation, study.evaluation.joint
    force, kilonewton = scale("force", study.case.report_units)
    length, millimetre = scale("length", study.case.report_units)
    nominal = {"original": joint.engagement, "repaired": joint.insert_length}
    axes = panel(ax, 3.7)
    low, high = screw_band(axes, evaluation, force, level=True)
    curves, crossings = {}, {}
    for state, found in evaluation.states.items():
        of_state = {
            name: column[study.sweep["state"] == state] for name, column in study.sweep.items()
        }
        x, y = curves[state] = length(of_state["length_mm"]), force(of_state["pull_out_N"])
        needed, engaged = found.required_engagement, of_state["engaged_mm"]
        crossings[state] = float(np.interp(needed, engaged, x, np.nan, np.nan))
        axes.plot(x, y, STATE[state].dashes, color=STATE[state].colour)
        dots(axes, state, length(nominal[state]), force(found.pull_out), 7,
             markerfacecolor="white", markeredgewidth=1.5)  # fmt: skip
    for state, crossing in crossings.items():
        if np.isfinite(crossing):
            line, right = STATE[state], crossing == np.nanmax([*crossings.values()])
            axes.plot([crossing] * 2, [0, high], line.dashes, color=line.colour, linewidth=0.8)
            axes.plot(crossing, high, "D", color=line.colour, markersize=4)
            note(axes, f"{number(crossing)} {millimetre}", (crossing, 0),
                 (3 if right else -3, 4), ha="left" if right else "right",
                 colour=line.colour)  # fmt: skip
    # Where the curves leave the left free the words on the screw stand there.
    left = all(np.interp(_WORDS * x[-1], x, y) < low for x, y in curves.values())
    top = max((1 + 1.2 * _LINES) * high, *(1.05 * float(y.max()) for _, y in curves.values()))
    # Left they stand above the band; right, where the curves have passed it, below, unless one
    # ends there.
    ends = [y[x >= (1 - _WORDS) * x[-1]] for x, y in curves.values()]
    above = left or any(np.any((y > low - _LINES * top) & (y < low)) for y in ends)
    note(axes, f"screw {joint.screw.id} fails,\n{number(low)} to {number(high)} {kilonewton}",
         (0.01 if left else 0.99, high if above else low), (0, 3 if above else -3),
         frame=ACROSS, ha="left" if left else "right", va="bottom" if above else "top",
         zorder=3)  # fmt: skip
    axes.set(xlim=(0, None), ylim=(0, top), ylabel=f"load, {kilonewton}")
    # The names of two curves that end together stand one over the other.
    last = sorted((y[-1], state) for state, (_, y) in curves.items())
    lack = max(0.0, _NAMES_APART * top - (last[1][0] - last[0][0])) / 2
    for (y, state), shift in zip(last, (-lack, lack), strict=True):
        # In its colour, instead of in a legend.
        note(axes, STATE[state].words, (x[-1], y + shift), (6, 0), colour=STATE[state].colour,
             size=8.5, va="center", annotation_clip=False)  # fmt: skip
    axes.set_xlabel(
        f"nominal length: full thread (original) or insert length (repaired), {millimetre}"
    )
    major = length(joint.thread.major)
    upper = axes.secondary_xaxis("top", functions=(lambda v: v / major, lambda v: v * major))
    upper.set_xlabel("length over nominal diameter")
    return axes


@styled
def strip_load_by_method(study: Study, ax: Axes | None = None) -> Axes:
    """Draw a row of two dots for each method, the verdict's first, the others from high to low.

    Those that are not about wire thread inserts stand last, grey, without the line that joins the
    states. What has no value in both conditions is left out.

    Parameters
    ----------
    study : Study
    ax : axes to draw in; by default those of a new figure
    """
    evaluation = study.evaluation
    force, kilonewton = scale("force", study.case.report_units)
    known = (each for each in study.methods if np.isfinite(each.ratio))
    rows = sorted(known, key=lambda each: (not each.comparable, -each.original))
    loads = {
        name: force(
            [state.mode("parent_thread_strip").capacity, *(getattr(row, name) for row in rows)]
        )
        for name, state in evaluation.states.items()
    }
    counts = np.array([True, *(row.comparable for row in rows)])
    places = -np.arange(len(rows) + 1.0)
    places[1:] -= 0.35  # the verdict stands apart
    axes = panel(ax, 1.25 + 0.27 * len(places))
    low, high = screw_band(axes, evaluation, force)
    screw = f"screw {evaluation.joint.screw.id} fails"
    note(axes, f"{screw},\n{number(low)} to {number(high)} {kilonewton}", ((low + high) / 2, 1.0),
         (0, 3), frame=("data", "axes fraction"), ha="center", va="bottom")  # fmt: skip
    axes.hlines(places[counts], *(each[counts] for each in loads.values()), color="#b0b0b0",
                linewidth=1)  # fmt: skip
    for state, line in STATE.items():
        x, fill = loads[state], GREY if state == "repaired" else "white"
        dots(axes, state, x[counts], places[counts], 6, label=line.words)
        dots(axes, state, x[~counts], places[~counts], 6, color=GREY, markerfacecolor=fill)
    named = (row.title + ("" if row.in_range else " *") for row in rows)
    axes.set_yticks(places, ["reference method", *named])
    axes.get_yticklabels()[0].set_fontweight("bold")
    most = max(high, *map(np.max, loads.values()))
    axes.grid(axis="y", visible=False)
    axes.set(xlim=(0, 1.12 * most), ylim=(places[-1] - 0.6, 0.6))
    axes.set_xlabel(f"stripping load of the parent thread, {kilonewton}")
    legend(axes, own=ax is None)
    return axes


@styled
def all_parents(rows: pd.DataFrame, study: Study) -> Figure:
    """Draw two columns of parents by group, the strongest of each group first.

    Parameters
    ----------
    rows : DataFrame, by name, in the order of the groups
        `group`, and the strip loads `original` and `repaired`, N
    study : of the case, whose parent stands in bold
    """
    evaluation = study.evaluation
    force, kilonewton = scale("force", study.case.report_units)
    columns = _columns(rows)
    longest = max(map(len, columns))
    drawing = figure(1.0 + 0.135 * longest)
    panels = drawing.subplots(1, 2, sharex=True, gridspec_kw={"wspace": 0.06})
    for axes, lines in zip(panels, columns, strict=True):
        screw_band(axes, evaluation, force)
        places = [at for at, line in enumerate(lines) if line in rows.index]
        parents = rows.loc[[lines[at] for at in places]]
        loads = {state: force(parents[state]) for state in STATE}
        axes.hlines(places, *loads.values(), color="#b0b0b0", linewidth=0.8)
        for state, line in STATE.items():
            dots(axes, state, loads[state], places, 3.4, markeredgewidth=0.9, label=line.words)
        axes.set_yticks(places, parents.index, fontsize=5.8)
        axes.tick_params(axis="y", length=0, pad=1.5)
        for tick in axes.get_yticklabels():
            if tick.get_text() == evaluation.joint.parent.id:
                tick.set_fontweight("bold")
        for at, name in enumerate(lines):
            if at not in places:
                note(axes, name, (0.0, at), (3, 0), frame=ACROSS, size=7, va="center",
                     fontweight="bold", ground=1.0)  # fmt: skip
        axes.grid(axis="y", visible=False)
        most = force(rows[list(STATE)].to_numpy().max())
        axes.set(xlim=(0, 1.05 * most), ylim=(longest - 0.4, -0.7))
        axes.set_xlabel(f"pull-out strength, {kilonewton}")
    legend(panels[0], own=True)
    return drawing


def _columns(rows: pd.DataFrame) -> tuple[list[str], list[str]]:
    """Halve the rows under the headings of their groups; a group that is cut has it repeated."""
    lines: list[str] = []
    for group, members in rows.groupby("group", sort=False):
        strongest = members.sort_values("original", ascending=False, kind="stable")
        lines += [str(group), *strongest.index]
    middle = (len(lines) + 1) // 2
    if lines[middle - 1] not in rows.index:
        middle -= 1  # no heading at the foot of a column
    first, second = lines[:middle], lines[middle:]
    if second and second[0] in rows.index:
        second = [f"{rows['group'][second[0]]}, continued", *second]
    return first, second


@styled
def insert_length_chart(needed: pd.DataFrame, *, thread: str) -> Figure:
    """Draw a table of the shortest insert with which the screw breaks before a thread strips.

    Parameters
    ----------
    needed : DataFrame, a row a parent, a column a screw from the weakest to the strongest
        Nominal insert length in diameters, as inserts have; NaN where none is long enough.
    thread : str
        Designation, for the title.
    """
    drawing = figure(1.5 + 0.155 * len(needed))
    axes = drawing.subplots()
    axes.grid(visible=False)
    for (row, column), value in np.ndenumerate(needed):
        fill, words, colour, weight = _NONE, "–", "#ffffff", "bold"
        if not np.isnan(value):
            fill = _SHADES[min(sorted(LENGTHS).index(value), len(_SHADES) - 1)]
            words, colour, weight = f"{value:g}", "#1a1a1a", "normal"
        axes.barh(row, 1, 1, column - 0.5, facecolor=fill, edgecolor="#ffffff", linewidth=0.6)
        axes.text(column, row, words, ha="center", va="center", fontsize=6.5, color=colour,
                  fontweight=weight)  # fmt: skip
    axes.set(xlim=(-0.5, needed.shape[1] - 0.5), ylim=(len(needed) - 0.5, -0.5))
    axes.set_xticks(range(needed.shape[1]), needed.columns, rotation=90, fontsize=7)
    axes.set_yticks(range(len(needed)), needed.index, fontsize=6.5)
    axes.xaxis.tick_top()
    axes.xaxis.set_label_position("top")
    axes.set_xlabel(f"screw class; thread {thread}")
    axes.tick_params(length=0)
    axes.spines[:].set_visible(False)
    drawing.supxlabel(
        "Shortest nominal insert length, diameters, with which a screw at the maximum strength"
        "\nof its class fails before a thread strips. –: longer than any standard insert."
        "\nThick parent, 20 °C, sizes at minimum material, a screw that is long enough; loads, edge"
        "\ndistance and how a brittle parent shares the load are not in it, and values need not be"
        "\nverified. A calculation for review by a competent person: it chooses no insert.",
        fontsize=7.5,
    )
    return drawing
