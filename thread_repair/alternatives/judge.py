"""Every option by the criteria of the conclusion: strength, margins, edge, depth and wall."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from .. import inserts, tables
from ..errors import GeometryError
from ..facts import Fact, Term, Value, count, fact, length, mode, number, share
from ..joint.criterion import (
    Criterion,
    compared,
    edge,
    margin_criteria,
    stripping,
    table_length,
    told_once,
)
from ..joint.lengths import undamaged_loads
from ..joint.margins import LoadCase, Margin, capacities_under
from ..joint.records import Joint
from ..joint.sizes import mode_inputs, stress_area
from ..strength.modes import MODES, ModeSet, capacities
from ..strength.strip import StripInputs
from .records import Alternative, Recommendation, Trial
from .trials import bush_inputs, trials


def alternatives(
    joint: Joint,
    *,
    load_cases: Sequence[LoadCase] = (),
    own: Sequence[Criterion] = (),
    colder: Joint | None = None,
) -> tuple[Alternative, ...]:
    """Return every option, judged by the criteria that the conclusion rests on.

    Parameters
    ----------
    joint : Joint
    load_cases : sequence of LoadCase
        An option with the original thread is held against those of the original condition, every
        other against those of the repaired one. A larger screw is taken at the same maximum
        preload as tightened; its torque, and with it twist and minimum preload, remain to be
        determined.
    own : sequence of Criterion
        Those of the study for the insert of the joint, which take the place of its own here: it
        is proposed exactly where the study's conclusion supports it.
    colder : Joint, optional
        The joint at the temperatures from assembly up to service, where the parent has another
        strength there.

    Notes
    -----
    Missing data make an option "not assessed" and never reject it. Rejecting the part is proposed
    only where every option is assessed and none acceptable.
    """
    before = undamaged_loads(joint)
    judged = [
        _judged(joint, trial, before, load_cases, own if trial.is_proposed else (), colder)
        for trial in trials(joint)
    ]
    return (*judged, _reject(judged))


def _inputs(trial: Trial, joint: Joint) -> StripInputs:
    """Return an option in a joint at any temperature, as the strength functions take it."""
    if trial.kind.startswith("bush"):
        return bush_inputs(joint, trial.hole_major)
    return mode_inputs(joint, trial.state, trial.engaged)


def _judged(
    joint: Joint,
    trial: Trial,
    before: ModeSet,
    load_cases: Sequence[LoadCase],
    own: Sequence[Criterion],
    colder: Joint | None,
) -> Alternative:
    boss = math.nan if joint.boss_diameter is None else joint.boss_diameter
    sound, loads, pull_out = before.pull_out, None, 0.0 if trial.engaged <= 0 else math.nan
    found = [
        stripping("stripping_strength", joint, original=sound, repaired=pull_out, undamaged=sound)
    ]
    # A thread in damaged or cracked metal, or without a wall, has no strength to speak of.
    spoiled = any(each.id in _NO_THREAD and each.refuses for each in trial.requirements)
    unsound = spoiled or joint.hole_condition == "cracked"
    if not unsound and trial.missing is None and trial.engaged > 0:
        try:
            loads = capacities(_inputs(trial, trial.joint))
        except GeometryError:
            hole = length(trial.hole_major)
            found.append(Criterion(id="boss_wall", repaired=hole, met=False))
        else:
            pull_out = float(loads.pull_out)
            found = [
                *_compared(trial, joint, colder),
                *margin_criteria(_margins(trial, loads, _on(trial, joint, load_cases))),
                *_undetermined(trial, load_cases),
                Criterion(id="screw_first", met=bool(loads.screw_breaks_first), decides=False),
            ]
    criteria = tuple(own) or told_once((*found, *_beside_loads(joint, trial)))
    missing = trial.missing
    if loads is not None and math.isnan(pull_out):
        hole, wall = length(trial.hole_major), length(boss)
        missing = fact("option_no_wall_rule", hole=hole, boss=wall)
    assessment = "proposed" if trial.is_proposed else "acceptable"
    if any(each.refuses for each in criteria):
        assessment = "not_acceptable"
    elif missing is not None:
        assessment = "not_assessed"
    ratios = [c.repaired.value for c in criteria if c.id == "edge_distance" and c.repaired]
    return replace(
        trial,
        pull_out=pull_out,
        strength=math.nan if loads is None else float(loads.strength),
        ratio=pull_out / float(sound),
        governing_mode="unknown" if loads is None else str(loads.governing),
        screw_first=None if loads is None else bool(loads.screw_breaks_first),
        wall=(boss - trial.hole_major) / 2,
        edge_ratio=ratios[0] if ratios else math.nan,
        criteria=criteria,
        assessment=assessment,
        reasons=tuple(_reasons(trial, criteria, assessment, missing)),
    )


def _beside_loads(joint: Joint, trial: Trial) -> Iterator[Criterion]:
    if not math.isnan(trial.hole_major):
        yield edge(joint, trial.hole_major)
    yield from trial.requirements
    if trial.kind in ("wire-insert", "next-insert"):
        yield from table_length(trial.joint)
    if joint.hole_condition == "cracked" and "no_crack" not in {x.id for x in trial.requirements}:
        yield Criterion(id="no_crack", met=False)


def _compared(trial: Trial, joint: Joint, colder: Joint | None) -> Iterator[Criterion]:
    """The stripping strength in service, colder, and with the boss held either way."""
    for id_, at in compared(joint, colder):
        sound, own = undamaged_loads(at).pull_out, _at(trial, at)
        found = capacities(_inputs(trial, own)).pull_out
        yield stripping(id_, own, original=sound, repaired=found, undamaged=sound)


def _on(trial: Trial, joint: Joint, load_cases: Sequence[LoadCase]) -> Iterator[LoadCase]:
    """Yield the load cases with what temperature adds to the preload of the option's screw."""
    more = stress_area(trial.joint) / stress_area(joint) - 1
    for case in load_cases:
        yield replace(case, preload=case.preload + more * case.thermal)


