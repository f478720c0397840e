"""The joint that a case describes: names looked up, allowables worked out, defaults filled in."""

import math
from collections.abc import Callable, Mapping
from dataclasses import fields
from functools import lru_cache

from numpy.typing import ArrayLike

from .. import inserts, materials, tables, threads
from ..facts import Fact, Term, Value, count, fact, number, stress, temperature
from ..joint.records import Allowable, Joint, MeasuredDiameters
from ..joint.wall import flow_stress
from ..materials import Parent, ReducedStrength, Wire
from ..materials.wires import WireShearStrength
from ..threads.profile import Thread
from ..workshop.choice import wire_choice
from ..workshop.records import Choice
from . import strengths
from .schema import Case


def hole_class(case: Case, thread: Thread) -> str:
    """Class of the original hole: the case's, that of the designation, or the usual one."""
    return case.hole_class or threads.default_classes(thread).hole


def screw_class(case: Case, thread: Thread) -> str:
    """Class of the screw: the case's, that of the designation, or the usual one."""
    return case.screw_class or threads.default_classes(thread).screw


def insert_hole_class(case: Case, thread: Thread) -> str:
    """Class of the insert hole: the case's, or that of the original hole.

    The same class on both sides keeps the comparison on equal terms.
    """
    return case.insert_hole_class or hole_class(case, thread)


#: What a joint has as its case has it.
_SAME = (
    "engagement", "insert_length", "insert_kind", "tolerance_position", "hole_kind", "screw_reach",
    "boss_diameter", "boss_support", "edge_distance", "hole_condition", "damaged_diameter",
    "damaged_fraction", "engagement_available", "bush_diameter_thin", "bush_diameter_heavy",
    "temperature",
)  # fmt: skip


@lru_cache(maxsize=4)
def joint(case: Case) -> Joint:
    """Return the joint of a case.

    Raises
    ------
    ValidityError
        If no source gives a strength that is needed, or the temperature lies outside its table.
    """
    thread = threads.thread(case.thread)
    parent = strengths.parent(case)
    reduced = strengths_of(case, parent)
    wire, wire_shear = _wire(case)
    shear, tensile = (_allowable(case, parent, name, reduced) for name in ("shear", "tensile"))
    yield_ = (
        None if math.isnan(float(reduced.yield_)) else _allowable(case, parent, "yield", reduced)
    )
    set_down = inserts.set_down(case.set_down_rule, thread)
    return Joint(
        **{name: getattr(case, name) for name in _SAME},
        thread=thread,
        hole_class=hole_class(case, thread),
        screw_class=screw_class(case, thread),
        insert_hole_class=insert_hole_class(case, thread),
        screw=materials.screw(case.screw, thread.major),
        parent=parent,
        parent_shear=shear,
        parent_tensile=tensile,
        parent_yield=yield_,
        flow_stress=_flow_stress(shear, tensile, yield_),
        wire=wire,
        wire_shear=Allowable(
            value=wire_shear.value,
            named=fact("wire_shear", wire=wire.name, ratio=number(wire_shear.ratio)),
            references=wire_shear.references,
            start=wire_shear.value / wire_shear.ratio,
            factors={"shear_over_tensile": wire_shear.ratio},
        ),
        measured=_measured(case),
        hole_depth=case.hole_depth if case.hole_kind == "blind" else None,
        part_thickness=part_thickness(case),
        set_down_min=set_down.least,
        set_down_max=set_down.most,
        countersink_depth=inserts.countersink(thread).depth_max,
        references=_identity(case),
    )


def _identity(case: Case) -> tuple[tables.Reference, ...]:
    """Documents that relate the designation, and the hardness, to the values used."""
    named, found = materials.designation(case.parent), strengths.hardness(case)
    own = (named.reference or named.parent.identity_reference,)
    return own if found is None else (*own, *found.references)


def part_thickness(case: Case) -> float | None:
    """Thickness of the part around a through hole, mm; None of a blind one, and where not known."""
    if case.hole_kind == "blind":
        return None
    return case.hole_depth if case.part_thickness is None else case.part_thickness


def strengths_of(
    case: Case, parent: Parent, temperature: ArrayLike | None = None
) -> ReducedStrength:
    """Return the strengths of a parent, cast as a case's own is, at its temperature or others."""
    return materials.at_temperature(
        parent,
        case.temperature if temperature is None else temperature,
        exposure=case.temperature_exposure,
        casting_factor=case.casting_factor if parent.casting else 1.0,
    )


def chosen_wire(case: Case) -> Choice:
    """Return the wire of the workshop sheet: the one asked for, where the service allows it."""
    return wire_choice(
        temperature=case.temperature,
        magnetic=case.magnetic,
        environment=case.environment,
        wire=case.insert_wire,
    )


