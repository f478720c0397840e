"""What the loss from a separately cast bar to the casting would do to the result."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from .. import tables
from ..facts import Fact, condition, fact, force, mode, number
from ..materials import Parent, parent, parents, shear_strength
from .evaluate import evaluate
from .records import Allowable, Evaluation, Joint
from .wall import flow_stress


@dataclass(frozen=True, slots=True, kw_only=True)
class CastingLoss:
    """Strength of pieces cut from castings over that of the bar, by two printed values.

    `bar` and `cut` are the two materials compared; `is_own` tells whether `bar` is the parent
    asked for, or another whose loss serves as an example.
    """

    shear: float
    tensile: float
    bar: Parent
    cut: Parent
    is_own: bool


def casting_loss(cast: Parent) -> CastingLoss:
    """Return the printed loss of a parent, or the greatest one of its group, or of all groups.

    Parameters
    ----------
    cast : Parent
        A separately cast one.

    Returns
    -------
    CastingLoss

    Examples
    --------
    >>> loss = casting_loss(parent("356.0-T6-sand"))
    >>> print(f"{loss.shear:.3f} {loss.tensile:.3f}")
    0.778 0.733
    """
    if cast.cut_from_casting:
        return _loss(cast, is_own=True)
    # Typical strengths of a bar promise nothing: they would make the loss look greater.
    bars = [each for each in parents() if each.cut_from_casting and each.basis == "minimum"]
    near = [each for each in bars if each.group == cast.group] or bars
    return min((_loss(each, is_own=False) for each in near), key=lambda loss: loss.tensile)


def _loss(bar: Parent, *, is_own: bool) -> CastingLoss:
    cut = parent(bar.cut_from_casting)
    tensile = min(1.0, cut.tensile / bar.tensile)
    shear = min(1.0, float(shear_strength(cut).value / shear_strength(bar).value))
    # For another metal the ratio of the tensile strengths stands for both.
    return CastingLoss(
        shear=shear if is_own else tensile, tensile=tensile, bar=bar, cut=cut, is_own=is_own
    )


def counts_bar(joint: Joint) -> bool:
    """Whether the strength of a separately cast bar is counted in full.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    bool
    """
    return (
        joint.parent.specimen == "separately cast" and "casting" not in joint.parent_shear.factors
    )


def with_casting_facts(evaluation: Evaluation) -> Evaluation:
    """Return the evaluation with what it means that the strength of a cast bar is counted.

    The joint is evaluated once more with the strength of pieces cut from castings.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    Evaluation
    """
    joint = evaluation.joint
    if not counts_bar(joint):
        return evaluation
    loss = casting_loss(joint.parent)
    weaker = evaluate(weakened(joint, loss))
    cut = loss.cut.reference("tensile")
    return replace(
        evaluation,
        facts=(*evaluation.facts, *_facts(evaluation, weaker, loss)),
        references=(*evaluation.references, *([] if cut in evaluation.references else [cut])),
    )


def weakened(joint: Joint, loss: CastingLoss) -> Joint:
    """Return the joint with the strengths of pieces cut from castings.

    Parameters
    ----------
    joint : Joint
    loss : CastingLoss

    Returns
    -------
    Joint
    """

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
        flow_stress=replace(joint.flow_stress, value=float(flow)),
    )


def _outcome(evaluation: Evaluation) -> tuple[str, str, bool]:
    """What fails first in both conditions, and whether the repair is at least as strong."""
    original, repaired = evaluation.original, evaluation.repaired
    return original.governing_mode, repaired.governing_mode, evaluation.pull_out_ratio >= 1


def _facts(evaluation: Evaluation, weaker: Evaluation, loss: CastingLoss) -> Iterator[Fact]:
    cut = loss.cut.reference("tensile")
    before, after = evaluation.states, weaker.states
    is_near = loss.bar.group == evaluation.joint.parent.group
    yield fact(
        f"cast_bar_counted_{'own' if loss.is_own else 'example' if is_near else 'other_metal'}",
        "limit" if _outcome(weaker) != _outcome(evaluation) else "caution",
        kept=number(loss.shear if loss.is_own else loss.tensile),
        example=loss.bar.name,
        document=tables.source(cut.source).name,
        clause=cut.clause,
        ratio=number(weaker.pull_out_ratio),
        **{f"{name}_now": force(state.pull_out) for name, state in before.items()},
        **{name: force(state.pull_out) for name, state in after.items()},
    )
    for name, state in after.items():
        if state.governing_mode != before[name].governing_mode:
            yield fact(
                "cast_bar_changes_mode",
                "limit",
                condition=condition(name),
                before=mode(before[name].governing_mode),
                after=mode(state.governing_mode),
            )
