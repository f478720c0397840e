"""How the threads of a joint share the load, original and repaired, and what that costs.

Below yield, then past it: load against travel of the screw in both holes.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np
from numpy.typing import ArrayLike

from .. import tables
from ..errors import ValidityError
from ..facts import Fact, Term, Value, condition, energy, fact, force, length, number, stress
from ..facts import share as share_of_one
from ..strength.sharing.distribution import StateSharing, share
from ..strength.sharing.load_slip import REFERENCES as LOAD_SLIP_REFERENCES
from ..strength.sharing.load_slip import LoadSlip, ThreadCurve, band_width, hardening, load_slip
from ..strength.strip import STATES
from .records import Evaluation, Joint, JointSharing, StateResult

#: How a boss held on its face, at its base, or nobody knows where, loads its threads.
BOUNDARIES: Mapping[str, tuple[str, ...]] = {
    "face": ("compression",),
    "base": ("tension",),
    "unknown": ("compression", "tension"),
}

#: Below this part of a perfectly shared load the reader is told.
UNEVEN = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class ElasticConstants:
    """Young's modulus, MPa, and Poisson's ratio of a screw's or wire's material."""

    modulus: float
    poisson: float
    reference: tables.Reference


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
    row = tables.row("elastic_constants.csv", "material", material, "material")
    return ElasticConstants(
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
    return {state: _state(evaluation, state) for state in STATES}


def share_of(
    joint: Joint,
    state: str,
    length: ArrayLike,
    area: ArrayLike,
    *,
    boundary: str = "compression",
    sliding_coil: bool = False,
) -> StateSharing:
    """Return the load sharing of one state of a joint.

    Parameters
    ----------
    joint : Joint
    state : "original" | "repaired"
    length : array_like, mm
        Engaged length of full thread.
    area : array_like, mm2
        Strip area of the parent's thread.
    boundary, sliding_coil : as in `strength.sharing.distribution.share`

    Returns
    -------
    StateSharing
    """
    parent = joint.parent
    screw, wire = elastic_constants(joint.screw.family), elastic_constants(joint.wire.id)
    return share(
        major=joint.thread.major,
        pitch=joint.thread.pitch,
        length=length,
        screw_modulus=screw.modulus,
        screw_poisson=screw.poisson,
        parent_modulus=parent.elastic_modulus,
        parent_poisson=parent.poisson,
        parent_shear_strength=joint.parent_shear.value,
        parent_yield=math.nan if joint.parent_yield is None else joint.parent_yield.value,
        parent_elongation=parent.elongation / 100,  # tables give percent
        shear_area=area,
        boss_diameter=joint.boss_diameter,
        state=state,
        sliding_coil=sliding_coil,
        wire_modulus=wire.modulus,
        wire_poisson=wire.poisson,
        boundary=boundary,
    )


def _state(evaluation: Evaluation, state: str) -> JointSharing:
    joint = evaluation.joint
    found = evaluation.states[state]
    area = found.mode("parent_thread_strip").area
    of = partial(share_of, joint, state, found.engagement, area)
    boundaries = BOUNDARIES[joint.boss_support]
    stuck = {each: of(boundary=each) for each in boundaries}
    sliding = {}
    if state == "repaired":
        sliding = {each: of(boundary=each, sliding_coil=True) for each in boundaries}
    asked = map(joint.parent.find, ("elastic_modulus", "poisson", "elongation"))
    worst = max(boundaries, key=lambda each: np.nan_to_num(stuck[each].peak_over_mean))
    return JointSharing(
        state=state,
        engagement=found.engagement,
        by_boundary=stuck,
        sliding=sliding,
        boundary=worst,
        references=tables.ledger(
            (*stuck[worst].references, elastic_constants(joint.screw.family).reference,
             *((elastic_constants(joint.wire.id).reference,) if sliding else ()),
             *(value.reference for value in asked if value))
        ),
    )  # fmt: skip


def lacking(joint: Joint) -> tuple[Term, ...]:
    """Return what the load sharing asks of a parent and nobody knows, the elastic constants first.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    tuple of Term
    """
    parent = joint.parent
    asked = {
        "elastic_modulus": parent.elastic_modulus,
        "poisson": parent.poisson,
        "yield": math.nan if joint.parent_yield is None else joint.parent_yield.value,
        "elongation": parent.elongation,
    }
    return tuple(Term("property", name) for name, value in asked.items() if math.isnan(value))


def not_assessed(joint: Joint) -> Fact | None:
    """Return why nothing of the load sharing is known, None where it is.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    Fact or None
    """
    missing = lacking(joint)
    if {each.id for each in missing}.isdisjoint(("elastic_modulus", "poisson")):
        return None
    return fact("sharing_not_assessed", lacking=missing)


def sharing_facts(joint: Joint, found: Mapping[str, JointSharing]) -> tuple[Fact, ...]:
    """Return what the load sharing says against the lengths of a joint, or why it says nothing.

    Parameters
    ----------
    joint : Joint
    found : mapping of str to JointSharing
        Of both states of this joint.

    Returns
    -------
    tuple of Fact
    """
    if told := not_assessed(joint):
        return (told,)
    return tuple(each for one in found.values() for each in _facts(joint, one))


def _facts(joint: Joint, found: JointSharing) -> Iterator[Fact]:
    shown = found.shown
    demand, capacity = float(shown.ductility_demand), float(shown.ductility_capacity)
    values: dict[str, Value] = {
        "condition": condition(found.state),
        "engaged": length(found.engagement),
        "demand": number(demand),
        "capacity": number(capacity),
        "efficiency": share_of_one(float(shown.efficiency)),
    }
    if math.isnan(capacity):
        yield fact("sharing_not_known", **values, lacking=lacking(joint))
        return
    if capacity < demand:
        yield fact("sharing_too_brittle", "caution", **values)
    elif shown.efficiency < UNEVEN:
        yield fact("sharing_uneven", **values)
    if (useful := float(shown.useful_length)) < found.engagement:
        yield fact("useful_length_exceeded", "caution", **values, useful=length(useful))


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
        facts=(*evaluation.facts, *sharing_facts(evaluation.joint, found)),
        references=tables.ledger(
            (*evaluation.references, *(r for each in found.values() for r in each.references))
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class JointLoadSlip:
    """Load-slip curves by state, none where the parent's curve is not known, and what they say.

    The support of the boss is that of the load sharing shown, and the coil of an insert sticks.
    """

    states: Mapping[str, LoadSlip] = field(default_factory=dict)
    facts: tuple[Fact, ...]
    references: tuple[tables.Reference, ...] = ()


def joint_load_slip(evaluation: Evaluation) -> JointLoadSlip:
    """Return the load-slip curves of both states of a joint whose load sharing is known.

    The plateau is the thread-stripping load of the verdict, which no certified upper bound is
    below, and the elastic part that of the load sharing.

    Parameters
    ----------
    evaluation : Evaluation
        With its load sharing.

    Returns
    -------
    JointLoadSlip
    """
    joint, missing = evaluation.joint, lacking(evaluation.joint)
    if joint.parent_yield is None or missing:
        return JointLoadSlip(facts=(fact("load_slip_not_known", lacking=missing),))
    values = {
        "yield_strength": joint.parent_yield.value,
        "tensile": joint.parent_tensile.value,
        "elongation": joint.parent.elongation / 100,  # tables give percent
    }
    try:
        exponent, strain = hardening(**values)
    except ValidityError:
        said = fact(
            "load_slip_no_curve",
            parent_yield=stress(values["yield_strength"]),
            tensile=stress(values["tensile"]),
            elongation=share_of_one(values["elongation"]),
        )
        return JointLoadSlip(facts=(said,))
    found = {
        name: _curve(state, evaluation.sharing[name], exponent, strain)
        for name, state in evaluation.states.items()
    }
    assumed = (
        tables.constant("small_strain_limit").reference,
        tables.reference(tables.rows("load_slip_band.csv")[0], "width over which a thread shears"),
    )
    return JointLoadSlip(
        states=found,
        facts=tuple(each for name, one in found.items() for each in _travel(name, one)),
        references=(*LOAD_SLIP_REFERENCES, *assumed),
    )


def _curve(state: StateResult, sharing: JointSharing, exponent: float, strain: float) -> LoadSlip:
    shown, sizes = sharing.shown, state.sizes
    strips = state.mode("parent_thread_strip")
    return load_slip(
        shown.chain,
        ThreadCurve(
            compliance=float(shown.law.compliance),
            plateau=strips.capacity / state.engagement,
            exponent=exponent,
            strain=strain,
            band=band_width(exponent, (sizes.crest - sizes.hole_minor) / 2),
        ),
        rupture_slip=float(shown.law.rupture_slip),
    )


def _travel(state: str, found: LoadSlip) -> Iterator[Fact]:
    values: dict[str, Value] = {
        "condition": condition(state),
        "travel": length(found.last_travel),
        "load": force(found.last_load),
        "part": share_of_one(found.last_load / found.plateau),
        "energy": energy(found.last_energy),
        "ductility": length(found.ductility_travel),
    }
    parted = found.small_strain_travel >= found.ductility_travel
    yield fact("load_slip_parts" if parted else "load_slip_ends", **values)
