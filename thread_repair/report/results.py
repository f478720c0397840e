"""Every number of a report as one document, `results.json`: of a case, a part, the program."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .. import alternatives, inserts, joint, materials, program, tables, threads, words
from .. import case as cases
from ..joint.criterion import damaged_diameter
from ..joint.margins import Margin
from ..study import Study, study
from ..tightening import CAUTION, STATED_TORQUE, Preloads, StatePreload
from ..units import unit_inside
from ..workshop import WorkshopSheet
from . import run
from .paths import finite, picked, plain

if TYPE_CHECKING:  # what samples is imported on use
    from ..study.chances import Chances
    from ..study.evidence import CaseEvidence
    from ..study.submission import Submission
    from ..uncertainty.pull_tests.evidence import GroupEvidence
    from ..verification.record import Verification

FORMAT, PART_FORMAT = "thread-repair-results/1", "thread-repair-submission/1"
#: Of the points of a load-slip curve, every third draws the same line.
_EVERY = 3
#: Limits of the part that only some holes have.
_NOT_ALWAYS = (
    "boss_diameter_min_mm", "part_thickness_min_mm", "drilled_depth_min_mm",
    "tightening_torque_min_Nm", "tightening_torque_max_Nm",
)  # fmt: skip
_COVERS = "one pitch in a thick wall, rigid insert, no factors"


def results(case: cases.Case | Study, *, with_chances: bool = True) -> dict[str, Any]:
    """Return the whole document; keys are added to it over time, never renamed.

    Without `with_chances` the keys `reliability` and `pull_tests` are left out, and with them half
    of the time. Its sentences are in SI whatever the units of the report.
    """
    whole = case if isinstance(case, Study) else study(case)
    case, found = whole.case, whole.evaluation
    here, least = found.joint, whole.minimum_parent.brinell
    named, estimate = materials.designation(case.parent), cases.hardness(case)
    rests_on = (*whole.references, *whole.sheet.references, *whole.load_slip.references)
    record = {
        "study": whole,
        "named": named,
        "related": named.reference and _documented(named.reference),
        "hardness": estimate and {"estimate": estimate, "used": cases.estimate(case) is not None},
        "damaged": damaged_diameter(here),
        "least_hardness": {"scale": "HB", "value": least} if least > 0 else None,
        "thread": here.thread,
        "stress_area": joint.stress_area(here),
        "screw": threads.external_limits(here.thread, here.screw_class),
        "hole": threads.internal_limits(here.thread, here.hole_class),
        "insert_hole": inserts.insert_hole(here.thread, here.insert_hole_class),
        "states": {name: _state(whole, state) for name, state in found.states.items()},
        "sound": found if whole.holds_insert else None,
        "verdict": whole.statements[2:],
        "criteria": [(c, c.required or c.repaired or c.original) for c in whole.criteria],
        "collapse": {
            name: {"bounds": each, "covers": _COVERS} for name, each in whole.brackets.items()
        },
        "margins": list(map(_margin, whole.margins)),
        "load_slip": {
            name: {"curve": each, "travel": each.travel[::_EVERY], "load": each.load[::_EVERY]}
            for name, each in whole.load_slip.states.items()
        },
        "tightening": whole.preloads and _tightening(whole.preloads, whole.holds_insert),
        "sources": map(_documented, tables.ledger(rests_on)),
    }
    numbers = picked("results", record)
    if not whole.holds_insert:
        numbers |= {name: _without_repaired(numbers[name]) for name in _OF_STRENGTH}
    document = {
        "format": FORMAT,
        "case": entered(case),
        **numbers,
        "workshop": _workshop(whole.sheet),
        "version": program.version(),
    }
    return {**finite(document), **options(whole), **(chances(whole) if with_chances else {})}


#: What rests on the strength of both conditions, by condition.
_OF_STRENGTH = ("certified", "collapse", "sharing", "load_slip")


def _without_repaired(found: Any, *, lost: bool = False) -> Any:
    """Return plain data whose numbers of the repaired condition are null: nothing holds it.

    Rows of it are left out, and so is what the sample as a whole says: it compares the two.
    """
    if isinstance(found, dict):
        return {
            name: []
            if name in ("drivers", "facts")
            else _without_repaired(each, lost=lost or "repaired" in name)
            for name, each in found.items()
        }
    if isinstance(found, list):
        return [] if lost else [each for each in found if "repaired" not in str(each)]
    return None if lost else found


def entered(case: cases.Case) -> dict[str, str]:
    """Return the keys of a case as they were understood."""
    return {key: words.given(value) for key, value in cases.understood(case).items()}


def leave(whole: Any) -> None:
    """Leave what only the notebook computed to whoever runs it, in its folder."""
    if isinstance(whole, Study) and "chances" in vars(whole):
        Path(run.LEFT).write_text(json.dumps(chances(whole)), "utf-8")
    elif hasattr(whole, "recompute"):  # a verification, which is not imported for every case
        Path(run.LEFT).write_text(json.dumps(verified(whole)), "utf-8")


def verified(whole: Verification) -> dict[str, Any]:
    """Return a verification of the program; README.md names its keys."""
    from ..verification import checks, collapse, record

    bounds = (*collapse.cells(), *collapse.bosses())
    found = {
        "whole": whole,
        "passed": whole.failed == 0,
        "documents": checks.summaries(whole.checks).to_dict("records"),
        "bounds": [(each, float(each.lower), float(each.upper)) for each in bounds],
        "data_sha256": record.data_digest(),
        "version": program.version(),
    }
    return {"format": "thread-repair-verification/1", **picked("verification", found)}


def chances(whole: Study) -> dict[str, Any]:
    """Return what stands under `reliability` and, for a case with test pieces, `pull_tests`."""
    document = {"reliability": _reliability(whole.chances)}
    if not whole.holds_insert:
        document = _without_repaired(document)
    if whole.case.pull_tests:
        document["pull_tests"] = _pull_tests(whole.evidence, whole.case.pull_tests)
    return dict(finite(document))


def _reliability(found: Chances) -> dict[str, Any]:
    under = "_fails_under_preload"
    known = picked("probability", found)
    shares = found.drivers["repaired strip load"]
    names = ("input", "first", "total")
    rows = zip(*(shares[name].tolist() for name in names), strict=True)
    return {
        **picked("reliability", found),
        "probabilities": {n: p for n, p in known.items() if not n.endswith(under)},
        "under_preload": {n.removesuffix(under): p for n, p in known.items() if n.endswith(under)},
        "negative_margins": len(found.failing),
        "quantiles": found.simulation.quantiles(),
        "drivers": [dict(zip(names, row, strict=True)) for row in rows],
    }


def _pull_tests(found: CaseEvidence, file: str) -> dict[str, Any]:
    document = {
        "file": file,
        **picked("pull_tests", found),
        "groups": [_specimens(group, found) for group in found.evidence.groups],
        "facts": plain((*found.statements, *found.cautions), said=False),
    }
    if found.evidence.comparison is not None:
        document["comparison"]["verdict"] = found.evidence.comparison.verdict
    return document


def _specimens(found: GroupEvidence, of_case: CaseEvidence) -> dict[str, Any]:
    group = picked("specimens", found)
    for each in group["agreement"]:
        each["predicted_N"] = of_case.predictions[found.group.key][each["method"]]
    if found.outlier is not None:
        group["outlier"]["found"] = found.outlier.found
    for each, bound in zip(group["bounds"], found.bounds, strict=True):
        each["governs"] = bound is found.governing(bound.claim)
        each["note"] = bound.note.id if bound.note else ""
    return dict(group)


def _documented(reference: tables.Reference) -> dict[str, Any]:
    return {"reference": reference, "document": tables.source(reference.source)}


def _state(whole: Study, state: joint.StateResult) -> dict[str, Any]:
    assessed = whole.holds_insert or state.state == "original"
    return {
        "state": state,
        "strong": state if assessed else None,
        "assessed": assessed,
        "thread_height_percent": 100 * state.sizes.thread_height,
        "required": [each for each in whole.required if each.state == state.state],
    }


def options(whole: Study) -> dict[str, Any]:
    """Return the options of a repair, with the conclusion that they stand beside."""
    drawn = whole.conclusion
    record = {
        "study": whole,
        "failed": [name for _, name in drawn.failed],
        "conditions": [name for _, name in drawn.conditions],
        "alternatives": [
            {
                "option": option,
                "verdict": alternatives.ASSESSMENTS[option.assessment],
                "usual": tables.row("alternatives.csv", "option", option.kind, "option")["usual"],
            }
            for option in whole.alternatives
        ],
        "summary": alternatives.summary(whole.alternatives),
    }
    return dict(finite(picked("options", record)))


def _margin(margin: Margin) -> dict[str, Any]:
    load = margin.case
    factor = 1.0 if load.preload else load.factor * load.fitting
    return {"margin": margin, "demand": margin.demand / factor, "factor": factor}


def _workshop(sheet: WorkshopSheet) -> dict[str, Any]:
    """Limits of the part that the strength counts on, and what is chosen for the hole by topic.

    The depths of a blind hole are null in a through hole.
    """
    numbers = picked("workshop", sheet)
    if sheet.hole_kind == "through":
        numbers |= dict.fromkeys(key for key in numbers if key.startswith("drill_depth"))
    limits = dict.fromkeys(_NOT_ALWAYS)
    for each in sheet.assumed:
        unit = "mm" if each.dimension == "length" else "Nm"
        ends = {"min": each.least, "max": each.most}
        limits |= {f"{each.id}_{end}_{unit}": x for end, x in ends.items() if x is not None}
    governing = {each.topic: each.rule for each in sheet.rules if each.governs}
    return {
        **numbers,
        **limits,
        "limits": [
            {**picked("limit", each), "unit": unit_inside(each.dimension)} for each in sheet.assumed
        ],
        "hole_class": sheet.hole.hole_class,
        "no_go_rule": governing["no_go"],
        "set_down_rule": governing["set_down"],
        **{topic: each.option for topic, each in sheet.choices.items()},
        "cautions": [each["id"] for each in sheet.cautions],
    }


def _tightening(found: Preloads, holds_insert: bool) -> dict[str, Any]:
    return {
        "found": found,
        "states": {
            name: _preload(found, each, holds_insert or name == "original")
            for name, each in found.states.items()
        },
        "caution": CAUTION,
        "stated_torque": STATED_TORQUE,
    }


def _preload(found: Preloads, each: StatePreload, assessed: bool) -> dict[str, Any]:
    thread, changes = found.inputs.thread[each.state], each.preload.changes
    margins = {
        "strip": each.least(),
        "tension": each.least("screw_tension"),
        "yield": each.least("screw_tension", "yield"),
        "separation": each.least("separation", "separation"),
    }
    return {
        **picked("preload", each),
        # As of the strength of a thread that nothing holds.
        **({} if assessed else dict.fromkeys(_OF_THREAD)),
        "thread_friction": [thread.low, thread.high],
        "prevailing_torque_Nm": found.inputs.prevailing_nm[each.state],
        "thermal_change_N": changes[found.inputs.temperatures[1]] if len(changes) > 1 else 0.0,
        "thermal_changes": [{"temperature_C": t, "change_N": n} for t, n in changes.items()],
        "margins": margins if assessed else dict.fromkeys(margins),
    }


#: What of a tightening rests on the strength of the thread.
_OF_THREAD = (
    "strip_torque_min_Nm", "strip_torque_max_Nm", "window_min_Nm", "window_max_Nm", "set_min",
    "set_max",
)  # fmt: skip


# ---- a part with many holes


def part_results(found: Submission) -> dict[str, Any]:
    """Return the whole document; each hole has the results that its own report has.

    Holes of one joint share them but for their own words. Sentences are in SI.
    """
    of = {}
    for holes in found.joints.values():
        shared = results(holes[0].study, with_chances=False)
        for hole in holes:
            own = {"case": entered(hole.case), "inputs_sha256": hole.case.inputs_sha256}
            of[hole.label] = shared | own
    document = {
        "format": PART_FORMAT,
        **picked("part", found.case),
        "serials": [each for each in found.serials if each],
        "conclusion": {"id": found.conclusion, "text": words.sentence(found.statement)},
        "matrix": [
            picked("verdict", {"hole": hole, "serial": serial})
            for (_, serial), hole in found.matrix.items()
        ],
        "criteria_not_met": [
            {"holes": [hole.label for hole in holes], "number": number, **picked("not_met", each)}
            for holes, number, each in found.not_met
        ],
        "equal_holes": [[hole.label for hole in holes] for holes in found.joints.values()],
        "holes": {hole.label: of[hole.label] for hole in found.holes},
        "inputs_sha256": inputs_sha256(found),
        "version": program.version(),
    }
    return dict(finite(document))


def inputs_sha256(found: Submission) -> str:
    """Return the SHA-256 of what was entered for every hole."""
    data = [[hole.name, hole.serials, hole.case.inputs_sha256] for hole in found.holes]
    return hashlib.sha256(json.dumps(data, ensure_ascii=False).encode()).hexdigest()
