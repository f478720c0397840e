"""Load against travel of the screw in both holes of a joint, past yield."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from .. import tables
from ..errors import ValidityError
from ..facts import Fact, Value, condition, energy, fact, force, length, share, stress
from ..sources import Reference
from ..strength.sharing.load_slip import (
    REFERENCES,
    LoadSlip,
    ThreadCurve,
    band_width,
    hardening,
    load_slip,
)
from .records import Evaluation, StateResult
from .sharing import JointSharing


@dataclass(frozen=True, slots=True, kw_only=True)
class JointLoadSlip:
    """Load-slip curves by state, none where the parent's curve is not known, and what they say.

    The support of the boss is that of the load sharing shown, and the coil of an insert sticks.
    """

    states: Mapping[str, LoadSlip] = field(default_factory=dict)
    facts: tuple[Fact, ...]
    references: tuple[Reference, ...] = ()


def joint_load_slip(evaluation: Evaluation, sharing: Mapping[str, JointSharing]) -> JointLoadSlip:
    """Return the load-slip curves of both states of a joint whose load sharing is known.

    The plateau is the thread-stripping load of the verdict, which no certified upper bound is
    below, and the elastic part that of the load sharing.

    Parameters
    ----------
    evaluation : Evaluation
    sharing : mapping of str to JointSharing

    Returns
    -------
    JointLoadSlip
    """
    joint, parent = evaluation.joint, evaluation.joint.parent
    yields = math.nan if joint.parent_yield is None else joint.parent_yield.value
    needed = {
        "load_slip_no_elongation": parent.elongation,
        "load_slip_no_yield": yields,
        "load_slip_no_elastic_constants": parent.elastic_modulus + parent.poisson,
    }
    missing = [fact(id_, "info") for id_, value in needed.items() if math.isnan(value)]
    if missing:
        return JointLoadSlip(facts=tuple(missing[:1]))
    values = {
        "yield_strength": yields,
        "tensile": joint.parent_tensile.value,
        "elongation": parent.elongation / 100,  # tables give percent
    }
    try:
        exponent, strain = hardening(**values)
    except ValidityError:
        said = fact(
            "load_slip_no_curve",
            "info",
            parent_yield=stress(values["yield_strength"]),
            tensile=stress(values["tensile"]),
            elongation=share(values["elongation"]),
        )
        return JointLoadSlip(facts=(said,))
    found = {
        name: _curve(state, sharing[name], exponent, strain)
        for name, state in evaluation.states.items()
    }
    assumed = (
        tables.constant("small_strain_limit").reference,
        tables.reference(tables.rows("load_slip_band.csv")[0], "width over which a thread shears"),
    )
    return JointLoadSlip(
        states=found,
        facts=tuple(each for name, one in found.items() for each in _facts(name, one)),
        references=(*REFERENCES, *assumed),
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


def _facts(state: str, found: LoadSlip) -> Iterator[Fact]:
    values: dict[str, Value] = {
        "condition": condition(state),
        "travel": length(found.last_travel),
        "load": force(found.last_load),
        "part": share(found.last_load / found.plateau),
        "energy": energy(found.last_energy),
        "ductility": length(found.ductility_travel),
    }
    parted = found.small_strain_travel >= found.ductility_travel
    yield fact("load_slip_parts" if parted else "load_slip_ends", "info", **values)
