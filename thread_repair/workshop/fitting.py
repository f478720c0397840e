"""With which tool, how deep and in which order does the insert go in, and where the tang stays."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, combinations_with_replacement

from .. import inserts, tables
from ..errors import GeometryError
from ..facts import Value, length
from ..joint.records import Joint
from ..threads.profile import Thread
from .records import Choice, Limit, Rule, Step, step

INSERT_KINDS = ("free-running", "locking")
#: The tool that is taken where the case names none: its nose guides the coil into the thread.
USUAL_TOOL = "hand-guided"
#: More shims than this do not lie flat on each other.
_MOST_SHIMS = 4
#: A set-down this little short of its least value is one that was computed, mm: none is measured
#: to the nanometre.
_ROUNDING = 1e-6
#: Least clearance between the tang and the bottom of a blind hole, mm: 1/8 in, TM 9-254
#: para 3-9 (read).
TANG_CLEARANCE = 3.175
#: The locking coil is taken half way along the fitted insert (common practice; the standards
#: leave its place free), and the screw's chamfered end passes it by two pitches (BS 4621:2010,
#: definition, read).
_LOCK_AT, _PAST_LOCK = 0.5, 2.0


def fitting_tool(name: str = USUAL_TOOL) -> Choice:
    """Return a kind of fitting tool by name.

    Parameters
    ----------
    name : str, optional

    Returns
    -------
    Choice

    Raises
    ------
    UnknownNameError
        Naming the nearest known tools.
    """
    row = tables.row("fitting_tools.csv", "tool", name, "fitting tool")
    return Choice(
        topic="fitting_tool",
        option=name,
        name=row["words"],
        references=(tables.reference(row, f"fitting tool, {row['words']}"),),
    )


def set_down_rules(thread: Thread, rule: str) -> tuple[Rule, ...]:
    """Return the governing rule on set-down first and then the others, for this thread.

    Parameters
    ----------
    thread : Thread
    rule : str

    Returns
    -------
    tuple of Rule
    """
    return tuple(
        Rule(
            topic="set_down",
            rule=each.rule,
            governs=each.rule == rule,
            limit=Limit(id="set_down", least=each.least, most=each.most, decimals=2),
            reference=each.reference,
        )
        for each in sorted(inserts.set_down_rules(thread), key=lambda each: each.rule != rule)
    )


def shim_stack(
    tool_set_down: float, least: float, most: float, sizes: Sequence[float]
) -> tuple[float, ...] | None:
    """Return the shims that bring the tool's own set-down within the limits, thickest first.

    The foot of the tool stands on the shims, so that each lifts the insert by its thickness. Of
    the stacks that serve, the one nearest the middle of the limits is taken, and of those the one
    of fewest shims.

    Parameters
    ----------
    tool_set_down : set-down that the tool gives without shims, measured on a trial hole, mm
    least, most : allowed set-down, mm
    sizes : thicknesses of the shims at hand, mm

    Returns
    -------
    tuple of float, mm, or None
        None where no stack of these shims meets the limits.

    Raises
    ------
    GeometryError
        If the tool does not go deep enough even without shims.
    """
    if tool_set_down < least - _ROUNDING:
        raise GeometryError(
            f"{tool_set_down:g} mm without shims is less than the minimum set-down of {least:g} mm "
            "and shims reduce it further; set the tool to at least that depth"
        )
    stacks = chain.from_iterable(
        combinations_with_replacement(sorted(sizes, reverse=True), count)
        for count in range(_MOST_SHIMS + 1)
    )
    within = (
        stack
        for stack in stacks
        if least - _ROUNDING <= tool_set_down - math.fsum(stack) <= most + _ROUNDING
    )
    middle = (least + most) / 2

    def off(stack: tuple[float, ...]) -> tuple[float, int]:
        return round(abs(tool_set_down - math.fsum(stack) - middle), 6), len(stack)

    return min(within, key=off, default=None)


def fitting(
    *,
    insert_kind: str,
    tool: Choice,
    set_down: inserts.SetDown,
    limit: Limit,
    tool_set_down: float | None,
    shim_sizes: Sequence[float],
) -> Iterator[Step]:
    """Yield the steps that put the insert in.

    Parameters
    ----------
    insert_kind : str
    tool : Choice
    set_down : inserts.SetDown
    limit : Limit
    tool_set_down : float, mm, optional
    shim_sizes : sequence of float, mm

    Yields
    ------
    Step
    """
    yield step("tool", references=tool.references, tool=tool.name, kind=insert_kind)
    if insert_kind == "locking":
        yield step("tool-locking")
    if tool.option == "powered":
        yield step("tool-trial")
    stack = None
    if tool_set_down is not None and shim_sizes:
        stack = shim_stack(tool_set_down, set_down.least, set_down.most, shim_sizes)
    if stack is None or tool_set_down is None:
        yield step("depth-stop", limit)
    elif not stack:
        yield step("shims-none", limit, result=length(tool_set_down))
    else:
        shims: Value = tuple(length(size) for size in stack)
        left = length(tool_set_down - math.fsum(stack))
        yield step("shims", limit, shims=shims, result=left)
    yield step("wind-hand" if tool.option == "hand" else "wind-load")
    yield step("wind")
    yield step("wind-force")
    yield step("set-down", limit, references=(set_down.reference,), words=set_down.words)


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewReach:
    """Thread of the screw past the joint face, mm: least, and what is better."""

    least: float
    better: float


def screw_reach_limits(
    thread: Thread, *, length: float, insert_kind: str, set_down: inserts.SetDown
) -> ScrewReach:
    """Return how far the screw must reach past the joint face.

    A free-running insert has no least of its own here (the engagement budget asks for length);
    its least is the set-down and one pitch, so that the screw meets the coil at all. `better` is
    the far end of the insert, and one full thread beyond it for a locking insert, as the
    screw of the standard's torque test reaches (ASME B18.29.2M 11.2.1, read).

    Parameters
    ----------
    thread : Thread
    length : float, mm
    insert_kind : str
    set_down : inserts.SetDown

    Returns
    -------
    ScrewReach
    """
    _, fitted = inserts.fitted_length(thread, length)
    pitch = thread.pitch
    if insert_kind == "locking":
        least = set_down.most + _LOCK_AT * fitted + _PAST_LOCK * pitch
        better = set_down.most + fitted + pitch
    else:
        least = set_down.most + pitch
        better = set_down.most + fitted
    return ScrewReach(least=float(least), better=float(better))


def check_screw_reach(
    limits: ScrewReach,
    *,
    screw_reach: float | None,
    insert_kind: str,
    bottom: float | None = None,
) -> None:
    """Refuse a screw that does not reach the locking coil or the insert, or that bottoms.

    Parameters
    ----------
    limits : ScrewReach
    screw_reach : float, mm, or None
    insert_kind : "free-running" or "locking"
    bottom : depth that a blind hole may have at most, mm

    Raises
    ------
    GeometryError
        Saying how much longer or shorter the screw must be.
    """
    if screw_reach is None:
        return
    if screw_reach < limits.least - _ROUNDING:
        aim = "engage the insert"
        change = "take a longer screw or a shorter insert"
        if insert_kind == "locking":
            aim = "pass the locking coil by two pitches"
            change += ", or a free-running insert with the lock on the screw"
        raise GeometryError(
            f"{screw_reach:g} mm is too short to {aim}: {limits.least:.2f} mm is "
            f"needed, {limits.least - screw_reach:.2f} mm more; {change}"
        )
    if bottom is not None and screw_reach >= bottom:
        raise GeometryError(
            f"{screw_reach:g} mm meets the bottom of a blind hole of {bottom:g} mm; "
            "take a shorter screw or deepen the hole"
        )


def tang_stays_to(joint: Joint, set_down: inserts.SetDown) -> float | None:
    """Return the greatest screw reach with which the tang may stay in, mm; None: it comes off.

    In a through hole it comes off. In a blind hole it stays where the screw stops at least one
    pitch short of the end of the coil, in which the tang lies (derived); where the screw's reach
    is not known it comes off, because a screw that meets the tang drives the coil on.

    Parameters
    ----------
    joint : Joint
    set_down : inserts.SetDown

    Returns
    -------
    float, mm or None
    """
    fitted_least, _ = inserts.fitted_length(joint.thread, joint.insert_length)
    most = float(set_down.least + fitted_least - joint.thread.pitch)
    reach = joint.screw_reach
    return most if joint.hole_kind == "blind" and reach is not None and reach <= most else None


def tang(
    joint: Joint, *, drilled: float, set_down: inserts.SetDown, removed: bool, screw_reach: Limit
) -> Iterator[Step]:
    """Yield the steps on the tang.

    Least room between the fitted coil and the bottom of a blind hole is the drilled depth less the
    greatest set-down and the greatest fitted length (derived).

    Parameters
    ----------
    joint : Joint
    drilled : float, mm
    set_down : inserts.SetDown
    removed : bool
    screw_reach : Limit

    Yields
    ------
    Step
    """
    if joint.hole_kind == "through":
        yield step("tang-through")
    else:
        _, fitted_most = inserts.fitted_length(joint.thread, joint.insert_length)
        clearance = float(drilled - set_down.most - fitted_most)
        room = Limit(id="tang_room", least=TANG_CLEARANCE, decimals=2)
        if clearance < TANG_CLEARANCE:
            yield step(
                "tang-clear-short",
                room,
                clearance=length(clearance),
                deeper=length(TANG_CLEARANCE - clearance),
            )
        else:
            yield step("tang-clear", room)
    if not removed:
        yield step("tang-stays", screw_reach)
        return
    if joint.hole_kind == "blind":
        yield step("tang-unknown" if joint.screw_reach is None else "tang-passed")
    yield step("tang-out")
    yield step("tang-count")
