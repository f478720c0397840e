"""The conclusion that the criteria give, drawn here and nowhere else, and how sure it is.

How far the published methods agree, and what is open before a report can be final.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from .. import materials, tables
from ..case import factors_are_open, fatigue_is_open
from ..facts import Fact, Term, Value, count, fact, force, number, share, stress, temperature
from ..facts import mode as mode_term
from ..joint import evaluate
from ..joint.criterion import unconfirmed
from ..joint.margins import Margin, least_by
from ..joint.records import EQUAL, Evaluation
from ..joint.sharing import UNEVEN, lacking
from ..joint.wall import certified_wall_factor
from ..strength.collapse.wall_factor import BOUNDS
from ..strength.methods import METHODS
from ..strength.strip import STATES
from .criteria import Criterion

if TYPE_CHECKING:
    from .record import Study

#: What a conclusion can be, from the best down.
CONCLUSIONS = ("supports", "supports_with_conditions", "does_not_support")


@dataclass(frozen=True, slots=True, kw_only=True)
class Conclusion:
    """Whether the calculation supports the repair.

    Attributes
    ----------
    id : one of `CONCLUSIONS`
    failed : criteria that refuse the repair, by number from 1 and id
    conditions : criteria that are a condition of it: departures, and what was not assessed
    adequate : whether the stated loads and torque are carried; None: no load stated
    as_strong : whether the repaired thread is at least as strong as the original
    """

    id: str
    failed: tuple[tuple[int, str], ...]
    conditions: tuple[tuple[int, str], ...]
    adequate: bool | None
    as_strong: bool


def conclusion(study: Study) -> Conclusion:
    """Whether the calculation supports the repair.

    A criterion that decides and is not met refuses the repair. One that does not decide, or that
    could not be assessed, becomes a condition.

    Parameters
    ----------
    study : Study

    Returns
    -------
    Conclusion
    """
    criteria = study.criteria
    numbered = [(number, each) for number, each in enumerate(criteria, start=1)]
    failed = tuple((n, c.id) for n, c in numbered if c.refuses)
    conditions = tuple((n, c.id) for n, c in numbered if c.is_condition)
    loads = [c for c in criteria if c.id.startswith("margin") or c.id == "torque_window"]
    unknown = all(c.met is None for c in loads)
    return Conclusion(
        id="does_not_support"
        if failed
        else ("supports_with_conditions" if conditions else "supports"),
        failed=failed,
        conditions=conditions,
        adequate=None if unknown else all(c.met is not False for c in loads),
        as_strong=all(c.met is True for c in criteria if c.id.startswith("stripping_strength")),
    )


def minimum_margin(study: Study) -> Criterion | None:
    """The criterion with the minimum margin of safety; None where no load is stated.

    Parameters
    ----------
    study : Study

    Returns
    -------
    Criterion or None
    """
    margins = [c for c in study.criteria if c.id.startswith("margin_") and c.repaired is not None]
    return min(margins, key=lambda c: c.repaired.value, default=None)  # type: ignore[union-attr]


def certified_minimum(study: Study) -> float:
    """The margin of safety by the certified lower bound; infinite where there is none.

    Parameters
    ----------
    study : Study

    Returns
    -------
    float
    """
    found = (c.repaired for c in study.criteria if c.id == "certified_minimum")
    return next((each.value for each in found if each is not None), math.inf)


def statements(study: Study) -> tuple[Fact, ...]:
    """The conclusion, then its two halves: is it adequate, is it as strong as before, as facts.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of Fact
    """
    drawn, evaluation = study.conclusion, study.evaluation
    # Strengths of sound metal do not apply to a hole that is cracked or spoiled.
    failed = {each.id: each.repaired for each in study.criteria if each.refuses}
    if "no_crack" in failed:
        return (_drawn(drawn), fact("hole_cracked", "limit"))
    if damage := failed.get("hole_as_found"):
        return (_drawn(drawn), fact("hole_spoiled", "limit", damage=damage))
    return (
        _drawn(drawn),
        _adequate(study),
        _as_strong(drawn, evaluation),
        *_tested(study),
        *_weaker_elsewhere(study),
        *_strips_tightened(study),
        _limiting(evaluation),
    )


def _drawn(drawn: Conclusion) -> Fact:
    if drawn.id == "supports":
        return fact("conclusion_supports")
    named = drawn.failed or drawn.conditions
    values: dict[str, Value] = {
        "numbers": tuple(count(n) for n, _ in named),
        "criteria": tuple(Term("criterion", id_) for _, id_ in named),
    }
    many = "several" if len(named) > 1 else "one"
    if drawn.failed:
        return fact(f"conclusion_refused_{many}", "limit", **values)
    return fact(f"conclusion_conditions_{many}", **values)


def _adequate(study: Study) -> Fact:
    drawn, least, bound = study.conclusion, study.minimum_margin, study.certified_minimum
    if drawn.adequate is None:
        return fact("adequacy_not_assessed", "caution")
    assert least is not None and least.repaired is not None
    name = "adequate" if drawn.adequate else "not_adequate"
    if drawn.adequate and any(each.id == "screw_yield" for each in study.criteria):
        name = f"{name}_without_yield"
    values: dict[str, Value] = {"margin": number(least.repaired.value)}
    if bound < least.repaired.value:
        name = f"{name}_below_by_bound"
        values["certified"] = number(bound)
    return fact(
        name, "info" if drawn.adequate else "limit", criterion=Term("criterion", least.id), **values
    )


def _as_strong(drawn: Conclusion, evaluation: Evaluation) -> Fact:
    """Compare the stripping strengths; a loss that refuses nothing is information.

    So is one without effect on the joint: the screw limits both and every margin is kept.
    """
    ratio = evaluation.pull_out_ratio
    screw = {state.governing_mode for state in evaluation.states.values()} == {"screw_tension"}
    alarm = not drawn.as_strong and not (screw and drawn.adequate)
    name = "stronger" if ratio > 1 + EQUAL else "as_strong" if ratio >= 1 - EQUAL else "weaker"
    if name == "stronger" and _bounds_overlap(evaluation):
        name += "_within_bounds"
    if evaluation.joint.measured is not None:
        name += "_than_measured"
    return fact(
        f"repair_{name}",
        "limit" if alarm else "info",
        change=share(abs(ratio - 1)),
        repaired=force(evaluation.repaired.pull_out),
        original=force(evaluation.original.pull_out),
    )


def _tested(study: Study) -> Iterator[Fact]:
    """Say beside the conclusion that test pieces speak against it; the open points say how."""
    if study.case.pull_tests and study.evidence.doubts:
        yield fact("tests_against", "limit")


def _weaker_elsewhere(study: Study) -> Iterator[Fact]:
    """Say that the repaired thread falls short at assembly, or with its boss held in one way."""
    for each in study.criteria:
        if each.id.startswith("stripping_strength_") and each.met is False:
            assert each.repaired is not None and each.required is not None
            yield fact(
                f"repair_weaker_{each.id.removeprefix('stripping_strength_')}",
                "limit",
                **{of: each.values[of] for of in ("temperature", "support") if of in each.values},
                repaired=each.repaired,
                required=each.required,
            )


def _strips_tightened(study: Study) -> Iterator[Fact]:
    """Say in words that the tightening itself may strip the repaired thread."""
    if study.preloads is None:
        return
    inputs, each = study.preloads.inputs, study.preloads.repaired
    holds = (inputs.cold or study.evaluation).repaired.pull_out
    most = float(each.preload.tightened.preload.highest)
    if most > holds:
        loads = {"preload": force(most), "repaired": force(holds)}
        yield fact("strips_tightened", "limit", what=each.what, set=each.set_to, **loads)


def _bounds_overlap(evaluation: Evaluation) -> bool:
    """Whether the certified bounds of a boss leave open that the repaired thread is the stronger.

    Without a boss, and where something else than the parent's thread lets go first, none compare.
    """
    loads: dict[str, list[float]] = {}
    for name, state in evaluation.states.items():
        strips = state.mode("parent_thread_strip")
        at = (evaluation.joint, name, state.sizes.hole_major, state.engagement)
        least, most = (certified_wall_factor(*at, bound=each) for each in BOUNDS)
        if least is None or most is None or state.pull_out < strips.capacity:
            return False
        sound = strips.capacity / strips.kept("C1", "wall")
        loads[name] = [sound * float(least), sound * float(most)]
    return loads["repaired"][0] < loads["original"][1]


def _limiting(evaluation: Evaluation) -> Fact:
    """Which mode limits the joint: the same before and after, or not."""
    original, repaired = evaluation.original, evaluation.repaired
    strengths = {"repaired": force(repaired.strength), "original": force(original.strength)}
    before, after = (mode_term(state.governing_mode) for state in (original, repaired))
    if before != after:
        return fact("other_limiting_mode", before=before, after=after, **strengths)
    screw = evaluation.joint.screw
    ids = {"screw_tension": "limited_by_screw", "screw_thread_strip": "limited_by_screw_thread"}
    return fact(
        ids.get(after.id, "same_limiting_mode"),
        mode=after,
        **strengths,
        screw=screw.id,
        screw_strength=stress(screw.tensile_min),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodLoad:
    """Strip load of the parent's thread by one published method, N.

    `margin` of a condition is against the greatest ultimate demand on it; NaN without a load.
    `comparable` is False where the document is not about wire thread inserts, or has no value,
    `in_range` where either thread lies outside the range that the document gives. `ignores_wall`
    where a boss reduces the strength and the document knows none.
    """

    method: str
    title: str
    original: float
    repaired: float
    original_margin: float
    repaired_margin: float
    comparable: bool
    in_range: bool
    ignores_wall: bool

    @property
    def ratio(self) -> float:
        """Repaired over original."""
        return self.repaired / self.original


def method_loads(study: Study) -> tuple[MethodLoad, ...]:
    """Strip load of the parent's thread by every published method, its margin at the greatest load.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of MethodLoad
    """
    evaluation = study.evaluation
    demand = {state: 0.0 for state in evaluation.states}
    for each in study.margins:
        if each.against == "ultimate":
            demand[each.state] = max(demand[each.state], each.demand)
    before, after = (state.rivals for state in evaluation.states.values())
    reduced = evaluation.repaired.mode("parent_thread_strip").kept("C1", "wall") < 1
    return tuple(
        MethodLoad(
            method=id_,
            title=method.title,
            original=(original := before[id_].capacity),
            repaired=(repaired := after[id_].capacity),
            original_margin=_margin(original, demand["original"]),
            repaired_margin=_margin(repaired, demand["repaired"]),
            comparable=method.for_wire_inserts and math.isfinite(original + repaired),
            in_range=before[id_].valid and after[id_].valid,
            ignores_wall=reduced and "C1" not in after[id_].factors,
        )
        for id_, method in METHODS.items()
    )


def _margin(load: float, demand: float) -> float:
    return load / demand - 1 if demand > 0 else math.nan


def confidence(study: Study) -> tuple[Fact, ...]:
    """How far the methods agree, and what the lowest leaves; nothing of an insert nothing holds.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of Fact
    """
    if not study.holds_insert:
        return ()
    known = [each for each in study.methods if each.comparable]
    low, high = (number(end(each.ratio for each in known)) for end in (min, max))
    ignoring = tuple(each.title for each in known if each.ignores_wall)
    lowest = min(known, key=lambda each: each.repaired)
    values: dict[str, Value] = {"method": lowest.title, "repaired": force(lowest.repaired)}
    form = "lowest_method"
    if not math.isnan(lowest.repaired_margin):
        form = "lowest_method_margin"
        values["margin"] = number(lowest.repaired_margin)
        values["original_margin"] = number(lowest.original_margin)
    return (
        fact("method_ratios", methods=count(len(known)), lowest=low, highest=high),
        fact(form, **values),
        *([fact("methods_ignore_wall", "caution", methods=ignoring)] if ignoring else []),
    )


#: What a tabulated strength may be that promises no least one.
_NO_MINIMUM = ("typical", "informative")
#: Cautions that someone has to agree to before the work, not the workshop alone.
_AGREED_FIRST = ("approval-", "lock-critical")
#: Of pull tests what does not demonstrate the load of the joint.
_SHOW_NOTHING = (
    "specimens_show_nothing", "specimens_engaged_longer", "specimens_temperature", "specimens_boss",
)  # fmt: skip


def agreed_first(study: Study) -> tuple[Fact, ...]:
    """What somebody has to agree to, or to state, before the repair is made, as facts.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of Fact
    """
    case = study.case
    cautions = (each for each in study.sheet.cautions if each["id"].startswith(_AGREED_FIRST))
    found = [fact("open_agreement", "caution", caution=each["text"]) for each in cautions]
    if fatigue_is_open(case):
        found.append(fact("open_fatigue", "caution"))
    warm = case.temperature > tables.constant("room_temperature_max").value
    if warm and case.temperature_exposure == "short":
        found.append(fact("open_exposure", "caution", temperature=temperature(case.temperature)))
    return tuple(found)


def open_points(study: Study) -> tuple[Fact, ...]:
    """What has to be settled before the report is final, as facts.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of Fact
    """
    return tuple(_open_points(study))


def _open_points(study: Study) -> Iterator[Fact]:
    """Yield them; of an insert that nothing holds nothing is said."""
    yield from study.agreed_first
    evaluation, preloads = study.evaluation, study.preloads
    yield from _unverified("open_values", unconfirmed(evaluation))
    if preloads is not None:
        yield from _unverified("open_preload_values", preloads.inputs.references)
    if study.margins and preloads is None:
        yield fact("open_tightening", "caution")
    if study.margins and study.case.design_load is None:
        yield fact("open_load", "caution")
    if factors_are_open(study.case):
        yield fact("open_factors", "caution")
    if study.case.pull_tests and study.holds_insert:
        found = study.evidence.doubts
        yield from (fact("open_pull_tests", "caution", found=each) for each in found)
        yield from (each for each in study.evidence.limits if each.id in _SHOW_NOTHING)
        yield from filter(None, [study.evidence.evidence.not_compared])
    joint = evaluation.joint
    basis = materials.shear_strength(joint.parent).basis
    if basis in _NO_MINIMUM:
        # A document may guarantee the tensile strength and give that in shear for information.
        alone = "_in_shear" * (basis == "informative" and joint.parent.basis == "minimum")
        yield fact(f"open_strength_{basis}{alone}", "caution", parent=joint.parent.label)
    if joint.parent_yield is None and any(x.against == "yield" for x in study.load_cases):
        hot = temperature(joint.temperature)
        yield fact("open_parent_yield", "caution", parent=joint.parent.label, temperature=hot)
    position = joint.tolerance_position
    if position in ("basic", "mean") and study.holds_insert:
        least = evaluate(replace(joint, tolerance_position="minimum-material")).repaired
        loads = {position: evaluation.repaired.pull_out, "repaired": least.pull_out}
        yield fact(f"open_{position}_sizes", "caution", **{at: force(n) for at, n in loads.items()})
    if study.holds_insert:
        yield from _first_thread(evaluation, study.margins)
    yield from (each for each in evaluation.facts if each.id in (*_HOT, *_READ, *_ASSUMED))
    coldest = study.case.temperature_min
    if coldest is not None and coldest < tables.constant("room_temperature_min").value:
        yield fact("open_cold", "caution", temperature=temperature(coldest))
    if study.holds_insert and preloads is not None:
        yield from (each for each in preloads.facts if each.id in _OF_PRELOAD)
    yield fact("open_insert_hole_limits", "caution")


def _unverified(name: str, used: Iterable[tables.Reference]) -> Iterator[Fact]:
    """How many of the values used are not verified, and which; nothing where all are."""
    if waiting := tuple(each.what.replace("_", " ") for each in used if not each.confirmed):
        many = "several" if len(waiting) > 1 else "one"
        yield fact(f"{name}_{many}", "caution", values=count(len(waiting)), named=waiting)


#: What may mean something else than it is read as, or changes nothing.
_READ = ("read_depth_of_through", "read_without_unit", "without_effect")
#: What is assumed where nothing is stated, or of a part that may not be so, and might be weaker.
_ASSUMED = (
    "inputs_assumed", "no_temperature", "no_factors", "no_boss_diameter", "no_screw_reach",
    "not_measured", "strengths_without_basis", "no_hole_condition", "part_thicker_than_product",
    "casting_separately_cast", "casting_factor_counted", "casting_designated_areas",
    "casting_non_designated_areas", "casting_cut_from_castings", "casting_supplied",
)  # fmt: skip
#: What acts on the preload and is assumed, or not in the margins.
_OF_PRELOAD = (
    "open_insert_friction", "torque_not_set", "friction_one_coefficient",
    "prevailing_torque_unknown", "prevailing_torque_class", "thermal_expansion_unknown",
    "no_temperature_min", "clamped_as_parent", "bearing_diameter_assumed",
    "friction_above_published", "load_factor_unknown",
)  # fmt: skip
#: What heat and time take and no margin counts.
_HOT = ("screw_as_when_cold", "parent_once_hot", "parent_creeps")


def _first_thread(evaluation: Evaluation, margins: tuple[Margin, ...]) -> Iterator[Fact]:
    """Yield where the first repaired thread fails below the load: no published rule refuses it.

    Without a load, where it fails before that of the original hole although the thread holds more.
    """
    strips = ("parent_thread_strip", "ultimate")
    least = least_by((each for each in margins if (each.mode, each.against) == strips), "state")
    part = {name: float(each.shown.efficiency) for name, each in evaluation.sharing.items()}
    if math.isnan(part["repaired"]):
        yield fact("open_sharing_not_known", "caution", lacking=lacking(evaluation.joint))
    if not part["repaired"] < UNEVEN:
        return
    if not margins:
        first = {name: part[name] * each.pull_out for name, each in evaluation.states.items()}
        if first["repaired"] < first["original"] and evaluation.pull_out_ratio >= 1:
            loads = {name: force(load) for name, load in first.items()}
            yield fact("open_first_thread_order", "caution", **loads)
        return
    before, after = (
        replace(m, capacity=part[m.state] * m.capacity) for m in (least[name] for name in STATES)
    )
    if after.margin < 0:
        yield fact(
            "open_first_thread",
            "caution",
            repaired=force(after.capacity),
            demand=force(after.demand),
            margin=number(after.margin),
            original=force(before.capacity),
            original_margin=number(before.margin),
        )
