"""Both conditions of the hole side by side, and the other repairs."""

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from IPython.display import Markdown

from ... import tables, words
from ...facts import Fact, Term, condition, force, length, load_case, mode
from ...joint import screw_tension_max
from ...joint.margins import CERTIFIED, least_by
from ...joint.records import Effect, ModeResult
from ...strength.methods import METHODS
from ...strength.strip import STATES
from ...study import Study
from ...study.shown import margin_term, option_name
from ...units import number, percent, signed
from ..figure import ReportFigure, ReportTable
from ..formulas.of_strength import method_label, mode_label
from .conclusion import ACCEPTED
from .layout import bullets, by_level, figure, table, table_or_words, units

#: Height of the drawing on a page that it shares, mm.
_SHARED = 92.0


def section_figure(study: Study, of: str = "") -> ReportFigure:
    """Draw both holes to scale, with drilled, tapped and engaged depths.

    `of` names the hole, where a document has several; such a figure is lower and has no label.
    """
    original, repaired = study.evaluation.original, study.evaluation.repaired
    return figure(
        "section",
        study.plot.section(height=_SHARED) if of else study.plot.section(),
        study,
        named=not of,
        of=f"{words.capital(of)}. " if of else "",
        engaged=length(original.engagement),
        cylinder=length(original.sizes.crest),
        coil=length(repaired.engagement),
        outside=length(repaired.sizes.crest),
    )


def strip_load_figure(study: Study) -> ReportFigure:
    """Strip load of both states against nominal length."""
    evaluation = study.evaluation
    return figure(
        "strip-load",
        study.plot.strip_load(),
        study,
        side="above" if evaluation.pull_out_ratio > 1 else "below",
        original=force(evaluation.original.pull_out),
        repaired=force(evaluation.repaired.pull_out),
        least=force(evaluation.original.mode("screw_tension").capacity),
        most=force(screw_tension_max(evaluation.joint)),
    )


def effects_table(study: Study) -> ReportTable:
    """The ratio of pull-out strengths taken apart; the product is the ratio."""
    whole = Effect(name="product", ratio=study.evaluation.pull_out_ratio)
    return table("effects", (*study.evaluation.effects, whole), study)


def budget_table(study: Study) -> ReportTable:
    """From the nominal to the engaged length, for both states."""
    rows: list[tuple[object, ...]] = []
    for name, state in study.evaluation.states.items():
        rows += [(name, each.step, float(each.mm), each.why) for each in state.budget]
        rows.append((name, "engaged", state.engagement, ""))
    return table("budget", rows, study)


def sizes_table(study: Study) -> ReportTable:
    """The diameters that enter the areas, for both states."""
    sizes = [state.sizes for state in study.evaluation.states.values()]
    rows = [
        (text, *(percent(x) if key == "thread_height" else x
                 for x in (getattr(each, key) for each in sizes)))
        for key, text in words.catalogue()["terms"]["size"].items()
    ]  # fmt: skip
    position = study.evaluation.joint.tolerance_position.replace("-", " ")
    return table("sizes", rows, study, position=position)


def modes_table(study: Study) -> ReportTable:
    """Every failure mode of both states by the method the verdict uses."""
    return table("modes", mode_rows(study), study)


def mode_rows(study: Study) -> Iterator[Mapping[str, object]]:
    """Yield every mode of the reference method, the weakest of each condition first."""
    for name, state in study.evaluation.states.items():
        for each in sorted((m for m in state.modes if m.primary), key=lambda m: m.capacity):
            governs = "governs" if each.mode == state.governing_mode else ""
            yield {"state": name, "mode": each, "eq": mode_label(each.mode), "governs": governs}


def methods_table(study: Study) -> ReportTable:
    """Strip load of the parent's thread by every published method, never averaged."""
    states = study.evaluation.states.values()
    own = [state.mode("parent_thread_strip") for state in states]
    loads = [
        (words.term(Term("method", "reference")), mode_label("parent_thread_strip"), own, True)
    ]
    for id_, each in METHODS.items():
        pair = [state.rivals[id_] for state in states]
        loads.append((each.title, method_label(id_), pair, each.for_wire_inserts))
    rows = []
    for title, label, pair, compares in loads:
        before, after = (each.capacity for each in pair)
        ratio = after / before if compares else None
        rows.append((title, before, after, ratio, label, _in_range(pair, units(study))))
    return table("methods", rows, study)


