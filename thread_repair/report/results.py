"""Every number of a report as one document, `results.json`."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .. import case as cases
from .. import facts, inserts, joint, materials, program, tables, threads, words
from ..alternatives import ASSESSMENTS, dispositions
from ..alternatives import summary as alternatives_summary
from ..case import Case
from ..facts import Fact
from ..joint.criterion import damaged_diameter
from ..joint.margins import Margin
from ..joint.records import Evaluation, StateResult
from ..study import Criterion, Study, study
from ..tables import Reference
from ..tightening import CAUTION, STATED_TORQUE, Preloads, StatePreload
from ..units import unit_inside
from ..workshop import WorkshopSheet
from . import run
from .paths import finite, picked

if TYPE_CHECKING:  # what samples is imported on use
    from ..study.chances import Chances
    from ..study.evidence import CaseEvidence
    from ..uncertainty.pull_tests.evidence import GroupEvidence

FORMAT = "thread-repair-results/1"
#: Of the points of a load-slip curve, every third draws the same line.
_EVERY = 3
_COVERS = "one pitch in a thick wall, rigid insert, no factors"


def results(case: Case | Study, *, with_chances: bool = True) -> dict[str, Any]:
    """Return the whole document; keys are added to it over time, never renamed.

    Without `with_chances` the keys `reliability` and `pull_tests` are left out, and with them half
    of the time. Its sentences are in SI whatever the units of the report.
    """
    whole = case if isinstance(case, Study) else study(case)
    case = whole.case
    found, least = whole.evaluation, whole.minimum_parent
    sheet, tightened = whole.sheet, whole.preloads
    hole = inserts.insert_hole(found.joint.thread, found.joint.insert_hole_class)
    of_torque = () if tightened is None else tightened.references
    rests_on = (*found.references, *sheet.references, *of_torque)
    document = {
        "format": FORMAT,
        "case": entered(case),
        "parent": _parent(whole),
        "hole_found": {
            "condition": case.hole_condition,
            "damaged_diameter_mm": damaged_diameter(found.joint),
        },
        "minimum_parent": {
            **picked("minimum_parent", least),
            "hardness": {"scale": "HB", "value": least.brinell} if least.brinell > 0 else None,
        },
        "thread": _thread(found),
        "insert_hole": {**picked("internal", hole), "hole_class": hole.hole_class},
        "states": {
            name: {
                **_state(state, assessed=whole.holds_insert or name == "original"),
                "required_by_method": [
                    {**picked("required", each), "reason": _said(each.reasons)}
                    for each in whole.required
                    if each.state == name
                ],
            }
            for name, state in found.states.items()
        },
        "comparison": {
            "pull_out_ratio": found.pull_out_ratio if whole.holds_insert else None,
            "strength_ratio": found.strength_ratio if whole.holds_insert else None,
            "verdict": _said(whole.statements[2:]),
            "effects": picked("effects", found),
        },
        **options(whole),
        "criteria": [_criterion(each) for each in whole.criteria],
        "facts": [facts.as_data(each) for each in whole.facts],
        "certified": picked("certified", whole),
        "collapse": {
            name: {**each, "covers": _COVERS} for name, each in picked("collapse", whole).items()
        },
        "margins": [_margin(m) for m in whole.margins],
        "required_insert": {
            **picked("required_insert", whole.recommended),
            "standard_table": whole.table_check and picked("standard_table", whole.table_check),
        },
        "sharing": picked("sharing", whole),
        "load_slip": _load_slip(whole),
        "workshop": _workshop(sheet),
        "tightening": None if tightened is None else _tightening(tightened),
        "notices": [{"level": each.level, "text": words.sentence(each)} for each in whole.facts],
        "sources": list(map(_source, tables.ledger(rests_on))),
        "inputs_sha256": case.inputs_sha256,
        "version": program.version(),
    }
    return {**finite(document), **(chances(whole) if with_chances else {})}


def entered(case: Case) -> dict[str, str]:
    """Return the keys of a case as they were understood."""
    return {key: words.given(value) for key, value in cases.understood(case).items()}


def leave(whole: object) -> None:
    """Leave what only the notebook computed to whoever runs it, in its folder."""
    if isinstance(whole, Study) and "chances" in vars(whole):
        Path(run.LEFT).write_text(json.dumps(chances(whole)), "utf-8")
    elif hasattr(whole, "as_data"):  # a verification, which is not imported for every case
        Path(run.LEFT).write_text(json.dumps(whole.as_data()), "utf-8")


def chances(whole: Study) -> dict[str, Any]:
    """Return what stands under `reliability` and, for a case with test pieces, `pull_tests`."""
    document = {"reliability": _reliability(whole.chances)}
    if whole.case.pull_tests:
        document["pull_tests"] = _pull_tests(whole.evidence, whole.case.pull_tests)
    return dict(finite(document))


def _reliability(found: Chances) -> dict[str, Any]:
    import pandas as pd  # on use, as what samples

    under = "_fails_under_preload"
    known = picked("probability", found)
    shares = pd.DataFrame(found.drivers["repaired strip load"])
    return {
        **picked("reliability", found),
        "probabilities": {n: p for n, p in known.items() if not n.endswith(under)},
        "under_preload": {n.removesuffix(under): p for n, p in known.items() if n.endswith(under)},
        "negative_margins": len(found.failing),
        "quantiles": found.simulation.quantiles(),
        "drivers": shares[["input", "first", "total"]].to_dict("records"),
        "facts": [facts.as_data(each) for each in found.facts],
    }


def _pull_tests(found: CaseEvidence, file: str) -> dict[str, Any]:
    document = {
        "file": file,
        **picked("pull_tests", found),
        "groups": [_specimens(group, found) for group in found.evidence.groups],
        "facts": [facts.as_data(each) for each in (*found.statements, *found.cautions)],
    }
    if found.evidence.comparison is not None:
        document["comparison"]["verdict"] = found.evidence.comparison.verdict
    return document


def _specimens(found: GroupEvidence, of_case: CaseEvidence) -> dict[str, Any]:
    group = picked("specimens", found)
    for each in group["agreement"]:
        each["predicted_N"] = of_case.predictions[found.group.state][each["method"]]
    if found.outlier is not None:
        group["outlier"]["found"] = found.outlier.found
    for each, bound in zip(group["bounds"], found.bounds, strict=True):
        each["governs"] = bound is found.governing(bound.claim)
        each["note"] = bound.note.id if bound.note else ""
    return dict(group)


def _parent(whole: Study) -> dict[str, Any]:
    """The designation as typed, the row whose values are used, and the document between them."""
    named, estimate = materials.designation(whole.case.parent), cases.hardness(whole.case)
    used = cases.estimate(whole.case) is not None
    record = {
        "named": named,
        "parent": whole.evaluation.joint.parent,
        "reference": named.reference and _source(named.reference),
        "hardness": estimate and {**picked("hardness", estimate), "used": used},
    }
    return dict(picked("parent", record))


def _thread(found: Evaluation) -> dict[str, Any]:
    thread = found.joint.thread
    hole = threads.internal_limits(thread, found.joint.hole_class)
    record = {
        "thread": thread,
        "stress_area": joint.stress_area(found.joint),
        "screw": threads.external_limits(thread, found.joint.screw_class),
        "hole": hole,
    }
    return {**picked("thread", record), "internal": picked("internal", hole)}


def _state(state: StateResult, *, assessed: bool) -> dict[str, Any]:
    """A condition of the hole; without strength where the hole as found holds no insert."""
    return {
        **picked("state", state),
        **picked("strength", state if assessed else None),
        "assessed": assessed,
        "thread_height_percent": 100 * state.sizes.thread_height,
    }


def _load_slip(whole: Study) -> dict[str, Any]:
    """Curves up to where the sharing model's most loaded thread parts; empty where not assessed."""
    return {
        name: {
            "travel_mm": found.travel[::_EVERY].tolist(),
            "load_N": found.load[::_EVERY].tolist(),
            **picked("load_slip", found),
        }
        for name, found in whole.load_slip.states.items()
    }


