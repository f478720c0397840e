"""Down to which strength of the parent the conclusion holds, by the criteria that it rests on."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from .. import materials, tables
from ..arrays import FloatArray
from ..facts import Fact, Quantity, Term, Value, fact, number, share, stress
from ..joint.criterion import Criterion, compared, margin_criteria, stripping, told_once
from ..joint.lengths import engaged_length
from ..joint.margins import Margin, capacities_under
from ..joint.records import Joint
from ..joint.sizes import mode_inputs, undamaged
from ..strength.modes import MODES, capacities
from ..strength.strip import STATES

if TYPE_CHECKING:
    from .record import Study

#: The lowest share of the strength used that is tried: no alloy of a group is so much weaker.
LOWEST = 0.05
#: The highest: a stated minimum leaves the metal of a part free to be stronger. A choice.
HIGHEST = 1.5
#: Shares tried at first lie 3 % apart. A conclusion may hold, fail and hold again: C3 rises before
#: it falls, by 0.3 % at most for each per cent of strength.
_STEP = 1.03
#: Then rounds of closer shares, so many each: the last lie less than a hundred-thousandth apart.
_ROUNDS, _POINTS = 4, 12


@dataclass(frozen=True, slots=True, kw_only=True)
class MinimumParent:
    """The lowest strength of the parent at which the conclusion supports the repair.

    All strengths of the parent fall and rise in one proportion.

    Attributes
    ----------
    outcome : "holds" down to it; "needed": more than the strength used; "far": lower than any that
        was tried, "no_load": the same without a load; "none": not at any strength up to that of the
        screw
    scale : over the strength used; NaN where there is none
    shear, tensile : MPa
    brinell : Brinell hardness that shows this tensile strength, at room temperature and before a
        casting factor, as a hardness is measured; NaN without a published relation
    criteria : those that are not met just below it, or at any strength
    highest : over the strength used, above which a conclusion that supports the repair does not
        hold either, where the repaired thread gains less by a stronger parent than the original;
        NaN where there is none up to `HIGHEST`
    above : criteria not met there
    """

    outcome: str
    scale: float = math.nan
    shear: float = math.nan
    tensile: float = math.nan
    brinell: float = math.nan
    criteria: tuple[str, ...] = ()
    highest: float = math.nan
    above: tuple[str, ...] = ()

    @property
    def facts(self) -> tuple[Fact, ...]:
        """The same, and above which strength the conclusion does not hold."""
        if not self.above:
            return (self.fact,)
        criteria = tuple(Term("criterion", each) for each in self.above)
        # rounded down, by hand: a share is printed in whole per cents
        to = share(math.floor(100 * self.highest) / 100)
        return (self.fact, fact("maximum_parent", "limit", share=to, criteria=criteria))

    @property
    def fact(self) -> Fact:
        """What there is to say of it."""
        values: dict[str, Value] = {
            "criteria": tuple(Term("criterion", each) for each in self.criteria)
        }
        if self.outcome != "none":
            values |= {
                "shear": _upwards(self.shear),
                "tensile": _upwards(self.tensile),
                "share": share(self.scale),
            }
        hard = not math.isnan(self.brinell) and self.outcome in ("holds", "needed")
        if hard:
            values["brinell"] = number(math.ceil(self.brinell))
        level = "limit" if self.outcome in ("needed", "none") else "info"
        return fact(f"minimum_parent_{self.outcome}{'_hardness' * hard}", level, **values)


def _upwards(strength: float) -> Quantity:
    """Round up to a tenth of a megapascal, so that the printed strength is enough."""
    return stress(math.ceil(10 * strength - 1e-6) / 10)


def minimum_parent(study: Study) -> MinimumParent:
    """The lowest strength of the parent at which no criterion refuses the repair.

    Parameters
    ----------
    study : Study

    Returns
    -------
    MinimumParent

    Notes
    -----
    The stripping strength and the margins are judged anew at each strength. The preload does not
    depend on it, nor does edge or depth. A torque is permissible where the margins at that torque
    are not negative.
    """
    evaluation, load_cases = study.evaluation, study.load_cases
    joint = evaluation.joint
    judged = partial(_refusing, study)
    now = judged(np.ones(1))(0)
    fixed = tuple(
        each.id
        for each in study.criteria
        if each.refuses
        if not _follows(each.id) or (each.id == "torque_window" and not now)
    )
    top = 1.0 if not now else max(1.0, joint.screw.tensile_max / joint.parent_tensile.value)
    if fixed:
        # Of a hole that cannot hold the insert no repaired strength is judged.
        of_parent = judged(np.array([top]))(0) if study.holds_insert else ()
        return MinimumParent(outcome="none", criteria=(*fixed, *of_parent))
    found, failing = _turn(judged, now, LOWEST if not now else top)
    if found is None and now:
        return MinimumParent(outcome="none", criteria=failing)
    low, high = found or (LOWEST, LOWEST)
    up, above = (None, ()) if now else _turn(judged, now, HIGHEST)
    return MinimumParent(
        outcome="needed" if now else "holds" if low < high else "far" if load_cases else "no_load",
        scale=high,
        shear=high * joint.parent_shear.value,
        tensile=high * joint.parent_tensile.value,
        brinell=_brinell(joint, high),
        criteria=failing,
        highest=math.nan if up is None else up[0],
        above=above,
    )


def _turn(
    judged: Callable[[FloatArray], Callable[[int], tuple[str, ...]]],
    now: tuple[str, ...],
    end: float,
) -> tuple[tuple[float, float] | None, tuple[str, ...]]:
    """The two shares, from 1 to an end, between which the conclusion turns; what then refuses."""
    scales = np.geomspace(1.0, end, 2 + int(abs(math.log(end)) / math.log(_STEP)))
    for _ in range(1 + _ROUNDS):
        refusing = judged(scales)
        at = next((i for i in range(1, len(scales)) if bool(refusing(i)) != bool(now)), None)
        if at is None:
            return None, refusing(len(scales) - 1)
        low, high = sorted((float(scales[at - 1]), float(scales[at])))
        failing = refusing(at - 1 if now else at)
        scales = np.geomspace(scales[at - 1], scales[at], _POINTS)
    return (low, high), failing


def _brinell(joint: Joint, scale: float) -> float:
    """The hardness that shows a share of the strength; a strength measured hot has none."""
    if joint.parent.measured_at > tables.constant("room_temperature_max").value:
        return math.nan
    return materials.brinell_of(scale * joint.parent.tensile, joint.parent.group)


def _follows(criterion: str) -> bool:
    """Whether a criterion is judged anew at each strength, or follows from those that are."""
    return criterion == "torque_window" or criterion.startswith(("margin_", "stripping_strength"))


def _refusing(study: Study, scales: FloatArray) -> Callable[[int], tuple[str, ...]]:
    """Names of the criteria that refuse the repair, at one of the shares of the strength used."""
    evaluation, load_cases = study.evaluation, study.load_cases
    tightened = {id(x): x for x in (evaluation, *(c.at for c in load_cases if c.at is not None))}
    loads = {
        id_: {state: _scaled(each.joint, state, scales) for state in STATES}
        for id_, each in tightened.items()
    }
    pulled = [
        (
            id_,
            joint,
            {state: _scaled(joint, state, scales)["pull_out"] for state in STATES},
            _scaled(undamaged(joint), "original", scales)["pull_out"],
        )
        for id_, joint in compared(evaluation.joint, study.colder)
    ]

    def criteria(at: int) -> Iterator[Criterion]:
        for id_, joint, own, sound in pulled:
            both = {state: each[at] for state, each in own.items()}
            yield stripping(id_, joint, undamaged=sound[at], **both)
        yield from margin_criteria(
            Margin(state=state, mode=mode, case=case, capacity=load)
            for case in load_cases
            for of in (case.at or evaluation,)
            for state, found in loads[id(of)].items()
            if case.acts(state)
            for mode, load in capacities_under(
                case, of.joint, {name: found[name][at] for name in MODES if name in found}
            )
        )

    return lambda at: tuple(each.id for each in told_once(criteria(at)) if each.refuses)


def _scaled(joint: Joint, state: str, scales: FloatArray) -> Mapping[str, list[float]]:
    """Loads with all strengths of the parent in a proportion; the wall keeps its share of them."""
    own = mode_inputs(joint, state, engaged_length(joint, state))
    of_parent = ("parent_shear", "parent_tensile", "flow_stress")
    found = capacities(
        replace(own, **{name: np.multiply.outer(scales, getattr(own, name)) for name in of_parent})
    )
    loads = {name: np.asarray(getattr(found, name)).tolist() for name in (*MODES, "pull_out")}
    return {name: each for name, each in loads.items() if not np.isinf(each[0]).any()}
