"""The conclusion that the criteria give: it is drawn here and nowhere else."""

from __future__ import annotations

from dataclasses import dataclass

from ..facts import Fact, Term, Value, count, fact, force, length, number, share, stress
from ..facts import mode as mode_term
from ..joint.criterion import damaged_diameter
from ..joint.records import EQUAL, Evaluation, Joint
from .criteria import Criterion

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


def conclusion(criteria: tuple[Criterion, ...]) -> Conclusion:
    """Draw the conclusion.

    A criterion that decides and is not met refuses the repair. One that does not decide, or that
    could not be assessed, becomes a condition.

    Parameters
    ----------
    criteria : tuple of Criterion

    Returns
    -------
    Conclusion
    """
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
        as_strong=next(c for c in criteria if c.id == "stripping_strength").met is True,
    )


def statements(
    drawn: Conclusion, criteria: tuple[Criterion, ...], evaluation: Evaluation
) -> tuple[Fact, ...]:
    """Return the conclusion, then its two halves: is it adequate, is it as strong as before.

    Parameters
    ----------
    drawn : Conclusion
    criteria : tuple of Criterion
    evaluation : Evaluation

    Returns
    -------
    tuple of Fact
    """
    spoiled = _spoiled(drawn, evaluation.joint)
    if spoiled is not None:
        return (_drawn(drawn), spoiled)
    return (
        _drawn(drawn),
        _adequate(drawn, criteria),
        _as_strong(drawn, evaluation),
        _limiting(evaluation),
    )


def _spoiled(drawn: Conclusion, joint: Joint) -> Fact | None:
    """Return why strengths of sound metal do not apply to the hole as found; None where they do."""
    failed = {id_ for _, id_ in drawn.failed}
    damage = damaged_diameter(joint)
    if "no_crack" in failed:
        return fact("hole_cracked", "limit")
    if "hole_as_found" not in failed or damage is None:
        return None
    return fact("hole_spoiled", "limit", damage=length(damage))


def _drawn(drawn: Conclusion) -> Fact:
    if drawn.id == "supports":
        return fact("conclusion_supports", "info")
    named = drawn.failed or drawn.conditions
    values: dict[str, Value] = {
        "numbers": tuple(count(n) for n, _ in named),
        "criteria": tuple(Term("criterion", id_) for _, id_ in named),
    }
    many = "several" if len(named) > 1 else "one"
    if drawn.failed:
        return fact(f"conclusion_refused_{many}", "limit", **values)
    return fact(f"conclusion_conditions_{many}", "info", **values)


def _adequate(drawn: Conclusion, criteria: tuple[Criterion, ...]) -> Fact:
    if drawn.adequate is None:
        return fact("adequacy_not_assessed", "caution")
    margins = [c for c in criteria if c.id.startswith("margin_") and c.repaired is not None]
    least = min(margins, key=lambda c: c.repaired.value)  # type: ignore[union-attr]
    assert least.repaired is not None
    return fact(
        "adequate" if drawn.adequate else "not_adequate",
        "info" if drawn.adequate else "limit",
        margin=number(least.repaired.value),
        criterion=Term("criterion", least.id),
    )


def _as_strong(drawn: Conclusion, evaluation: Evaluation) -> Fact:
    """Compare the stripping strengths; a loss that refuses nothing is information.

    So is one without effect on the joint: the screw limits both and every margin is kept.
    """
    ratio = evaluation.pull_out_ratio
    screw = {state.governing_mode for state in evaluation.states.values()} == {"screw_tension"}
    alarm = not drawn.as_strong and not (screw and drawn.adequate)
    name = "stronger" if ratio > 1 + EQUAL else "as_strong" if ratio >= 1 - EQUAL else "weaker"
    if evaluation.joint.measured is not None:
        name += "_than_measured"
    return fact(
        f"repair_{name}",
        "limit" if alarm else "info",
        change=share(abs(ratio - 1)),
        repaired=force(evaluation.repaired.pull_out),
        original=force(evaluation.original.pull_out),
    )


def _limiting(evaluation: Evaluation) -> Fact:
    """Which mode limits the joint: the same before and after, or not."""
    before, after = evaluation.original, evaluation.repaired
    if before.governing_mode == after.governing_mode:
        screw = evaluation.joint.screw
        ids = {"screw_tension": "limited_by_screw", "screw_thread_strip": "limited_by_screw_thread"}
        return fact(
            ids.get(after.governing_mode, "same_limiting_mode"),
            "info",
            mode=mode_term(after.governing_mode),
            repaired=force(after.strength),
            original=force(before.strength),
            screw=screw.id,
            screw_strength=stress(screw.tensile_min),
        )
    return fact(
        "other_limiting_mode",
        "info",
        before=mode_term(before.governing_mode),
        after=mode_term(after.governing_mode),
        repaired=force(after.strength),
        original=force(before.strength),
    )
