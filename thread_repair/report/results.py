"""Every number of a report as one document, `results.json`."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .. import case as cases
from .. import facts, files, inserts, joint, materials, program, sources, threads, words
from ..alternatives import ASSESSMENTS, Alternative, dispositions
from ..alternatives import summary as alternatives_summary
from ..case import Case
from ..facts import Fact
from ..joint.criterion import damaged_diameter
from ..joint.lengths import RequiredLength
from ..joint.margins import Margin
from ..joint.records import Evaluation, StateResult
from ..joint.sharing import JointSharing
from ..sources import Reference
from ..study import Criterion, Study, study
from ..tightening import CAUTION, STATED_TORQUE, Preloads, StatePreload
from ..units import unit_inside
from ..workshop import WorkshopSheet
from . import paths, run
from .paths import finite

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
    found, required = whole.evaluation, whole.required
    sheet, tightened = whole.sheet, whole.preloads
    hole = inserts.insert_hole(found.joint.thread, found.joint.insert_hole_class)
    of_torque = () if tightened is None else tightened.references
    document = {
        "format": FORMAT,
        "case": entered(case),
        "parent": _parent(whole),
        "hole_found": {
            "condition": case.hole_condition,
            "damaged_diameter_mm": damaged_diameter(found.joint),
        },
        "minimum_parent": _minimum_parent(whole),
        "thread": _thread(found),
        "insert_hole": {**_of("internal", hole), "hole_class": hole.hole_class},
        "states": {
            name: {
                **_state(state, assessed=whole.holds_insert or name == "original"),
                "required_by_method": [_required(r) for r in required if r.state == name],
            }
            for name, state in found.states.items()
        },
        "comparison": {
            "pull_out_ratio": found.pull_out_ratio if whole.holds_insert else None,
            "strength_ratio": found.strength_ratio if whole.holds_insert else None,
            "verdict": " ".join(map(words.sentence, whole.statements[2:])),
            "effects": [
                {**asdict(each), "words": words.term(facts.Term("effect", each.name))}
                for each in found.effects
            ],
        },
        **options(whole),
        "criteria": [_criterion(each) for each in whole.criteria],
        "facts": [facts.as_data(each) for each in whole.facts],
        "certified": {name: _of("certified", each) for name, each in whole.brackets.items()},
        "collapse": {
            name: {**_of("collapse", each), "covers": _COVERS}
            for name, each in whole.brackets.items()
        },
        "margins": [_margin(m) for m in whole.margins],
        "required_insert": _required_insert(whole),
        "sharing": {name: _sharing(each) for name, each in whole.sharing.items()},
        "load_slip": _load_slip(whole),
        "workshop": _workshop(sheet),
        "tightening": None if tightened is None else _tightening(tightened),
        "notices": [{"level": each.level, "text": words.sentence(each)} for each in whole.facts],
        "sources": [
            _source(reference)
            for reference in sources.ledger((*found.references, *sheet.references, *of_torque))
        ],
        "inputs_sha256": case.inputs_sha256,
        "version": program.version(),
    }
    return finite(document) | (chances(whole) if with_chances else {})


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
    return finite(document)


def _reliability(found: Chances) -> dict[str, Any]:
    under = "_fails_under_preload"
    known = {name: _of("probability", each) for name, each in found.probabilities.items()}
    shares = found.drivers.columns("repaired strip load")
    return {
        **_of("reliability", found),
        "probabilities": {n: p for n, p in known.items() if not n.endswith(under)},
        "under_preload": {n.removesuffix(under): p for n, p in known.items() if n.endswith(under)},
        "negative_margins": len(found.failing),
        "quantiles": _rows(found.simulation.quantiles()),
        "drivers": _rows({name: shares[name] for name in ("input", "first", "total")}),
        **_said(found.cautions, "cautions"),
        "facts": [facts.as_data(each) for each in found.facts],
    }


def _rows(columns: Mapping[str, Any]) -> list[dict[str, Any]]:
    lists = (column.tolist() for column in columns.values())
    return [dict(zip(columns, row, strict=True)) for row in zip(*lists, strict=True)]


def _pull_tests(found: CaseEvidence, file: str) -> dict[str, Any]:
    compared = found.evidence.comparison
    return {
        "file": file,
        **_of("pull_tests", found),
        "groups": [_specimens(group, found) for group in found.evidence.groups],
        "comparison": compared and {**asdict(compared), "verdict": compared.verdict},
        "shear_strength": [
            {**_of("tested_strength", each), "margin": each.margin} for each in found.strength
        ],
        "curves": [_of("tested_curve", each) for each in found.curves],
        "acceptance_N": found.acceptance,
        **_said(found.limits, "limits"),
        **_said(found.cautions, "cautions"),
        "facts": [facts.as_data(each) for each in (*found.statements, *found.cautions)],
    }


def _specimens(found: GroupEvidence, of_case: CaseEvidence) -> dict[str, Any]:
    predicted = of_case.predictions.get(found.group.state, {})
    return {
        **_of("specimens", found),
        "scatter": found.scatter and asdict(found.scatter),
        "fits": [asdict(fit) for fit in found.fits],
        "bounds": [
            {
                **_of("bound", each),
                "governs": each is found.governing(each.claim),
                "note": "" if each.note is None else each.note.id,
            }
            for each in found.bounds
        ],
        "outlier": found.outlier and {**asdict(found.outlier), "found": found.outlier.found},
        "agreement": [{**asdict(a), "predicted_N": predicted[a.method]} for a in found.agreement],
    }


def _said(found: Iterable[Fact], key: str) -> dict[str, list[str]]:
    return {key: [words.sentence(each) for each in found]}


def _parent(whole: Study) -> dict[str, Any]:
    """The designation as typed, the row whose values are used, and the document between them."""
    named, estimate = materials.designation(whole.case.parent), cases.hardness(whole.case)
    hardness = None if estimate is None else _of("hardness", estimate)
    if hardness is not None:
        hardness["used"] = cases.estimate(whole.case) is not None
    record = {
        "named": named,
        "parent": whole.evaluation.joint.parent,
        "reference": None if named.reference is None else _source(named.reference),
        "hardness": hardness,
    }
    return _of("parent", record)


def _of(name: str, record: Any) -> dict[str, Any]:
    return paths.pick(files.data("results.toml")[name], record)


def _minimum_parent(whole: Study) -> dict[str, Any]:
    found = whole.minimum_parent
    hardness = None if math.isnan(found.brinell) else {"scale": "HB", "value": found.brinell}
    return {**_of("minimum_parent", found), "hardness": hardness}


def _thread(found: Evaluation) -> dict[str, Any]:
    thread = found.joint.thread
    hole = threads.internal_limits(thread, found.joint.hole_class)
    record = {
        "thread": thread,
        "stress_area": joint.stress_area(found.joint),
        "screw": threads.external_limits(thread, found.joint.screw_class),
        "hole": hole,
    }
    return {**_of("thread", record), "internal": _of("internal", hole)}


def _state(state: StateResult, *, assessed: bool) -> dict[str, Any]:
    """A condition of the hole; without strength where the hole as found holds no insert."""
    strength = _of("strength", state)
    return {
        **_of("state", state),
        **(strength if assessed else dict.fromkeys(strength)),
        "assessed": assessed,
        "thread_height_percent": 100 * state.sizes.thread_height,
        "budget": [
            _of("step", step) | {"step": words.term(facts.Term("budget_step", step.step))}
            for step in state.budget
        ],
        "modes": [
            {**_of("mode", mode), "notes": list(map(words.sentence, mode.notes))}
            for mode in state.modes
            if assessed
        ],
    }


def _required(required: RequiredLength) -> dict[str, Any]:
    return {**_of("required", required), "reason": " ".join(map(words.sentence, required.reasons))}


def _required_insert(whole: Study) -> dict[str, Any]:
    """Recommended standard insert, and the length table of the insert standard beside it."""
    check = whole.table_check
    table = None if check is None else _of("standard_table", check)
    return {**_of("required_insert", whole.recommended), "standard_table": table}


def _sharing(found: JointSharing) -> dict[str, Any]:
    return {
        **_of("sharing", found),
        "boundaries": {name: _of("shares", each) for name, each in found.by_boundary.items()},
        "sliding_coil": {name: _of("shares", each) for name, each in found.sliding.items()},
    }


def _load_slip(whole: Study) -> dict[str, Any]:
    """Curves up to where the sharing model's most loaded thread parts; empty where not assessed."""
    return {
        name: {
            "travel_mm": found.travel[::_EVERY].tolist(),
            "load_N": found.load[::_EVERY].tolist(),
            **_of("load_slip", found),
        }
        for name, found in whole.load_slip.states.items()
    }


