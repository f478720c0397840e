"""How the threads of a joint share the load, original and repaired, and what that costs."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import numpy as np

from .. import tables
from ..errors import unknown
from ..facts import Fact, Value, condition, fact, length, number
from ..facts import share as share_of_one
from ..sources import Reference, ledger
from ..strength.sharing.states import StateSharing, share
from ..strength.strip import STATES
from .records import Evaluation, Joint

#: How a boss held on its face, at its base, or nobody knows where, loads its threads.
BOUNDARIES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {"face": ("compression",), "base": ("tension",), "unknown": ("compression", "tension")}
)

#: Below this part of a perfectly shared load the reader is told.
UNEVEN = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class ElasticConstants:
    """Young's modulus, MPa, and Poisson's ratio of a screw's or wire's material."""

    material: str
    modulus: float
    poisson: float
    reference: Reference


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointSharing:
    """Load sharing of one state of a joint.

    Attributes
    ----------
    state, engagement : the hole, and its engaged length, mm
    by_boundary : the result for each support that the boss may have
    sliding : the same with a coil that slides on both flanks instead of sticking fast; empty for
        the original hole. The two bracket the real coil.
    boundary : the support shown, that of the least even sharing
    efficiency : strip load over that of perfectly shared load
    useful_length : mm
        Engagement beyond which this parent gains less than one percent.
    ductility_capacity : slip at rupture over slip at yield
    references : where the formulas, the moduli and the assumed numbers come from

    The last three are NaN where the parent's elongation or yield strength is not known.
    """

    state: str
    engagement: float
    by_boundary: Mapping[str, StateSharing]
    sliding: Mapping[str, StateSharing]
    boundary: str
    efficiency: float
    useful_length: float
    ductility_capacity: float
    references: tuple[Reference, ...]

    @property
    def shown(self) -> StateSharing:
        """The result of the support that is shown."""
        return self.by_boundary[self.boundary]

    @property
    def ductility_demand(self) -> float:
        """Slip ratio that a fully shared load asks of the most loaded thread."""
        return float(self.shown.ductility_demand)


def elastic_constants(material: str) -> ElasticConstants:
    """Return the elastic constants of a screw's family or of a wire.

    Parameters
    ----------
    material : str

    Returns
    -------
    ElasticConstants

    Raises
    ------
    UnknownNameError
        Naming the nearest known materials.
    """
    table = {row["material"]: row for row in tables.rows("elastic_constants.csv")}
    if material not in table:
        raise unknown("material", material, table)
    row = table[material]
    return ElasticConstants(
        material=material,
        modulus=float(row["elastic_modulus"]),
        poisson=float(row["poisson"]),
        reference=tables.reference(row, f"elastic modulus and Poisson's ratio, {material}"),
    )


def joint_sharing(evaluation: Evaluation) -> Mapping[str, JointSharing]:
    """Return the load sharing of both states of an evaluated joint.

    The strip area is that of the verdict. The boss's support decides how the parent is loaded;
    where it is not known both are worked out and the less even one is shown.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    mapping of str to JointSharing
    """
    return MappingProxyType({state: _state(evaluation, state) for state in STATES})


def _state(evaluation: Evaluation, state: str) -> JointSharing:
    joint = evaluation.joint
    found = evaluation.states[state]
    screw, wire = elastic_constants(joint.screw.family), elastic_constants(joint.wire.id)
    parent_yield = math.nan if joint.parent_yield is None else joint.parent_yield.value
    common: dict[str, Any] = {
        "major": joint.thread.major,
        "pitch": joint.thread.pitch,
        "length": found.engagement,
        "screw_modulus": screw.modulus,
        "screw_poisson": screw.poisson,
        "parent_modulus": joint.parent.elastic_modulus,
        "parent_poisson": joint.parent.poisson,
        "parent_shear_strength": joint.parent_shear.value,
        "parent_yield": parent_yield,
        "parent_elongation": joint.parent.elongation / 100,  # tables give percent
        "shear_area": found.mode("parent_thread_strip").area,
        "boss_diameter": joint.boss_diameter,
        "state": state,
    }
    boundaries = BOUNDARIES[joint.boss_support]
    stuck = {each: share(**common, boundary=each) for each in boundaries}
    sliding = {}
    if state == "repaired":
        coil: dict[str, Any] = {
            "wire_modulus": wire.modulus,
            "wire_poisson": wire.poisson,
            "sliding_coil": True,
        }
        sliding = {each: share(**common, **coil, boundary=each) for each in boundaries}
    worst = max(boundaries, key=lambda each: np.nan_to_num(stuck[each].peak_over_mean))
    shown = stuck[worst]
    # Without a yield strength the threads never yield in the model: its loads mean nothing.
    known = not math.isnan(parent_yield)
    return JointSharing(
        state=state,
        engagement=found.engagement,
        by_boundary=MappingProxyType(stuck),
        sliding=MappingProxyType(sliding),
        boundary=worst,
        efficiency=float(shown.efficiency) if known else math.nan,
        useful_length=float(shown.useful_length) if known else math.nan,
        ductility_capacity=float(shown.ductility_capacity) if known else math.nan,
        references=ledger(
            (*shown.references, screw.reference, *((wire.reference,) if sliding else ()),
             *_parent_references(joint))
        ),
    )  # fmt: skip


def _parent_references(joint: Joint) -> Iterator[Reference]:
    for name in ("elastic_modulus", "poisson", "elongation"):
        if any(value.property == name for value in joint.parent.values):
            yield joint.parent.reference(name)


def sharing_facts(found: Mapping[str, JointSharing]) -> tuple[Fact, ...]:
    """Return what the load sharing says against the lengths of a joint.

    Parameters
    ----------
    found : mapping of str to JointSharing

    Returns
    -------
    tuple of Fact
    """
    return tuple(each for one in found.values() for each in _facts(one))


def _facts(found: JointSharing) -> Iterator[Fact]:
    demand, capacity = found.ductility_demand, found.ductility_capacity
    values: dict[str, Value] = {
        "condition": condition(found.state),
        "engaged": length(found.engagement),
        "demand": number(demand),
        "capacity": number(capacity),
        "efficiency": share_of_one(found.efficiency),
    }
    if math.isnan(capacity):
        yield fact("sharing_not_known", "info", **values)
        return
    if capacity < demand:
        yield fact("sharing_too_brittle", "caution", **values)
    elif found.efficiency < UNEVEN:
        yield fact("sharing_uneven", "info", **values)
    if found.useful_length < found.engagement:
        yield fact(
            "useful_length_exceeded", "caution", **values, useful=length(found.useful_length)
        )


def with_sharing(evaluation: Evaluation) -> Evaluation:
    """Return the evaluation with the load sharing and what it says against its lengths.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    Evaluation
    """
    found = joint_sharing(evaluation)
    return replace(
        evaluation,
        sharing=found,
        facts=(*evaluation.facts, *sharing_facts(found)),
        references=ledger(
            (*evaluation.references, *(r for each in found.values() for r in each.references))
        ),
    )
