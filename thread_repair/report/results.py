"""Every number of a report as one document, `results.json`."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from .. import case as cases
from .. import facts, inserts, joint, materials, program, sources, threads, words
from ..alternatives import ASSESSMENTS, Alternative, dispositions
from ..alternatives import summary as alternatives_summary
from ..case import Case
from ..facts import Fact
from ..joint.bounds import bracket
from ..joint.found import damaged_diameter
from ..joint.margins import Margin
from ..joint.records import Evaluation, ModeResult, StateResult
from ..joint.required import RequiredLength
from ..joint.sharing import JointSharing
from ..sources import Reference
from ..strength.sharing.states import StateSharing
from ..study import Criterion, Study, study
from ..tightening import CAUTION, STATED_TORQUE, Preloads, StatePreload
from ..units import unit_inside
from ..workshop import WorkshopSheet
from . import run

FORMAT = "thread-repair-results/1"
#: Of the points of a load-slip curve, every third draws the same line.
_EVERY = 3


def results(case: Case | Study, *, with_chances: bool = True) -> dict[str, Any]:
    """Return the whole document; keys are added to it over time, never renamed.

    Without `with_chances` the keys `reliability` and `pull_tests` are left out, and with them half
    of the time. Its sentences are in SI whatever the units of the report.
    """
    whole = case if isinstance(case, Study) else study(case)
    case = whole.case
    found, required = whole.evaluation, whole.required
    sheet, tightened = whole.sheet, whole.preloads
    document = {
        "format": FORMAT,
        "case": _case(case),
        "parent": _parent(whole),
        "hole_found": {
            "condition": case.hole_condition,
            "damaged_diameter_mm": damaged_diameter(found.joint),
        },
        "minimum_parent": _minimum_parent(whole),
        "thread": _thread(found),
        "insert_hole": _insert_hole(found),
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
        "certified": {name: _certified(found, state) for name, state in found.states.items()},
        "collapse": {name: _bracket(found, state) for name, state in found.states.items()},
        "margins": [_margin(m) for m in whole.margins],
        "required_insert": _required_insert(whole),
        "sharing": {name: _sharing(each) for name, each in whole.sharing.items()},
        "load_slip": _load_slip(whole),
        "workshop": _workshop(sheet),
        "tightening": None if tightened is None else _tightening(tightened),
        "notices": [
            *({"level": each.level, "text": words.sentence(each)} for each in whole.facts),
        ],
        "sources": [
            _source(reference)
            for reference in sources.ledger(
                (
                    *found.references,
                    *sheet.references,
                    *(() if tightened is None else tightened.references),
                )
            )
        ],
        "inputs_sha256": case.inputs_sha256,
        "version": program.version(),
    }
    exact: dict[str, Any] = finite(document)
    return {**exact, **chances(whole)} if with_chances else exact


def leave(whole: object) -> None:
    """Leave what only the notebook computed to whoever runs it, in its folder."""
    if isinstance(whole, Study) and "chances" in vars(whole):
        Path(run.LEFT).write_text(json.dumps(chances(whole)), "utf-8")
    elif hasattr(whole, "as_data"):  # a verification, which is not imported for every case
        Path(run.LEFT).write_text(json.dumps(whole.as_data()), "utf-8")


def chances(whole: Study) -> dict[str, Any]:
    """Return what stands under `reliability` and, for a case with test pieces, `pull_tests`."""
    from ..study import chances as sampled  # on use: a notebook has computed it, most often

    found = whole.chances
    document = {"reliability": sampled.as_data(found) | _said(found.cautions, "cautions")}
    document["reliability"]["facts"] = [facts.as_data(each) for each in found.facts]
    if whole.case.pull_tests:
        from ..study import evidence

        pieces = whole.evidence
        document["pull_tests"] = {
            **evidence.as_data(pieces, whole.case.pull_tests),
            **_said(pieces.limits, "limits"),
            **_said(pieces.cautions, "cautions"),
            "facts": [facts.as_data(each) for each in (*pieces.statements, *pieces.cautions)],
        }
    exact: dict[str, Any] = finite(document)
    return exact


def _said(found: Iterable[Fact], key: str) -> dict[str, list[str]]:
    return {key: [words.sentence(each) for each in found]}


def _case(case: Case) -> dict[str, Any]:
    return {key: words.given(value) for key, value in cases.understood(case).items()}


def _parent(whole: Study) -> dict[str, Any]:
    """The designation as typed, the row whose values are used, and the document between them."""
    named, parent = materials.designation(whole.case.parent), whole.evaluation.joint.parent
    estimate = cases.hardness(whole.case)
    return {
        "typed": named.typed,
        "id": parent.id,
        "name": parent.label,
        "group": parent.group,
        "relation": named.relation,
        "assumed": named.assumed,
        "reference": None if named.reference is None else _source(named.reference),
        "hardness": None
        if estimate is None
        else {
            "scale": estimate.hardness.scale,
            "value": estimate.hardness.value,
            "brinell": estimate.brinell,
            "tensile_MPa": estimate.tensile,
            "ratio_min_MPa": estimate.ratio,
            "ratio_max_MPa": estimate.ratio_max,
            "used": cases.estimate(whole.case) is not None,
        },
    }


def _minimum_parent(whole: Study) -> dict[str, Any]:
    found = whole.minimum_parent
    return {
        "outcome": found.outcome,
        "scale": found.scale,
        "shear_MPa": found.shear,
        "tensile_MPa": found.tensile,
        "hardness": None if math.isnan(found.brinell) else {"scale": "HB", "value": found.brinell},
        "criteria": list(found.criteria),
        "text": words.sentence(found.fact),
    }


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


def _state(state: StateResult, *, assessed: bool) -> dict[str, Any]:
    """A condition of the hole; without strength where the hole as found holds no insert."""
    return {
        "assessed": assessed,
        "engagement_mm": state.engagement,
        "thread_height_percent": 100 * state.sizes.thread_height,
        "budget": [
            {
                "id": step.step,
                "step": words.term(facts.Term("budget_step", step.step)),
                "mm": step.mm,
                "note": words.sentence(step.why),
            }
            for step in state.budget
        ],
        "modes": [_mode(mode) for mode in state.modes] if assessed else [],
        "governing_mode": state.governing_mode if assessed else None,
        "pull_out_mode": state.pull_out_mode if assessed else None,
        "pull_out_N": state.pull_out if assessed else None,
        "strength_N": state.strength if assessed else None,
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
        "notes": list(map(words.sentence, mode.notes)),
    }


def _required(required: RequiredLength) -> dict[str, Any]:
    return {
        "method": required.method,
        "primary": required.is_verdict,
        "weakest_screw_mm": required.weakest,
        "strongest_screw_mm": required.strongest,
        "insert_weakest_screw_mm": required.nominal_weakest,
        "insert_strongest_screw_mm": required.nominal_strongest,
        "standard_insert_weakest_screw_diameters": required.standard_weakest,
        "standard_insert_strongest_screw_diameters": required.standard_strongest,
        "reason": " ".join(map(words.sentence, required.reasons)),
    }


def _required_insert(whole: Study) -> dict[str, Any]:
    """Recommended standard insert, and the length table of the insert standard beside it."""
    best, check = whole.recommended, whole.table_check
    return {
        "diameters": best.diameters,
        "length_mm": best.length,
        "screw_reach_mm": best.reach,
        "drill_depth_bottoming_mm": best.drilled_bottoming,
        "drill_depth_plug_mm": best.drilled_plug,
        "reason": words.sentence(best.reason),
        "standard_table": None
        if check is None
        else {
            "table_diameters": float(check.table_diameters),
            "needed_diameters": float(check.needed_diameters),
            "hidden_factor": float(check.hidden_factor),
            "screw_tensile_max_MPa": check.screw_tensile_max,
            "parent_shear_MPa": float(check.tabulated_shear),
        },
    }


def _sharing(found: JointSharing) -> dict[str, Any]:
    return {
        **_shares(found.shown),
        "boundary": found.boundary,
        "efficiency": found.efficiency,
        "useful_length_mm": found.useful_length,
        "ductility_capacity": found.ductility_capacity,
        "boss_assumed": found.shown.block_assumed,
        "boundaries": {name: _shares(each) for name, each in found.by_boundary.items()},
        "sliding_coil": {name: _shares(each) for name, each in found.sliding.items()},
    }


def _shares(found: StateSharing) -> dict[str, float]:
    return {
        "first_thread_share": float(found.first_thread_share),
        "peak_over_mean": float(found.peak_over_mean),
        "ductility_demand": float(found.ductility_demand),
    }


def _load_slip(whole: Study) -> dict[str, Any]:
    """Curves up to where the sharing model's most loaded thread parts; empty where not assessed."""
    return {
        name: {
            "travel_mm": found.travel[::_EVERY].tolist(),
            "load_N": found.load[::_EVERY].tolist(),
            "stiffness_N_per_mm": found.stiffness,
            "plateau_N": found.plateau,
            "plateau_travel_mm": found.plateau_travel,
            "small_strain_travel_mm": found.small_strain_travel,
            "ductility_travel_mm": found.ductility_travel,
            "last_load_N": found.last_load,
            "energy_J": found.last_energy,
            "exponent": found.exponent,
            "band_mm": found.band,
        }
        for name, found in whole.load_slip.states.items()
    }


