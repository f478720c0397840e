"""What is the chance for the joint of a case: what scatters in it, and what follows from that."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from . import case as cases
from . import inserts, materials, reliability, tables, threads
from .arrays import FloatArray
from .case import Case, knock_down
from .joint import Evaluation, Joint, StateResult, mode_inputs, stress_area
from .joint.budget import thread_end
from .joint.margins import Margin, margins
from .joint.sizes import sizes
from .joint.wall import ENGAGEMENT_RANGE
from .reliability import (
    Distribution,
    Drivers,
    JointModel,
    Probability,
    RequiredEngagement,
    Simulation,
    StateModel,
)
from .reliability.drivers import REFERENCES as DRIVER_REFERENCES
from .reliability.inputs import REFERENCES as INPUT_REFERENCES
from .reliability.model import Boss, Values
from .reliability.sampling import REFERENCES as SAMPLING_REFERENCES
from .sources import Reference
from .strength.areas import strip_area_internal, tan_half_angle
from .strength.methods.fed_std_h28 import external_area
from .strength.modes import capacities
from .strength.overlap import bearing_ratio, overlap_factor
from .strength.primary import capped_internal_factor, wall_factor_used
from .strength.strip import STATES
from .tightening import service_preload
from .units import plain

#: Points of each of eight nets for the shares of the scatter: within a few hundredths, at a cost
#: that nobody notices.
DRIVER_POINTS = 2**9
#: Information-only values promise nothing; as the mean of the population they give the lowest one.
_READ_AS = {"informative": "typical", "mean": "measured"}


@dataclass(frozen=True, slots=True, kw_only=True)
class ParentScatter:
    """How the parent's shear strength scatters: a basis value, MPa, and the population it implies.

    `assumed` says that the case gives no scatter, so that `reference` stands for it.
    """

    value: float
    basis: str
    scatter: float
    assumed: bool
    population: Distribution
    reference: Reference

    def sentence(self, *, system: str = "SI") -> str:
        """Say what was assumed."""
        value, mean = (
            plain(stress, dimension="stress", system=system, digits=4)
            for stress in (self.value, self.population.mean)
        )
        read = {"A": "1 %", "S": "1 %", "minimum": "1 %", "characteristic": "5 %", "B": "10 %"}
        basis = f"{self.basis} basis" if len(self.basis) == 1 else self.basis
        where = f"the {read[self.basis]} point" if self.basis in read else "the mean"
        origin = "assumed, common practice" if self.assumed else "as stated in the case"
        return (
            f"The parent's shear strength of {value} ({basis}) is taken as "
            f"{where} of its population, which scatters by {100 * self.scatter:.1f} % "
            f"({origin}) about a mean of {mean}."
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chance:
    """What the sampled joints of a case show.

    Attributes
    ----------
    model : what scatters, with the factored design load of the margins as demand
    parent : how the parent's strength scatters
    simulation, drivers : the sampled loads with their probabilities; what they rest on
    under_preload : by state, the chance that thread or screw gives way under the demand of the
        margins, preload and the factored share of the design load; empty without a preload
    failing : the negative margins of safety
    cautions : what the sampling leaves out
    """

    model: JointModel
    parent: ParentScatter
    simulation: Simulation
    drivers: Drivers
    under_preload: MappingProxyType[str, Probability]
    failing: tuple[Margin, ...]
    cautions: tuple[str, ...]
    references: tuple[Reference, ...]

    def sentences(self) -> tuple[str, ...]:
        """Say in a few sentences how sure the comparison is, and what the doubt rests on.

        The first speaks of what the margins speak of, the last of negative ones.
        """
        found = reliability.uncertainty_sentences(
            self.simulation, self.drivers, under_preload=self.under_preload
        )
        if not self.failing:
            return found
        left_out = sum(each.against != "ultimate" for each in self.failing)
        return (
            *found,
            f"Margins of safety: {len(self.failing)} are negative, {left_out} of them against "
            "yield, separation or the certified minimum, which these probabilities leave out; "
            "margins are taken at minimum strength and at the worst end of the preload.",
        )


def of(case: Case, evaluation: Evaluation) -> Chance:
    """Sample the joint of a case.

    Parameters
    ----------
    case : Case
        Its `seed` and `samples` decide the points, so that the same case gives the same numbers.
    evaluation : Evaluation
        Of that case.

    Raises
    ------
    ValidityError
        If a factor has no value for sizes within the tolerances.
    """
    parent = parent_scatter(case, evaluation.joint)
    model = joint_model(case, evaluation, parent)
    under_preload = _under_preload(case, evaluation.joint, model)
    return Chance(
        model=model,
        parent=parent,
        simulation=reliability.simulate(model, seed=case.seed, n=case.samples),
        drivers=reliability.drivers(model, seed=case.seed, n=DRIVER_POINTS),
        under_preload=under_preload,
        failing=tuple(m for m in margins(evaluation, cases.load_cases(case)) if not m.margin >= 0),
        cautions=tuple(_cautions(parent, preloaded=bool(under_preload))),
        references=_references(case, evaluation.joint, parent),
    )


#: Chances that a thread strips before the screw breaks, for which a length is worth knowing.
TARGETS = (1e-2, 1e-3, 1e-4)


def required(found: Chance) -> tuple[RequiredEngagement, ...]:
    """Return the mean engagement each state needs for each target of `TARGETS`, mm."""
    model, seed = found.model, found.simulation.seed
    return tuple(
        reliability.required_engagement(model, state, probability=target, seed=seed)
        for target in TARGETS
        for state in STATES
    )


def parent_scatter(case: Case, joint: Joint) -> ParentScatter:
    """Return how the parent's shear strength scatters: by the case, or as commonly assumed."""
    basis = materials.shear_strength(joint.parent, casting_factor=case.casting_factor).basis
    constant = tables.constant(f"parent_scatter_{'cast' if joint.parent.casting else 'wrought'}")
    value = joint.parent_shear.value
    found = case.parent_scatter
    if basis == "mean":
        # The population is that of the pieces, not the one whose mean the allowable would be.
        value /= knock_down(case)
        found = found or case.parent_strength_scatter
    scatter = found or constant.value
    stated = Reference(
        source="engineer", clause="parent_scatter", how_known="measured", what="parent's scatter"
    )
    return ParentScatter(
        value=value,
        basis=basis,
        scatter=scatter,
        assumed=found is None,
        population=reliability.strength(
            value,
            basis=_READ_AS.get(basis, basis),
            cov=scatter,
            shape="lognormal",
        ),
        reference=constant.reference if found is None else stated,
    )


