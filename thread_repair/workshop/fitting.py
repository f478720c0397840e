"""With which tool, how deep and in which order does the insert go in, and where the tang stays."""

import math
from collections.abc import Sequence
from itertools import chain, combinations_with_replacement

from .. import inserts, tables
from ..errors import GeometryError
from ..joint.records import ROUNDING, Joint
from ..threads.profile import Thread
from .records import Choice

#: More shims than this do not lie flat on each other.
_MOST_SHIMS = 4
#: Least clearance between the tang and the bottom of a blind hole, mm: 1/8 in, TM 9-254
#: para 3-9 (read).
TANG_CLEARANCE = 3.175


def fitting_tool(name: str) -> Choice:
    """Return a kind of fitting tool by name.

    Parameters
    ----------
    name : str

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
    if tool_set_down < least - ROUNDING:
        raise GeometryError.of("shims_reduce_further", tool_set_down=tool_set_down, least=least)
    stacks = chain.from_iterable(
        combinations_with_replacement(sorted(sizes, reverse=True), count)
        for count in range(_MOST_SHIMS + 1)
    )
    within = (
        stack
        for stack in stacks
        if least - ROUNDING <= tool_set_down - math.fsum(stack) <= most + ROUNDING
    )
    middle = (least + most) / 2

    def off(stack: tuple[float, ...]) -> tuple[float, int]:
        return round(abs(tool_set_down - math.fsum(stack) - middle), 6), len(stack)

    return min(within, key=off, default=None)


def screw_reach(
    thread: Thread,
    *,
    length: float,
    insert_kind: str,
    set_down: inserts.SetDown,
    reach: float | None = None,
    bottom: float | None = None,
) -> tuple[float, float]:
    """Return how far the screw must reach past the joint face, and check how far it does.

    A free-running insert has no least of its own here (the engagement budget asks for length);
    its least is the set-down and one pitch, so that the screw meets the coil at all. Better is
    the far end of the insert, and one full thread beyond it for a locking insert, as the
    screw of the standard's torque test reaches (ASME B18.29.2M 11.2.1, read).

    Parameters
    ----------
    thread : Thread
    length : float, mm
    insert_kind : str
    set_down : inserts.SetDown
    reach : float, mm, optional
    bottom : depth that a blind hole may have at most, mm

    Returns
    -------
    (float, float), mm
        The least thread of the screw past the joint face, and what is better.

    Raises
    ------
    GeometryError
        If the screw does not reach the locking coil or the insert, or if it bottoms; says how much
        longer or shorter it must be.
    """
    locking = insert_kind == "locking"
    fitted = float(inserts.fitted_length(thread, length)[1])
    least = inserts.least_reach(thread, length, insert_kind, set_down.most)
    if reach is not None and not reach >= least - ROUNDING:
        aim = "engage the insert"
        change = "take a longer screw or a shorter insert"
        if locking:
            aim = "pass the locking coil by two pitches"
            change += ", or a free-running insert with the lock on the screw"
        raise GeometryError.of(
            "screw_too_short", reach=reach, aim=aim, least=least, lack=least - reach, change=change
        )
    if reach is not None and bottom is not None and not reach < bottom:
        raise GeometryError.of("screw_meets_bottom", reach=reach, bottom=bottom)
    return least, set_down.most + fitted + (thread.pitch if locking else 0.0)


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
