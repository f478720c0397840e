"""Which values of a case cannot be, alone or beside another."""

import math
import operator
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import Any, cast

from .. import files, inserts, materials, threads
from ..errors import GeometryError, ThreadRepairError, ValidityError, message, unknown
from ..joint.sizes import mode_inputs
from ..strength.modes import capacities
from ..threads.profile import Thread
from . import gate, physical, strengths, torques, workshop
from .schema import Case, keys

#: What yields sentences, or a key with what has to succeed for it.
Check = Callable[[Case], Iterator[str]] | tuple[str, Callable[[Case], object]]


def contradictions(case: Case, at_fault: Iterable[str] = ()) -> list[str]:
    """Return a sentence for each value that cannot be, alone or beside another.

    A check that reads a key of `at_fault`, or one that an earlier check found at fault, says
    nothing: what it would say follows from a fault that is told already.
    """
    sound = _Sound(case, set(at_fault))
    faults: list[str] = []
    for check in _CHECKS:
        faults += sound.faults(check)
    if sound.at_fault:  # refused anyhow: so all that a final report lacks is told in the same run
        faults += sound.faults(gate.document_faults)
    return faults


class _AtFaultError(Exception):
    """A check asked for a value that is at fault."""


class _Sound:
    """A case of which only the keys that are not at fault can be read."""

    def __init__(self, case: Case, at_fault: set[str]) -> None:
        self._case = case
        self.at_fault = at_fault

    def __getattr__(self, name: str) -> Any:
        if name in self.at_fault:
            raise _AtFaultError(name)
        return getattr(self._case, name)

    def faults(self, check: Check) -> list[str]:
        """Return what a check says, and set the keys aside with which its sentences begin."""
        # What an attempt says follows its last look: while nothing is at fault, it needs no guard.
        found, case = [], cast("Case", self) if self.at_fault or callable(check) else self._case
        try:
            for sentence in _attempt(case, *check) if isinstance(check, tuple) else check(case):
                found.append(sentence)
                self.at_fault.add(sentence.partition(":")[0])
        except _AtFaultError:
            pass
        return found


_MEASURED = tuple(name for name in keys() if name.startswith("measured_"))
#: No tapped joint engages more than this; a longer entry is a slip of the unit.
_MOST_DIAMETERS = 10


def _attempt(case: Case, name: str, attempt: Callable[[Case], object]) -> Iterator[str]:
    """Yield what an attempt says that fails; it begins with the key."""
    try:
        attempt(case)
    except ThreadRepairError as error:
        said = str(error)
        for again in (f"{name}: ", f"{name} "):
            said = said.removeprefix(again)
        yield f"{name}: {said}"


def _thread(case: Case) -> Thread:
    return threads.thread(case.thread)


def _named_screw(case: Case) -> object:
    """Look the class of the screw up, of whatever size: a thread may be at fault too."""
    with suppress(ValidityError):
        return materials.screw(case.screw, 8.0)
    return None


def _one_class(case: Case, *, name: str) -> Iterator[str]:
    """Refuse a class that is another than that of the designation."""
    thread, given = _thread(case), getattr(case, name)
    stated = getattr(thread, name)
    limits = threads.internal_limits if name == "hole_class" else threads.external_limits
    if given and stated and limits(thread, given) != limits(thread, stated):
        yield f"{name}: {given!r} beside {case.thread!r} of the thread; keep one of them"


def _sized(attempt: Callable[[Case, Thread], object]) -> Callable[[Case], object]:
    return lambda case: attempt(case, _thread(case))


def _bound(case: Case, *, name: str) -> Iterator[str]:
    """Refuse a number beyond its bound in `key_bounds.toml`."""
    rule, given = _BOUNDS[name], getattr(case, name)
    bound = rule["bound"]
    if isinstance(bound, str):
        bound = _SIZES[bound](case) if bound in _SIZES else getattr(case, bound)
    if given is not None and bound is not None and _BEYOND[rule["end"]](given, bound):
        entered = case.entered.get(name)
        yield f"{name}: {rule['says'].format(entered=entered, given=given, bound=bound)}"


_BOUNDS = files.data("key_bounds.toml")
_BEYOND = {"most": operator.gt, "least": operator.lt, "above": operator.le}
_SIZES: Mapping[str, Callable[[Case], float]] = {
    "screw major diameter": lambda case: _thread(case).major,
    "insert hole major diameter": lambda case: inserts.enlarged_diameters(_thread(case)).major,
    "insert hole radius": lambda case: inserts.enlarged_diameters(_thread(case)).major / 2,
}


