"""The tightening that a case describes: torque or preload, friction, tool, and what is assumed."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from .. import inserts, materials, tables, threads
from ..errors import InputError, unknown
from ..joint import screw_stress_area
from ..joint.records import Notice
from ..joint.sharing import elastic_constants
from ..sources import Reference
from ..strength.areas import tan_half_angle
from ..threads.profile import Thread
from ..tightening import PublishedRange, published_range, published_ranges
from ..units import plain
from .physical import screw_class
from .schema import Case
from .workshop import torque_limits

#: Kinds of published range that a friction and a tool may be.
FRICTIONS = ("friction", "nut_factor")
TOOLS = ("torque_accuracy", "preload_scatter", "scatter_ratio")
#: Torque from which the closer of the two accuracies of a hand torque wrench holds, N·m.
_WRENCH_CHANGES = 10.0
#: A coefficient above this is a slip of the decimal point: no dry metal pair has it.
_MOST_FRICTION = 1.0
_RANGE = re.compile(r"\s*(\d*\.?\d+)\s*(?:(?:to|-|–)\s*(\d*\.?\d+)\s*)?$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Friction:
    """Least and highest coefficient in thread and under head, what they are and whence."""

    low: float
    high: float
    words: str
    references: tuple[Reference, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewShape:
    """What the wedge formula needs of the screw, mm and degrees."""

    pitch: float
    pitch_diameter: float
    minor_diameter: float
    bearing_diameter: float
    major: float
    flank_angle: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Tightening:
    """What the case says of tightening, both states, names looked up.

    Attributes
    ----------
    torque_nm, preload : one of them, N·m or N; the other None
    shape : of the screw
    friction : under the head, and in the thread of each state
    tool : error of the torque alone, or scatter of the preload with friction in it
    scatter : plus or minus of the preload with friction in it; None where the tool's error is of
        the torque alone
    prevailing_nm : by state, (minimum, maximum)
    load_share : part of the load that the screw feels; None: not known
    temperatures : of assembly first, then those of service that differ from it, degC
    screw_expansion, clamped_expansion : 1/K; NaN where not known
    screw_modulus : MPa
    relaxation : of the minimum preload
    """

    torque_nm: float | None
    preload: float | None
    shape: ScrewShape
    head: Friction
    thread: Mapping[str, Friction]
    tool: PublishedRange
    scatter: float | None
    prevailing_nm: Mapping[str, tuple[float, float]]
    load_share: float | None
    temperatures: tuple[float, ...]
    screw_expansion: float
    clamped_expansion: float
    screw_modulus: float
    relaxation: float
    notices: tuple[Notice, ...]
    references: tuple[Reference, ...]


def tightening(case: Case) -> Tightening | None:
    """Return what a case says of tightening; None where it gives neither torque nor preload.

    Raises
    ------
    InputError
        For a name or a number that no source can stand for; `case.read` has refused it already.
    """
    if case.torque is None and case.preload is None:
        return None
    thread = threads.thread(case.thread)
    screw = materials.screw(case.screw, thread.major)
    shape = _shape(case, thread, screw_stress_area(thread, screw, screw_class(case, thread)))
    head = friction(case.friction, shape)
    in_insert = friction(case.insert_friction, shape) if case.insert_friction else head
    tool = _tool(case)
    thermal = _thermal(case, thread)
    relaxation = tables.constant("preload_relaxation")
    prevailing, running = _prevailing(case, thread)
    references = [*head.references, *in_insert.references, tool.reference, relaxation.reference]
    references += [*thermal.references, *running]
    if case.bearing_diameter is None:
        references.append(tables.constant("bearing_diameter_over_major").reference)
    return Tightening(
        torque_nm=case.torque,
        preload=case.preload,
        shape=shape,
        head=head,
        thread=MappingProxyType({"original": head, "repaired": in_insert}),
        tool=tool,
        scatter=_scatter(tool),
        prevailing_nm=MappingProxyType({"original": (0.0, 0.0), "repaired": prevailing}),
        load_share=case.load_share,
        temperatures=thermal.temperatures,
        screw_expansion=thermal.screw,
        clamped_expansion=thermal.clamped,
        screw_modulus=thermal.modulus,
        relaxation=relaxation.value,
        notices=(
            *_assumptions(case, thread, head=head, in_insert=in_insert, tool=tool),
            *thermal.notices,
        ),
        references=tuple(dict.fromkeys(references)),
    )


def _friction_missing(case: Case) -> None:
    given = "torque" if case.torque is not None else "preload"
    if (case.torque is not None or case.preload is not None) and not case.friction:
        raise InputError(
            f"missing; a {given} is tied to the {_OTHER[given]} by it: expected a condition such "
            "as 'class-B', a coefficient such as '0.12' or a range such as '0.10 to 0.16'"
        )


def _seats(case: Case) -> None:
    """Refuse a torque that the wrench may miss altogether at the prevailing torque."""
    if case.torque is None or not case.friction:
        return
    highest = _prevailing(case, threads.thread(case.thread))[0][1]
    error = 0.0 if _scatter(_tool(case)) else _tool(case).high
    if case.torque * (1 - error) <= highest * error:
        raise InputError(
            f"{case.entered['torque']!r} is less than the error of the wrench at the prevailing "
            f"torque of the locking insert, up to {highest:g} N·m, that is added to it; expected "
            f"more than {highest * error / (1 - error):.2g} N·m"
        )


def _fitting(case: Case) -> None:
    if case.fitting_factor < 1:
        raise InputError(
            f"{case.entered['fitting_factor']!r} is below 1; expected 1 (none) or more, such as "
            "'1.15'"
        )


def _coldest(case: Case) -> None:
    if case.temperature_min is not None and case.temperature_min > case.temperature:
        raise InputError(
            f"{case.entered['temperature_min']!r} is above temperature; expected at most "
            f"{case.temperature:g} degC"
        )


_OTHER = {"torque": "preload", "preload": "torque"}


def friction(entered: str, shape: ScrewShape) -> Friction:
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
            raise InputError(
                f"{entered!r} is no range of friction; expected the least and the highest "
                f"coefficient, above 0 and at most {_MOST_FRICTION:g}, such as '0.10 to 0.16'"
            )
        own = Reference(
            source="engineer",
            clause="friction in the case",
            how_known="measured",
            what="coefficient of friction",
        )
        return Friction(low=low, high=high, words=f"as given, {entered}", references=(own,))
    known = [each.id for kind in FRICTIONS for each in published_ranges(kind)]
    if entered not in known:
        raise unknown("friction condition", entered, known)
    found = published_range(entered)
    if found.quantity == "friction":
        return Friction(
            low=found.low, high=found.high, words=found.title, references=(found.reference,)
        )
    low, high = (_coefficient(factor, shape) for factor in (found.low, found.high))
    if low <= 0:
        raise InputError(
            f"{entered!r}: K = {found.low:g} is less than the pitch of this thread alone takes; "
            "give a coefficient"
        )
    equal = Reference(
        source="tightening-model",
        clause="thread_repair.case.torques.friction",
        how_known="derived",
        what="coefficient that gives the published torque factor K in thread and under head",
    )
    published = f"{found.low:g}" if found.low == found.high else f"{found.low:g} to {found.high:g}"
    return Friction(
        low=low,
        high=high,
        words=f"{found.title}, K = {published}, coefficient {low:.3f} to {high:.3f}",
        references=(found.reference, equal),
    )


def _coefficient(factor: float, shape: ScrewShape) -> float:
    """Coefficient that gives a torque factor: the wedge formula solved for one friction."""
    secant = float(np.hypot(1.0, tan_half_angle(shape.flank_angle)))
    arm = shape.pitch_diameter / 2 * secant + shape.bearing_diameter / 2
    return (factor * shape.major - shape.pitch / (2 * np.pi)) / arm


def _shape(case: Case, thread: Thread, stress_area: float) -> ScrewShape:
    hole = inserts.enlarged_diameters(thread)
    pitch_diameter = thread.major - (hole.major - hole.pitch)
    # The stress area is that of the mean of pitch and root diameter.
    stress = 2 * float(np.sqrt(stress_area / np.pi))
    ratio = tables.constant("bearing_diameter_over_major").value
    return ScrewShape(
        pitch=thread.pitch,
        pitch_diameter=pitch_diameter,
        minor_diameter=2 * stress - pitch_diameter,
        bearing_diameter=case.bearing_diameter or ratio * thread.major,
        major=thread.major,
        flank_angle=thread.flank_angle,
    )


def _tool(case: Case) -> PublishedRange:
    known = [each.id for kind in TOOLS for each in published_ranges(kind)]
    if case.tightening_tool and case.tightening_tool not in known:
        raise unknown("tightening tool", case.tightening_tool, known)
    small = case.torque is not None and case.torque <= _WRENCH_CHANGES
    return published_range(case.tightening_tool or ("wrench-to-10" if small else "wrench-above-10"))


def _scatter(tool: PublishedRange) -> float | None:
    """Plus or minus of the preload; None where the tool's error is of the torque alone.

    Of a range the wider end is taken. A published ratio a of highest to least preload is
    (a - 1)/(a + 1) either side of the mean (derived).
    """
    if tool.quantity == "preload_scatter":
        return tool.high
    if tool.quantity == "scatter_ratio":
        return (tool.high - 1) / (tool.high + 1)
    return None


def _prevailing(case: Case, thread: Thread) -> tuple[tuple[float, float], tuple[Reference, ...]]:
    limits = torque_limits(case, thread)
    if limits is None:
        return (0.0, 0.0), ()
    # New and run-in inserts lie anywhere below the limit.
    return (0.0, limits.most_nm), (limits.reference,)


def _checked_share(case: Case) -> None:
    if case.load_share is not None and case.load_share > 1:
        raise InputError(f"{case.entered['load_share']!r} is above 1: expected the part of the "
                         "load that the screw feels, such as '0.2'")  # fmt: skip


def _clamped(case: Case) -> materials.Parent | None:
    """Return the clamped part's material; None where it expands as the screw does."""
    if case.clamped_material == "screw":
        return None
    return materials.parent(case.clamped_material or case.parent)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Thermal:
    temperatures: tuple[float, ...]
    screw: float
    clamped: float
    modulus: float
    notices: tuple[Notice, ...] = ()
    references: tuple[Reference, ...] = ()


