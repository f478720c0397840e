"""How is the hole drilled, tapped and cleared of chips."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .. import inserts, tables
from ..errors import GeometryError, InputError, unknown
from ..sources import Reference
from ..threads.profile import InternalLimits, Thread
from .records import Draft, Limit, Limits, draft, limit_system

HOLE_KINDS = ("through", "blind")

#: Drills are counted in tenths of a millimetre here (general purpose series).
_DRILL_STEP = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class ParentGroup:
    """What the workshop must know of a kind of parent."""

    name: str
    words: str
    lubricant: str
    chips: str
    reference: Reference


def parent_group(name: str) -> ParentGroup:
    """Return one group of parents by name.

    Raises
    ------
    UnknownNameError
        Naming the nearest known groups.
    """
    rows = {row["parent_group"]: row for row in tables.rows("parent_groups.csv")}
    if name not in rows:
        raise unknown("parent group", name, rows)
    row = rows[name]
    return ParentGroup(
        name=name,
        words=row["words"],
        lubricant=row["lubricant"],
        chips=row["chips"],
        reference=tables.reference(row, f"chips and cutting fluid, {row['words']}"),
    )


def parent_groups() -> tuple[str, ...]:
    """Return the names of all groups."""
    return tuple(row["parent_group"] for row in tables.rows("parent_groups.csv"))


@dataclass(frozen=True, slots=True, kw_only=True)
class TapRoute:
    """The taps to use, in words, the depth rule they follow and why they were chosen."""

    route: str
    tap: str
    depth_rule: str
    words: str
    reason: str
    references: tuple[Reference, ...]


def tap_route(
    hole_kind: str, group: str, *, room: str = "plug", tap: str | None = None
) -> TapRoute:
    """Return the one tap route for a hole.

    Parameters
    ----------
    hole_kind : "through" or "blind"
    group : group of parents
    room : for a blind hole, the deepest rule that its depth allows: "plug" or "bottoming"
    tap : a tap asked for instead of the one in the table

    Raises
    ------
    InputError
        If the tap asked for is never used in such a hole; the sentence says what to change.
    """
    if hole_kind not in HOLE_KINDS:
        raise unknown("hole_kind", hole_kind, HOLE_KINDS)
    parent_group(group)
    key = "any" if hole_kind == "through" else room
    found = [
        row
        for row in tables.rows("tap_routes.csv")
        if (row["hole_kind"], row["room"], row["parent_group"]) == (hole_kind, key, group)
    ]
    if not found:
        raise unknown("room", room, ("plug", "bottoming"))
    (row,) = found
    taps = {each["route"]: each for each in tables.rows("taps.csv")}
    chosen, reason = taps[row["route"]], row["reason"]
    if tap is not None:
        chosen = _asked_tap(tap, hole_kind=hole_kind, room=key)
        reason = reason if chosen["route"] == row["route"] else "asked for in the case"
    return TapRoute(
        route=chosen["route"],
        tap=chosen["tap"],
        depth_rule=chosen["depth_rule"],
        words=chosen["words"],
        reason=reason,
        references=(tables.reference(row, "tap route"), tables.reference(chosen, "tap kind")),
    )


def _asked_tap(tap: str, *, hole_kind: str, room: str) -> tables.Row:
    by_tap = {row["tap"]: row for row in tables.rows("taps.csv")}
    if tap not in by_tap:
        raise unknown("tap", tap, by_tap)
    row = by_tap[tap]
    if row[hole_kind] == "no":
        raise InputError(
            f"tap {tap!r} is never used in a {hole_kind} hole: it pushes the chips ahead to the "
            "bottom; choose 'spiral-flute' or 'plug'"
        )
    if hole_kind == "blind" and room == "bottoming" and row["depth_rule"] == "plug":
        raise GeometryError(
            f"tap {tap!r} does not reach full depth in a blind hole this shallow; "
            "choose 'bottoming', deepen the hole or take a shorter insert"
        )
    return row


def blind_room(thread: Thread, length: float, hole_depth: float | None) -> str:
    """Say which tap's depth rule a blind hole allows: "plug" or "bottoming".

    Without a limit on the depth the plug tap is the norm.

    Raises
    ------
    GeometryError
        If the hole is too shallow for any tap; the sentence says what to change.
    """
    bottoming = inserts.drill_depth(thread, length, "bottoming")
    if hole_depth is None or _reaches(hole_depth, inserts.drill_depth(thread, length, "plug")):
        return "plug"
    if _reaches(hole_depth, bottoming):
        return "bottoming"
    fitting = [
        n
        for n in inserts.LENGTHS
        if _reaches(
            hole_depth,
            inserts.drill_depth(thread, inserts.nominal_length(thread, n), "bottoming"),
        )
    ]
    change = f"deepen it by {bottoming - hole_depth:.2f} mm"
    if fitting:
        change += f" or take an insert of {fitting[-1]:g} D"
    else:
        change += "; no standard length fits it as it is"
    raise GeometryError(
        f"hole_depth {hole_depth:g} mm is too shallow for any tap: an insert of {length:g} mm "
        f"needs {bottoming:.2f} mm with a bottoming tap; {change}"
    )


def through_thickness(thread: Thread, length: float, thickness: float | None) -> None:
    """Refuse a through hole in a part thinner than the insert is long.

    Source: ASME B18.29.2M-2005, notes: the nominal length is the least thickness of a through
    hole without countersink. Known: read.
    """
    if thickness is None or _reaches(thickness, length):
        return
    fitting = [n for n in inserts.LENGTHS if _reaches(thickness, n * thread.major)]
    change = (
        f"take an insert of {fitting[-1]:g} D"
        if fitting
        else "no standard length fits: another repair is needed"
    )
    raise GeometryError(
        f"a through hole {thickness:g} mm long is less than the insert's length of {length:g} mm; "
        f"{change}"
    )


def _reaches(depth: float, needed: float) -> bool:
    # A depth typed as 23.5 must match a computed 23.5 whatever its last binary digit.
    return bool(depth >= needed - 1e-6)


def drills_within(hole: InternalLimits) -> tuple[float, ...]:
    """Drills in tenths of a millimetre whose size lies within the drilled hole's limits, mm."""
    least, most = inserts.drill_range(hole)
    first = math.ceil(round(least / _DRILL_STEP, 6))
    last = math.floor(round(most / _DRILL_STEP, 6))
    return tuple(round(n * _DRILL_STEP, 1) for n in range(first, last + 1))