def options(whole: Study) -> dict[str, Any]:
    """Return the options of a repair, with the conclusion that they stand beside."""
    drawn = whole.conclusion
    return finite(
        {
            "conclusion": {
                **_of("conclusion", drawn),
                "text": words.sentence(whole.statements[0]),
                "failed": [name for _, name in drawn.failed],
                "conditions": [name for _, name in drawn.conditions],
            },
            "alternatives": [_alternative(option) for option in whole.alternatives],
            "alternatives_summary": words.sentence(alternatives_summary(whole.alternatives)),
        }
    )


def _alternative(option: Alternative) -> dict[str, Any]:
    return {
        **_of("alternative", option),
        "title": words.term(facts.Term("option", option.kind), "title"),
        "size": "" if option.size is None else words.sentence(option.size),
        "verdict": ASSESSMENTS[option.assessment],
        "reason": " ".join(map(words.sentence, option.reasons)),
        "criteria": [{"id": each.id, "met": each.met} for each in option.criteria],
        "usual": dispositions()[option.kind].usual,
    }


def _criterion(each: Criterion) -> dict[str, Any]:
    """A criterion with numbers in the units inside; null where there is none."""
    known = each.required or each.repaired or each.original
    return {
        **_of("criterion", each),
        "dimension": known and known.dimension,
        "values": {name: facts.plain(value) for name, value in each.values.items()},
    }


