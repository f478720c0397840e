"""What to do when the thread, the insert or the insert hole itself is spoiled."""

from __future__ import annotations

from .. import inserts, tables
from ..errors import unknown
from ..threads.profile import Thread
from ..units import to_decimals
from .records import Choice, Rejected

#: Findings whose answer depends on the wall that is left.
WALLS = ("enough", "short")


#: The findings that concern a hole which has or is to have an insert.
INSERT_HOLE_FINDINGS = ("insert-worn", "hole-oversize", "hole-bell-mouthed", "parent-cracked")


def findings() -> tuple[str, ...]:
    """Return every finding that the table answers."""
    return tuple(dict.fromkeys(row["finding"] for row in tables.rows("spoiled_hole.csv")))


def coil_in_coil_outside(thread: Thread) -> float:
    """Outside diameter of an insert whose inside takes another insert of this thread, mm.

    The inner insert is a screw of its own outside diameter to the outer one; both have the same
    pitch (derived).
    """
    outside = inserts.enlarged_diameters(thread).major
    return outside + (outside - thread.major)


def wall(thread: Thread, edge_distance: float | None) -> str:
    """Say whether the edge leaves room for the next larger hole: "enough" or "short".

    By the designers' rule of 1.5 diameters from the hole's centre, taken at the outside of a coil
    in a coil. An unknown edge counts as short.
    """
    if edge_distance is None:
        return "short"
    return "enough" if edge_distance >= _edge_needed(thread) else "short"


def _edge_needed(thread: Thread) -> float:
    return tables.constant("edge_distance_least").value * coil_in_coil_outside(thread)


def spoiled(
    thread: Thread, finding: str, *, edge_distance: float | None = None, system: str = "SI"
) -> Choice:
    """Return what to do about a finding, with the option that was not taken.

    Raises
    ------
    UnknownNameError
        Naming the nearest known findings.
    """
    if finding not in findings():
        raise unknown("finding", finding, findings())
    room = wall(thread, edge_distance)
    (row,) = (
        row
        for row in tables.rows("spoiled_hole.csv")
        if row["finding"] == finding and row["wall"] in ("any", room)
    )
    option, _, reason = row["rejected"].partition(": ")
    needed = _edge_needed(thread)
    note = ""
    if row["wall"] != "any":

        def length(value: float) -> str:
            return to_decimals(value, decimals=1, dimension="length", system=system)

        given = "not given" if edge_distance is None else length(edge_distance)
        note = f"Edge distance {given}; for the next larger hole {length(needed)}."
    return Choice(
        topic=finding.replace("-", " "),
        option=row["action"],
        words=row["action"].replace("-", " "),
        reason=row["reason"],
        rejected=(Rejected(option=option, reason=reason),),
        note=note,
        references=(
            tables.reference(row, f"finding {finding}"),
            tables.constant("edge_distance_least").reference,
        ),
    )