def joint_model(case: Case, evaluation: Evaluation, parent: ParentScatter) -> JointModel:
    """Return what scatters in the joint of a case, and by how much.

    Diameters within their limits of size, the fitted length and the set-down of the insert
    between the limits of their rules, the screw's strength between the least and the greatest of
    its class, the parent's about the mean that its basis implies. The factors are those of the
    verdict: the wall by the sampled length, C3 by the sampled strength ratio.
    """
    joint = evaluation.joint
    screw = joint.screw
    load = case.design_load
    return JointModel(
        pitch=joint.thread.pitch,
        original=_original(evaluation),
        repaired=_repaired(case, evaluation),
        parent_shear_strength=parent.population,
        screw_tensile_strength=_between(screw.tensile_min, screw.tensile_max),
        stress_area=stress_area(joint),
        load=load
        if load is None or case.load_scatter is None
        else reliability.Normal(mean=load, sd=load * case.load_scatter),
        load_factor=case.load_factor * case.fitting_factor,
        tan_half_angle=tan_half_angle(joint.thread.flank_angle),
    )


def _between(low: float, high: float, shape: str = "truncated_normal") -> Distribution | float:
    return reliability.tolerance(low, high, shape=shape) if low < high else low


def _original(evaluation: Evaluation) -> StateModel:
    joint = evaluation.joint
    at = sizes(joint, "original")
    crest: Distribution | float = at.crest
    hole_pitch: Distribution | float = at.hole_pitch
    if joint.tolerance_position != "measured":
        screw = threads.external_limits(joint.thread, joint.screw_class)
        hole = threads.internal_limits(joint.thread, joint.hole_class)
        crest = _between(screw.major_min, screw.major_max)
        hole_pitch = _between(hole.pitch_min, hole.pitch_max)
    return StateModel(
        outside_diameter=crest,
        hole_pitch_diameter=hole_pitch,
        full_thread=joint.engagement,
        reach=_end(joint.screw_reach, joint.part_thickness),
        bending=_bending(joint, "original"),
        limit=_screw_thread(joint, evaluation.original),
        boss=_boss(joint, evaluation.original),
    )