def _margin(margin: Margin) -> dict[str, Any]:
    """One margin: `demand_N` with its preload has its factors in it, and then `factor` is 1."""
    load, origin = margin.case, margin.case.origin
    factor = 1.0 if load.preload else load.factor * load.fitting
    return {
        **_of("margin", margin),
        "load_case": words.term(facts.load_case(margin.load_case)),
        "demand_N": margin.demand / factor,
        "factor": factor,
        "origin": None if origin is None else asdict(origin),
    }


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
            {**_of("limit", each), "unit": unit_inside(each.dimension)} for each in sheet.assumed
        ],
        "hole_class": sheet.hole.hole_class,
        "no_go_rule": governing["no_go"],
        "set_down_rule": governing["set_down"],
        **{topic: each.option for topic, each in sheet.choices.items()},
        "cautions": [each["id"] for each in sheet.cautions],
    }


def _tightening(found: Preloads) -> dict[str, Any]:
    head = found.inputs.head
    return {
        "tool": found.inputs.tool.id,
        "head_friction": [head.low, head.high],
        "load_share": found.inputs.loads.share,
        "states": {name: _preload(found, each) for name, each in found.states.items()},
        "caution": words.sentence(CAUTION),
        "stated_torque": words.sentence(STATED_TORQUE),
    }


def _preload(found: Preloads, each: StatePreload) -> dict[str, Any]:
    thread, changes = found.inputs.thread[each.state], each.preload.changes
    return {
        **_of("preload", each),
        "thread_friction": [thread.low, thread.high],
        "prevailing_torque_Nm": list(found.inputs.prevailing_nm[each.state]),
        "thermal_change_N": changes[found.inputs.temperatures[1]] if len(changes) > 1 else 0.0,
        "thermal_changes": [{"temperature_C": t, "change_N": n} for t, n in changes.items()],
        "lines": {
            name: _of("friction_line", line) for name, line in each.preload.tightened.lines.items()
        },
        "margins": {
            "strip": each.least(),
            "tension": each.least("screw_tension"),
            "yield": each.least("screw_tension", "yield"),
            "separation": each.least("separation", "separation"),
        },
    }


def _source(reference: Reference) -> dict[str, Any]:
    record = {"reference": reference, "document": sources.source(reference.source)}
    return _of("source", record)
