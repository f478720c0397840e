"""Torque, preload and margins of both conditions as passages and tables."""

from __future__ import annotations

import math
from collections.abc import Callable

from IPython.display import Markdown

from ... import words
from ...facts import Term
from ...study import Study
from ...tightening import CAUTION, STATED_TORQUE, Band, Friction, StatePreload
from ...units import number, plain, show
from .. import escape
from ..figure import ReportFigure, ReportTable
from . import layout
from .cells import cell, head, marked, sentences, state_words
from .lost import in_sound_metal


@in_sound_metal
def table(study: Study) -> ReportTable | Markdown:
    """Tabulate tool, torque, preload range and limits, a column for each condition."""
    found, system = study.preloads, study.case.report_units
    if found is None:
        return Markdown(_words("neither"))
    inputs, states = found.inputs, tuple(found.states.values())

    def row(
        id_: str, dimension: str, of: Callable[[StatePreload], tuple[float, ...]]
    ) -> tuple[str, ...]:
        def one(value: float) -> str:
            return cell(value, dimension, system)

        return (head(_words(id_), dimension, system), *(_between(of(s), one) for s in states))

    changes = [
        row("change", "force", lambda s, t=t: (s.preload.changes[t],))  # type: ignore[misc]
        for t in inputs.temperatures[1:]
    ]
    at = [plain(t, dimension="temperature", system=system) for t in inputs.temperatures[1:]]
    head_friction = _friction(inputs.head)
    if inputs.head.published is not None:
        head_friction += f" ({inputs.head.published.title})"
    rows = [
        (_words("tool"), *[inputs.tool.title] * 2),
        row("torque", "torque", lambda s: (float(s.preload.tightened.torque_nm),)),
        row("prevailing", "torque", lambda s: (inputs.prevailing_nm[s.state][1],)),
        (_words("thread_friction"), *(_friction(inputs.thread[s.state]) for s in states)),
        (_words("head_friction"), *[head_friction] * 2),
        (_words("nut_factor"), *(_between(_ends(s.preload.tightened.nut_factor)) for s in states)),
        row("preload", "force", lambda s: _ends(s.preload.tightened.preload)),
        row("service", "force", lambda s: _ends(s.preload.service)),
        *((name.replace("{at}", where), *cells)
          for where, (name, *cells) in zip(at, changes, strict=True)),
        row("at_yield", "force", lambda s: _ends(s.preload.yield_preload)),
        row("strip", "torque", lambda s: _ends(s.strip_torque_nm)),
        (_words("window"), *(_window(s, system) for s in states)),
        row("same_preload", "torque", lambda s: (s.same_preload_nm,)),
    ]  # fmt: skip
    return layout.table("tightening", rows, stated=escape.markdown(words.sentence(STATED_TORQUE)))


def _words(id_: str) -> str:
    return words.term(Term("tightening", id_))


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


def caution(study: Study, *, mark: str = ">") -> Markdown:
    """Return the caution that goes with every torque, set apart or as one of a list ("-")."""
    text = escape.markdown(words.sentence(CAUTION))
    return Markdown("" if study.preloads is None else f"{mark} {text}")


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
        return Markdown(_words("from_drawing"))
    said = study.preloads.settings
    bold = ("set_torque", "torque_outside")
    return Markdown(
        " ".join(
            f"**{escape.markdown(text)}**" if each.id in bold else escape.markdown(text)
            for each, text in zip(said, sentences(study, said), strict=True)
        )
    )


@in_sound_metal
def preload_figure(study: Study) -> ReportFigure | Markdown:
    """Draw the preload ranges of both conditions against stripping, yield and separation."""
    system, found = study.case.report_units, study.preloads
    if found is None:
        return Markdown("")

    def force(value: float) -> str:
        return show(value, "force", system=system)

    told = "; ".join(
        f"{state_words(state)} {force(float(each.preload.service.least))} to "
        f"{force(float(each.preload.service.highest))}, stripping at "
        f"{force(study.evaluation.states[state].pull_out)}"
        for state, each in found.states.items()
    )
    return layout.figure("preload", study.plot.preload(), told=told)