def options(whole: Study) -> dict[str, Any]:
    """Return the options of a repair, with the conclusion that they stand beside."""
    drawn = whole.conclusion
    document = {
        "conclusion": {
            **picked("conclusion", drawn),
            "text": words.sentence(whole.statements[0]),
            "failed": [name for _, name in drawn.failed],
            "conditions": [name for _, name in drawn.conditions],
        },
        "alternatives": [
            {
                **picked("alternative", option),
                "size": "" if option.size is None else words.sentence(option.size),
                "verdict": ASSESSMENTS[option.assessment],
                "reason": _said(option.reasons),
                "usual": dispositions()[option.kind].usual,
            }
            for option in whole.alternatives
        ],
        "alternatives_summary": words.sentence(alternatives_summary(whole.alternatives)),
    }
    return dict(finite(document))


def _said(found: Iterable[Fact]) -> str:
    return " ".join(map(words.sentence, found))


def _criterion(each: Criterion) -> dict[str, Any]:
    """A criterion with numbers in the units inside; null where there is none."""
    known = each.required or each.repaired or each.original
    return {**picked("criterion", each), "dimension": known and known.dimension}


def _margin(margin: Margin) -> dict[str, Any]:
    """One margin: `demand_N` with its preload has its factors in it, and then `factor` is 1."""
    load = margin.case
    factor = 1.0 if load.preload else load.factor * load.fitting
    return {**picked("margin", margin), "demand_N": margin.demand / factor, "factor": factor}