def drilling(
    thread: Thread,
    hole: InternalLimits,
    group: ParentGroup,
    *,
    depth: Limits,
    thickness: Limits,
    system: str,
) -> tuple[Draft, ...]:
    """Return the steps from the whole part to the drilled, countersunk hole.

    `depth` and `thickness` are the limits of a blind and of a through hole; the other is empty.
    """
    limits_in = limit_system(thread, system)
    least, most = inserts.drill_range(hole)
    drills = ", ".join(f"{drill:g}" for drill in drills_within(hole))
    # A drill is named by its size in millimetres.
    named = "drills" if system == "SI" else "metric drills"
    name = "hole diameter" + (f" ({named} within: {drills} mm)" if drills else "")
    sink = inserts.countersink(thread)
    return (
        draft(
            "drill",
            limits=(Limit(name=name, least=least, most=most, system=limits_in),),
            references=hole.references,
        ),
        draft("drill-blind", limits=depth) if depth else draft("drill-through", limits=thickness),
        draft(
            "countersink",
            limits=(
                Limit(
                    name=f"countersink diameter, {sink.angle:g} degrees",
                    least=sink.diameter_min,
                    most=sink.diameter_max,
                    system=limits_in,
                    decimals=1,
                ),
            ),
            references=sink.references,
        ),
        draft("chips", chips=group.chips, references=(group.reference,)),
    )


def tapping(
    group: ParentGroup, *, hole_kind: str, route: TapRoute, full_thread: Limits
) -> tuple[Draft, ...]:
    """Return the steps from the drilled to the clean tapped hole."""
    steps = [draft("lubricant", lubricant=group.lubricant, references=(group.reference,))]
    if route.route == "roughing-then-bottoming":
        steps += [
            draft("tap-rough"),
            draft("tap-bottom", reason=route.reason, references=route.references),
            draft("tap-drawing"),
        ]
    elif route.route == "roughing-then-finishing":
        steps += [draft("tap-rough"), draft("tap-finish", references=route.references)]
    else:
        steps.append(
            draft("tap-single", tap=route.words, reason=route.reason, references=route.references)
        )
    # Where the parent is cut dry the oil of the engine manual has no place.
    if not group.lubricant.startswith("none") and route.route.startswith("roughing"):
        steps.append(draft("tap-oil"))
    steps.append(draft("tap-point") if route.tap == "spiral-point" else draft("tap-back"))
    steps.append(draft("tap-depth" if hole_kind == "blind" else "tap-through", limits=full_thread))
    steps.append(draft("clean"))
    return tuple(steps)