def _margins(trial: Trial, loads: ModeSet, load_cases: Iterable[LoadCase]) -> Iterator[Margin]:
    """Margins of an option, as of the repaired condition, whichever its load cases are of."""
    known = {id(None): loads}  # by the joint at another temperature
    for case in load_cases:
        # twist and minimum preload are those of the smaller screw
        if not case.acts(trial.state) or (trial.kind in _LARGER and case.own is not None):
            continue
        joint = trial.joint if case.at is None else _at(trial, case.at.joint)
        if id(case.at) not in known:
            known[id(case.at)] = capacities(_inputs(trial, joint))
        found = known[id(case.at)]
        primary = {
            name: float(load) for name in MODES if not math.isinf(load := getattr(found, name))
        }
        for name, capacity in capacities_under(case, joint, primary):
            yield Margin(state="repaired", mode=name, case=case, capacity=capacity)


def _undetermined(trial: Trial, load_cases: Sequence[LoadCase]) -> Iterator[Criterion]:
    """What depends on the torque of a larger screw, which remains to be determined."""
    own = {name for each in load_cases if each.acts(trial.state) for name in each.own or ()}
    if trial.kind in _LARGER and own:
        if "separation" in own:
            yield Criterion(id="margin_separation", required=number(0), met=None)
        yield Criterion(id="torque_window", met=None, asks="")


#: Options whose screw is not that of the joint.
_LARGER = ("larger-screw", "next-insert")


def _at(trial: Trial, at: Joint) -> Joint:
    """Return the joint of an option at the temperature of another one, its boss held as there."""
    return replace(trial.joint, **{name: getattr(at, name) for name in _OF_PLACE})


#: What of a joint its temperature decides, and how its boss is held.
_OF_PLACE = (
    "temperature", "parent_shear", "parent_tensile", "parent_yield", "flow_stress", "wire_shear",
    "boss_support",
)  # fmt: skip


def _reasons(
    trial: Trial, criteria: Sequence[Criterion], assessment: str, missing: Fact | None
) -> Iterator[Fact]:
    """The main reason, then all others."""
    if missing is not None and assessment == "not_assessed":
        yield missing
    elif assessment == "not_acceptable":
        yield from map(_refusal, sorted((x for x in criteria if x.refuses), key=_rank))
    else:
        if open_ := tuple(Term("criterion", each.id) for each in criteria if each.is_condition):
            yield fact("option_meets_with_conditions", criteria=open_)
        else:
            yield fact("option_meets")
        near = (each for each in criteria if each.id == "edge_distance" and each.met is False)
        yield from (*map(_near, near), *trial.remarks)


