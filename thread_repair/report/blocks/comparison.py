"""The comparison as passages and tables."""

from __future__ import annotations

import math

from IPython.display import Markdown

from ... import words
from ...facts import Term
from ...joint.margins import LoadCase
from ...joint.records import BudgetStep, ModeResult
from ...strength.methods import METHODS
from ...study import Study
from ...units import number, percent, signed
from .. import escape, formulas
from ..figure import Markup, ReportTable
from .cells import (
    cell,
    diameter,
    head,
    load_case_words,
    margin_words,
    marked,
    mode_words,
    sentences,
    state_words,
)


def passage(text: str) -> Markdown:
    """Return a sentence of the package as a paragraph, taken literally."""
    return Markdown(escape.markdown(text))


def effects_table(study: Study) -> ReportTable:
    """The ratio of pull-out strengths taken apart; the product is the ratio."""
    evaluation = study.evaluation
    rows = [
        (e.name, number(e.ratio), words.term(Term("effect", e.name))) for e in evaluation.effects
    ]
    rows.append(
        (
            "product",
            number(evaluation.pull_out_ratio),
            "thread-stripping strength, repaired over original",
        )
    )
    return ReportTable(
        ["Effect", "Factor", "Contribution"],
        rows,
        caption="Contributions to the strength ratio",
        label="effects",
        alignment=["left", "right", "left"],
    )


def budget_table(study: Study) -> ReportTable:
    """From the nominal to the engaged length, for both states."""
    case, evaluation = study.case, study.evaluation
    system = case.report_units
    rows = []
    for name, state in evaluation.states.items():
        rows += [(state_words(name), *_step(step, system)) for step in state.budget]
        rows.append((state_words(name), "engaged", cell(state.engagement, "length", system), ""))
    return ReportTable(
        ["Condition", "Step", head("Length", "length", system), "Reason"],
        rows,
        caption="Engagement budget",
        label="budget",
        alignment=["left", "left", "right", "left"],
    )


def _step(step: BudgetStep, system: str) -> tuple[str, str, str]:
    return (
        words.term(Term("budget_step", step.step)),
        cell(float(step.mm), "length", system),
        words.sentence(step.why, system=system),
    )


def sizes_table(study: Study) -> ReportTable:
    """The diameters that enter the areas, for both states."""
    case, evaluation = study.case, study.evaluation
    system = case.report_units
    original, repaired = (state.sizes for state in evaluation.states.values())
    names = (
        ("major diameter of the external thread: screw or installed insert", "crest"),
        ("pitch diameter of the tapped hole", "hole_pitch"),
        ("minor diameter of the tapped hole", "hole_minor"),
        ("basic major diameter of the tapped hole", "hole_major"),
        ("pitch diameter of the screw", "screw_pitch"),
        ("pitch diameter of the internal thread that engages the screw", "inner_pitch"),
        ("minor diameter of the internal thread that engages the screw", "inner_minor"),
    )
    rows = [
        (words, diameter(getattr(original, key), system), diameter(getattr(repaired, key), system))
        for words, key in names
    ]
    rows.append(
        (
            "thread height: overlap of crest and hole over that of the basic profile",
            percent(original.thread_height),
            percent(repaired.thread_height),
        )
    )
    position = evaluation.joint.tolerance_position
    return ReportTable(
        [head("Diameter", "length", system), "Original", "Repaired"],
        rows,
        caption=f"Diameters at the tolerance position {position}, the same for both conditions",
        label="sizes",
        alignment=["left", "right", "right"],
    )


def modes_table(study: Study) -> ReportTable:
    """Every failure mode of both states by the method the verdict uses."""
    case, evaluation = study.case, study.evaluation
    system = case.report_units
    rows = []
    for name, state in evaluation.states.items():
        for mode in sorted((m for m in state.modes if m.primary), key=lambda m: m.capacity):
            governs = mode.mode == state.governing_mode
            rows.append(
                (
                    state_words(name),
                    mode_words(mode.mode),
                    cell(mode.area, "area", system),
                    cell(mode.stress, "stress", system),
                    number(mode.factor),
                    cell(mode.capacity, "force", system),
                    equation(formulas.mode_label(mode.mode)),
                    "governs" if governs else "",
                )
            )
    return ReportTable(
        [
            "Condition",
            "Failure mode",
            head("Area", "area", system),
            head("Stress", "stress", system),
            "Factor",
            head("Capacity", "force", system),
            "Eq.",
            "Weakest",
        ],
        rows,
        caption="Failure modes, the weakest of each condition first",
        label="modes",
        alignment=["left", "left", "right", "right", "right", "right", "left", "left"],
    )