def options(whole: Study) -> dict[str, Any]:
    """Return the options of a repair, with the conclusion that they stand beside."""
    exact: dict[str, Any] = finite(
        {
            "conclusion": _conclusion(whole),
            "alternatives": [_alternative(option) for option in whole.alternatives],
            "alternatives_summary": words.sentence(alternatives_summary(whole.alternatives)),
        }
    )
    return exact


def _alternative(option: Alternative) -> dict[str, Any]:
    mode, margin = option.least_margin
    return {
        "option": option.option,
        "title": words.term(facts.Term("option", option.kind), "title"),
        "size": "" if option.size is None else words.sentence(option.size),
        "pull_out_N": option.pull_out,
        "strength_N": option.strength,
        "pull_out_ratio": option.ratio,
        "governing_mode": option.governing_mode,
        "least_margin": margin,
        "least_margin_mode": mode,
        "engaged_mm": option.engaged,
        "hole_major_mm": option.hole_major,
        "wall_mm": option.wall,
        "edge_over_diameter": option.edge_ratio,
        "drill_depth_bottoming_mm": option.drilled,
        "drill_min_mm": option.drill[0],
        "drill_max_mm": option.drill[1],
        "assessment": option.assessment,
        "verdict": ASSESSMENTS[option.assessment],
        "reason": " ".join(map(words.sentence, option.reasons)),
        "criteria": [{"id": each.id, "met": each.met} for each in option.criteria],
        "usual": dispositions()[option.kind].usual,
    }


