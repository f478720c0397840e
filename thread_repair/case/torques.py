"""The tightening that a case describes: torque or preload, friction, tool, and what is assumed."""

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from functools import lru_cache
from typing import Any

import attrs
import numpy as np

from .. import materials, tables, threads
from .. import tightening as tg
from ..errors import InputError
from ..facts import Fact, fact, number, temperature
from ..inserts import CLOSER_CLASS
from ..joint import evaluate, stress_area
from ..joint.margins import LoadCase
from ..joint.records import Evaluation, Joint
from ..joint.sharing import elastic_constants
from ..joint.wall import flow_stress
from ..threads.profile import Thread
from ..workshop.hole import as_close
from .physical import insert_hole_class, joint, strengths_of
from .schema import Case
from .workshop import torque_limits

#: Kinds of published range that a friction and a tool may be.
FRICTIONS = ("friction", "nut_factor")
TOOLS = ("torque_accuracy", "preload_scatter", "scatter_ratio")
#: A coefficient above this is a slip of the decimal point: no dry metal pair has it.
_MOST_FRICTION = 1.0
#: Between the temperatures below service at which the strengths are compared, K. A choice.
_APART = 5.0
_RANGE = re.compile(r"\s*(\d*\.?\d+)\s*(?:(?:to|-|–)\s*(\d*\.?\d+)\s*)?$")


def load_cases(case: Case) -> tuple[LoadCase, ...]:
    """Return the load cases of a case; none where it gives neither load nor preload."""
    return tg.load_cases(loads(case), tightening(case), cold=at_assembly(case))


def loads(case: Case) -> tg.Loads:
    """Return the limit load of a case and its factors."""
    return tg.Loads(
        limit=case.design_load or 0.0,
        share=case.load_share,
        ultimate=case.load_factor,
        yield_=case.yield_factor,
        separation=case.separation_factor,
        fitting=case.fitting_factor,
    )


def tightening(case: Case) -> tg.Tightening | None:
    """Return what a case says of tightening; None where it gives neither torque nor preload.

    Raises
    ------
    InputError
        For a name or a number that no source can stand for; `case.read` has refused it already.
    """
    if case.torque is None and case.preload is None:
        return None
    described = joint(case)
    thread, screw = described.thread, described.screw
    shape = tg.screw_shape(thread, stress_area(described), case.bearing_diameter)
    head = friction(case.friction, shape)
    in_insert = friction(case.insert_friction, shape) if case.insert_friction else head
    middle = [(each.low + each.high) / 2 for each in (head, in_insert)]
    lever = shape.lever(min(middle), middle[0])
    stated = case.torque or float(tg.torque(case.preload or 0.0, coefficient=lever))
    part, limits = _clamped(case), torque_limits(case, thread)
    # New and run-in inserts lie anywhere below the limit of the prevailing torque.
    running = (0.0, 0.0 if limits is None else limits.most_nm)
    tool = _named_tool(stated, case.tightening_tool)
    wrench = _wrench(case, tool)
    elastic = elastic_constants(screw.family)
    row = tables.row("screw_expansion.csv", "family", screw.family, "family of screws")
    expansion = float(row["expansion_1e6_per_K"]) * 1e-6
    clamped = expansion if part is None else part.expansion
    assembly = tables.constant("assembly_temperature")
    relaxation = tables.constant("preload_relaxation")
    service = tuple(t for t in (case.temperature, case.temperature_min) if t is not None)
    temperatures = tuple(dict.fromkeys((assembly.value, *service)))
    changes = len(temperatures) > 1
    tools = [each.reference for each in (tool, wrench) if each is not None]
    references = [*head.references, *in_insert.references, *tools, relaxation.reference]
    if changes and part is not None and not np.isnan(clamped):
        references += [
            tables.reference(row, f"thermal expansion, {screw.family}"),
            elastic.reference,
            part.reference("expansion"),
            assembly.reference,
        ]
    if limits is not None:
        references.append(limits.reference)
    if case.bearing_diameter is None:
        references.append(tables.constant("bearing_diameter_over_major").reference)
    one = not tool.scattered and head.low == head.high
    rough = max(head, in_insert, key=lambda each: each.low)
    return tg.Tightening(
        torque_nm=case.torque,
        preload=case.preload,
        loads=loads(case),
        shape=shape,
        screw_yield=screw.yield_,
        screw_modulus=elastic.modulus,
        screw_expansion=expansion,
        clamped_expansion=clamped,
        head=head,
        thread={"original": head, "repaired": in_insert},
        tool=tool,
        wrench=wrench,
        small_tool=_named_tool(tg.SMALL, case.tightening_tool),
        prevailing_nm={"original": (0.0, 0.0), "repaired": running},
        temperature=case.temperature,
        temperatures=temperatures,
        relaxation=relaxation.value,
        cold=at_assembly(case),
        facts=tuple(_facts(case, thread, part if changes else None, service, one, rough)),
        references=tuple(dict.fromkeys(references)),
    )


