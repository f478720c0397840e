"""Every number of a report as one document, `results.json`, and as a short text."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from . import __version__, inserts, joint, sources, threads
from . import case as cases
from .case import Case
from .evaluation import evaluate
from .joint.bounds import bracket
from .joint.margins import margins
from .joint.records import Evaluation, Margin, ModeResult, StateResult
from .load_cases import load_cases
from .sources import Reference
from .units import number, show

FORMAT = "thread-repair-results/1"


def results(case: Case, *, chances: bool = True) -> dict[str, Any]:
    """Return the whole document; keys are added to it over time, never renamed.

    Without `chances` the keys `reliability` and `pull_tests` are left out, and with them half of
    the time.
    """
    found = evaluate(case)
    document = {
        "format": FORMAT,
        "case": _case(case),
        "thread": _thread(found),
        "insert_hole": _insert_hole(found),
        "states": {name: _state(state) for name, state in found.states.items()},
        "comparison": {
            "pull_out_ratio": found.pull_out_ratio,
            "strength_ratio": found.strength_ratio,
            "verdict": found.verdict,
            "effects": [asdict(effect) for effect in found.effects],
        },
        "collapse": {name: _bracket(found, state) for name, state in found.states.items()},
        "margins": [_margin(m) for m in margins(found, load_cases(case))],
        "notices": [asdict(notice) for notice in found.notices],
        "sources": [_source(reference) for reference in found.references],
        "inputs_sha256": case.inputs_sha256,
        "version": __version__,
    }
    if chances:
        document |= _chances(case)
    finite: dict[str, Any] = _finite(document)
    return finite


def _chances(case: Case) -> dict[str, Any]:
    """Chance and evidence; imported on use, because SciPy takes longer than the comparison."""
    from . import chance_data

    return chance_data.of(case)


def _case(case: Case) -> dict[str, Any]:
    return dict(cases.understood(case))


def _thread(found: Evaluation) -> dict[str, Any]:
    thread = found.joint.thread
    screw = threads.external_limits(thread, found.joint.screw_class)
    hole = threads.internal_limits(thread, found.joint.hole_class)
    return {
        "designation": thread.designation,
        "series": thread.series,
        "major_mm": thread.major,
        "pitch_mm": thread.pitch,
        "stress_area_mm2": joint.stress_area(found.joint),
        "screw_class": screw.screw_class,
        "hole_class": hole.hole_class,
        "external": {
            "major_min_mm": screw.major_min,
            "major_max_mm": screw.major_max,
            "pitch_min_mm": screw.pitch_min,
            "pitch_max_mm": screw.pitch_max,
            "minor_max_mm": screw.minor_max,
        },
        "internal": _internal(hole),
    }


def _insert_hole(found: Evaluation) -> dict[str, Any]:
    thread = found.joint.thread
    hole = inserts.insert_hole(thread, found.joint.insert_hole_class)
    return {**_internal(hole), "hole_class": hole.hole_class}


def _internal(hole: threads.InternalLimits) -> dict[str, float]:
    return {
        "minor_min_mm": hole.minor_min,
        "minor_max_mm": hole.minor_max,
        "pitch_min_mm": hole.pitch_min,
        "pitch_max_mm": hole.pitch_max,
        "major_min_mm": hole.major_min,
    }


def _state(state: StateResult) -> dict[str, Any]:
    return {
        "engagement_mm": state.engagement,
        "budget": [asdict(step) for step in state.budget],
        "modes": [_mode(mode) for mode in state.modes],
        "governing_mode": state.governing_mode,
        "pull_out_mode": state.pull_out_mode,
        "pull_out_N": state.pull_out,
        "strength_N": state.strength,
        "required_engagement_mm": state.required_engagement,
    }


def _mode(mode: ModeResult) -> dict[str, Any]:
    return {
        "mode": mode.mode,
        "method": mode.method,
        "basis": mode.basis,
        "area_mm2": mode.area,
        "stress_MPa": mode.stress,
        "factor": mode.factor,
        "factors": dict(mode.factors),
        "capacity_N": mode.capacity,
        "primary": mode.primary,
        "valid": mode.valid,
        "notes": list(mode.notes),
    }


def _bracket(found: Evaluation, state: StateResult) -> dict[str, Any]:
    known = bracket(found.joint, state)
    return {
        "lower_N": known.lower,
        "upper_N": known.upper,
        "formula_N": known.formula,
        "within": known.within,
        "covers": "one pitch in a thick wall, rigid insert, no factors",
    }


def _margin(margin: Margin) -> dict[str, Any]:
    return {
        "state": margin.state,
        "mode": margin.mode,
        "load_case": margin.load_case,
        "demand_N": margin.demand,
        "factor": margin.factor,
        "capacity_N": margin.capacity,
        "margin": margin.margin,
    }


def _source(reference: Reference) -> dict[str, Any]:
    document = sources.source(reference.source)
    return {
        "id": reference.source,
        "title": document.title,
        "edition": document.edition,
        "clause": reference.clause,
        "how_known": reference.how_known,
        "what": reference.what,
    }


def _finite(value: Any) -> Any:
    """Write what is not a number as null, and drop digits that are only rounding error."""
    if isinstance(value, Mapping):
        return {key: _finite(each) for key, each in value.items()}
    if isinstance(value, (list, tuple)):
        return [_finite(each) for each in value]
    if isinstance(value, float):
        return float(f"{value:.12g}") if math.isfinite(value) else None
    return value


def summary(document: Mapping[str, Any]) -> str:
    """Return the comparison as a few lines of text for a terminal."""
    thread, comparison = document["thread"], document["comparison"]
    lines = [
        f"{thread['designation']} in {document['case']['parent']}, screw "
        f"{document['case']['screw']}",
        "",
        f"{'':12}{'engaged':>10}{'pull-out':>12}{'strength':>12}  governing mode",
    ]
    for name, state in document["states"].items():
        lines.append(
            f"{name:12}{number(state['engagement_mm']) + ' mm':>10}"
            f"{show(state['pull_out_N'], 'force'):>12}{show(state['strength_N'], 'force'):>12}  "
            f"{state['governing_mode']}"
        )
    lines += [
        f"{'ratio':12}{'':10}{number(comparison['pull_out_ratio']):>12}"
        f"{number(comparison['strength_ratio']):>12}",
        "",
        comparison["verdict"],
    ]
    lines += [
        f"margin {_signed(m['margin'])}  {m['state']}, {m['mode']}, {m['load_case']}"
        for m in document["margins"]
    ]
    lines += ["", "A calculation for review by a competent person."]
    return "\n".join(lines)


def _signed(margin: float | None) -> str:
    return "–" if margin is None else f"{margin:+.2f}"