def _certified(found: Evaluation, state: StateResult) -> dict[str, Any]:
    """What is certain of the parent's thread, and by how much the formula may say too much."""
    known = bracket(found.joint, state)
    least, most = known.excess
    return {
        "lower_N": known.lower,
        "upper_N": known.upper,
        "counted_N": known.counted,
        "minimum_N": known.minimum,
        "formula_excess_min": least,
        "formula_excess_max": most,
        "tabled": known.tabled,
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


def _conclusion(whole: Study) -> dict[str, Any]:
    drawn = whole.conclusion
    return {
        "id": drawn.id,
        "text": words.sentence(whole.statements[0]),
        "failed": [name for _, name in drawn.failed],
        "conditions": [name for _, name in drawn.conditions],
        "adequate": drawn.adequate,
        "as_strong": drawn.as_strong,
    }


def _criterion(each: Criterion) -> dict[str, Any]:
    """A criterion with numbers in the units inside; null where there is none."""
    known = [q for q in (each.required, each.repaired, each.original) if q is not None]
    return {
        "id": each.id,
        "dimension": known[0].dimension if known else None,
        **{
            name: None if quantity is None else quantity.value
            for name, quantity in (
                ("required", each.required),
                ("repaired", each.repaired),
                ("original", each.original),
            )
        },
        "met": each.met,
        "met_before": each.met_before,
        "decides": each.decides,
        "values": {name: facts.plain(value) for name, value in each.values.items()},
    }


def _margin(margin: Margin) -> dict[str, Any]:
    """One margin: `demand_N` with its preload has its factors in it, and then `factor` is 1."""
    load, origin = margin.case, margin.case.origin
    factor = 1.0 if load.preload else load.factor * load.fitting
    return {
        "state": margin.state,
        "mode": margin.mode,
        "load_case": words.term(facts.load_case(margin.load_case)),
        "load_case_id": margin.load_case,
        "demand_N": margin.demand / factor,
        "factor": factor,
        "capacity_N": margin.capacity,
        "against": margin.against,
        "margin": margin.margin,
        "preload_N": load.preload,
        "load_share": load.share,
        "load_N": load.load,
        "load_factor": load.factor,
        "fitting_factor": load.fitting,
        "factored_demand_N": margin.demand,
        "origin": None if origin is None else asdict(origin),
    }


def _workshop(sheet: WorkshopSheet) -> dict[str, Any]:
    """Limits of the part that the strength counts on, and what is chosen for the hole by topic.

    The depths of a blind hole are null in a through hole.
    """
    through = sheet.hole_kind == "through"
    return {
        **{
            key: None if through and key.startswith("drill_depth") else value
            for key, value in sheet.numbers.items()
        },
        "limits": [
            {
                "id": each.id,
                "min": each.least,
                "max": each.most,
                "unit": unit_inside(each.dimension),
                "bears_on": each.bears_on,
            }
            for each in sheet.assumed
        ],
        "hole_class": sheet.hole.hole_class,
        "no_go_rule": _governing(sheet, "no_go"),
        "set_down_rule": _governing(sheet, "set_down"),
        **{topic: each.option for topic, each in sheet.choices.items()},
        "cautions": [each["id"] for each in sheet.cautions],
    }


def _governing(sheet: WorkshopSheet, topic: str) -> str:
    return next(each.rule for each in sheet.rules if each.topic == topic and each.governs)


def _tightening(found: Preloads) -> dict[str, Any]:
    inputs = found.inputs
    return {
        "tool": inputs.tool.id,
        "head_friction": [inputs.head.low, inputs.head.high],
        "load_share": inputs.loads.share,
        "states": {name: _preload(found, each) for name, each in found.states.items()},
        "caution": words.sentence(CAUTION),
        "stated_torque": words.sentence(STATED_TORQUE),
    }


def _preload(found: Preloads, each: StatePreload) -> dict[str, Any]:
    tightened, service = each.preload.tightened, each.preload.service
    thread = found.inputs.thread[each.state]
    changes = each.preload.changes
    return {
        "torque_Nm": float(tightened.torque_nm),
        "thread_friction": [thread.low, thread.high],
        "prevailing_torque_Nm": list(found.inputs.prevailing_nm[each.state]),
        "nut_factor_min": float(tightened.nut_factor.least),
        "nut_factor_max": float(tightened.nut_factor.highest),
        "preload_min_N": float(tightened.preload.least),
        "preload_N": float(tightened.preload.middle),
        "preload_max_N": float(tightened.preload.highest),
        "thermal_change_N": changes[found.inputs.temperatures[1]] if len(changes) > 1 else 0.0,
        "thermal_changes": [{"temperature_C": t, "change_N": n} for t, n in changes.items()],
        "service_preload_min_N": float(service.least),
        "service_preload_max_N": float(service.highest),
        "yield_preload_N": float(each.preload.yield_preload.least),
        "yield_preload_max_N": float(each.preload.yield_preload.highest),
        "lines": {
            name: {
                "thread_friction": float(line.thread_friction),
                "head_friction": float(line.head_friction),
                "preload_N": float(line.preload),
                "twist_Nm": float(line.twist_nm),
            }
            for name, line in tightened.lines.items()
        },
        "strip_torque_min_Nm": float(each.strip_torque_nm.least),
        "strip_torque_max_Nm": float(each.strip_torque_nm.highest),
        "window_min_Nm": each.window_nm[0],
        "window_max_Nm": each.window_nm[1],
        "same_preload_torque_Nm": each.same_preload_nm,
        "margins": {
            "strip": each.least(),
            "tension": each.least("screw_tension"),
            "yield": each.least("screw_tension", "yield"),
            "separation": each.least("separation", "separation"),
        },
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


def finite(value: Any) -> Any:
    """Write what is not a number as null, and drop digits that are only rounding error."""
    if isinstance(value, Mapping):
        return {key: finite(each) for key, each in value.items()}
    if isinstance(value, (list, tuple)):
        return [finite(each) for each in value]
    if isinstance(value, float):
        return float(f"{value:.12g}") if math.isfinite(value) else None
    return value
