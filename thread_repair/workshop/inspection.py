"""What is measured on the finished hole, and the record that is signed."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ..facts import length
from ..joint.records import Joint
from ..tables import cited
from ..tightening.published import PrevailingTorque
from .records import Limit, RecordLine, Step, step


def inspecting(
    joint: Joint,
    *,
    insert_kind: str,
    torque: PrevailingTorque | None,
    diameters: tuple[Limit, ...],
    reach: Limit,
    better: float,
    near_bottom: bool,
) -> Iterator[Step]:
    """Yield the steps from the fitted insert to the signed record.

    `better` is a reach, mm, at which the screw uses the whole coil.

    Parameters
    ----------
    joint : Joint
    insert_kind : str
    torque : PrevailingTorque, optional
    diameters : tuple of Limit
    reach : Limit
    better : float, 0 to 1
    near_bottom : bool

    Yields
    ------
    Step
    """
    locking = insert_kind == "locking"
    yield step("screw", *diameters, screw=joint.screw.id, thread_class=joint.screw_class)
    yield step(
        "screw-reach",
        reach,
        references=cited("past-locking-coil") if locking else (),
        better=length(better),
    )
    if near_bottom:
        yield step("screw-bottom")
    if locking:
        if torque is None:
            yield step("torque-none")
        yield step(
            "torque-run",
            *torque_limits(torque),
            references=() if torque is None else (torque.reference,),
        )
        yield step("torque-add")
        yield step("torque-reuse")
    else:
        yield step("free-run")
    yield step("record")


def torque_limits(torque: PrevailingTorque | None) -> tuple[Limit, ...]:
    """Return the known limits of a locking insert's torque, N·m.

    Parameters
    ----------
    torque : PrevailingTorque, optional

    Returns
    -------
    tuple of Limit
    """
    if torque is None:
        return ()
    most = Limit(id="prevailing_torque", most=torque.most_nm, dimension="torque", decimals=2)
    if math.isnan(torque.breakaway_least_nm):
        return (most,)
    return most, Limit(
        id="breakaway_torque", least=torque.breakaway_least_nm, dimension="torque", decimals=2
    )


def record(
    joint: Joint,
    *,
    insert_kind: str,
    assumed: tuple[Limit, ...],
    no_go: Limit,
    torque: PrevailingTorque | None,
    tang_removed: bool,
) -> Iterator[RecordLine]:
    """Yield the lines of the record; every limit in `assumed` has a line of its own.

    Those that the class of a thread sees to are there as the class and its gauges.

    Parameters
    ----------
    joint : Joint
    insert_kind : str
    assumed : tuple of Limit
    no_go : Limit
    torque : PrevailingTorque, optional
    tang_removed : bool

    Yields
    ------
    RecordLine
    """
    yield RecordLine(id="drawing")
    yield RecordLine(
        id=f"insert_{insert_kind.replace('-', '_')}",
        values={"thread": joint.thread.designation, "length": length(joint.insert_length)},
    )
    yield RecordLine(
        id="screw", values={"screw": joint.screw.id, "thread_class": joint.screw_class}
    )
    yield RecordLine(id="tap", values={"hole_class": joint.insert_hole_class})
    yield RecordLine(id="go_gauge")
    for limit in (no_go, *(each for each in assumed if not each.by_class)):
        yield RecordLine(id=limit.id, values={"limit": limit})
    if tang_removed:
        yield RecordLine(id="tangs")
    if insert_kind == "locking":
        known = {limit.id: limit for limit in torque_limits(torque)}
        for id_ in ("prevailing_torque", "breakaway_torque"):
            if id_ in known:
                yield RecordLine(id=id_, values={"limit": known[id_]})
            else:
                yield RecordLine(id=f"{id_}_open")
    else:
        yield RecordLine(id="free_running")
    yield RecordLine(id="surface")
