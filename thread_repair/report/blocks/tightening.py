"""Torque, preload and margins of both conditions as passages and tables."""

from typing import Any

from IPython.display import Markdown

from ... import words
from ...facts import Fact, Range, Term, fact
from ...study import Study
from ...tightening import CAUTION, STATED_TORQUE, StatePreload
from ...units import number, plain
from ..figure import ReportTable
from . import layout
from .layout import by_level, said, units


def table(study: Study) -> ReportTable | Markdown:
    """Tabulate tool, torque, preload range and limits, a column for each condition."""
    found = study.preloads
    if found is None:
        return Markdown(words.term(Term("tightening", "neither")))
    inputs, hot = found.inputs, found.inputs.temperatures[1:]
    under = " to ".join(dict.fromkeys(map(number, (inputs.head.low, inputs.head.high))))
    if inputs.head.published is not None:
        under += f" ({inputs.head.published.title})"
    rows = [
        {
            "inputs": inputs,
            "of": state,
            "prevailing": inputs.prevailing_nm[name][1],
            "thread": (inputs.thread[name].low, inputs.thread[name].high),
            "head": under,
            "changes": [*(state.preload.changes[each] for each in hot), "", ""],
            "separation": {m.mode: m.demand for m in state.margins}.get("separation", ""),
            "strip": study.evaluation.states[name].pull_out,
            "window": window(state),
        }
        for name, state in found.states.items()
    ]
    at: dict[str, Any] = {"set": found.repaired.what, "first": "", "second": ""} | {
        name: plain(each, dimension="temperature", system=units(study))
        for name, each in zip(("first", "second"), hot, strict=False)
    }
    stated = said(study, STATED_TORQUE)
    return layout.table("tightening", rows, study, stated=stated, **at)


def window(found: StatePreload) -> Range | str:
    """Return the permissible torque, "none", or a dash where it is not known."""
    return found.window or {"none": "none", "unknown": "–"}[found.permissible]


def caution(study: Study, *, mark: str = ">") -> Markdown:
    """Return the caution that goes with every torque, set apart or as one of a list ("-")."""
    return Markdown("" if study.preloads is None else f"{mark} {said(study, CAUTION)}")


def _facts(study: Study) -> tuple[Fact, ...]:
    return tuple(study.told(() if study.preloads is None else study.preloads.facts))


def notes(study: Study) -> Markdown:
    """Say what the numbers rest on and what they show."""
    return by_level(study, _facts(study))


def warnings(study: Study) -> Markdown:
    """Say the same without what is only of interest to the checker; of a lost hole the limits."""
    silent = ("info",) if study.holds_insert else ("info", "caution")
    return by_level(study, (each for each in _facts(study) if each.level not in silent))


def line(study: Study) -> Markdown:
    """Say in one paragraph what is set and read at the wrench; nothing of a lost hole."""
    untold = study.preloads is None and not study.sheet_released
    if untold or not study.holds_insert:
        return layout.passage(study, fact("no_torque", "limit"))
    if study.preloads is None:
        return Markdown(words.term(Term("tightening", "from_drawing")))
    bold = ("set_torque", "set_preload", "torque_outside", "preload_outside")
    marks = ((each, "**" * (each.id in bold)) for each in study.preloads.settings)
    return Markdown(" ".join(f"{mark}{said(study, each)}{mark}" for each, mark in marks))
