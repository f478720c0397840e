"""What is measured on the finished hole, and the record that is signed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

from ..sources import Reference
from ..threads.profile import InternalLimits, Thread
from ..tightening import STATED_TORQUE
from ..units import plain, to_decimals
from .gauging import NoGoRule
from .records import Draft, Limit, Limits, draft

#: Columns of the record that are left blank for the inspector.
BLANKS = ("reading", "gauge identity", "calibrated until", "inspector")


#: The screw passes the locking coil by two pitches.
_PAST_LOCK = Reference(
    source="bs-4621", clause="definition of full engagement (of locking inserts)", how_known="read"
)


class TorqueLimits(Protocol):
    """Limits of the torque that the locking coil asks of the screw, N·m, and their source.

    `breakaway_least_nm` is NaN where no least value is printed.
    """

    @property
    def most_nm(self) -> float:
        """Highest torque in or out, N·m."""

    @property
    def breakaway_least_nm(self) -> float:
        """Least torque to start unscrewing, N·m."""

    @property
    def reference(self) -> Reference:
        """Where the limits stand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrevailingTorque:
    """Torque limits as plain values, N·m, for `TorqueLimits`."""

    most_nm: float
    breakaway_least_nm: float
    reference: Reference


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordRow:
    """One line of the inspection record: what, its limits, and whether it is a count or a text."""

    item: str
    limits: str


def inspecting(
    *,
    insert_kind: str,
    torque: TorqueLimits | None,
    screw: str,
    diameters: Limits,
    reach: Limits,
    better: float,
    near_bottom: bool,
    system: str,
) -> tuple[Draft, ...]:
    """Return the steps from the fitted insert to the signed record.

    `screw` names its strength class and thread class; `better` is a reach, mm, at which it uses
    the whole coil.
    """
    whole = to_decimals(better, decimals=2, dimension="length", system=system)
    steps = [
        draft("screw", screw=screw, limits=diameters),
        draft(
            "screw-reach",
            better=whole,
            limits=reach,
            references=(_PAST_LOCK,) if insert_kind == "locking" else (),
        ),
    ]
    if near_bottom:
        steps.append(draft("screw-bottom"))
    if insert_kind == "locking":
        if torque is None:
            steps.append(draft("torque-none"))
        steps.append(
            draft(
                "torque-run",
                limits=_torque_limits(torque, system),
                references=() if torque is None else (torque.reference,),
            )
        )
        steps += [draft("torque-add", stated_torque=STATED_TORQUE), draft("torque-reuse")]
    else:
        steps.append(draft("free-run"))
    steps.append(draft("record"))
    return tuple(steps)


def _torque_limits(torque: TorqueLimits | None, system: str) -> tuple[Limit, ...]:
    if torque is None:
        return ()

    def limit(name: str, least: float | None, most: float | None) -> Limit:
        return Limit(name=name, least=least, most=most, unit="N·m", decimals=2, system=system)

    limits = [limit("prevailing torque", None, torque.most_nm)]
    if not math.isnan(torque.breakaway_least_nm):
        limits.append(limit("breakaway torque", torque.breakaway_least_nm, None))
    return tuple(limits)


def record_table(
    thread: Thread,
    hole: InternalLimits,
    *,
    length: float,
    insert_kind: str,
    screw: str,
    assumed: Limits,
    no_go: NoGoRule,
    torque: TorqueLimits | None,
    tang_removed: bool,
    system: str,
) -> tuple[RecordRow, ...]:
    """Return the lines of the record, limits printed; `BLANKS` are its further columns.

    Every limit in `assumed` has a line of its own.
    """
    turns = Limit(name="", most=no_go.turns, unit="turns", decimals=1, system=system)
    rows = [
        RecordRow(item="drawing and issue", limits=""),
        RecordRow(
            item="insert: standard, size, length, lot",
            limits=f"{thread.designation} x "
            f"{plain(length, dimension='length', system=system)}, {insert_kind}",
        ),
        RecordRow(item="screw: strength and thread class", limits=screw),
        RecordRow(item="tap identity", limits=f"insert tap {hole.hole_class}"),
        RecordRow(item="GO gauge passes by hand", limits="yes"),
        RecordRow(item="NO-GO gauge, turns entered", limits=turns.text),
        *(RecordRow(item=each.name, limits=each.text) for each in assumed),
    ]
    if tang_removed:
        rows.append(RecordRow(item="inserts fitted / tangs recovered", limits="equal counts"))
    if insert_kind == "locking":
        limits = _torque_limits(torque, system)
        rows += [
            RecordRow(item="prevailing torque, running in", limits=_text(limits, 0)),
            RecordRow(item="breakaway torque, running out", limits=_text(limits, 1)),
        ]
    else:
        rows.append(RecordRow(item="screw turns freely to full depth", limits="yes"))
    rows.append(RecordRow(item="no crack, burr or loose chip (10x glass)", limits="yes"))
    return tuple(rows)


def _text(limits: tuple[Limit, ...], index: int) -> str:
    return limits[index].text if index < len(limits) else "enter from the standard"
