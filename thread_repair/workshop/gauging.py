"""Does the tapped hole pass: which gauges, by which rule, at which limits."""

from __future__ import annotations

from dataclasses import dataclass

from .. import inserts, tables
from ..errors import unknown
from ..sources import Reference
from ..threads.profile import InternalLimits, Thread
from .records import Disagreement, Draft, Limit, Limits, draft, limit_system

#: The rule that governs where the case names none.
USUAL_RULE = "three-turns"


@dataclass(frozen=True, slots=True, kw_only=True)
class NoGoRule:
    """How far the NO-GO gauge may enter, in turns."""

    rule: str
    turns: float
    words: str
    reference: Reference


def no_go_rules() -> tuple[NoGoRule, ...]:
    """Return every rule on the NO-GO gauge."""
    return tuple(
        NoGoRule(
            rule=row["rule"],
            turns=float(row["turns"]),
            words=row["words"],
            reference=tables.reference(row, f"NO-GO gauge, rule {row['rule']}"),
        )
        for row in tables.rows("no_go_rules.csv")
    )


def no_go_rule(rule: str) -> NoGoRule:
    """Return one rule on the NO-GO gauge.

    Raises
    ------
    UnknownNameError
        Naming the nearest known rules.
    """
    found = {each.rule: each for each in no_go_rules()}
    if rule not in found:
        raise unknown("NO-GO rule", rule, found)
    return found[rule]


def no_go_disagreements(rule: str) -> tuple[Disagreement, ...]:
    """Return the governing rule first and then the others."""
    rules = sorted(no_go_rules(), key=lambda each: each.rule != rule)
    return tuple(
        Disagreement(
            topic="NO-GO gauge",
            rule=each.rule,
            words=each.words,
            governs=each.rule == rule,
            limits=(_turns(each),),
            reference=each.reference,
        )
        for each in rules
    )


def _turns(rule: NoGoRule) -> Limit:
    return Limit(name="NO-GO enters", most=rule.turns, unit="turns", decimals=1)


def gauging(
    thread: Thread,
    hole: InternalLimits,
    *,
    hole_kind: str,
    full_thread: Limits,
    insert_kind: str,
    rule: NoGoRule,
    system: str,
) -> tuple[Draft, ...]:
    """Return the steps that accept the tapped hole before the insert goes in."""
    limits_in = limit_system(thread, system)
    gauges = inserts.hole_gauges(hole)
    steps = [
        draft("gauge-hole"),
        draft(
            "gauge-go",
            limits=(Limit(name="GO pitch diameter", least=gauges.go_pitch, system=limits_in),),
            references=gauges.references,
        ),
        draft(
            "gauge-no-go",
            rule=rule.words,
            limits=(
                _turns(rule),
                Limit(name="NO-GO pitch diameter", most=gauges.no_go_pitch, system=limits_in),
            ),
            references=(rule.reference,),
        ),
        draft(
            "gauge-plain",
            limits=(
                Limit(
                    name="minor diameter",
                    least=gauges.plain_go,
                    most=gauges.plain_no_go,
                    system=limits_in,
                ),
            ),
        ),
    ]
    if hole_kind == "blind":
        steps.append(draft("gauge-depth", limits=full_thread))
    closer = inserts.CLOSER_CLASS[thread.system]
    if insert_kind == "locking" and not _as_close(hole.hole_class, closer):
        step = "gauge-closer-unified" if thread.system == "unified" else "gauge-closer"
        steps.append(draft(step, closer=closer, hole_class=hole.hole_class))
    return tuple(steps)


def _as_close(hole_class: str, closer: str) -> bool:
    # Metric grades count: 4H is closer than 5H. The other systems have one closer class each.
    if hole_class[:1].isdigit() and closer == "5H":
        return int(hole_class[0]) <= int(closer[0])
    return hole_class == closer
