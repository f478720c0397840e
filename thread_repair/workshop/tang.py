"""When and how does the tang come off, and how does an old insert come out."""

from __future__ import annotations

from dataclasses import dataclass

from .. import inserts
from ..threads.profile import Thread
from ..units import to_decimals
from .records import Draft, Limit, Limits, draft

#: Least clearance between the tang and the bottom of a blind hole, mm: 1/8 in, TM 9-254
#: para 3-9 (read).
TANG_CLEARANCE = 3.175


@dataclass(frozen=True, slots=True, kw_only=True)
class TangRemoval:
    """Whether the tang comes off, when, and the greatest screw reach if it stays, mm."""

    remove: bool
    when: str
    screw_reach_most: float | None


def tang_removal(
    thread: Thread,
    *,
    hole_kind: str,
    length: float,
    set_down: inserts.SetDown,
    screw_reach: float | None,
) -> TangRemoval:
    """Decide on the tang.

    In a through hole it comes off. In a blind hole it stays where the screw stops at least one
    pitch short of the end of the coil, in which the tang lies (derived); where the screw's reach
    is not known it comes off, because a screw that meets the tang drives the coil on.
    """
    fitted_least, _ = inserts.fitted_length(thread, length)
    reach_most = float(set_down.least + fitted_least - thread.pitch)
    stays = hole_kind == "blind" and screw_reach is not None and screw_reach <= reach_most
    when = "After the set-down is checked:"
    if hole_kind == "blind" and not stays:
        why = "is not known" if screw_reach is None else "passes the tang"
        when = f"The screw's reach {why}. After the set-down is checked:"
    return TangRemoval(
        remove=not stays,
        when=when,
        screw_reach_most=reach_most if stays else None,
    )


def tang_clearance(
    thread: Thread, *, length: float, drilled: float, set_down: inserts.SetDown
) -> float:
    """Least room between the fitted coil and the bottom of a blind hole, mm.

    Drilled depth less the greatest set-down and the greatest fitted length (derived).
    """
    _, fitted_most = inserts.fitted_length(thread, length)
    return float(drilled - set_down.most - fitted_most)


def tang(
    thread: Thread,
    removal: TangRemoval,
    *,
    hole_kind: str,
    length: float,
    drilled: float,
    set_down: inserts.SetDown,
    screw_reach: Limits,
    system: str,
) -> tuple[Draft, ...]:
    """Return the steps on the tang."""
    steps: list[Draft] = []
    if hole_kind == "through":
        steps.append(draft("tang-through"))
    else:
        clearance = tang_clearance(thread, length=length, drilled=drilled, set_down=set_down)
        least = "1/8 in" if system == "inch" else "1/8 in (3.175 mm)"
        if clearance < TANG_CLEARANCE:
            left, deeper = (
                to_decimals(length, decimals=2, dimension="length", system=system)
                for length in (clearance, TANG_CLEARANCE - clearance)
            )
            steps.append(draft("tang-clear-short", clearance=left, least=least, deeper=deeper))
        else:
            steps.append(
                draft(
                    "tang-clear",
                    least=least,
                    limits=(
                        Limit(name="room below the insert", least=TANG_CLEARANCE, system=system),
                    ),
                )
            )
    if removal.remove:
        steps += [draft("tang-out", when=removal.when), draft("tang-count")]
    else:
        steps.append(draft("tang-stays", limits=screw_reach))
    return tuple(steps)


def old_insert() -> tuple[Draft, ...]:
    """Return the steps that take an old insert out."""
    return tuple(
        draft(step)
        for step in (
            "old-dirt", "old-blade", "old-turn", "old-pliers", "old-discard", "old-retap",
        )
    )  # fmt: skip
