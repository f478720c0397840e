"""Which criteria decide a repair, what each requires, and whether it is met."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from ..facts import Quantity, Value, count, force, length, load_case, number, stress, torque
from ..joint.confirmation import unconfirmed
from ..joint.margins import Margin
from ..joint.records import EQUAL, Evaluation
from ..joint.required import screw_load, table_check
from ..strength.edge import edge_distance
from ..tightening import Preloads
from ..workshop import WorkshopSheet

#: Order in which the least margins are listed: the screw, the threads, the wall, the joint.
_MODES = (
    "screw_tension",
    "parent_thread_strip",
    "screw_thread_strip",
    "insert_thread_strip",
    "flank_bearing",
    "boss_wall",
    "separation",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion:
    """One requirement and what both conditions of the hole give.

    Attributes
    ----------
    id : name of the criterion
    required, repaired, original : quantities of one dimension; None where there is none
    met : whether the repaired condition meets it; None: not assessed
    met_before : the same of the original condition; None: not assessed, or it has no such value
    decides : whether a repair that does not meet it is refused; otherwise it becomes a condition
    asks : form of the words for what is required; empty where nothing is known to be required
    values : what else its words name
    """

    id: str
    required: Quantity | None = None
    repaired: Quantity | None = None
    original: Quantity | None = None
    met: bool | None
    met_before: bool | None = None
    decides: bool = True
    asks: str = "required"
    values: Mapping[str, Value] = field(default_factory=lambda: MappingProxyType({}))


def criteria(
    evaluation: Evaluation,
    *,
    margins: Iterable[Margin],
    preloads: Preloads | None,
    sheet: WorkshopSheet,
) -> tuple[Criterion, ...]:
    """Return every criterion that bears on the joint, in the order of a report's first page."""
    return (
        _stripping(evaluation),
        *_margins(tuple(margins)),
        _screw_first(evaluation),
        *_edge(evaluation),
        *_depth(evaluation, sheet),
        *_torque(preloads),
        *_table_length(evaluation),
        _verified(evaluation),
    )


def _stripping(evaluation: Evaluation) -> Criterion:
    """At least the strength of the original thread, or a screw that fails first in both."""
    original, repaired = evaluation.original.pull_out, evaluation.repaired.pull_out
    strongest = screw_load(evaluation.joint, "strongest")
    return Criterion(
        id="stripping_strength",
        required=force(min(original, strongest)),
        repaired=force(repaired),
        original=force(original),
        met=repaired >= (1 - EQUAL) * min(original, strongest),
        met_before=True,
        values={"ratio": number(repaired / original)},
    )


def _margins(found: tuple[Margin, ...]) -> Iterator[Criterion]:
    """The least margin of each failure mode; of the certified minimum as a condition."""
    if not found:
        yield Criterion(id="margins", required=number(0), met=None)
        return
    certified = tuple(m for m in found if m.against == "certified minimum")
    stated = tuple(m for m in found if m.against != "certified minimum")
    for name in _MODES:
        yield from _least_margin(f"margin_{name}", [m for m in stated if m.mode == name])
    yield from _least_margin("certified_minimum", list(certified), decides=False)


def _least_margin(id_: str, found: list[Margin], *, decides: bool = True) -> Iterator[Criterion]:
    least: dict[str, Margin] = {}
    for margin in found:
        known = least.get(margin.state)
        # An unknown margin comes first: nothing may hide behind a smaller known one.
        if known is None or math.isnan(margin.margin) or margin.margin < known.margin:
            least[margin.state] = margin
    if "repaired" not in least and "original" not in least:
        return
    after, before = least.get("repaired"), least.get("original")
    shown = after or before
    assert shown is not None
    yield Criterion(
        id=id_,
        required=number(0),
        repaired=None if after is None else number(after.margin),
        original=None if before is None else number(before.margin),
        met=None if after is None else _passes(after.margin),
        met_before=None if before is None else _passes(before.margin),
        decides=decides,
        values={"load_case": load_case(shown.load_case), "against": shown.against},
    )


def _passes(margin: float) -> bool | None:
    return None if math.isnan(margin) else margin >= 0


def _screw_first(evaluation: Evaluation) -> Criterion:
    """A screw at the maximum strength of its class fails before anything in the hole does."""
    after, before = evaluation.repaired, evaluation.original
    return Criterion(
        id="screw_first",
        required=length(after.required_engagement),
        repaired=length(after.engagement),
        original=length(before.engagement),
        met=after.engagement >= after.required_engagement,
        met_before=before.engagement >= before.required_engagement,
        decides=False,
        values={
            "original_required": length(before.required_engagement),
            "screw_strength": stress(evaluation.joint.screw.tensile_max),
        },
    )


def _edge(evaluation: Evaluation) -> Iterator[Criterion]:
    distance = evaluation.joint.edge_distance
    if distance is None:
        yield Criterion(id="edge_distance", met=None, decides=False, asks="")
        return
    after, before = (
        edge_distance(distance, state.sizes.hole_major)
        for state in (evaluation.repaired, evaluation.original)
    )
    yield Criterion(
        id="edge_distance",
        required=number(after.recommended),
        repaired=number(float(after.ratio)),
        original=number(float(before.ratio)),
        met=float(after.ratio) >= after.recommended,
        met_before=float(before.ratio) >= before.recommended,
        decides=float(after.ratio) < after.least,
        values={"least": number(after.least)},
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
        met=joint.hole_depth >= sheet.drilled - _ROUNDING,
    )


#: Lengths that agree to a nanometre are the same.
_ROUNDING = 1e-6


def _torque(preloads: Preloads | None) -> Iterator[Criterion]:
    """The set torque lies within the window in which every margin is zero or more."""
    if preloads is None:
        return
    state = preloads.repaired
    low, high = state.window_nm
    set_torque = float(state.preload.tightened.torque_nm)
    known = math.isfinite(low) and math.isfinite(high)
    within = low <= set_torque <= high
    before = preloads.original.window_nm
    torque_before = float(preloads.original.preload.tightened.torque_nm)
    yield Criterion(
        id="torque_window",
        required=None,
        repaired=torque(set_torque),
        original=torque(torque_before),
        met=within if known else None,
        met_before=before[0] <= torque_before <= before[1] if known else None,
        asks="required" if low <= high else "empty",
        values={"low": torque(low), "high": torque(high)},
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
        met=diameters >= asked - _ROUNDING if known else None,
        decides=False,
        asks="required" if known else "",
        values={"screw": joint.screw.id, "factor": number(float(found.hidden_factor))},
    )


def _verified(evaluation: Evaluation) -> Criterion:
    waiting = len(unconfirmed(evaluation))
    return Criterion(
        id="values_verified",
        required=count(0),
        repaired=count(waiting),
        met=waiting == 0,
        decides=False,
    )
