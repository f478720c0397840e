"""With which tool, how deep and in which order does the insert go in."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain, combinations_with_replacement

from .. import inserts, tables
from ..errors import GeometryError, unknown
from ..sources import Reference
from ..threads.profile import Thread
from ..units import plain, to_decimals
from .records import Disagreement, Draft, Limit, draft, limit_system

INSERT_KINDS = ("free-running", "locking")
#: The tool that is taken where the case names none: its nose guides the coil into the thread.
USUAL_TOOL = "hand-guided"
#: More shims than this do not lie flat on each other.
_MOST_SHIMS = 4
#: A set-down this little short of its least value is one that was computed, mm: none is measured
#: to the nanometre.
_ROUNDING = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class FittingTool:
    """A kind of fitting tool."""

    tool: str
    words: str
    reference: Reference


def fitting_tool(name: str = USUAL_TOOL) -> FittingTool:
    """Return a kind of fitting tool by name.

    Raises
    ------
    UnknownNameError
        Naming the nearest known tools.
    """
    rows = {row["tool"]: row for row in tables.rows("fitting_tools.csv")}
    if name not in rows:
        raise unknown("fitting tool", name, rows)
    row = rows[name]
    return FittingTool(
        tool=name,
        words=row["words"],
        reference=tables.reference(row, f"fitting tool, {row['words']}"),
    )


def set_down_disagreements(
    thread: Thread, rule: str, *, system: str = "SI"
) -> tuple[Disagreement, ...]:
    """Return the governing rule on set-down first and then the others, for this thread."""
    rules = sorted(inserts.set_down_rules(thread), key=lambda each: each.rule != rule)
    return tuple(
        Disagreement(
            topic="set-down",
            rule=each.rule,
            words=each.words,
            governs=each.rule == rule,
            limits=(_set_down_limit(thread, each, system),),
            reference=each.reference,
        )
        for each in rules
    )


def _set_down_limit(thread: Thread, rule: inserts.SetDown, system: str) -> Limit:
    return Limit(
        name="set-down",
        least=rule.least,
        most=rule.most,
        system=limit_system(thread, system),
        decimals=2,
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
            f"the tool sets the insert {tool_set_down:g} mm down without shims, "
            f"less than {least:g} mm; shims only raise it: set the tool deeper"
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


def shim_words(shims: tuple[float, ...], *, system: str = "SI") -> str:
    """Say a stack in words: "2 x 0.5 mm and 1 x 0.25 mm"."""
    said = [
        f"{shims.count(size)} x {plain(size, dimension='length', system=system, digits=3)}"
        for size in dict.fromkeys(shims)
    ]
    return " and ".join(said) or "no shims"


def fitting(
    thread: Thread,
    *,
    insert_kind: str,
    tool: FittingTool,
    set_down: inserts.SetDown,
    tool_set_down: float | None,
    shim_sizes: Sequence[float],
    system: str,
) -> tuple[Draft, ...]:
    """Return the steps that put the insert in."""
    limit = _set_down_limit(thread, set_down, system)
    stack = None
    if tool_set_down is not None and shim_sizes:
        stack = shim_stack(tool_set_down, set_down.least, set_down.most, shim_sizes)
    steps = [
        draft("tool", tool=tool.words, kind=insert_kind, references=(tool.reference,)),
        *((draft("tool-locking"),) if insert_kind == "locking" else ()),
        *((draft("tool-trial"),) if tool.tool == "powered" else ()),
    ]
    if stack is None or tool_set_down is None:
        steps.append(draft("depth-stop", limits=(limit,)))
    else:
        left = to_decimals(
            tool_set_down - math.fsum(stack), decimals=2, dimension="length", system=system
        )
        shims = shim_words(stack, system=system)
        steps.append(draft("shims", shims=shims, result=left, limits=(limit,)))
    steps += [
        draft("wind-hand" if tool.tool == "hand" else "wind-load"),
        draft("wind"),
        draft("wind-force"),
        draft("set-down", words=set_down.words, limits=(limit,), references=(set_down.reference,)),
    ]
    return tuple(steps)