def methods_table(study: Study) -> ReportTable:
    """Strip load of the parent's thread by every published method, never averaged."""
    case, evaluation = study.case, study.evaluation
    system = case.report_units
    loads = {
        name: {m.method: m for m in state.modes if m.mode == "parent_thread_strip"}
        for name, state in evaluation.states.items()
    }
    rows = []
    for method, original in loads["original"].items():
        repaired = loads["repaired"][method]
        comparable = METHODS[method.removesuffix("_unfactored")].for_wire_inserts
        rows.append(
            (
                _method_words(method, primary=original.primary),
                cell(original.capacity, "force", system),
                cell(repaired.capacity, "force", system),
                number(repaired.capacity / original.capacity) if comparable else "–",
                equation(
                    formulas.mode_label("parent_thread_strip")
                    if original.primary
                    else formulas.method_label(method.removesuffix("_unfactored"))
                ),
                _range_words(original, repaired, system),
            )
        )
    return ReportTable(
        [
            "Method",
            head("Original", "force", system),
            head("Repaired", "force", system),
            "Ratio",
            "Eq.",
            "Within range",
        ],
        rows,
        caption="Thread-stripping load of the parent thread by every published method",
        label="methods",
        alignment=["left", "right", "right", "right", "left", "left"],
    )


def equation(label: str) -> Markup:
    """Refer to an equation by its number; a dash where the report does not show it."""
    return Markup(f"[-@{label}]")


def _range_words(original: ModeResult, repaired: ModeResult, system: str) -> str:
    """Whether a method is within its range, or why it has no value."""
    for mode in (original, repaired):
        if math.isnan(mode.capacity):
            return " ".join(words.sentence(note, system=system) for note in mode.notes)
    return "yes" if original.valid and repaired.valid else "no"


def _method_words(method: str, *, primary: bool) -> str:
    """Name a method as its document is named; say which one the verdict uses."""
    if primary:
        return "FED-STD-H28/2B area, factors of SAE 770420 limited to 1 (reference method)"
    return METHODS[method.removesuffix("_unfactored")].title


def margins_table(study: Study) -> ReportTable | Markdown:
    """Every margin with its sign, the least first."""
    found = sorted(study.margins, key=lambda m: m.margin)
    if not found:
        return passage("No limit load is stated, so that no margin of safety is assessed.")
    system = study.case.report_units
    rows = [
        (
            words.term(Term("margin_at", "service" if m.case.at is None else "assembly"))
            + load_case_words(m),
            state_words(m.state),
            margin_words(m),
            cell(m.case.preload, "force", system) if m.case.preload else "–",
            *_load_of(m.case, system),
            cell(m.demand, "force", system),
            cell(m.capacity, "force", system),
            signed(m.margin) + (" FAILS" if m.margin < 0 else ""),
        )
        for m in found
    ]
    return ReportTable(
        [
            "Load case",
            "Condition",
            "Failure mode",
            head("Preload", "force", system),
            "Factors × load factor",
            head("Load", "force", system),
            head("Demand", "force", system),
            head("Capacity", "force", system),
            "Margin of safety",
        ],
        rows,
        caption="Margins of safety: capacity over demand, less one; zero is sufficient; smallest "
        "first. The demand is the preload plus the factored load times the load factor; against "
        "separation the capacity is the minimum preload",
        label="margins",
        lead="@tbl:margins lists every margin of safety under every load case.",
        alignment=["left", "left", "left", *(["right"] * 6)],
    )


def _load_of(load: LoadCase, system: str) -> tuple[str, str]:
    """Say what of the load is in a demand: its factors and share, and the load itself."""
    if not load.share * load.load:
        return "–", "–"
    parts = [f"{x:.4g}" for x in (load.factor, load.fitting, load.share) if x != 1]
    return " × ".join(parts) or "1", cell(load.load, "force", system)


def limits(study: Study) -> Markdown:
    """What the reader of the summary must not miss; empty where there is nothing."""
    found = sentences(study, (each for each in study.limitations if each.level == "limit"))
    return Markdown("\n".join(f"- {escape.markdown(text)}" for text in found))


def notices(study: Study) -> Markdown:
    """Limits and assumptions of this study, as a list."""
    return marked(study, study.limitations)
