"""How is the hole drilled, tapped, cleared of chips and gauged."""

import math
from collections.abc import Iterator
from fractions import Fraction
from functools import cache

import numpy as np

from .. import inserts, tables
from ..errors import GeometryError, InputError
from ..facts import Size
from ..joint.records import ROUNDING, Joint
from ..threads.profile import InternalLimits, Thread
from .records import Choice, Limit, Rule

#: The rule on the NO-GO gauge that governs where the case names none.
USUAL_RULE = "three-turns"


def tap_route(hole_kind: str, group: str, *, room: str = "plug", tap: str | None = None) -> Choice:
    """Return the one tap route for a hole.

    Parameters
    ----------
    hole_kind : "through" or "blind"
    group : group of parents
    room : for a blind hole, the deepest rule that its depth allows: "plug" or "bottoming"
    tap : a tap asked for instead of the one in the table

    Returns
    -------
    Choice

    Raises
    ------
    InputError
        If the tap asked for is never used in such a hole; the sentence says what to change. If
        there is no such kind of hole, group or room.
    """
    key = "any" if hole_kind == "through" else room
    found = tables.rows("tap_routes.csv", hole_kind=hole_kind, room=key, parent_group=group)
    if len(found) != 1:
        raise InputError(f"no tap route for a {hole_kind} hole in {group}, depth for a {key} tap")
    (row,) = found
    chosen = tables.row("taps.csv", "route", row["route"], "tap route")
    reason = row["reason"]
    if tap is not None:
        chosen = _asked_tap(tap, hole_kind=hole_kind, room=key)
        reason = reason if chosen["route"] == row["route"] else ""
    return Choice(
        topic="tap",
        option=chosen["route"],
        name=chosen["words"],
        reason=reason,
        references=(tables.reference(row, "tap route"), tables.reference(chosen, "tap kind")),
    )


def depth_rule(route: str) -> str:
    """Return the rule on depth that a tap route follows: "plug" or "bottoming".

    Parameters
    ----------
    route : str

    Returns
    -------
    str
    """
    return tables.row("taps.csv", "route", route, "tap route")["depth_rule"]


def _asked_tap(tap: str, *, hole_kind: str, room: str) -> tables.Row:
    row = tables.row("taps.csv", "tap", tap, "tap")
    if row[hole_kind] == "no":
        raise InputError.of("tap_never_in_hole", tap=tap, hole_kind=hole_kind)
    if hole_kind == "blind" and room == "bottoming" and row["depth_rule"] == "plug":
        raise GeometryError.of("tap_short_of_depth", tap=tap)
    return row


def room(joint: Joint) -> str:
    """Return which tap's depth rule a hole allows: "plug" or "bottoming".

    Without a limit on the depth the plug tap is the norm.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    str

    Raises
    ------
    GeometryError
        If a blind hole is too shallow for any tap, or the part of a through hole thinner than the
        insert is long; the sentence says what to change.
    """
    if joint.hole_kind == "through":
        through_thickness(joint.thread, joint.insert_length, joint.part_thickness)
        return "plug"
    thread, length, depth = joint.thread, joint.insert_length, joint.hole_depth
    bottoming = inserts.drill_depth(thread, length, "bottoming")
    if depth is None or depth >= inserts.drill_depth(thread, length, "plug") - ROUNDING:
        return "plug"
    if depth >= bottoming - ROUNDING:
        return "bottoming"
    needed = inserts.drill_depth(thread, np.multiply(inserts.LENGTHS, thread.major), "bottoming")
    fitting = np.compress(depth >= needed - ROUNDING, inserts.LENGTHS)
    change = f"deepen it by {bottoming - depth:.2f} mm"
    if fitting.size:
        change += f" or take an insert of {fitting[-1]:g} D"
    else:
        change += "; no standard length fits it as it is"
    raise GeometryError.of(
        "too_shallow_for_tap", depth=depth, length=length, bottoming=bottoming, change=change
    )


def through_thickness(thread: Thread, length: float, thickness: float | None) -> None:
    """Refuse a through hole in a part thinner than the insert is long.

    Source: ASME B18.29.2M-2005, notes: the nominal length is the least thickness of a through
    hole without countersink. Known: read.

    Parameters
    ----------
    thread : Thread
    length : float, mm
    thickness : float, mm, optional

    Raises
    ------
    GeometryError
        If the hole is shorter than the insert.
    """
    if thickness is None or thickness >= length - ROUNDING:
        return
    fitting = [n for n in inserts.LENGTHS if thickness >= n * thread.major - ROUNDING]
    change = (
        f"take an insert of {fitting[-1]:g} D"
        if fitting
        else "no standard length fits: another repair is needed"
    )
    raise GeometryError.of("part_too_thin", thickness=thickness, length=length, change=change)


