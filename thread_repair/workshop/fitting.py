"""With which tool, how deep and in which order does the insert go in."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .. import inserts, tables
from ..errors import GeometryError, InputError, unknown
from ..sources import Reference
from ..threads.profile import Thread
from ..units import plain, to_decimals
from .records import Disagreement, Draft, Limit, Rejected, draft, limit_system

INSERT_KINDS = ("free-running", "locking")
QUANTITIES = ("occasional", "batch", "series")
#: Thicknesses of the shims under the tool's foot, mm (common practice).
SHIMS = (0.5, 0.25)
#: A stack of 20 mm is not put under a foot: the tool is set instead.
_MOST_SHIMS = 80
#: A set-down this little short of its least value is one that was computed, mm: none is measured
#: to the nanometre.
_ROUNDING = 1e-6

_FINE_SERIES = ("fine", "UNF", "UNEF", "BSF")


@dataclass(frozen=True, slots=True, kw_only=True)
class FittingTool:
    """A class of fitting tools and what it needs."""

    tool: str
    words: str
    need: str
    reference: Reference

    @property
    def driven(self) -> bool:
        """Whether a motor turns it."""
        return not self.tool.startswith("hand")

    @property
    def pre_winder(self) -> bool:
        """Whether the coil is wound down in a threaded nose before it meets the hole."""
        return self.tool != "hand"


@dataclass(frozen=True, slots=True, kw_only=True)
class FittingRoutes:
    """The tools that serve, the first to be preferred, and those that do not."""

    allowed: tuple[FittingTool, ...]
    rejected: tuple[Rejected, ...]


def quantity_class(quantity: int | str) -> str:
    """Return the class of a number of holes; a class given by name is passed on.

    Examples
    --------
    >>> quantity_class(1), quantity_class(50), quantity_class("series")
    ('occasional', 'batch', 'series')
    """
    if isinstance(quantity, str):
        if quantity not in QUANTITIES:
            raise unknown("quantity", quantity, QUANTITIES)
        return quantity
    if quantity < 1:
        raise InputError(f"quantity must be one or more, got {quantity}")
    reached = [
        row["quantity"]
        for row in tables.rows("quantity_classes.csv")
        if quantity >= int(row["least"])
    ]
    return reached[-1]


def fitting_routes(insert_kind: str, quantity: str, *, major: float | None = None) -> FittingRoutes:
    """Return the tools for a kind of insert and a quantity.

    Parameters
    ----------
    insert_kind : "free-running" or "locking"
    quantity : "occasional", "batch" or "series"
    major : nominal diameter, mm; None leaves the limits of size out
    """
    if insert_kind not in INSERT_KINDS:
        raise unknown("insert_kind", insert_kind, INSERT_KINDS)
    if quantity not in QUANTITIES:
        raise unknown("quantity", quantity, QUANTITIES)
    allowed: list[FittingTool] = []
    rejected: list[Rejected] = []
    for row in tables.rows("fitting_tools.csv"):
        least = row["least_major_mm"]
        if insert_kind not in row["insert_kinds"].split():
            reason = f"not for {insert_kind} inserts"
        elif quantity not in row["quantities"].split():
            reason = f"for {' or '.join(row['quantities'].split())} work, this is {quantity}"
        elif least and major is not None and major < float(least):
            reason = f"not for the smallest sizes (below {float(least):g} mm, to be confirmed)"
        else:
            allowed.append(
                FittingTool(
                    tool=row["tool"],
                    words=row["words"],
                    need=row["need"],
                    reference=tables.reference(row, f"fitting tool, {row['words']}"),
                )
            )
            continue
        rejected.append(Rejected(option=row["words"], reason=reason))
    # The last tool of the table that serves is the quickest; the pre-winder serves best by hand.
    return FittingRoutes(allowed=tuple(reversed(allowed)), rejected=tuple(rejected))


def fitting_tool(
    thread: Thread, insert_kind: str, quantity: str, tool: str | None = None
) -> tuple[FittingTool, tuple[Rejected, ...]]:
    """Return the tool to take: the one asked for if it serves, else the preferred one.

    Raises
    ------
    InputError
        If the tool asked for is excluded; the sentence gives the reason and the tools that serve.
    """
    routes = fitting_routes(insert_kind, quantity, major=thread.major)
    if tool is None:
        return routes.allowed[0], routes.rejected
    for each in routes.allowed:
        if each.tool == tool:
            return each, routes.rejected
    by_name = {row["tool"]: row["words"] for row in tables.rows("fitting_tools.csv")}
    if tool not in by_name:
        raise unknown("fitting tool", tool, by_name)
    (reason,) = (each.reason for each in routes.rejected if each.option == by_name[tool])
    serve = " or ".join(repr(each.tool) for each in routes.allowed)
    raise InputError(f"fitting tool {tool!r} is excluded: {reason}; choose {serve}")


def is_fine(thread: Thread) -> bool:
    """Whether the thread belongs to a fine series, which wants a threaded mandrel."""
    return any(word in thread.series.split() for word in _FINE_SERIES)


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
        most=None if math.isnan(rule.most) else rule.most,
        system=limit_system(thread, system),
        decimals=2,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ShimStack:
    """Shims under the tool's foot and the set-down they give, mm.

    `within` is False where no stack of these shims meets the limits; the stack is then the
    deepest that is not deeper than allowed, and `words` says what to change.
    """

    shims: tuple[float, ...]
    set_down: float
    within: bool
    words: str


def shim_stack(tool_set_down: float, least: float, most: float, *, system: str = "SI") -> ShimStack:
    """Return the shims that bring the tool's own set-down within the limits, never deeper.

    The foot of the tool stands on the shims, so that each lifts the insert by its thickness. Of
    the stacks that serve, the one nearest the middle of the limits is taken.

    Parameters
    ----------
    tool_set_down : set-down that the tool gives without shims, measured on a trial hole, mm
    least, most : allowed set-down, mm
    system : of the words, "SI", "inch" or "both"

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
    unit = min(SHIMS)
    fewest = max(0, math.ceil((tool_set_down - most) / unit - 1e-9))
    wanted = (tool_set_down - (least + most) / 2) / unit
    count = max(fewest, round(wanted))
    if count > _MOST_SHIMS:
        raise GeometryError(
            f"the tool sets the insert {tool_set_down:g} mm down without shims, {count} shims of "
            f"{unit:g} mm more than {most:g} mm; set the tool"
        )
    if tool_set_down - count * unit < least - _ROUNDING:
        count = fewest
    set_down = tool_set_down - count * unit
    within = set_down >= least - _ROUNDING
    shims = (SHIMS[0],) * int(count // 2) + (SHIMS[1],) * int(count % 2)

    def length(*values: float) -> str:
        return to_decimals(*values, decimals=2, dimension="length", system=system)

    words = f"It then lies {length(set_down)} down."
    if not within:
        words += (
            f" That is less than the {length(least)} asked: use the stop collar or a ground shim "
            f"of {length(tool_set_down - most, tool_set_down - least)} in all."
        )
    return ShimStack(shims=shims, set_down=set_down, within=within, words=words)


def shim_words(shims: tuple[float, ...], *, system: str = "SI") -> str:
    """Say a stack in words: "2 x 0.5 mm and 1 x 0.25 mm"."""
    counted = [(shims.count(size), size) for size in SHIMS]
    said = [
        f"{n} x {plain(size, dimension='length', system=system, digits=3)}"
        for n, size in counted
        if n
    ]
    return " and ".join(said) or "no shims"


def fitting(
    thread: Thread,
    *,
    insert_kind: str,
    tool: FittingTool,
    set_down: inserts.SetDown,
    tool_set_down: float | None,
    system: str,
) -> tuple[Draft, ...]:
    """Return the steps that put the insert in."""
    need = f"It needs {tool.need}." if tool.need else ""
    steps = [draft("tool", tool=tool.words, need=need, references=(tool.reference,))]
    if insert_kind == "locking":
        steps.append(draft("tool-locking"))
    steps.append(draft("mandrel-fine" if is_fine(thread) else "mandrel-coarse"))
    if tool.driven:
        steps.append(draft("tool-trial"))
    limit = _set_down_limit(thread, set_down, system)
    if tool_set_down is None:
        sizes = plain(*SHIMS, dimension="length", system=system, digits=3)
        steps.append(draft("shims-unknown", shims=sizes, limits=(limit,)))
    else:
        stack = shim_stack(tool_set_down, set_down.least, set_down.most, system=system)
        steps.append(
            draft(
                "shims",
                shims=shim_words(stack.shims, system=system),
                result=stack.words,
                limits=(limit,),
            )
        )
    steps += [
        draft("wind-load" if tool.pre_winder else "wind-hand"),
        draft("wind"),
        draft("wind-push"),
        draft("wind-reverse"),
        draft("set-down", words=set_down.words, limits=(limit,), references=(set_down.reference,)),
    ]
    return tuple(steps)
