"""Torque, preload and margins of both states as passages and tables."""

from __future__ import annotations

import math

from IPython.display import Markdown

from ...figures.preload_band import PreloadBar, preload_band
from ...preloads import Preloads, StatePreload
from ...study import Study
from ...tightening import FrictionLine
from ...units import number, plain, show
from .. import escape
from ..figure import ReportFigure, ReportTable
from .cells import MODE_WORDS, STATE_WORDS, YIELD_WORDS, cell, head

_NOTHING = "The case gives neither torque nor preload."


def table(study: Study) -> ReportTable | Markdown:
    """Tabulate torque, preload band, limits and margins, a column for each state."""
    case, found = study.case, study.preloads
    if found is None:
        return Markdown(_NOTHING)
    system = case.report_units
    states = tuple(found.states.values())

    def row(words: str, values: list[str]) -> tuple[str, ...]:
        return (words, *values)

    def torque(value: float) -> str:
        return cell(value, "torque", system)

    def between(low: float, high: float, dimension: str) -> str:
        if math.isnan(low) or math.isnan(high):
            return "–"
        return f"{cell(low, dimension, system)} to {cell(high, dimension, system)}"

    def window(low: float, high: float) -> str:
        if low > high:
            return f"none: at least {torque(low)} and at most {torque(high)}"
        return between(low, high, "torque")

    tightened = [each.preload.tightened for each in states]
    service = [each.preload.service for each in states]
    rows = [
        row(head("Torque", "torque", system), [torque(float(t.torque_nm)) for t in tightened]),
        row(
            head("Prevailing torque to be added at the wrench, at most", "torque", system),
            [torque(found.inputs.prevailing_nm[each.state][1]) for each in states],
        ),
        row("Friction in the thread", [_friction(found, each.state) for each in states]),
        row(
            "Torque factor K",
            [f"{number(float(t.nut_factor.least))} to {number(float(t.nut_factor.highest))}"
             for t in tightened],
        ),
        row(
            head("Preload as tightened", "force", system),
            [between(float(t.preload.least), float(t.preload.highest), "force")
             for t in tightened],
        ),
        row(
            "Friction of the minimum and of the maximum preload, thread / head",
            [f"{_line(t.minimum)} and {_line(t.maximum)}" for t in tightened],
        ),
        row(
            head("Preload in service", "force", system),
            [between(float(s.least), float(s.highest), "force") for s in service],
        ),
        *_temperatures(found, system),
        row(
            head("Preload that brings the screw to yield, twist included", "force", system),
            [between(float(y.least), float(y.highest), "force")
             for y in (each.preload.yield_preload for each in states)],
        ),
        row(
            head("Torque that would strip the thread", "torque", system),
            [between(float(t.least), float(t.highest), "torque")
             for t in (each.strip_torque_nm for each in states)],
        ),
        row(
            head("Permissible torque: every margin holds", "torque", system),
            [window(*each.window_nm) for each in states],
        ),
        row(
            head("Torque for the original's middle preload", "torque", system),
            [torque(each.same_preload_nm) for each in states],
        ),
        *_margins(states),
    ]  # fmt: skip
    return ReportTable(
        ["Tightening", *(STATE_WORDS[each.state] for each in states)],
        rows,
        caption=f"Tightening by {found.inputs.tool.title}, friction {found.inputs.head.words} "
        f"under the head; all of it a band, the drawing authority rules. {found.stated_torque}",
        label="tightening",
        alignment=["left", "right", "right"],
    )


def _temperatures(found: Preloads, system: str) -> list[tuple[str, ...]]:
    """What each temperature of service makes of the preload, a row for each but the assembly's."""
    return [
        (
            f"{head('Change of preload', 'force', system)}, at most, at "
            f"{plain(temperature, dimension='temperature', system=system)}",
            *(
                cell(each.preload.changes[temperature], "force", system)
                for each in found.states.values()
            ),
        )
        for temperature in found.inputs.temperatures[1:]
    ]


def _margins(states: tuple[StatePreload, ...]) -> list[tuple[str, ...]]:
    """Return a row for each mode and strength, the least margin of each state."""
    least: dict[str, dict[str, float]] = {}
    for each in states:
        for m in each.margins:
            words = (YIELD_WORDS if m.against == "yield" else MODE_WORDS)[m.mode]
            row = least.setdefault(words, {})
            row[each.state] = min(row.get(each.state, math.inf), m.margin)
    return [
        (f"Margin, {words}", *(_margin(row.get(each.state)) for each in states))
        for words, row in least.items()
    ]


