"""The options that are tried: each a variation of the joint, ready for the strength functions."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import cache

from .. import inserts, materials, tables, threads
from ..errors import GeometryError, ThreadRepairError, ValidityError
from ..joint.budget import budget, engaged
from ..joint.inputs import mode_inputs
from ..joint.records import Joint
from ..joint.sizes import sizes
from ..joint.wall import certified_wall_factor
from ..strength.modes import ModeInputs
from ..threads.profile import Thread
from ..units import number, percent, plain, printed, restated, show, side_by_side
from .records import Circumstances, Trial

#: Steel of a solid threaded insert where nothing else is known, as a screw class of the tables.
BUSH_STEEL = "300-series"


def trials(joint: Joint, circumstances: Circumstances, *, system: str = "SI") -> Iterator[Trial]:
    """Yield every option but the last resort, in the order of the table."""
    yield _damaged(joint, circumstances)
    yield _longer(joint, circumstances, system)
    yield _larger(joint, system)
    yield from _inserts(joint, system)
    for kind, given in (
        ("bush-thin", circumstances.bush_diameter_thin),
        ("bush-heavy", circumstances.bush_diameter_heavy),
    ):
        yield _bush(joint, kind, given, system)


def engaged_length(joint: Joint, state: str) -> float:
    """Return the engaged length of a state, mm."""
    return float(engaged(budget(joint, state)))


def original_inputs(joint: Joint, length: float) -> ModeInputs:
    """Return the original thread of a joint over a length, mm."""
    return mode_inputs(joint, "original", length)


def _damaged(joint: Joint, circumstances: Circumstances) -> Trial:
    kind = "leave-as-damaged"
    fraction = circumstances.damaged_fraction
    if fraction is None:
        return Trial(
            kind=kind,
            option=kind,
            size="",
            obstacle="the case does not say how much of the thread is lost (damaged_fraction)",
        )
    # Whatever is lost is taken from what the screw reaches.
    left = max(engaged_length(joint, "original") - fraction * joint.engagement, 0.0)
    return Trial(
        kind=kind,
        option=kind,
        size=f"{percent(fraction)} of the thread lost",
        inputs=original_inputs(joint, left) if left > 0 else None,
        obstacle="" if left > 0 else "no sound thread is left within the reach of the screw",
    )


def _longer(joint: Joint, circumstances: Circumstances, system: str) -> Trial:
    kind = "longer-engagement"
    available = circumstances.engagement_available
    lost = (circumstances.damaged_fraction or 0.0) * joint.engagement
    if available is None:
        return Trial(
            kind=kind,
            option=kind,
            size="",
            obstacle="the case does not say how much full thread a longer screw would find "
            "(engagement_available)",
        )
    left = available - lost
    size = (
        f"{plain(available, dimension='length', system=system)} of thread, "
        f"{show(lost, 'length', system=system)} of it lost"
    )
    if left <= 0:
        return Trial(kind=kind, option=kind, size=size, obstacle="all of that thread is lost")
    return Trial(kind=kind, option=kind, size=size, inputs=original_inputs(joint, left))


def _larger(joint: Joint, system: str) -> Trial:
    kind = "larger-screw"
    thread = next_larger(joint.thread, joint.hole_class)
    if thread is None:
        return Trial(
            kind=kind,
            option=kind,
            size="",
            obstacle=f"no larger thread of the series ({joint.thread.series}) is known",
        )
    size = f"{thread.designation}, class {joint.screw.id}"
    try:
        larger = replace(joint, thread=thread, screw=materials.screw(joint.screw.id, thread.major))
        inputs = original_inputs(larger, engaged_length(larger, "original"))
    except ThreadRepairError as error:
        return Trial(kind=kind, option=kind, size=size, obstacle=restated(str(error), system))
    return Trial(kind=kind, option=kind, size=size, inputs=inputs)


def next_larger(thread: Thread, hole_class: str) -> Thread | None:
    """Return the next larger thread of the same series that the old hole can be drilled out for.

    The new hole, drilled to its upper limit, must remove the old thread to its basic major
    diameter. Of metric threads only the first choice of ISO 261 is offered. None at the end of
    the series.

    Examples
    --------
    >>> from thread_repair.threads import thread
    >>> next_larger(thread("M8x1.25"), "6H").designation
    'M10x1.5'
    """
    series = thread.series
    if series not in {known.series for known in threads.known()}:
        series = "ISO metric fine"
    for candidate in sorted(threads.known(), key=lambda t: (t.major, -t.pitch)):
        if candidate.series != series or candidate.major <= thread.major:
            continue
        if candidate.system == "metric" and not _is_first_choice(candidate):
            continue
        try:
            hole = threads.internal_limits(candidate, hole_class)
        except ThreadRepairError:
            continue
        if hole.minor_max >= thread.major:
            return candidate
    return None


@cache
def _first_choices() -> frozenset[tuple[float, float]]:
    return frozenset(
        (float(row["diameter_mm"]), float(row["pitch_mm"]))
        for row in tables.rows("iso_261.csv")
        if row["choice"] == "1"
    )


def _is_first_choice(thread: Thread) -> bool:
    return (thread.major, thread.pitch) in _first_choices()


#: What ends the engaged thread before the insert does, by the step of the budget.
_ENDS = {
    "beyond_part": "the part holds",
    "beyond_screw": "the screw reaches",
}


def _inserts(joint: Joint, system: str) -> Iterator[Trial]:
    """Yield a trial for each standard length, and for the joint's own where it is not standard."""
    major = joint.thread.major
    proposed = next(
        (n for n in inserts.LENGTHS if math.isclose(n * major, joint.insert_length, rel_tol=1e-3)),
        joint.insert_length / major,
    )
    for n in sorted({*inserts.LENGTHS, proposed}):
        length = joint.insert_length if n == proposed else n * major
        changed = replace(joint, insert_length=length)
        steps = budget(changed, "repaired")
        left = float(engaged(steps))
        obstacle, note = _depth(changed, system)
        fitted, _ = inserts.fitted_length(joint.thread, length)
        if not obstacle and left <= 0:
            obstacle = "the screw does not reach it"
        for step in steps:
            if not obstacle and step.mm < -1e-9 and step.step in _ENDS:
                short = f"{_ENDS[step.step]} {_of_its(left, float(fitted), system)}"
                note = f"{note}; {short}" if note else short
        yield Trial(
            kind="wire-insert",
            option=f"wire-insert-{n:.4g}D",
            size=f"{n:.3g} D, {plain(length, dimension='length', system=system, digits=4)}",
            inputs=mode_inputs(changed, "repaired", left) if left > 0 else None,
            obstacle=obstacle,
            note=note,
            is_proposed=n == proposed,
        )


