"""What to do when the thread, the insert or the insert hole itself is spoiled."""

from .. import inserts, tables
from ..errors import check_known
from ..facts import Fact, fact, length
from ..threads.profile import Thread
from .records import Choice

#: The findings that concern a hole which has or is to have an insert.
INSERT_HOLE_FINDINGS = ("insert-worn", "oversize", "hole-bell-mouthed", "cracked")
#: What is said of a metal beside the advice to weld it, by the column `welded` of its row.
_NOT_WELDED = {"no": "weld_not_permitted", "unknown": "option_weld_metal_unknown"}


def findings() -> tuple[str, ...]:
    """Return every finding that the table answers.

    Returns
    -------
    tuple of str
    """
    return tuple(dict.fromkeys(row["finding"] for row in tables.rows("spoiled_hole.csv")))


#: Findings in which the hole is still the screw's own, and takes the insert for it.
_OWN_HOLE = ("stripped", "worn")


def edge_needed(thread: Thread, finding: str = "oversize") -> float:
    """Least edge distance of the hole that the finding needs, mm: the rule of 1.5 diameters.

    A damaged thread of the screw's own size needs the hole of the insert, any other finding the
    next larger one.

    That hole takes an insert whose inside takes another insert of this thread. The inner insert
    is a screw of its own outside diameter to the outer one; both have the same pitch (derived).

    Parameters
    ----------
    thread : Thread
    finding : str, optional

    Returns
    -------
    float, mm
    """
    outside = inserts.enlarged_diameters(thread).major
    across = outside if finding in _OWN_HOLE else 2 * outside - thread.major
    return tables.constant("edge_distance_least").value * across


def spoiled(
    thread: Thread, finding: str, *, edge_distance: float | None = None, family: str = ""
) -> Choice:
    """Return the action for a finding; an unknown edge distance counts as too short.

    Parameters
    ----------
    thread : Thread
    finding : str
    edge_distance : float, mm, optional
    family : str, optional
        Of the parent, for whether it can be welded.

    Returns
    -------
    Choice

    Raises
    ------
    UnknownNameError
        Naming the nearest known findings.
    """
    check_known("finding", finding, findings())
    needed = edge_needed(thread, finding)
    wall = "unknown" if edge_distance is None else "enough" if edge_distance >= needed else "short"
    found = tables.rows("spoiled_hole.csv", finding=finding)
    (row,) = (row for row in found if row["wall"] in ("any", wall))
    notes: tuple[Fact, ...] = ()
    # What the insert itself needs the criterion of the edge distance says.
    if row["wall"] != "any" and finding not in _OWN_HOLE:
        edge = {} if edge_distance is None else {"edge": length(edge_distance)}
        known = "" if edge else "_unknown"
        notes = (fact(f"edge_for_oversize{known}", **edge, needed=length(needed)),)
    if row["action"] == "weld-and-retap":
        told = (
            fact(_NOT_WELDED[metal["welded"]], why=metal["why"])
            for metal in tables.rows("weld_repair.csv", family=family)
            if metal["welded"] in _NOT_WELDED
        )
        notes = (*told, *notes)
    return Choice(
        topic=finding,
        option=row["action"],
        reason=row["text"],
        notes=notes,
        references=(
            tables.reference(row, f"finding {finding}"),
            tables.constant("edge_distance_least").reference,
        ),
    )
