"""Which criteria decide a repair, what each requires, and whether it is met."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace

from ..facts import count, length, number, stress, torque
from ..joint.criterion import (
    Criterion,
    edge,
    found_criteria,
    margin_criteria,
    stripping,
    unconfirmed,
)
from ..joint.inputs import mode_inputs
from ..joint.margins import Margin
from ..joint.records import EQUAL, ROUNDING, Evaluation
from ..joint.required import screw_load, table_check
from ..joint.sizes import undamaged
from ..strength.modes import capacities
from ..tightening import Preloads
from ..workshop import WorkshopSheet

__all__ = ["EQUAL", "Criterion", "criteria"]


def criteria(
    evaluation: Evaluation,
    *,
    margins: Iterable[Margin],
    preloads: Preloads | None,
    sheet: WorkshopSheet,
    identified: bool = True,
) -> tuple[Criterion, ...]:
    """Return every criterion that bears on the joint, in the order of a report's first page.

    In a hole that holds no insert there is no repaired thread to judge: what rests on it is then
    not assessed.

    Parameters
    ----------
    evaluation : Evaluation
    margins : iterable of Margin
    preloads : Preloads, optional
    sheet : WorkshopSheet
    identified : bool, optional

    Returns
    -------
    tuple of Criterion
    """
    of_hole = tuple(found_criteria(evaluation.joint, sheet.hole.minor_max))
    found = (
        _stripping(evaluation),
        *margin_criteria(margins),
        _screw_first(evaluation),
        _edge(evaluation),
        *of_hole,
        *_depth(evaluation, sheet),
        *_torque(preloads),
        *_table_length(evaluation),
        *_identified(identified),
        _verified(evaluation),
    )
    if not any(each.refuses for each in of_hole):
        return found
    return tuple(_without_thread(each) if _is_of_thread(each) else each for each in found)


def _is_of_thread(criterion: Criterion) -> bool:
    return criterion.id.startswith("margin") or criterion.id in (
        "stripping_strength", "certified_minimum", "screw_first", "torque_window",
    )  # fmt: skip


def _without_thread(criterion: Criterion) -> Criterion:
    if criterion.id == "torque_window":
        return replace(criterion, met=None, met_before=None, asks="")
    return replace(criterion, repaired=None, met=None, met_before=None)


def _stripping(evaluation: Evaluation) -> Criterion:
    return stripping(
        original=evaluation.original.pull_out,
        repaired=evaluation.repaired.pull_out,
        strongest=screw_load(evaluation.joint, "strongest"),
        undamaged=undamaged_load(evaluation),
    )


def undamaged_load(evaluation: Evaluation) -> float:
    """Return the pull-out strength, N, of the original hole within the limits of its class.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    float, N
    """
    original = evaluation.original
    if evaluation.joint.measured is None:
        return original.pull_out
    joint = undamaged(evaluation.joint)
    return float(capacities(mode_inputs(joint, "original", original.engagement)).pull_out)


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


def _edge(evaluation: Evaluation) -> Criterion:
    return edge(
        evaluation.joint.edge_distance,
        repaired=evaluation.repaired.sizes.hole_major,
        original=evaluation.original.sizes.hole_major,
    )


def _depth(evaluation: Evaluation, sheet: WorkshopSheet) -> Iterator[Criterion]:
    joint = evaluation.joint
    if joint.hole_kind != "blind":
        return
    if joint.hole_depth is None:
        yield Criterion(id="drilled_depth", required=length(sheet.drilled), met=None, decides=False)
        return
    yield Criterion(
        id="drilled_depth",
        required=length(sheet.drilled),
        repaired=length(joint.hole_depth),
        met=joint.hole_depth >= sheet.drilled - ROUNDING,
    )


def _torque(preloads: Preloads | None) -> Iterator[Criterion]:
    """The set torque lies within the window in which every margin is zero or more."""
    if preloads is None:
        return
    state = preloads.repaired
    low, high = state.window_nm
    set_torque = float(state.preload.tightened.torque_nm)
    known = math.isfinite(low) and math.isfinite(high)
    within = low <= set_torque <= high
    window = {} if state.window is None else {"window": state.window}
    before = preloads.original.window_nm
    torque_before = float(preloads.original.preload.tightened.torque_nm)
    yield Criterion(
        id="torque_window",
        required=None,
        repaired=torque(set_torque),
        original=torque(torque_before),
        met=within if known else None,
        met_before=before[0] <= torque_before <= before[1] if known else None,
        asks="required" if state.window else "empty" if known else "",
        values={"low": torque(low), "high": torque(high), **window},
    )


def _table_length(evaluation: Evaluation) -> Iterator[Criterion]:
    """The length table of the metric insert standard, where it speaks; a departure is stated."""
    found = table_check(evaluation.joint)
    if found is None:
        return
    asked = float(found.table_diameters)
    joint = evaluation.joint
    diameters = joint.insert_length / joint.thread.major
    known = not math.isnan(asked)
    yield Criterion(
        id="table_length",
        required=number(asked) if known else None,
        repaired=number(diameters),
        met=diameters >= asked - ROUNDING if known else None,
        decides=False,
        asks="required" if known else "",
        values={"screw": joint.screw.id, "factor": number(float(found.hidden_factor))},
    )


def _identified(identified: bool) -> Iterator[Criterion]:
    """Whose strengths they are is a condition where the metal of the part is not certain."""
    if not identified:
        yield Criterion(id="parent_identified", met=False, decides=False)


def _verified(evaluation: Evaluation) -> Criterion:
    waiting = len(unconfirmed(evaluation))
    return Criterion(
        id="values_verified",
        required=count(0),
        repaired=count(waiting),
        met=waiting == 0,
        decides=False,
    )