def _workshop(sheet: WorkshopSheet) -> dict[str, Any]:
    """Limits of the part that the strength counts on, and what is chosen for the hole by topic.

    The depths of a blind hole are null in a through hole.
    """
    depths = [key for key in sheet.numbers if key.startswith("drill_depth")]
    governing = {each.topic: each.rule for each in sheet.rules if each.governs}
    return {
        **sheet.numbers,
        **dict.fromkeys(depths if sheet.hole_kind == "through" else ()),
        "limits": [
            {**picked("limit", each), "unit": unit_inside(each.dimension)} for each in sheet.assumed
        ],
        "hole_class": sheet.hole.hole_class,
        "no_go_rule": governing["no_go"],
        "set_down_rule": governing["set_down"],
        **{topic: each.option for topic, each in sheet.choices.items()},
        "cautions": [each["id"] for each in sheet.cautions],
    }


def _tightening(found: Preloads) -> dict[str, Any]:
    return {
        **picked("tightening", found),
        "states": {name: _preload(found, each) for name, each in found.states.items()},
        "caution": words.sentence(CAUTION),
        "stated_torque": words.sentence(STATED_TORQUE),
    }


def _preload(found: Preloads, each: StatePreload) -> dict[str, Any]:
    thread, changes = found.inputs.thread[each.state], each.preload.changes
    return {
        **picked("preload", each),
        "thread_friction": [thread.low, thread.high],
        "prevailing_torque_Nm": found.inputs.prevailing_nm[each.state],
        "thermal_change_N": changes[found.inputs.temperatures[1]] if len(changes) > 1 else 0.0,
        "thermal_changes": [{"temperature_C": t, "change_N": n} for t, n in changes.items()],
        "margins": {
            "strip": each.least(),
            "tension": each.least("screw_tension"),
            "yield": each.least("screw_tension", "yield"),
            "separation": each.least("separation", "separation"),
        },
    }


def _source(reference: Reference) -> dict[str, Any]:
    record = {"reference": reference, "document": tables.source(reference.source)}
    return dict(picked("source", record))