def _date(case: Case) -> Iterator[str]:
    """Say how a date is written; one by day, month and year with points can only mean one day."""
    if case.date and not gate.is_date(case.date):
        turned = "-".join(part.zfill(2) for part in reversed(case.date.strip().split(".")))
        expected = "expected year, month and day like '2026-11-25'"
        hint = f"write {turned!r}" if gate.is_date(turned) else expected
        yield f"date: {case.date[:40]!r} is not a date; {hint}"


def _assumed(case: Case) -> Iterator[str]:
    """Ask for a value of each key that is listed as assumed."""
    for each in case.keys_assumed:
        if not case.entered.get(each):
            yield f"assumed: {unknown('entry', each, case.entered)}"


def _pull_tests(case: Case) -> object:
    return case.pull_tests and files.beside(case.folder or Path(), case.pull_tests)


def _one_tightening(case: Case) -> Iterator[str]:
    if case.preload is not None and case.torque is not None:
        yield "preload: given together with torque; give one of them"


def _with_source(case: Case, *, name: str, source: str) -> Iterator[str]:
    if getattr(case, name) is not None and not getattr(case, source):
        yield f"{name}: given without {source}; name the document or test report"


def _measured(case: Case) -> Iterator[str]:
    """Ask for one measured size where any is to be used, and for none where none is."""
    given = [name for name in _MEASURED if getattr(case, name) is not None]
    position = case.tolerance_position
    if position == "measured" and not given:
        yield message("measured_without_size", keys=", ".join(_MEASURED))
    elif position != "measured":
        for name in given:
            yield f"{name}: not used at tolerance_position {position}; expected measured there"


def _in_diameters(case: Case, *, name: str) -> Iterator[str]:
    """Refuse a length that only a slip of the unit explains."""
    length, thread = getattr(case, name), _thread(case)
    entered, diameters = case.entered[name], length / thread.major
    if diameters > _MOST_DIAMETERS:
        yield f"{name}: {entered!r} is {diameters:.3g} D; expected at most {_MOST_DIAMETERS} D"
    elif _may_be_diameters(entered, length, thread):
        yield message(
            "multiple_without_unit",
            name=name,
            entered=entered,
            length=length,
            thread=thread,
            bare=entered.strip(),
        )
    elif length < thread.pitch:
        yield message("less_than_one_turn", name=name, entered=entered, thread=thread)


def _may_be_diameters(entered: str, length: float, thread: Thread) -> bool:
    """Whether an entry without unit may be one of the usual diameters, the pitch or inches."""
    try:
        usual = float(entered) in inserts.LENGTHS
        return length <= thread.pitch or (usual and length < thread.major)
    except ValueError:
        return False


def _near_thread(case: Case, *, name: str) -> Iterator[str]:
    """Refuse a measured diameter that only a slip of the unit explains."""
    measured, thread = getattr(case, name), _thread(case)
    if measured is not None and not thread.major / 2 <= measured <= 2 * thread.major:
        entered = case.entered[name]
        yield message(
            "no_diameter_of_thread", name=name, entered=entered, thread=thread, measured=measured
        )


def _measured_overlap(case: Case) -> Iterator[str]:
    """Refuse measured sizes with which a thread would hold nothing, or could not be assembled."""
    if case.tolerance_position != "measured":
        return
    described = physical.joint(case)
    for state in ("original", "repaired"):
        try:
            capacities(mode_inputs(described, state, described.thread.major))
        except GeometryError as error:
            given = [name for name in _MEASURED if getattr(case, name) is not None]
            own = [name for name in given if ("insert_hole" in name) == (state == "repaired")]
            apart = "overlap" in str(error)
            yield message(
                "measured_threads_apart",
                keys=", ".join(own or given),
                state=state,
                what="do not overlap and hold nothing" if apart else "cut into each other",
            )
            return


