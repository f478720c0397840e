"""What the loss from a separately cast bar to the casting would do to the verdict."""

from __future__ import annotations

import math
from dataclasses import replace

from .. import sources
from ..materials.castings import CastingLoss, casting_loss
from ..units import number, show
from .evaluate import evaluate
from .records import Allowable, Evaluation, Joint, Notice
from .verdict import MODE_NOUNS
from .wall import flow_stress


def with_casting_notice(evaluation: Evaluation, *, system: str = "SI") -> Evaluation:
    """Return the evaluation with a notice where the strength of a cast bar is counted in full.

    The joint is evaluated once more with the strength of pieces cut from castings.
    """
    joint = evaluation.joint
    if joint.parent.specimen != "separately cast" or "casting" in joint.parent_shear.factors:
        return evaluation
    loss = casting_loss(joint.parent)
    weaker = evaluate(weakened(joint, loss), system=system)
    notice = Notice(
        level="limit" if _verdict(weaker) != _verdict(evaluation) else "caution",
        text=f"{_beginning(loss)} {_outcome(evaluation, weaker, system)}",
    )
    cut = loss.cut.reference("tensile")
    return replace(
        evaluation,
        notices=(*evaluation.notices, notice),
        references=(*evaluation.references, *([] if cut in evaluation.references else [cut])),
    )


def weakened(joint: Joint, loss: CastingLoss) -> Joint:
    """Return the joint with the strengths of pieces cut from castings."""

    def less(allowable: Allowable, share: float) -> Allowable:
        return replace(allowable, value=share * allowable.value)

    shear = less(joint.parent_shear, loss.shear)
    tensile = less(joint.parent_tensile, loss.tensile)
    yield_ = joint.parent_yield and less(joint.parent_yield, loss.tensile)
    flow = flow_stress(shear.value, tensile.value, math.nan if yield_ is None else yield_.value)
    return replace(
        joint,
        parent_shear=shear,
        parent_tensile=tensile,
        parent_yield=yield_,
        flow_stress=replace(joint.flow_stress, value=flow),
    )


def _verdict(evaluation: Evaluation) -> tuple[str, str, bool]:
    """What gives way first in both states, and whether the repair is at least as strong."""
    original, repaired = evaluation.original, evaluation.repaired
    return original.governing_mode, repaired.governing_mode, evaluation.pull_out_ratio >= 1


def _beginning(loss: CastingLoss) -> str:
    cut = loss.cut.reference("tensile")
    where = f"{sources.source(cut.source).edition}, {cut.clause}"
    if loss.is_own:
        return (
            "No casting factor is given: the strength of separately cast bars is counted in full. "
            f"With that of pieces cut from castings, {number(loss.shear)} of it in shear ({where}),"
        )
    return (
        "No casting factor is given: the strength of separately cast bars is counted in full, and "
        "no value for castings of this metal is at hand. With the loss of "
        f"{loss.bar.name} as an example, where pieces cut from castings keep "
        f"{number(loss.tensile)} of it ({where}),"
    )


def _outcome(evaluation: Evaluation, weaker: Evaluation, system: str) -> str:
    parts = []
    for name, state in weaker.states.items():
        now = evaluation.states[name]
        mode = MODE_NOUNS[state.governing_mode]
        kept = "still" if state.governing_mode == now.governing_mode else "now"
        parts.append(
            f"the {name} thread strips at {show(state.pull_out, 'force', system=system)} instead "
            f"of {show(now.pull_out, 'force', system=system)}, weakest mode {kept}: {mode}"
        )
    return (
        f"{'; '.join(parts)}. The ratio of pull-out strengths is {number(weaker.pull_out_ratio)}."
    )
