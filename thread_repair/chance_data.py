"""Chance and evidence of a case as plain data, for `results.json`."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from .reliability import Probability
from .study import Study

if TYPE_CHECKING:
    from .evidence import CaseEvidence, StrengthEvidence
    from .pull_tests.evidence import GroupEvidence


def of(study: Study) -> dict[str, Any]:
    """Return the keys `reliability` and, for a case that names a record, `pull_tests`."""
    found = {"reliability": reliability(study)}
    if study.case.pull_tests:
        found["pull_tests"] = pull_tests(study)
    return found


def reliability(study: Study) -> dict[str, Any]:
    """Chances with their intervals, seed and samples, quantiles and shares of the scatter."""
    found = study.chance
    quantiles = found.simulation.quantiles()
    shares = found.drivers.columns("repaired strip load")
    return {
        "seed": found.simulation.seed,
        "samples": found.simulation.n,
        "confidence": found.simulation.confidence,
        "parent": {
            "value_MPa": found.parent.value,
            "basis": found.parent.basis,
            "scatter": found.parent.scatter,
            "assumed": found.parent.assumed,
            "mean_MPa": found.parent.population.mean,
        },
        "probabilities": {
            name: _probability(p) for name, p in found.simulation.probabilities.items()
        },
        "under_preload": {name: _probability(p) for name, p in found.under_preload.items()},
        "negative_margins": len(found.failing),
        "quantiles": _rows(quantiles),
        "drivers": _rows({name: shares[name] for name in ("input", "first", "total")}),
        "cautions": list(found.cautions),
    }


def _probability(found: Probability) -> dict[str, Any]:
    return {
        "estimate": found.estimate,
        "low": found.low,
        "high": found.high,
        "method": found.method,
    }


def _rows(columns: dict[str, Any]) -> list[dict[str, Any]]:
    """Tidy columns as rows of plain numbers and text."""
    lists = {name: column.tolist() for name, column in columns.items()}
    return [dict(zip(lists, row, strict=True)) for row in zip(*lists.values(), strict=True)]


def pull_tests(study: Study) -> dict[str, Any]:
    """What the test pieces show, in the units of the report."""
    found = study.evidence
    compared = found.evidence.comparison
    return {
        "file": study.case.pull_tests,
        "sha256": found.sha256,
        "note": found.tests.note,
        "seed": found.seed,
        "groups": [_group(group, found) for group in found.evidence.groups],
        "comparison": None
        if compared is None
        else {name: value for name, value in asdict(compared).items() if name != "references"}
        | {"verdict": compared.verdict},
        "shear_strength": [_strength(each) for each in found.strength],
        "curves": [
            {
                "piece": each.piece,
                "peak_N": each.curve.peak,
                "recorded_N": each.recorded,
                "stiffness_N_per_mm": each.curve.stiffness,
                "first_yield_N": each.curve.first_yield,
                "work_N_mm": each.curve.work,
            }
            for each in found.curves
        ],
        "acceptance_N": found.acceptance,
        "limits": list(found.limits),
        "cautions": list(found.cautions),
    }


def _group(found: GroupEvidence, of_case: CaseEvidence) -> dict[str, Any]:
    predicted = of_case.predictions.get(found.group.state, {})
    return {
        "state": found.group.state,
        "size": found.group.size,
        "engagement_mm": found.group.engagement,
        "n": len(found.group.load),
        "modes": dict(found.group.modes),
        "scatter": None if found.scatter is None else asdict(found.scatter),
        "fits": [asdict(fit) for fit in found.fits],
        "bounds": [
            {
                "claim": b.claim,
                "method": b.method,
                "factor": b.factor,
                "bound_N": b.value,
                "governs": b is found.governing(b.claim),
                "note": b.note,
            }
            for b in found.bounds
        ],
        "outlier": None
        if found.outlier is None
        else asdict(found.outlier) | {"found": found.outlier.found},
        "agreement": [{**asdict(a), "predicted_N": predicted[a.method]} for a in found.agreement],
    }


def _strength(found: StrengthEvidence) -> dict[str, Any]:
    update, margin = found.update, found.margin
    return {
        "state": found.group.state,
        "mean_before_MPa": update.prior.mean,
        "mean_after_MPa": update.posterior.mean,
        "low_MPa": update.low,
        "high_MPa": update.high,
        "credible": update.credible,
        "scatter": update.scatter,
        "conflict": update.conflict,
        "bound_MPa": found.bound,
        "margin": None if margin is None else asdict(margin),
    }