def _line(line: FrictionLine) -> str:
    return f"{float(line.thread_friction):.3g} / {float(line.head_friction):.3g}"


def _friction(found: Preloads, state: str) -> str:
    friction = found.inputs.thread[state]
    return f"{friction.low:.2f} to {friction.high:.2f}"


def _margin(value: float | None) -> str:
    if value is None:
        return "–"
    return f"{value:+.2f}" + (" FAILS" if value < 0 else "")


def caution(study: Study) -> Markdown:
    """Return the caution that goes with every torque."""
    found = study.preloads
    return Markdown("" if found is None else f"> {escape.markdown(found.caution)}")


_MARKS = {"limit": "Limit", "caution": "Caution", "info": "Note"}


def notes(study: Study) -> Markdown:
    """Say what the numbers rest on and what they show."""
    return _notes(study.preloads, tuple(_MARKS))


def warnings(study: Study) -> Markdown:
    """Say the same without what is only of interest to the checker."""
    return _notes(study.preloads, ("limit", "caution"))


def _notes(found: Preloads | None, levels: tuple[str, ...]) -> Markdown:
    notices = () if found is None else found.notices
    return Markdown(
        "\n".join(
            f"- **{_MARKS[each.level]}.** {escape.markdown(each.text)}"
            for level in levels
            for each in notices
            if each.level == level
        )
    )


def line(study: Study) -> Markdown:
    """Say in one paragraph what is set and read at the wrench."""
    case, found = study.case, study.preloads
    if found is None:
        return Markdown(f"{_NOTHING} Take the torque from the drawing.")
    each = found.repaired
    tightened, system = each.preload.tightened, case.report_units
    running = found.inputs.prevailing_nm["repaired"][1]
    words = (
        f"**Torque: {show(float(tightened.torque_nm), 'torque', system=system)}**, by "
        f"{found.inputs.tool.title}"
    )
    if running:
        at_most = float(tightened.torque_nm) + running
        words += (
            f". {found.stated_torque} With the prevailing torque at its limit of "
            f"{show(running, 'torque', system=system)} the wrench stands at "
            f"{show(at_most, 'torque', system=system)}"
        )
    low, high = (
        show(float(value), "force", system=system)
        for value in (tightened.preload.least, tightened.preload.highest)
    )
    words += f". It gives a preload of {low} to {high}; "
    least, most = each.window_nm
    if math.isnan(most):
        words += "the screw's yield strength is not known."
    elif least > most:
        words += "**no torque holds every margin of safety.**"
    else:
        ends = [show(value, "torque", system=system) for value in (least, most)]
        words += f"every margin of safety holds from {ends[0]} to {ends[1]}."
    if not least <= float(tightened.torque_nm) <= most:
        words += " **The torque of the case lies outside: have it agreed first.**"
    return Markdown(f"{words} {escape.markdown(found.caution)}")


def preload_figure(study: Study) -> ReportFigure | Markdown:
    """Draw the preload bands of both states against what strips, yields and opens."""
    case, evaluation, found = study.case, study.evaluation, study.preloads
    if found is None:
        return Markdown("")
    load = case.design_load or 0.0
    need = case.separation_factor * (1 - found.share[1]) * load
    bars = {
        state: PreloadBar(
            least=float(each.preload.service.least),
            middle=float(each.preload.service.middle),
            highest=float(each.preload.service.highest),
            strip=evaluation.states[state].pull_out,
            at_yield=float(each.preload.yield_preload.least),
        )
        for state, each in found.states.items()
    }

    def force(value: float) -> str:
        return show(value, "force", system=case.report_units)

    words = "; ".join(
        f"{STATE_WORDS[state]} {force(bar.least)} to {force(bar.highest)}, strips "
        f"at {force(bar.strip)}"
        for state, bar in bars.items()
    )
    return ReportFigure(
        preload_band(bars, need=need, system=case.report_units),
        caption="Preload in service, from the minimum to the maximum, against the loads that bring "
        "the screw to yield and strip the thread, and the preload that keeps the joint shut.",
        alt=f"Two bands of preload: {words}.",
        label="preload",
    )