@lru_cache(maxsize=8)
def at_assembly(case: Case) -> Evaluation | None:
    """Return the joint with the parent's strength at assembly; None where it is the same."""
    assembly = tables.constant("assembly_temperature").value
    if case.temperature == assembly:
        return None
    hot = joint(case)
    cold = attrs.evolve(case, temperature=assembly, temperature_min=None, insert_wire=hot.wire.id)
    made = joint(cold)
    # A shear strength that was measured hot stays, while the others follow their tables.
    strengths = [(x.strengths, x.parent_yield and x.parent_yield.value) for x in (made, hot)]
    return None if strengths[0] == strengths[1] else evaluate(made)


def colder(case: Case) -> Joint | None:
    """Return the joint at every 5 K from assembly up to service, as one with arrays.

    None where the parent has the same strength at assembly. By bending of the threads the gain of
    a repair may fall and rise again with the strength of the parent: it has to be enough at every
    temperature that the part goes through.
    """
    if at_assembly(case) is None:
        return None
    hot, assembly = joint(case), tables.constant("assembly_temperature").value
    temperatures: Any = np.arange(assembly, case.temperature, _APART)
    found = strengths_of(case, hot.parent, temperatures)
    strengths: dict[str, Any] = {
        "parent_shear": found.shear,
        "parent_tensile": found.tensile,
        "flow_stress": flow_stress(found.shear, found.tensile, found.yield_),
    }
    made = {name: replace(getattr(hot, name), value=each) for name, each in strengths.items()}
    return replace(hot, temperature=temperatures, **made)


def _friction_missing(case: Case) -> None:
    given, other = ("torque", "preload") if case.torque is not None else ("preload", "torque")
    if getattr(case, given) is not None and not case.friction:
        raise InputError.of("friction_missing", given=given, other=other)


def _seats(case: Case) -> None:
    """Refuse a torque that the wrench may miss altogether at the prevailing torque."""
    if case.torque is None or not case.friction:
        return
    limits = torque_limits(case, threads.thread(case.thread))
    highest = 0.0 if limits is None else limits.most_nm
    tool = _named_tool(case.torque, case.tightening_tool)
    error = (_wrench(case, tool) or tool).error
    if case.torque * (1 - error) <= highest * error:
        raise InputError.of(
            "torque_within_error", case=case, highest=highest, least=highest * error / (1 - error)
        )


def friction(entered: str, shape: tg.ScrewShape) -> tg.Friction:
    """Return the friction that a condition, a coefficient or a range stands for.

    A published torque factor K is turned into the one coefficient that, in thread and under head
    alike, gives that K with the wedge formula (derived).

    Raises
    ------
    InputError
        For a number out of order, or a name that no table has; with the nearest.
    """
    numbers = _RANGE.match(entered)
    if numbers:
        low = float(numbers[1])
        high = float(numbers[2] or numbers[1])
        if not 0 < low <= high <= _MOST_FRICTION:
            raise InputError.of("no_range_of_friction", entered=entered, most=_MOST_FRICTION)
        return tg.Friction(low=low, high=high, references=tables.cited("case-friction"))
    if _RANGE.match(entered.replace(",", ".")):
        raise InputError(f"{entered!r} has a decimal comma; write {entered.replace(',', '.')!r}")
    found = tg.published_range(entered, *FRICTIONS)
    low, high, references = found.low, found.high, [found.reference]
    if found.quantity != "friction":
        low, high = (_coefficient(factor, shape) for factor in (low, high))
        references += tables.cited("friction-of-torque-factor")
    return tg.Friction(low=low, high=high, published=found, references=tuple(references))


