"""Which values of a case cannot be, alone or beside another."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import get_args

from .. import files, inserts, materials, threads
from ..errors import InputError, ThreadRepairError
from ..threads.profile import Thread
from . import change_record, torques, workshop
from .schema import Case, Tap


def contradictions(case: Case) -> list[str]:
    """Return a sentence for each value that cannot be, alone or beside another."""
    faults = list(_unknown_names(case))
    for name in _LENGTHS_ABOVE_ZERO:
        value = getattr(case, name)
        if value is not None and value <= 0:
            faults.append(f"{name}: {case.entered[name]!r} must be above zero")
    if not 0 < case.casting_factor <= 1:
        faults.append(f"casting_factor: {case.casting_factor:g} must be above 0 and at most 1")
    if case.damaged_fraction is not None and case.damaged_fraction > 1:
        faults.append(
            f"damaged_fraction: {case.damaged_fraction:g} must be above 0 and at most 1, "
            "such as 0.42 for 42 per cent"
        )
    if case.date and not _is_date(case.date):
        faults.append(f"date: {case.date[:40]!r} is not a date; expected one like '2026-11-25'")
    faults += change_record.faults(case.changes)
    if case.samples > _MOST_SAMPLES:
        faults.append(
            f"samples: {case.samples} is more than {_MOST_SAMPLES}, the most that is of use"
        )
    if case.pull_tests:
        try:
            files.beside(case.folder or Path(), case.pull_tests)
        except InputError as error:
            faults.append(f"pull_tests: {error}")
    if case.preload is not None and case.torque is not None:
        faults.append("preload: given together with torque; give one of them")
    for name in ("parent_shear_strength", "parent_tensile_strength"):
        if getattr(case, name) is not None and not case.parent_source:
            faults.append(f"{name}: given without parent_source; name the document or test report")
    if case.insert_wire_strength is not None and not case.insert_wire_source:
        faults.append(
            "insert_wire_strength: given without insert_wire_source; name the document or test "
            "report"
        )
    if case.tolerance_position == "measured":
        missing = [name for name in _MEASURED if getattr(case, name) is None]
        faults += [f"{name}: missing; tolerance_position is measured" for name in missing]
    if not faults:
        faults += _misfits(case, threads.thread(case.thread))
    if not faults:
        faults += workshop.faults(case, threads.thread(case.thread))
        faults += torques.faults(case)
    return faults


def _is_date(text: str) -> bool:
    try:
        datetime.date.fromisoformat(text)
    except ValueError:
        return False
    return True


_LENGTHS_ABOVE_ZERO = (
    "engagement",
    "insert_length",
    "hole_depth",
    "part_thickness",
    "screw_reach",
    "boss_diameter",
    "edge_distance",
    "engagement_available",
    "bush_diameter_thin",
    "bush_diameter_heavy",
    "design_load",
    "preload",
    "torque",
    "tool_set_down",
    "prevailing_torque",
    "bearing_diameter",
    "parent_shear_strength",
    "parent_tensile_strength",
    "insert_wire_strength",
    "measured_screw_major",
    "measured_screw_pitch",
    "measured_hole_minor",
    "measured_hole_pitch",
    "measured_insert_hole_minor",
    "measured_insert_hole_pitch",
)
_MEASURED = tuple(name for name in _LENGTHS_ABOVE_ZERO if name.startswith("measured_"))
#: Ten million joints take seconds; the chance is then known far better than its inputs.
_MOST_SAMPLES = 10_000_000
#: No tapped joint engages more than this; a longer entry is a slip of the unit.
_MOST_DIAMETERS = 10


def _misfits(case: Case, thread: Thread) -> Iterator[str]:
    """Yield a sentence for each size that does not fit the others."""
    for name in ("engagement", "insert_length"):
        if getattr(case, name) > _MOST_DIAMETERS * thread.major:
            yield (
                f"{name}: {case.entered[name]!r} is {getattr(case, name) / thread.major:.3g} D; "
                f"expected at most {_MOST_DIAMETERS} D"
            )
    for name in ("bush_diameter_thin", "bush_diameter_heavy"):
        given = getattr(case, name)
        if given is not None and given <= thread.major:
            yield (
                f"{name}: {case.entered[name]!r} is not larger than the screw; expected more "
                f"than {thread.major:g} mm"
            )
    if case.engagement_available is not None and case.engagement_available < case.engagement:
        yield (
            f"engagement_available: {case.entered['engagement_available']!r} is less than the "
            f"engagement; expected at least {case.engagement:g} mm"
        )
    outside = inserts.enlarged_diameters(thread).major
    if case.boss_diameter is not None and case.boss_diameter <= outside:
        yield (
            f"boss_diameter: {case.entered['boss_diameter']!r} leaves no wall around the insert "
            f"hole; expected more than {outside:.2f} mm"
        )
    if case.edge_distance is not None and case.edge_distance <= outside / 2:
        yield (
            f"edge_distance: {case.entered['edge_distance']!r} from the hole centre leaves no "
            f"wall; expected more than {outside / 2:.2f} mm"
        )
    if case.part_thickness is not None and case.hole_depth is not None:
        blind = case.hole_kind == "blind"
        if case.part_thickness < case.hole_depth or not (
            blind or math.isclose(case.part_thickness, case.hole_depth)
        ):
            yield (
                f"part_thickness: {case.entered['part_thickness']!r} beside hole_depth "
                f"{case.entered['hole_depth']!r}; expected "
                + ("more than a blind hole is deep" if blind else "one thickness of the part")
            )
    if case.hole_kind == "blind":
        yield from _shallow(case, thread)


def _shallow(case: Case, thread: Thread) -> Iterator[str]:
    """Refuse a blind hole that no tap can finish for this insert."""
    if case.hole_depth is None:
        yield "hole_depth: missing; a blind hole needs its drilled depth"
        return
    depths = {
        tap: inserts.drill_depth(thread, case.insert_length, tap=tap) for tap in get_args(Tap)
    }
    if case.hole_depth < min(depths.values()):
        yield (
            f"hole_depth: {case.entered['hole_depth']!r} is too shallow for an insert of "
            f"{case.insert_length:g} mm; expected at least {depths['bottoming']:g} mm drilled "
            f"(bottoming tap) or {depths['plug']:g} mm (plug tap), or a shorter insert"
        )
    elif case.hole_depth < depths[case.tap]:
        yield (
            f"tap: a {case.tap} tap needs {depths[case.tap]:g} mm drilled, hole_depth is "
            f"{case.entered['hole_depth']!r}; use tap: bottoming "
            f"({depths['bottoming']:g} mm) or a shorter insert"
        )


def _unknown_names(case: Case) -> Iterator[str]:
    """Yield a sentence for each name that no table knows."""

    def attempt(name: str, look_up: Callable[[], object]) -> Iterator[str]:
        try:
            look_up()
        except ThreadRepairError as error:
            yield f"{name}: {error}"

    yield from attempt("parent", lambda: materials.parent(case.parent))
    if case.insert_wire:
        yield from attempt("insert_wire", lambda: materials.wire(case.insert_wire))
    if case.insert_finish:
        yield from attempt("insert_finish", lambda: materials.finish(case.insert_finish))
    try:
        thread = threads.thread(case.thread)
    except ThreadRepairError as error:
        yield f"thread: {error}"
        return
    yield from attempt("set_down_rule", lambda: inserts.set_down(case.set_down_rule, thread))
    yield from attempt("screw", lambda: materials.screw(case.screw, thread.major))
    if case.hole_class:
        yield from attempt("hole_class", lambda: threads.internal_limits(thread, case.hole_class))
    if case.screw_class:
        yield from attempt("screw_class", lambda: threads.external_limits(thread, case.screw_class))
    if case.insert_hole_class:
        yield from attempt(
            "insert_hole_class", lambda: inserts.insert_hole(thread, case.insert_hole_class)
        )