def _thermal(case: Case, thread: Thread) -> _Thermal:
    family = materials.screw(case.screw, thread.major).family
    (row,) = (each for each in tables.rows("screw_expansion.csv") if each["family"] == family)
    elastic, own = elastic_constants(family), float(row["expansion_1e6_per_K"]) * 1e-6
    assembly = tables.constant("assembly_temperature")
    service = [case.temperature]
    if case.temperature_min is not None:
        service.append(case.temperature_min)
    temperatures = tuple(dict.fromkeys((assembly.value, *service)))
    part = _clamped(case)
    clamped = own if part is None else part.expansion
    found = _Thermal(temperatures=temperatures, screw=own, clamped=clamped, modulus=elastic.modulus)
    if len(temperatures) == 1 or part is None:
        return found

    def words(*values: float, joined: str = " and ") -> str:
        return plain(*values, dimension="temperature", system=case.report_units, joined=joined)

    cold, warm = min(temperatures), max(temperatures)
    if np.isnan(clamped):
        text = (
            f"No source gives the thermal expansion of {part.id}: the change of preload from "
            f"{words(cold, warm, joined=' to ')} is NOT in these numbers."
        )
        return replace(found, notices=(Notice(level="limit", text=text),))
    text = (
        f"Tightened at {words(assembly.value)}, in service at "
        f"{words(*service)}. The clamped part is taken as rigid, so "
        "that the true change of preload is smaller than shown."
    )
    if cold < tables.constant("room_temperature_min").value:
        text += " Below room temperature the strengths are those of room temperature."
    return replace(
        found,
        notices=(Notice(level="info", text=text),),
        references=(
            tables.reference(row, f"thermal expansion, {family}"),
            elastic.reference,
            part.reference("expansion"),
            assembly.reference,
        ),
    )


