"""Torque, preload and margins of both conditions as passages and tables."""

from __future__ import annotations

import math
from collections.abc import Callable

from IPython.display import Markdown

from ... import words
from ...figures.preload_band import PreloadBar, preload_band
from ...study import Study
from ...tightening import CAUTION, STATED_TORQUE, Band, Friction, FrictionLine, StatePreload
from ...units import number, plain, show, signed
from .. import escape
from ..figure import ReportFigure, ReportTable
from .cells import cell, head, margin_words, marked, sentences, state_words

_NOTHING = "Neither torque nor preload is stated."


def table(study: Study) -> ReportTable | Markdown:
    """Tabulate torque, preload range, limits and margins, a column for each condition."""
    found, system = study.preloads, study.case.report_units
    if found is None:
        return Markdown(_NOTHING)
    inputs, states = found.inputs, tuple(found.states.values())

    def row(
        name: str, dimension: str, of: Callable[[StatePreload], tuple[float, ...]]
    ) -> tuple[str, ...]:
        def one(value: float) -> str:
            return cell(value, dimension, system)

        return (head(name, dimension, system), *(_between(of(each), one) for each in states))

    rows = [
        row("Tightening torque", "torque", lambda s: (float(s.preload.tightened.torque_nm),)),
        row("Maximum prevailing torque, to be added at the wrench", "torque",
            lambda s: (inputs.prevailing_nm[s.state][1],)),
        ("Friction in the thread", *(_friction(inputs.thread[s.state]) for s in states)),
        ("Nut factor K", *(_between(_ends(s.preload.tightened.nut_factor)) for s in states)),
        row("Preload as tightened", "force", lambda s: _ends(s.preload.tightened.preload)),
        ("Friction at minimum and at maximum preload, thread / head",
         *(" and ".join(map(_line, (t.minimum, t.maximum)))
           for t in (s.preload.tightened for s in states))),
        row("Preload in service", "force", lambda s: _ends(s.preload.service)),
        *(row(f"Change of preload at {plain(t, dimension='temperature', system=system)}, maximum",
              "force", lambda s, t=t: (s.preload.changes[t],))  # type: ignore[misc]
          for t in inputs.temperatures[1:]),
        row("Preload at screw yield (tension and torsion)", "force",
            lambda s: _ends(s.preload.yield_preload)),
        row("Torque at which the thread strips", "torque", lambda s: _ends(s.strip_torque_nm)),
        ("Permissible tightening torque", *(_window(s, system) for s in states)),
        row("Torque for the same mean preload as in the original", "torque",
            lambda s: (s.same_preload_nm,)),
        *_margins(states),
    ]  # fmt: skip
    head_friction = _friction(inputs.head)
    if inputs.head.published is not None:
        head_friction += f" ({inputs.head.published.title})"
    return ReportTable(
        ["Tightening", *(state_words(each.state).capitalize() for each in states)],
        rows,
        caption=f"Tightening by {inputs.tool.title}, friction under the head "
        f"{head_friction}. {words.sentence(STATED_TORQUE)}",
        label="tightening",
        lead="@tbl:tightening gives torque and preload; @fig:preload shows the preload in service.",
        alignment=["left", "right", "right"],
    )


def _between(values: tuple[float, ...], show: Callable[[float], str] = number) -> str:
    if any(map(math.isnan, values)):
        return "–"
    return " to ".join(dict.fromkeys(map(show, values)))


def _window(found: StatePreload, system: str) -> str:
    if found.window is None:
        return "–" if math.isnan(found.window_nm[1]) else "none"
    return words.limits(found.window, system=system)


def _friction(found: Friction) -> str:
    return _between((found.low, found.high))


def _ends(band: Band) -> tuple[float, float]:
    return float(band.least), float(band.highest)


def _margins(states: tuple[StatePreload, ...]) -> list[tuple[str, ...]]:
    """Return a row for each mode and strength, the minimum margin of each condition."""
    least: dict[str, dict[str, float]] = {}
    for each in states:
        for m in each.margins:
            row = least.setdefault(margin_words(m), {})
            row[each.state] = min(row.get(each.state, math.inf), m.margin)
    return [
        (f"{name}: margin of safety", *(_margin(row.get(each.state)) for each in states))
        for name, row in least.items()
    ]


def _line(line: FrictionLine) -> str:
    return f"{number(float(line.thread_friction))} / {number(float(line.head_friction))}"


def _margin(value: float | None) -> str:
    if value is None:
        return "–"
    return signed(value) + (" FAILS" if value < 0 else "")


def caution(study: Study) -> Markdown:
    """Return the caution that goes with every torque."""
    text = escape.markdown(words.sentence(CAUTION))
    return Markdown("" if study.preloads is None else f"> {text}")


def notes(study: Study) -> Markdown:
    """Say what the numbers rest on and what they show."""
    return marked(study, () if study.preloads is None else study.preloads.facts)


def warnings(study: Study) -> Markdown:
    """Say the same without what is only of interest to the checker."""
    said = () if study.preloads is None else study.preloads.facts
    return marked(study, (each for each in said if each.level != "info"))


def line(study: Study) -> Markdown:
    """Say in one paragraph what is set and read at the wrench, and what it may be."""
    if study.preloads is None:
        return Markdown(f"{_NOTHING} Take the torque from the drawing.")
    said = study.preloads.settings
    bold = ("set_torque", "torque_outside")
    return Markdown(
        " ".join(
            f"**{escape.markdown(text)}**" if each.id in bold else escape.markdown(text)
            for each, text in zip(said, sentences(study, said), strict=True)
        )
    )


def preload_figure(study: Study) -> ReportFigure | Markdown:
    """Draw the preload ranges of both conditions against stripping, yield and separation."""
    found, system = study.preloads, study.case.report_units
    if found is None:
        return Markdown("")
    loads = found.inputs.loads
    bars = {
        state: PreloadBar(
            least=float(each.preload.service.least),
            middle=float(each.preload.service.middle),
            highest=float(each.preload.service.highest),
            strip=study.evaluation.states[state].pull_out,
            at_yield=float(each.preload.yield_preload.least),
        )
        for state, each in found.states.items()
    }

    def force(value: float) -> str:
        return show(value, "force", system=system)

    told = "; ".join(
        f"{state_words(state)} {force(bar.least)} to {force(bar.highest)}, stripping at "
        f"{force(bar.strip)}"
        for state, bar in bars.items()
    )
    need = loads.separation * (1 - loads.shares[1]) * loads.limit
    return ReportFigure(
        preload_band(bars, need=need, system=system),
        caption="Minimum and maximum preload in service, with the loads at screw yield and "
        "thread stripping and the minimum preload against joint separation.",
        alt=f"Two ranges of preload: {told}.",
        label="preload",
    )