def _near(found: Criterion) -> Fact:
    """Say how near the edge is; below the rule's minimum only in a boss, whose wall decides."""
    least, ratio = tables.constant("edge_distance_least").value, found.repaired
    below = ratio is not None and ratio.value < least
    return fact(f"option_edge_{'of_boss' if below else 'near'}", **found.values, **_named(found))


#: What an option fails by that finds no sound metal; the reason before all others.
_OF_THE_HOLE = ("hole_as_found", "no_crack")
#: What an option fails by that leaves no thread to load.
_NO_THREAD = ("hole_as_found", "solid_insert_wall")


def _rank(failed: Criterion) -> tuple[bool, bool, float]:
    """Put what finds no sound metal first, then stripping, then the smallest margin."""
    margin = failed.repaired.value if failed.id.startswith("margin_") and failed.repaired else 0.0
    return failed.id not in _OF_THE_HOLE, failed.id != "stripping_strength", margin


def _named(failed: Criterion) -> dict[str, Value]:
    """What a criterion requires and what is there, by the names that the words have for it."""
    named = {"required": failed.required, "value": failed.repaired, "original": failed.original}
    return {name: value for name, value in named.items() if value is not None}


def _refusal(failed: Criterion) -> Fact:
    margin = failed.id.startswith("margin_")
    known = {**failed.values, **_named(failed)}
    if margin:
        known["mode"] = mode(failed.id.removeprefix("margin_"))
    return fact(f"option_fails_{'margin' if margin else failed.id}", "limit", **known)


def _reject(judged: Sequence[Alternative]) -> Alternative:
    waiting = sum(each.assessment == "not_assessed" for each in judged)
    if any(each.is_acceptable for each in judged):
        assessment, reason = "not_acceptable", fact("option_reject_not_needed")
    elif waiting:
        assessment = "acceptable"
        reason = fact("option_reject_undecided", "caution", count=count(waiting))
    else:
        assessment, reason = "proposed", fact("option_reject", "limit")
    return Alternative(kind="reject", assessment=assessment, reasons=(reason,))


def named(option: Alternative) -> Fact:
    """Return the name of an option with its size, in a sentence."""
    assert option.size is not None  # of one that is assessed
    return fact("option_named_size", title=Term("option", option.kind), size=option.size)


def summary(found: Sequence[Alternative]) -> Fact:
    """Say which option is proposed and which others are acceptable."""
    options = [each for each in found if each.kind != "reject"]
    proposed = [named(each) for each in options if each.assessment == "proposed"]
    acceptable = [each for each in options if each.assessment == "acceptable"]
    others = tuple(map(named, acceptable))
    waiting = sum(each.assessment == "not_assessed" for each in options)
    if proposed and others:
        return fact("alternatives_others", proposed=proposed[0], others=others)
    if proposed:
        return fact("alternatives_only", proposed=proposed[0])
    if others:
        unknown = (c.id for each in acceptable for c in each.criteria if c.met is None)
        if criteria := tuple(Term("criterion", each) for each in dict.fromkeys(unknown)):
            return fact("alternatives_instead_open", "limit", others=others, criteria=criteria)
        return fact("alternatives_instead", "limit", others=others)
    if waiting:
        return fact("alternatives_undecided", "caution", count=count(waiting))
    return fact("alternatives_none", "limit")


def recommended(found: Sequence[Alternative], joint: Joint) -> Recommendation:
    """Return the shortest standard insert among the acceptable ones.

    One with which a screw at the maximum strength of its class fails first goes before others.
    """
    held = [each for each in found if each.is_acceptable and each.diameters in inserts.LENGTHS]
    first = [each for each in held if each.screw_first]
    best = min(first or held, key=lambda each: each.diameters, default=None)
    if best is None:
        return Recommendation(reason=fact("recommended_none", "limit"))
    nominal = inserts.nominal_length(joint.thread, best.diameters)
    fitted, _ = inserts.fitted_length(joint.thread, nominal)
    return Recommendation(
        diameters=best.diameters,
        length=nominal,
        reach=float(fitted) + joint.set_down_max,
        **{f"drilled_{tap}": x for tap, x in inserts.drill_depths(joint.thread, nominal).items()},
        reason=fact(
            "recommended_screw_first" if first else "recommended_as_strong", ratio=share(best.ratio)
        ),
    )