def _coefficient(factor: float, shape: tg.ScrewShape) -> float:
    """Coefficient that gives a torque factor: the wedge formula solved for one friction."""
    smooth = float(shape.lever(0.0, 0.0))
    return (factor * shape.major - smooth) / (float(shape.lever(1.0, 1.0)) - smooth)


def _named_tool(torque_nm: float, name: str | None = None) -> tg.PublishedRange:
    usual = "wrench-to-10" if torque_nm <= tg.SMALL else "wrench-above-10"
    return tg.published_range(name or usual, *TOOLS, what="tightening tool")


def _wrench(case: Case, tool: tg.PublishedRange) -> tg.PublishedRange | None:
    """Return the hand torque wrench that a scattered tool is no better than, if a torque is set.

    It is one for small torques, so that it is the same at every torque of the permissible window.
    """
    by_torque = tool.by_torque or case.torque is not None
    return _named_tool(tg.SMALL) if tool.scattered and by_torque else None


def _clamped(case: Case) -> materials.Parent | None:
    """Return the clamped part's material; None where it expands as the screw does."""
    if case.clamped_material == "screw":
        return None
    return materials.parent(case.clamped_material or case.parent)


def _facts(
    case: Case,
    thread: Thread,
    heated: materials.Parent | None,
    service: Iterable[float],
    one_friction: bool,
    rough: tg.Friction,
) -> Iterator[Fact]:
    """What is assumed and what is not known; `heated` is clamped at several temperatures."""
    if not case.insert_friction:
        yield fact("open_insert_friction", "caution")
    highest = max(each.high for each in tg.published_ranges("friction"))
    if rough.low > highest:  # 0.9 typed for 0.09 permits more than twice the torque
        published = replace(rough.limits, least=highest, most=highest)
        yield fact("friction_above_published", "caution", stated=rough.limits, published=published)
    if one_friction:
        yield fact("friction_one_coefficient", "caution")
    if case.bearing_diameter is None:
        ratio = tables.constant("bearing_diameter_over_major").value
        yield fact("bearing_diameter_assumed", ratio=number(ratio))
    if case.insert_kind == "locking" and torque_limits(case, thread) is None:
        yield fact("prevailing_torque_unknown", "limit", thread=thread.designation)
    elif case.insert_kind == "locking" and case.prevailing_torque is None:
        drilled, closer = insert_hole_class(case, thread), CLOSER_CLASS[thread.system]
        if not as_close(drilled, thread):
            yield fact("prevailing_torque_class", "caution", hole_class=drilled, closer=closer)
    if case.design_load is not None and case.load_share is None:
        yield fact("load_factor_unknown")
    assembly = temperature(tables.constant("assembly_temperature").value)
    # Without any temperature that of assembly is told to be assumed.
    if (
        case.temperature_min is None
        and "temperature" in case.entered
        and case.clamped_material != "screw"
        and case.temperature >= assembly.value
    ):
        yield fact("no_temperature_min", "info", temperature=assembly)
    if heated is None:
        return
    if not case.clamped_material:
        yield fact("clamped_as_parent", material=heated.id)
    if np.isnan(heated.expansion):
        yield fact("thermal_expansion_unknown", "limit", material=heated.id)
        return
    hot = tuple(map(temperature, service))
    yield fact("preload_at_temperature", assembly=assembly, service=hot)
    if min(service) < tables.constant("room_temperature_min").value:
        yield fact("strengths_of_room_temperature")


def _named(case: Case, entered: str) -> object:
    return entered and friction(entered, _shape(case))


def _shape(case: Case) -> tg.ScrewShape:
    # Friction does not depend on the screw's area, nor then on a screw that may be unknown.
    thread = threads.thread(case.thread)
    return tg.screw_shape(thread, threads.stress_area(thread), case.bearing_diameter)


#: Each key of tightening with what has to succeed for it.
ATTEMPTS: tuple[tuple[str, Callable[[Case], object]], ...] = (
    ("friction", _friction_missing),
    ("friction", lambda case: _named(case, case.friction)),
    ("insert_friction", lambda case: _named(case, case.insert_friction)),
    ("tightening_tool", lambda case: _named_tool(tg.SMALL, case.tightening_tool)),
    ("clamped_material", _clamped),
    ("torque", _seats),
)
