"""The comparison as passages and tables."""

from __future__ import annotations

import math

from IPython.display import Markdown

from ... import words
from ...facts import Term, fact
from ...joint.margins import LoadCase
from ...joint.records import ModeResult
from ...strength.methods import METHODS
from ...study import Study
from ...units import percent
from .. import escape, formulas
from ..figure import ReportTable
from .cells import load_case_words, margin_words, marked, sentences
from .layout import table
from .lost import in_sound_metal


def passage(text: str) -> Markdown:
    """Return a sentence of the package as a paragraph, taken literally."""
    return Markdown(escape.markdown(text))


@in_sound_metal
def effects_table(study: Study) -> ReportTable:
    """The ratio of pull-out strengths taken apart; the product is the ratio."""
    evaluation = study.evaluation
    rows = [(e.name, e.ratio, words.term(Term("effect", e.name))) for e in evaluation.effects]
    product = words.term(Term("effect", "product"))
    return table("effects", [*rows, ("product", evaluation.pull_out_ratio, product)])


@in_sound_metal
def budget_table(study: Study) -> ReportTable:
    """From the nominal to the engaged length, for both states."""
    rows: list[tuple[object, ...]] = []
    for name, state in study.evaluation.states.items():
        rows += [
            (name, words.term(Term("budget_step", step.step)), float(step.mm), step.why)
            for step in state.budget
        ]
        rows.append((name, "engaged", state.engagement, ""))
    return table("budget", rows, study.case.report_units)


@in_sound_metal
def sizes_table(study: Study) -> ReportTable:
    """The diameters that enter the areas, for both states."""
    original, repaired = (state.sizes for state in study.evaluation.states.values())
    names = words.catalogue()["terms"]["size"]
    rows = [
        (text, *(percent(x) if key == "thread_height" else x
                 for x in (getattr(original, key), getattr(repaired, key))))
        for key, text in names.items()
    ]  # fmt: skip
    position = study.evaluation.joint.tolerance_position.replace("-", " ")
    return table("sizes", rows, study.case.report_units, position=position)


@in_sound_metal
def modes_table(study: Study) -> ReportTable:
    """Every failure mode of both states by the method the verdict uses."""
    rows = [
        {"state": name, "mode": mode, "eq": formulas.mode_label(mode.mode),
         "governs": "governs" if mode.mode == state.governing_mode else ""}
        for name, state in study.evaluation.states.items()
        for mode in sorted((m for m in state.modes if m.primary), key=lambda m: m.capacity)
    ]  # fmt: skip
    return table("modes", rows, study.case.report_units)


@in_sound_metal
def methods_table(study: Study) -> ReportTable:
    """Strip load of the parent's thread by every published method, never averaged."""
    system = study.case.report_units
    loads = {
        name: {m.method: m for m in state.modes if m.mode == "parent_thread_strip"}
        for name, state in study.evaluation.states.items()
    }
    rows = []
    for id_, original in loads["original"].items():
        repaired, name = loads["repaired"][id_], id_.removesuffix("_unfactored")
        own = original.primary
        label = formulas.mode_label("parent_thread_strip") if own else formulas.method_label(name)
        comparable = METHODS[name].for_wire_inserts
        rows.append(
            (
                words.term(Term("method", "reference")) if own else METHODS[name].title,
                original.capacity,
                repaired.capacity,
                repaired.capacity / original.capacity if comparable else None,
                label,
                _range_words(original, repaired, system),
            )
        )
    return table("methods", rows, system)


def _range_words(original: ModeResult, repaired: ModeResult, system: str) -> str:
    """Whether a method is within its range, or why it has no value."""
    for mode in (original, repaired):
        if math.isnan(mode.capacity):
            return " ".join(words.sentence(note, system=system) for note in mode.notes)
    return "yes" if original.valid and repaired.valid else "no"


def margins_table(study: Study) -> ReportTable | Markdown:
    """Every margin with its sign, the least first."""
    if not study.margins:
        return passage(words.sentence(fact("margins_no_load", "info")))
    rows = [
        {
            "margin": m,
            "load_case": words.term(
                Term("margin_at", "service" if m.case.at is None else "assembly")
            )
            + load_case_words(m),
            "mode": margin_words(m),
            "preload": m.case.preload or None,
            **_load_of(m.case),
        }
        for m in sorted(study.margins, key=lambda m: m.margin)
    ]
    return table("margins", rows, study.case.report_units)


def _load_of(load: LoadCase) -> dict[str, object]:
    """Say what of the load is in a demand: its factors and share, and the load itself."""
    if not load.share * load.load:
        return {}
    parts = [f"{x:.4g}" for x in (load.factor, load.fitting, load.share) if x != 1]
    return {"factors": " × ".join(parts) or "1", "load": load.load}


def limits(study: Study) -> Markdown:
    """What the reader of the summary must not miss; empty where there is nothing."""
    found = sentences(study, (each for each in study.limitations if each.level == "limit"))
    return Markdown("\n".join(f"- {escape.markdown(text)}" for text in found))


def notices(study: Study) -> Markdown:
    """Limits and assumptions of this study, as a list."""
    return marked(study, study.limitations)