def _assumptions(
    case: Case, thread: Thread, *, head: Friction, in_insert: Friction, tool: PublishedRange
) -> Iterator[Notice]:
    if not case.insert_friction:
        yield Notice(
            level="caution",
            text="The friction in the thread of the fitted insert is not known and taken as that "
            "of the original thread. A wire of another metal, finish or lubricant changes it: "
            "confirm by a trial with the torque wrench and give insert_friction.",
        )
    if _scatter(tool) is None and head.low == head.high:
        yield Notice(
            level="caution",
            text="One coefficient of friction is given, not a range: the band of preload holds "
            "the error of the tool only and is too narrow.",
        )
    if case.bearing_diameter is None:
        ratio = tables.constant("bearing_diameter_over_major").value
        yield Notice(
            level="info", text=f"The mean diameter under the head is taken as {ratio:g} D."
        )
    if case.insert_kind == "locking" and torque_limits(case, thread) is None:
        yield Notice(
            level="limit",
            text=f"No source gives the prevailing torque of a locking insert of "
            f"{thread.designation} and the case gives none: it is NOT in these numbers.",
        )
    if case.design_load is not None and case.load_share is None:
        yield Notice(
            level="info",
            text="The part of the design load that the screw feels is not known. The highest load "
            "on the screw is bounded by preload and whole load together, the opening of the joint "
            "by the whole load taken off the preload: a margin that passes so holds for any "
            "stiffness, one that fails asks for load_share.",
        )


def _named(case: Case, entered: str) -> object:
    # Friction does not depend on the screw's area, nor then on a screw that may be unknown.
    thread = threads.thread(case.thread)
    return entered and friction(entered, _shape(case, thread, threads.stress_area(thread)))


#: Each key of tightening with what has to succeed for it.
ATTEMPTS: tuple[tuple[str, Callable[[Case], object]], ...] = (
    ("friction", _friction_missing),
    ("friction", lambda case: _named(case, case.friction)),
    ("insert_friction", lambda case: _named(case, case.insert_friction)),
    ("tightening_tool", _tool),
    ("load_share", _checked_share),
    ("clamped_material", _clamped),
    ("torque", _seats),
    ("fitting_factor", _fitting),
    ("temperature_min", _coldest),
)