def _wire(case: Case) -> tuple[Wire, WireShearStrength]:
    """Return the wire asked for, or the one that the workshop sheet chooses, and its strength."""
    wire = materials.wire(case.insert_wire or chosen_wire(case).option)
    given, document = case.insert_wire_strength, case.insert_wire_source
    return wire, materials.wire_shear_strength(wire, tensile=given, document=document)


def _allowable(case: Case, parent: Parent, name: str, reduced: ReducedStrength) -> Allowable:
    """One strength of the parent with the value that it starts from and every factor on it."""
    shear = materials.shear_strength(parent)
    derived = name == "shear" and shear.derived
    base = "tensile" if derived else name
    start, factors = getattr(parent, _FIELDS[base]), {}
    references = shear.references if name == "shear" else (parent.reference(name),)
    knocked = strengths.knock_down(case) if parent.is_supplied(base) else 1.0
    if knocked != 1:
        start /= knocked
        factors["tolerance_limit"] = knocked
    tabled = materials.parent(case.parent).yield_
    if name == "yield" and not parent.is_supplied("yield") and start < tabled:
        start, factors["as_tensile"] = tabled, start / tabled
    if derived:
        factors["shear_over_tensile"] = shear.ratio
    if float(case.casting_factor) != 1:
        factors["casting"] = case.casting_factor
    heat = reduced.heat[name]
    if float(heat.factor) != 1:
        factors["temperature"] = float(heat.factor)
        references = (*references, *heat.references)
    return Allowable(
        value=float(getattr(reduced, _FIELDS[name])),
        named=_named(case, parent, name, base, start, factors),
        references=references,
        start=start,
        factors=factors,
    )


#: Names of the strengths as records have them.
_FIELDS = {"shear": "shear", "tensile": "tensile", "yield": "yield_"}


def _named(
    case: Case, parent: Parent, name: str, base: str, start: float, factors: Mapping[str, float]
) -> Fact:
    """Name a strength, what it starts from, and the factors on it."""
    values: dict[str, Value] = {"strength": Term("strength", name), "parent": parent.name}
    given = case.parent_strength_temperature if parent.is_supplied(base) else None
    if not factors and given is None:
        return fact("strength", **values)
    hot = "temperature" in factors or given is not None
    mean = "mean_" if case.parent_strength_basis == "mean" and parent.is_supplied(base) else ""
    values |= {"base": Term("strength", f"{mean}{base}"), "start": stress(start)}
    if hot:
        values["temperature"] = temperature(case.temperature)
    if given is not None:
        values["given"] = temperature(given)
    if factors:
        values["factors"] = tuple(_factor(case, *each) for each in factors.items())
    at, from_, times = "_at" * hot, "_at" * (given is not None), "_times" * bool(factors)
    return fact(f"strength{at}_from{from_}{times}", **values)


def _factor(case: Case, name: str, value: float) -> Fact:
    values: dict[str, Value] = {"value": number(value)}
    if name == "tolerance_limit" and case.parent_strength_pieces is not None:
        values |= {"claim": strengths.claim(), "pieces": count(case.parent_strength_pieces)}
    return fact(f"factor_{name}", **values)


def _flow_stress(shear: Allowable, tensile: Allowable, yield_: Allowable | None) -> Allowable:
    """Flow stress of the boss wall with what it was made of."""
    known = math.nan if yield_ is None else yield_.value
    value = float(flow_stress(shear.value, tensile.value, known))
    least = tables.constant("yield_over_tensile_least")
    if value < flow_stress(math.inf, tensile.value, known):
        how, references = "shear", shear.references
    elif yield_ is None:
        how, references = "yield_assumed", (*tensile.references, least.reference)
    else:
        how, references = "mean", (*tensile.references, *yield_.references)
    of_tensile, assumed = number(value / tensile.value), number(least.value)
    named = fact(f"flow_stress_{how}", of_tensile=of_tensile, assumed=assumed)
    return Allowable(value=value, named=named, references=references)


def _measured(case: Case) -> MeasuredDiameters | None:
    """The sizes that were measured; what does not exist yet, an insert hole say, stays None."""
    if case.tolerance_position != "measured":
        return None
    names = (each.name for each in fields(MeasuredDiameters))
    return MeasuredDiameters(**{name: getattr(case, f"measured_{name}") for name in names})


#: Each key that the strengths of a joint rest on, with what has to succeed for it; at last all.
ATTEMPTS: tuple[tuple[str, Callable[[Case], object]], ...] = (
    ("parent_tensile_strength", strengths.parent),
    (
        "casting_factor",
        lambda case: materials.shear_strength(
            strengths.parent(case), casting_factor=case.casting_factor
        ),
    ),
    ("temperature", lambda case: strengths_of(case, strengths.parent(case))),
    ("insert_wire", _wire),
    ("parent", joint),
)
