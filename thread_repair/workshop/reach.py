"""Does the screw reach far enough into the insert, past the locking coil where there is one."""

from __future__ import annotations

from dataclasses import dataclass

from .. import inserts
from ..errors import GeometryError
from ..threads.profile import Thread

#: The locking coil is taken half way along the fitted insert (common practice; the standards
#: leave its place free), and the screw's chamfered end passes it by two pitches (BS 4621:2010,
#: definition, read).
_LOCK_AT, _PAST_LOCK = 0.5, 2.0


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
    bottom : depth that a blind hole may have at most, mm

    Raises
    ------
    GeometryError
        Saying how much longer or shorter the screw must be.
    """
    if screw_reach is None:
        return
    if screw_reach < limits.least - 1e-6:
        lock = insert_kind == "locking"
        aim = "pass the locking coil by two pitches" if lock else "meet the coil"
        change = "take a longer screw or a shorter insert"
        if lock:
            change += ", or a free-running insert with the lock on the screw"
        raise GeometryError(
            f"a reach of {screw_reach:g} mm is too short to {aim}: {limits.least:.2f} mm is "
            f"needed, {limits.least - screw_reach:.2f} mm more; {change}"
        )
    if bottom is not None and screw_reach >= bottom:
        raise GeometryError(
            f"a reach of {screw_reach:g} mm meets the bottom of a blind hole of {bottom:g} mm; "
            "take a shorter screw or deepen the hole"
        )