def _repaired(case: Case, evaluation: Evaluation) -> StateModel:
    joint = evaluation.joint
    at = sizes(joint, "repaired")
    crest: Distribution | float = at.crest
    hole_pitch: Distribution | float = at.hole_pitch
    if joint.tolerance_position != "measured":
        outside = inserts.insert_outside(
            joint.thread, joint.screw_class, "mean", hole_class=joint.insert_hole_class
        )
        hole = inserts.insert_hole(joint.thread, joint.insert_hole_class)
        crest = _between(outside.minimum, outside.maximum)
        hole_pitch = _between(hole.pitch_min, hole.pitch_max)
    shortest, longest = (
        max(float(length), 0.0)
        for length in inserts.fitted_length(joint.thread, joint.insert_length)
    )
    rule = inserts.set_down(case.set_down_rule, joint.thread)
    # What the countersink takes of the coil is taken as if the coil always began at the top.
    sink = joint.countersink_depth
    lost = max(sink - rule.least, 0.0)
    begins = max(rule.least, sink), max(rule.most, sink)
    end = _end(joint.screw_reach, thread_end(joint))
    # The set-down scatters only where it matters: where screw or part could end inside the coil.
    ends_inside = end < longest - lost + begins[1]
    return StateModel(
        outside_diameter=crest,
        hole_pitch_diameter=hole_pitch,
        full_thread=_between(max(shortest - lost, 0.0), max(longest - lost, 0.0), "uniform"),
        set_down=_between(*begins, "uniform") if ends_inside else begins[1],
        reach=end,
        bending=_bending(joint, "repaired"),
        limit=_screw_thread(joint, evaluation.repaired),
        inner_limit=evaluation.repaired.mode("insert_thread_strip").capacity
        / evaluation.repaired.engagement,
        boss=_boss(joint, evaluation.repaired),
    )


def _end(*ends: float | None) -> float:
    """Depth at which the engaged thread ends, mm: the nearest of those that are known."""
    return min((end for end in ends if end is not None), default=math.inf)


#: Engaged lengths over which a boss is followed, in major diameters of the hole tapped: what the
#: table of the wall covers, from zero, in steps that lose nothing beside the scatter of the sizes.
_BOSS_LENGTHS = np.concatenate([[0.0], np.linspace(*ENGAGEMENT_RANGE, 251)])


def _boss(joint: Joint, state: StateResult) -> Boss | None:
    """Return the boss as the verdict takes it; it does not scatter, being one given size."""
    if joint.boss_diameter is None:
        return None
    lengths = _BOSS_LENGTHS * state.sizes.hole_major
    inputs = mode_inputs(joint, state.state, lengths)
    return Boss(
        lengths=lengths,
        effective=lengths * wall_factor_used(inputs.hole, inputs.wall_factor),
        wall=capacities(inputs).boss_wall / joint.parent_shear.value,
    )


def _bending(joint: Joint, state: str) -> Callable[..., FloatArray]:
    """Return C3 and the overlap as the verdict takes them, by the sampled joint."""
    hole = mode_inputs(joint, state, 1.0, position=_middle(joint)).hole
    outer = float(external_area(hole))
    minor = _greatest_minor(joint, state)
    tensile_over_shear = joint.parent_tensile.value / joint.parent_shear.value
    tangent = float(hole.tan_half_angle)

    def factor(values: Values) -> FloatArray:
        inner = strip_area_internal(
            1.0,
            values["pitch"],
            values["outside_diameter"],
            values["hole_pitch_diameter"],
            tan_half_angle=tangent,
        )
        parent = inner * values["parent_shear_strength"] * tensile_over_shear
        bending = capped_internal_factor(parent / (outer * values["screw_tensile_strength"]))
        ratio = bearing_ratio(
            values["pitch"],
            values["outside_diameter"],
            minor,
            values["hole_pitch_diameter"],
            tan_half_angle=tangent,
        )
        return np.asarray(bending * np.minimum(overlap_factor(ratio), ratio))

    return factor