def _of_its(part: float, whole: float, system: str) -> str:
    def text(each: str) -> str:
        return (
            f"{number(printed(part, 'length', each))} of its {show(whole, 'length', system=each)}"
        )

    return side_by_side(text, system)


def _depth(joint: Joint, system: str) -> tuple[str, str]:
    """Why the hole is not deep enough for an insert, or what it asks for."""
    length = joint.insert_length
    if joint.part_thickness is not None and joint.part_thickness < length:
        thick = plain(joint.part_thickness, dimension="length", system=system)
        return f"the part is {thick} thick, thinner than the insert is long", ""
    if joint.hole_depth is None:
        return "", ""
    depth = plain(joint.hole_depth, dimension="length", system=system)
    bottoming, plug = (
        float(inserts.drill_depth(joint.thread, length, tap)) for tap in ("bottoming", "plug")
    )
    if joint.hole_depth < bottoming:
        return (
            f"it needs a hole of {show(bottoming, 'length', system=system)}, drilled are {depth}",
            "",
        )
    return "", "a bottoming tap must finish the hole" if joint.hole_depth < plug else ""


def _bush(joint: Joint, kind: str, outside: float | None, system: str) -> Trial:
    if outside is None:
        key = kind.replace("bush", "bush_diameter").replace("-", "_")
        obstacle = f"the case does not say its outside diameter ({key})"
        return Trial(kind=kind, option=kind, size="", obstacle=obstacle)
    size = f"{plain(outside, dimension='length', system=system, digits=3)} outside"
    try:
        inputs = bush_inputs(joint, outside)
    except (GeometryError, ValidityError) as error:
        return Trial(kind=kind, option=kind, size=size, obstacle=restated(str(error), system))
    return Trial(
        kind=kind,
        option=kind,
        size=size,
        inputs=inputs,
        note="taken as long as the wire insert",
    )


def bush_inputs(joint: Joint, outside: float) -> ModeInputs:
    """Return a solid threaded insert of steel in the parent, as the strength functions take it.

    Parameters
    ----------
    joint : Joint
        Its insert length is the solid insert's length.
    outside : float, mm
        Basic major diameter of its outer thread.

    Notes
    -----
    The parent strips on the outer thread, which is taken with the screw's own profile, pitch and
    tolerances at the larger diameter: at basic size the area per length depends on the diameter
    alone. The parent holds all of it; the screw reaches as far into it as it is long. Ends
    without full thread are not deducted. Inside, its thread shears like a wire insert's, with
    the shear strength of an austenitic steel.

    Source: derived here; no standard solid insert is modelled.
    """
    at = sizes(joint, "original")
    shift = outside - joint.thread.major
    if shift <= 2 * (at.screw_major - at.hole_minor):
        raise GeometryError(
            f"a solid insert of {outside:g} mm outside leaves no wall between its two threads"
        )
    length = joint.insert_length
    reach = length
    if joint.screw_reach is not None:
        reach = min(length, max(joint.screw_reach - joint.set_down_max, 0.0))
    steel = materials.screw(BUSH_STEEL, joint.thread.major)
    whole = mode_inputs(joint, "repaired", length)
    hole = replace(
        whole.hole,
        external_major=at.crest + shift,
        internal_pitch_diameter=at.hole_pitch + shift,
        hole_minor=at.hole_minor + shift,
        hole_major_basic=outside,
        internal_minor=at.inner_minor,
        screw_length=reach,
    )
    return replace(
        whole,
        hole=hole,
        insert_pitch_diameter=at.hole_pitch,
        wire_shear=steel.tensile_min * steel.shear_over_tensile,
        wall_factor=certified_wall_factor(joint, "repaired", outside, length),
    )