@cache
def drills_within(hole: InternalLimits) -> tuple[Size, ...]:
    """Return the standard drills whose size lies within the drilled hole's limits.

    Metric drills are for a sheet in SI, fractional, letter and number drills for one in inches.

    Parameters
    ----------
    hole : InternalLimits

    Returns
    -------
    tuple of Size

    Examples
    --------
    >>> from thread_repair.threads import thread
    >>> [each.name for each in drills_within(inserts.insert_hole(thread("M8x1.25"), "6H"))]
    ['8.3 mm', '8.4 mm', '8.5 mm', '21/64 in (0.3281 in)', 'letter Q (0.3320 in)']
    """
    least, most = hole.minor_min, hole.minor_max
    found = sorted(
        (system, size, name)
        for row in tables.rows("drills.csv")
        for system, size, name in _drills(row, least, most)
    )
    # A fraction and a letter may name one and the same drill.
    names = {(system, size): name for system, size, name in reversed(found)}
    return tuple(Size(name, system) for (system, _), name in sorted(names.items()))


def _drills(row: tables.Row, least: float, most: float) -> Iterator[tuple[str, float, str]]:
    """Yield the drills of a row within the limits, mm: system, size in its unit, name."""
    system, unit = ("inch", 25.4) if row["unit"] == "in" else ("SI", 1.0)
    first, last, pitch = float(row["first"]), float(row["last"]), float(row["step"] or 1)
    low = max(0, math.ceil(round((least / unit - first) / pitch, 6)))
    high = math.floor(round((min(most / unit, last) - first) / pitch, 6))
    for size in (first + n * pitch for n in range(low, high + 1)):
        if system == "SI":
            yield system, size, f"{size:g} mm"
            continue
        whole, part = divmod(Fraction(size).limit_denominator(64), 1)
        fraction = " ".join(f"{each}" for each in (whole, part) if each)
        yield system, size, f"{row['name'] or fraction + ' in'} ({size:.4f} in)"


def no_go_rule(rule: str) -> tables.Row:
    """Return one rule on how far the NO-GO gauge may enter.

    Parameters
    ----------
    rule : str
        "" for the usual one.

    Returns
    -------
    tables.Row

    Raises
    ------
    UnknownNameError
        Naming the nearest known rules.
    """
    return tables.row("no_go_rules.csv", "rule", rule or USUAL_RULE, "NO-GO rule")


def no_go_turns(rule: tables.Row) -> Limit:
    """Return the turns that the NO-GO gauge may enter by a rule.

    Parameters
    ----------
    rule : tables.Row

    Returns
    -------
    Limit
    """
    return Limit(id="no_go_turns", most=float(rule["turns"]), dimension="number", decimals=0)


def rules(thread: Thread, set_down: inserts.SetDown, no_go: tables.Row) -> Iterator[Rule]:
    """Yield the governing rule on set-down and then the others, and the same of the NO-GO gauge.

    Parameters
    ----------
    thread : Thread
    set_down : inserts.SetDown
    no_go : tables.Row

    Yields
    ------
    Rule
    """
    for each in sorted(inserts.set_down_rules(thread), key=lambda x: x.rule != set_down.rule):
        yield Rule(
            topic="set_down",
            rule=each.rule,
            governs=each.rule == set_down.rule,
            limit=Limit(id="set_down", least=each.least, most=each.most, decimals=2),
            reference=each.reference,
        )
    for row in sorted(tables.rows("no_go_rules.csv"), key=lambda x: x["rule"] != no_go["rule"]):
        yield Rule(
            topic="no_go",
            rule=row["rule"],
            governs=row["rule"] == no_go["rule"],
            limit=no_go_turns(row),
            reference=tables.reference(row, f"NO-GO gauge, rule {row['rule']}"),
        )


def tolerance_rules(thread: Thread, hole_class: str) -> Iterator[Rule]:
    """Yield the pitch diameter with the tolerance at each diameter, if that changes it.

    Parameters
    ----------
    thread : Thread
    hole_class : str

    Yields
    ------
    Rule
    """
    try:
        found = {
            x: inserts.insert_hole(thread, hole_class, tolerance_at=x) for x in inserts.TOLERANCE_AT
        }
    except ValueError:
        # The enlarged diameter may fall where the standard has no tolerance for the pitch:
        # then there is nothing to show beside the governing one.
        return
    if len({round(each.pitch_max, 6) for each in found.values()}) == 1:
        return
    for place, each in found.items():
        yield Rule(
            topic="hole_tolerance",
            rule=place,
            governs=place == "nominal",
            limit=Limit(id="pitch_diameter", least=each.pitch_min, most=each.pitch_max),
            reference=each.references[1],
        )


def as_close(hole_class: str, thread: Thread) -> bool:
    """Whether a hole is of the closer class that locking inserts ask for, or of a closer one.

    Metric grades count: 4H is closer than 5H. The other systems have one closer class each.

    Parameters
    ----------
    hole_class : str
    thread : Thread

    Returns
    -------
    bool
    """
    closer = inserts.CLOSER_CLASS[thread.system]
    if thread.system == "metric" and hole_class[:1].isdigit():
        return int(hole_class[0]) <= int(closer[0])
    return hole_class == closer
