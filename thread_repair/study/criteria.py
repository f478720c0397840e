"""Which criteria decide a repair, what each requires, and whether it is met."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from ..facts import count, length, stress
from ..joint.criterion import (
    Criterion,
    compared,
    edge,
    margin_criteria,
    stripping,
    table_length,
    told_once,
    unconfirmed,
)
from ..joint.lengths import engaged_length, undamaged_loads
from ..joint.margins import Margin
from ..joint.records import EQUAL, ROUNDING, Evaluation, Joint
from ..joint.sizes import mode_inputs
from ..strength.modes import capacities
from ..strength.strip import STATES
from ..tightening import Preloads
from ..workshop import WorkshopSheet
from .findings import is_identified

if TYPE_CHECKING:
    from .record import Study

__all__ = ["EQUAL", "Criterion", "criteria"]


def criteria(study: Study) -> tuple[Criterion, ...]:
    """What decides, with what is required and what is there, in the order of a first page.

    In a hole that holds no insert there is no repaired thread to judge: what rests on it is then
    not assessed.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of Criterion
    """
    evaluation, margins = study.evaluation, study.margins
    joint = evaluation.joint
    waiting = len(unconfirmed(evaluation))
    unidentified = Criterion(id="parent_identified", met=False, decides=False)
    found = (
        *(_stripping(*each) for each in compared(joint, study.colder)),
        *margin_criteria(margins),
        *_screw_yield(joint, margins),
        _screw_first(evaluation),
        edge(joint, evaluation.repaired.sizes.hole_major),
        *study.found_criteria,
        *_depth(joint, study.sheet),
        *_torque(study.preloads),
        *table_length(joint),
        # Whose strengths they are is a condition where the metal of the part is not certain.
        *(() if is_identified(study.case) else (unidentified,)),
        Criterion(
            id="values_verified",
            required=count(0),
            repaired=count(waiting),
            met=waiting == 0,
            decides=False,
        ),
    )
    told = told_once(found)
    return told if study.holds_insert else tuple(map(_without_thread, told))


def _without_thread(criterion: Criterion) -> Criterion:
    """A criterion where there is no repaired thread: what rests on one is not assessed."""
    if criterion.id == "torque_window":
        of = {"set": criterion.values["set"]}
        return replace(criterion, met=None, met_before=None, asks="", values=of)
    if criterion.id.startswith("margin") or criterion.id in _OF_THREAD:
        values = {name: each for name, each in criterion.values.items() if name != "ratio"}
        return replace(criterion, repaired=None, met=None, met_before=None, values=values)
    return criterion


_OF_THREAD = (
    "stripping_strength", "stripping_strength_cold", "stripping_strength_held",
    "certified_minimum", "screw_first",
)  # fmt: skip


def _stripping(id_: str, joint: Joint) -> Criterion:
    loads = {
        state: capacities(mode_inputs(joint, state, engaged_length(joint, state))).pull_out
        for state in STATES
    }
    return stripping(id_, joint, undamaged=undamaged_loads(joint).pull_out, **loads)


def _screw_yield(joint: Joint, margins: tuple[Margin, ...]) -> Iterator[Criterion]:
    """That loads are held against the rupture of the screw alone: its yield is not known."""
    if any(margins) and math.isnan(joint.screw.yield_):
        yield Criterion(id="screw_yield", met=None, decides=False, asks="")


def _screw_first(evaluation: Evaluation) -> Criterion:
    """A screw at the maximum strength of its class fails before anything in the hole does."""
    after, before = evaluation.repaired, evaluation.original
    forms = ("required", "none_original", "none_repaired", "none")
    never = [math.isnan(each.required_engagement) for each in (after, before)]
    return Criterion(
        id="screw_first",
        required=length(after.required_engagement),
        repaired=length(after.engagement),
        original=length(before.engagement),
        met=after.engagement >= after.required_engagement,
        met_before=before.engagement >= before.required_engagement,
        decides=False,
        asks=forms[2 * never[0] + never[1]],
        values={
            "original_required": length(before.required_engagement),
            "screw_strength": stress(evaluation.joint.screw.tensile_max),
        },
    )


def _depth(joint: Joint, sheet: WorkshopSheet) -> Iterator[Criterion]:
    """A blind hole has a depth, or its case is refused."""
    if joint.hole_depth is not None:
        yield Criterion(
            id="drilled_depth",
            required=length(sheet.drilled),
            repaired=length(joint.hole_depth),
            met=joint.hole_depth >= sheet.drilled - ROUNDING,
        )


def _torque(preloads: Preloads | None) -> Iterator[Criterion]:
    """The set torque lies within the window in which every margin is zero or more.

    One worked out without all that acts on the preload refuses a torque, but does not pass it.
    """
    if preloads is None:
        return
    original, repaired = preloads.states.values()
    (low, high), window = repaired.window_nm, repaired.window
    known = math.isfinite(high)
    before, after = (float(each.preload.tightened.torque_nm) for each in (original, repaired))
    least, most = original.window_nm
    said = {each.id for each in preloads.facts}
    passed_before = None if "thermal_expansion_unknown" in said else True
    passed = None if "prevailing_torque_unknown" in said else passed_before
    yield Criterion(
        id="torque_window",
        repaired=repaired.set_to,
        original=original.set_to,
        # Without a maximum, where the screw's yield strength is not known, the minimum still holds.
        met=_held(after, low, high, passed if known else None),
        met_before=_held(before, least, most, passed_before if known else None),
        asks="required" if window else "empty" if known else "least" if low > 0 else "",
        values={
            **dict(zip(("low", "high"), repaired.limits, strict=True)),
            "set": repaired.what,
            **({"window": window} if window else {}),
        },
    )


def _held(torque_nm: float, low: float, high: float, within: bool | None) -> bool | None:
    return False if torque_nm < low or torque_nm > high else within
