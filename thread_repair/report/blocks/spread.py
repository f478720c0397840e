"""All methods side by side, why they differ, and the ratio taken apart, as figures and words."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from ... import words
from ...facts import fact, share
from ...joint import Evaluation
from ...joint.records import Effect, ModeResult
from ...strength.methods import METHODS
from ...study import Study
from ...study.plots import method_loads
from ...units import number, show
from ..figure import ReportFigure
from .comparison import passage
from .layout import figure
from .lost import in_sound_metal

if TYPE_CHECKING:
    from IPython.display import Markdown


def _loads(evaluation: Evaluation) -> dict[str, Mapping[str, ModeResult]]:
    return {
        name: {m.method: m for m in state.modes if m.mode == "parent_thread_strip"}
        for name, state in evaluation.states.items()
    }


def _title(method: str) -> str:
    """Title of the document."""
    return METHODS[method.removesuffix("_unfactored")].title


def _counts(method: str) -> bool:
    """Whether the document is about wire thread inserts, so that its loads may be compared."""
    return METHODS[method.removesuffix("_unfactored")].for_wire_inserts


@in_sound_metal
def spread_figure(study: Study) -> ReportFigure:
    """Draw the strip load of the parent by every method, both states, with the screw's band."""
    evaluation = study.evaluation
    methods = method_loads(study)
    known = [method.name for method in methods]
    named = [_title(name) for name in _loads(evaluation)["original"]]
    silent = [name for name in named if name not in known]
    outside = any(not method.in_range for method in methods)
    more = " *: outside the range that its authors gave." if outside else ""
    others = [method.name for method in methods if not method.comparable]
    if others:
        more += f" Grey marks: {', '.join(others)}: not part of the spread."
    if silent:
        more += f" Without a value here: {', '.join(silent)}."
    told = _spread_words(evaluation, study.case.report_units)
    return figure("method-spread", study.plot.methods(), more=more, told=told)


def _spread_words(evaluation: Evaluation, system: str) -> str:
    parts = []
    for name, loads in _loads(evaluation).items():
        known = sorted(
            (m for m in loads.values() if m.capacity > 0 and _counts(m.method)),
            key=lambda m: m.capacity,
        )
        low, high = known[0], known[-1]
        parts.append(
            f"of the {name} thread from {show(low.capacity, 'force', system=system)} "
            f"({_title(low.method)}) to "
            f"{show(high.capacity, 'force', system=system)} "
            f"({_title(high.method)}), a factor of "
            f"{number(high.capacity / low.capacity, 2)}"
        )
    return f"The published methods give a stripping load {'; '.join(parts)}."


@in_sound_metal
def spread_passage(study: Study) -> Markdown:
    """Say by how much the methods differ here and why, in one paragraph with this case's numbers.

    Nothing is averaged: each method is a convention of its own.
    """
    case, evaluation = study.case, study.evaluation
    original = _loads(evaluation)["original"]
    joint, state = evaluation.joint, evaluation.original
    cylinder = math.pi * state.sizes.crest * state.engagement
    full = original["fed_std_h28_unfactored"].area / cylinder
    ratio = joint.parent_shear.value / joint.parent_tensile.value
    said = fact(
        "spread_why",
        "info",
        spread=_spread_words(evaluation, case.report_units),
        full=share(full),
        ratio=f"{ratio:.2f}",
        left_out=share(0.8 * joint.thread.pitch / state.engagement),
    )
    return passage(words.sentence(said))


@in_sound_metal
def effects_figure(study: Study) -> ReportFigure:
    """Draw the factors of the pull-out ratio as steps from 1 to the ratio."""
    evaluation = study.evaluation
    told = _steps_in_words(evaluation.effects, evaluation.pull_out_ratio)
    return figure("ratio-effects", study.plot.effects(), told=told)


def _steps_in_words(parts: Sequence[Effect], ratio: float) -> str:
    """Say what raises the ratio, what lowers it and what leaves it, to the digits in the figure."""
    level = number(1.0)
    moved = [part for part in parts if number(part.ratio) != level]
    told = [f"Steps lead from 1 to the ratio of pull-out strengths, {number(ratio)}."]
    for verb, some in (
        ("raises", [part for part in moved if part.ratio > 1]),
        ("lowers", [part for part in moved if part.ratio < 1]),
    ):
        for part in some:
            told.append(f"The {part.name} {verb} it by the factor {number(part.ratio)}.")
    if len(moved) < len(parts):
        held = [f"the {part.name}" for part in parts if part not in moved]
        told.append(f"It is left as it is by {', '.join(held)}.")
    return " ".join(told)