def _in_range(both: Sequence[ModeResult], system: str) -> str:
    """Whether a method is within its range, or why it has no value; each hole by itself."""
    told = [
        " ".join(words.sentence(note, system=system) for note in each.notes)
        if math.isnan(each.capacity)
        else "yes"
        if each.valid
        else "no"
        for each in both
    ]
    if len(set(told)) == 1:
        return told[0]
    return "; ".join(
        f"{name}: {text.removesuffix('.')}" for name, text in zip(STATES, told, strict=True)
    )


def margins_table(study: Study) -> ReportTable | Markdown:
    """Every margin with its sign, the least first."""
    rows = []
    for m in sorted(study.margins, key=lambda m: m.margin):
        told = words.term(Term("margin_at", "service" if m.case.at is None else "assembly"))
        told += words.term(load_case(m.load_case))
        row: dict[str, object] = {"margin": m, "load_case": told, "preload": m.case.preload or None}
        row["mode"] = words.term(margin_term(m))
        if m.case.share * m.case.load:  # else nothing of the load is in the demand
            parts = [f"{x:.4g}" for x in (m.case.factor, m.case.fitting, m.case.share) if x != 1]
            row |= {"factors": " × ".join(parts) or "1", "load": m.case.load}
        rows.append(row)
    return table_or_words("margins", rows, study)


def strength_table(study: Study) -> ReportTable:
    """Both states in the numbers that a decision rests on; of a lost hole the original's."""
    evaluation = study.evaluation
    rows: list[dict[str, object]] = [
        {
            "name": words.term(condition(name)),
            "state": state,
            "mode": words.term(mode(state.governing_mode)),
            "least": least_margin(study, name),
        }
        for name, state in evaluation.states.items()
        if study.holds_insert or name == "original"
    ]
    if not study.holds_insert:
        return table("strengths", rows, study)
    pull_out, strength = number(evaluation.pull_out_ratio), number(evaluation.strength_ratio)
    last = {"engagement": "", "pull_out": pull_out, "strength": strength}
    least = {"margin": "", "load_case": ""}
    rows.append({"name": "repaired / original", "state": last, "mode": "", "least": least})
    return table("strengths", rows, study)


def least_margin(study: Study, state: str) -> Mapping[str, Any]:
    """Return the minimum margin of safety of a condition with its load case.

    As the criteria count: the certified bound's stands beside it, and none hides an unknown one.
    """
    stated = (each for each in study.margins if each.against != CERTIFIED)
    least = least_by(stated, "state").get(state)
    if least is None or math.isnan(least.margin):
        return {"margin": None, "load_case": None}
    return {"margin": least.margin, "load_case": words.term(load_case(least.load_case))}


def limits(study: Study) -> Markdown:
    """What the reader of the summary must not miss; empty where nothing is, or the hole is lost."""
    return bullets(study, _limits(study), ())


def _limits(study: Study) -> tuple[Fact, ...]:
    found = study.limitations if study.holds_insert else ()
    return tuple(each for each in found if each.level == "limit" and each.id not in ACCEPTED)


def notices(study: Study) -> Markdown:
    """Limits and assumptions of this study beside those of page 1, as a list."""
    first = (*_limits(study), *study.open_points)
    return by_level(study, (each for each in study.limitations if each not in first))


def alternatives_table(study: Study, *, drill: bool = False) -> ReportTable:
    """Tabulate every option with its numbers, its assessment and the main reason.

    With `drill` also the limits that the hole is drilled to.
    """
    rows = []
    for each in study.alternatives:
        name, margin = each.least_margin
        least = None if math.isnan(margin) else f"{signed(margin)} ({words.term(mode(name))})"
        rows.append({"name": option_name(each, units(study)), "option": each, "margin": least})
    return table("alternatives", rows, study, without=() if drill else ("Drill",))


#: When the trade takes each option, and who says so: the table, and what its references are of.
DISPOSITIONS = ("alternatives.csv", "usual order of repairs")


def dispositions_table() -> ReportTable:
    """Tabulate when the trade takes each option, with the source."""
    return table("dispositions", tables.referenced(*DISPOSITIONS))