def _greatest_minor(joint: Joint, state: str) -> float:
    """Minor diameter of the hole tapped, which is not sampled: the greatest that passes."""
    measured = joint.tolerance_position == "measured"
    return sizes(joint, state, position=None if measured else "minimum-material").hole_minor


def _middle(joint: Joint) -> str:
    return "measured" if joint.tolerance_position == "measured" else "mean"


def _screw_thread(joint: Joint, state: StateResult) -> Callable[..., FloatArray]:
    """Load per length that strips the screw's thread in a thick wall.

    At the sizes of the verdict, in proportion to the screw's sampled tensile strength.
    """
    mode = state.mode("screw_thread_strip")
    thick = mode.area * mode.stress * mode.factors["C2"] / state.engagement

    def limit(values: Values) -> FloatArray:
        return np.asarray(thick / joint.screw.tensile_min * values["screw_tensile_strength"])

    return limit


def _under_preload(
    case: Case, joint: Joint, model: JointModel
) -> MappingProxyType[str, Probability]:
    """Chance that something gives way under preload and load, or nothing without a preload.

    Load, share and factors are those of the margins (`load_cases`).
    The preload in service lies evenly between its bounds, which hold friction, tool, relaxation
    and temperature; each state has its own.
    """
    inputs = cases.tightening(case)
    if inputs is None:
        return MappingProxyType({})
    load = 0.0 if model.load is None else model.load
    factor = model.load_factor * inputs.loads.shares[0]
    found = {}
    for state in STATES:
        band = service_preload(inputs, state).service
        low, high = float(band.least), float(band.highest)
        if math.isnan(low) or math.isnan(high):
            continue

        def preload(share: FloatArray, low: float = low, high: float = high) -> FloatArray:
            return low + (high - low) * share

        # The model hands its `friction` to `preload`: here it is the place between the bounds.
        share = reliability.tolerance(0.0, 1.0, shape="uniform")
        tightened = replace(model, load=load, load_factor=factor, preload=preload, friction=share)
        sampled = reliability.simulate(tightened, seed=case.seed, n=case.samples, keep=1)
        found[state] = sampled.probabilities[f"{state}_margin_negative"]
    return MappingProxyType(found)


def _cautions(parent: ParentScatter, *, preloaded: bool) -> list[str]:
    found = []
    if preloaded:
        found.append(
            "The preload is taken to lie evenly between its minimum and its maximum in service; "
            "the factored share of the design load is added to it."
        )
    if parent.basis == "informative":
        found.append(
            "The parent's strength is given for information only; it is read as the mean, and a "
            "lot may well lie below."
        )
    return found


def _references(case: Case, joint: Joint, parent: ParentScatter) -> tuple[Reference, ...]:
    used = [
        *SAMPLING_REFERENCES,
        *DRIVER_REFERENCES,
        *(r for r in INPUT_REFERENCES if _is_used(r, parent.basis)),
        parent.reference,
        tables.constant("insert_fitted_shortening_min").reference,
        tables.constant("insert_fitted_shortening_max").reference,
        inserts.set_down(case.set_down_rule, joint.thread).reference,
    ]
    if (inputs := cases.tightening(case)) is not None:
        used += inputs.references
    return tuple(dict.fromkeys(used))


def _is_used(reference: Reference, basis: str) -> bool:
    """Whether a reading of basis values stands behind this basis."""
    behind = {
        "mil-hdbk-17-1f": ("A", "B"),
        "common-practice": ("S", "minimum"),
        "en-1990": ("characteristic",),
    }
    return basis in behind.get(reference.source, (basis,))