def _hole_condition(case: Case) -> Iterator[str]:
    """An oversize hole has a size; metal is missing outside the hole, of a lost insert its own."""
    condition, given = case.hole_condition, case.damaged_diameter
    if condition == "oversize" and given is None:
        yield message("oversize_without_size")
    if given is None:
        return
    thread = _thread(case)
    if condition != "insert-pulled-out":
        minor = threads.basic_diameters(thread).minor
        if given <= minor:  # a slip of the pen, which any insert hole would remove
            yield message("damage_within_hole", case=case, minor=minor)
        return
    limits = inserts.insert_hole(thread, physical.insert_hole_class(case, thread))
    minor = max(limits.minor_max, case.measured_insert_hole_minor or 0.0)
    if given <= minor:
        yield message("damage_within_insert_hole", case=case, minor=minor)


def _part_thickness(case: Case) -> Iterator[str]:
    if case.part_thickness is None or case.hole_depth is None:
        return
    blind = case.hole_kind == "blind"
    if case.part_thickness < case.hole_depth or not (
        blind or math.isclose(case.part_thickness, case.hole_depth)
    ):
        yield message(
            "thickness_beside_depth",
            case=case,
            expected="more than a blind hole is deep" if blind else "one thickness of the part",
        )


def _available(case: Case) -> Iterator[str]:
    """Refuse more thread than the hole is deep; for a longer screw, than the part is thick."""
    blind = case.hole_kind == "blind"
    room = case.hole_depth if blind else physical.part_thickness(case)
    # What of the original thread would lie beyond a thin part is not counted.
    for name in ("engagement", "engagement_available") if blind else ("engagement_available",):
        given = getattr(case, name)
        if given is not None and room is not None and given > room:
            yield message(
                "more_than_room",
                name=name,
                entered=case.entered[name],
                room_is="hole is deep" if blind else "part is thick",
                room=room,
            )


def _shallow(case: Case) -> Iterator[str]:
    """Refuse a blind hole that no tap can finish for this insert."""
    if case.hole_kind != "blind":
        return
    if case.hole_depth is None:
        yield "hole_depth: missing; a blind hole needs its drilled depth"
        return
    depths = inserts.drill_depths(_thread(case), case.insert_length)
    if case.hole_depth < min(depths.values()):
        yield message("hole_too_shallow", case=case, depths=depths)
    elif case.hole_depth < depths[case.tap]:
        yield message("tap_needs_depth", case=case, needed=depths[case.tap], depths=depths)


#: In an order in which what a check reads has been checked before it.
_CHECKS: tuple[Check, ...] = (
    # what looks names up, thread and parent before what depends on them; an empty one has a default
    ("thread", _thread),
    ("parent", lambda case: materials.parent(case.parent)),
    ("screw", _named_screw),
    ("screw", _sized(lambda case, thread: materials.screw(case.screw, thread.major))),
    ("insert_wire", lambda case: case.insert_wire and materials.wire(case.insert_wire)),
    ("insert_finish", lambda case: case.insert_finish and materials.finish(case.insert_finish)),
    ("set_down_rule", _sized(lambda case, thread: inserts.set_down(case.set_down_rule, thread))),
    ("hole_class", _sized(lambda c, t: threads.internal_limits(t, physical.hole_class(c, t)))),
    ("screw_class", _sized(lambda c, t: threads.external_limits(t, physical.screw_class(c, t)))),
    (
        "insert_hole_class",
        _sized(lambda c, t: c.insert_hole_class and inserts.insert_hole(t, c.insert_hole_class)),
    ),
    *(partial(_one_class, name=name) for name in ("hole_class", "screw_class")),
    _date,
    _assumed,
    gate.change_faults,
    ("pull_tests", _pull_tests),
    _one_tightening,
    *(partial(_with_source, name=name, source="parent_source") for name in strengths.STRENGTHS),
    *strengths.CHECKS,
    partial(_with_source, name="insert_wire_strength", source="insert_wire_source"),
    _measured,
    partial(_in_diameters, name="engagement"),
    partial(_in_diameters, name="insert_length"),
    *(partial(_near_thread, name=name) for name in _MEASURED),
    partial(_near_thread, name="damaged_diameter"),
    partial(_near_thread, name="bearing_diameter"),
    _hole_condition,
    *(partial(_bound, name=name) for name in _BOUNDS),
    _part_thickness,
    _shallow,
    gate.acceptance_faults,
    *workshop.ATTEMPTS,
    *torques.ATTEMPTS,
    *physical.ATTEMPTS,
    ("workshop sheet", workshop.sheet),
    _available,
    _measured_overlap,
)
