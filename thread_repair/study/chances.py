"""The probabilities for the joint of a case: what scatters in it, and what follows from that.

Imported on use: it imports `scipy.stats`, which takes longer than the joint to evaluate.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from numpy.typing import NDArray
from scipy import stats

from .. import case as cases
from .. import inserts, materials, tables, threads
from ..facts import Fact, Term, Value, count, fact, share, stress
from ..joint import Evaluation, Joint
from ..joint.lengths import thread_end
from ..joint.margins import Margin
from ..joint.sizes import sizes
from ..strength.strip import STATES
from ..tables import Reference, cited
from ..tightening import service_preload
from ..uncertainty.intervals import CONFIDENCE
from ..uncertainty.reliability import distributions
from ..uncertainty.reliability.drivers import SwingStep, one_at_a_time
from ..uncertainty.reliability.drivers import drivers as drivers_of
from ..uncertainty.reliability.engagement import RequiredEngagement, required_engagement
from ..uncertainty.reliability.model import JointModel
from ..uncertainty.reliability.sampling import Probability, Simulation, rare_events, simulate

#: Points of each of eight nets for the shares of the scatter: within a few hundredths, at a cost
#: that nobody notices.
DRIVER_POINTS = 2**9
#: Below this the sample of a case shows too few events: subset simulation takes its place.
RARE = 1e-4
#: No smaller probability is stated, nor one nearer to 1: nobody has seen the distributions of the
#: inputs that far out. A choice, no published source.
LEAST = 1e-6
#: Probabilities that a thread strips before the screw breaks, for which a length is worth knowing.
TARGETS = (1e-2, 1e-3, 1e-4)


@dataclass(frozen=True, slots=True, kw_only=True)
class ParentScatter:
    """How the parent's shear strength scatters: a basis value, MPa, and the population it implies.

    `assumed` says that the case gives no scatter, so that `reference` stands for it.
    """

    value: float
    basis: str
    scatter: float
    assumed: bool
    population: distributions.Distribution
    reference: Reference

    @property
    def mean(self) -> float:
        """Mean of the population, MPa."""
        return float(self.population.mean())

    @property
    def fact(self) -> Fact:
        """What was assumed."""
        values: dict[str, Value] = {
            "value": stress(self.value),
            "basis": Term("parent_basis", self.basis),
            "scatter": share(self.scatter),
            "origin": Term("scatter_origin", "assumed" if self.assumed else "stated"),
            "mean": stress(self.mean),
        }
        if self.basis not in distributions.BELOW_BASIS:
            return fact("parent_value_is_mean", **values)
        below = share(distributions.BELOW_BASIS[self.basis])
        return fact("parent_value_is_percentile", percentile=below, **values)


@dataclass(frozen=True, kw_only=True, eq=False)
class Chances:
    """What the sampled joints of a case show.

    Attributes
    ----------
    model : what scatters, with the factored design load of the margins as demand
    parent : how the parent's strength scatters
    simulation : the sampled loads with their probabilities
    drivers : what they rest on, see `uncertainty.reliability.drivers`
    failing : the negative margins of safety
    cautions : what the sampling leaves out
    """

    model: JointModel
    parent: ParentScatter
    simulation: Simulation
    drivers: Mapping[str, Mapping[str, NDArray[Any]]]
    failing: tuple[Margin, ...]
    cautions: tuple[Fact, ...]
    references: tuple[Reference, ...]

    @cached_property
    def probabilities(self) -> Mapping[str, Probability]:
        """By event: as sampled, or by subset simulation where the sample shows too few of them."""
        sampled = self.simulation.probabilities
        rare = [name for name, each in sampled.items() if each.estimate < RARE]
        if not rare:
            return sampled
        return {**sampled, **rare_events(self.model, rare, seed=self.simulation.seed)}

    @cached_property
    def required(self) -> tuple[RequiredEngagement, ...]:
        """Mean engagement each state needs for each target of `TARGETS`, mm."""
        return tuple(
            required_engagement(self.model, state, probability=target, seed=self.simulation.seed)
            for target in TARGETS
            for state in STATES
        )

    @cached_property
    def steps(self) -> tuple[SwingStep, ...]:
        """What one step of each input does to the strip loads."""
        return one_at_a_time(self.model)

    @cached_property
    def facts(self) -> tuple[Fact, ...]:
        """How sure the comparison is, and what the doubt rests on.

        First what the margins speak of, last the negative ones.
        """
        known = dict(self.probabilities)
        if any(name.endswith("under_preload") for name in known):
            known = {n: p for n, p in known.items() if not n.endswith("margin_negative")}
        known["repaired_at_least_original"] = known.pop(
            "repaired_weaker_than_original"
        ).complement()
        shares = self.drivers["repaired strip load"]
        (first, second), (most, less) = shares["input"][:2], shares["total"][:2]
        found = [
            fact("joints_sampled", joints=count(self.simulation.n), seed=str(self.simulation.seed)),
            *(probability_fact(name, each) for name, each in known.items()),
            fact(
                "main_drivers",
                first=Term("input", str(first)),
                first_share=share(float(most)),
                second=Term("input", str(second)),
                second_share=share(float(less)),
            ),
        ]
        if self.failing:
            left_out = count(sum(each.against != "ultimate" for each in self.failing))
            margins = count(len(self.failing))
            found.append(fact("negative_margins", "caution", margins=margins, left_out=left_out))
        return tuple(found)


def probability_fact(event: str, found: Probability) -> Fact:
    """Return a probability as far as it may be stated.

    Parameters
    ----------
    event : str
    found : Probability

    Returns
    -------
    Fact
    """
    form, low, high = "probability", max(found.low, LEAST), min(found.high, 1 - LEAST)
    if found.estimate < LEAST:
        form, high = "probability_below", max(found.high, LEAST)
    elif found.estimate > 1 - LEAST:
        form, low = "probability_above", min(found.low, 1 - LEAST)
    return fact(
        form,
        event=Term("event", event),
        confidence=share(CONFIDENCE),
        low=share(low),
        high=share(high),
        estimate=share(found.estimate),
    )


def chances(case: cases.Case, evaluation: Evaluation, margins: Iterable[Margin]) -> Chances:
    """Sample the joint of a case.

    Parameters
    ----------
    case : Case
        Its `seed` and `samples` decide the points, so that the same case gives the same numbers.
    evaluation : Evaluation
    margins : its margins of safety

    Returns
    -------
    Chances

    Raises
    ------
    ValidityError
        If a factor has no value for sizes within the tolerances.
    """
    parent = parent_scatter(case, evaluation.joint)
    model = joint_model(case, evaluation.joint, parent)
    return Chances(
        model=model,
        parent=parent,
        simulation=simulate(model, seed=case.seed, n=case.samples),
        drivers=drivers_of(model, seed=case.seed, n=DRIVER_POINTS),
        failing=tuple(m for m in margins if not m.margin >= 0),
        cautions=tuple(
            fact(name, "caution")
            for name, applies in (
                ("preload_taken_as_uniform", model.preload),
                ("informative_taken_as_mean", parent.basis == "informative"),
            )
            if applies
        ),
        references=_references(case, evaluation.joint, parent),
    )


def parent_scatter(case: cases.Case, joint: Joint) -> ParentScatter:
    """Return how the parent's shear strength scatters: by the case, or as commonly assumed.

    Parameters
    ----------
    case : Case
    joint : Joint

    Returns
    -------
    ParentScatter
    """
    basis = materials.shear_strength(joint.parent, casting_factor=case.casting_factor).basis
    constant = tables.constant(f"parent_scatter_{'cast' if joint.parent.casting else 'wrought'}")
    value = joint.parent_shear.value
    found = case.parent_scatter or case.parent_strength_scatter
    if basis == "mean":
        # No less than the pieces behind that mean show.
        found = max(filter(None, (case.parent_scatter, case.parent_strength_scatter)), default=None)
        # The population is that of the pieces, not the one whose mean the allowable would be.
        value /= cases.knock_down(case)
    scatter = found or constant.value
    (stated,) = cited("chances-parent-scatter")
    return ParentScatter(
        value=value,
        basis=basis,
        scatter=scatter,
        assumed=found is None,
        population=distributions.strength(value, basis=basis, cov=scatter),
        reference=stated if found else constant.reference,
    )


def joint_model(case: cases.Case, joint: Joint, parent: ParentScatter) -> JointModel:
    """Return what scatters in the joint of a case, and by how much.

    Diameters within their limits of size, the fitted length and the set-down of the insert
    between the limits of their rules, the screw's strength between the least and the greatest of
    its class, the parent's about the mean that its basis implies. Every other size, such as the
    minor diameters, is that of the verdict.

    Parameters
    ----------
    case : Case
    joint : Joint
    parent : ParentScatter

    Returns
    -------
    JointModel
    """
    screw, load, inputs = joint.screw, case.design_load, cases.tightening(case)
    lengths: dict[str, dict[str, distributions.Quantity]] = {
        "original": {"full_thread": joint.engagement},
        "repaired": _coil(case, joint),
    }
    quantities: dict[str, distributions.Quantity] = {
        "parent_shear_strength": parent.population,
        "screw_tensile_strength": distributions.tolerance(screw.tensile_min, screw.tensile_max),
        **{
            f"{state}.{name}": each
            for state in STATES
            for name, each in (_diameters(joint, state) | lengths[state]).items()
        },
    }
    if load is not None:
        scatter = case.load_scatter
        quantities["load"] = load if scatter is None else stats.norm(load, load * scatter)
    preload = {}
    if inputs is not None:
        quantities["preload_place"] = distributions.uniform(0.0, 1.0)
        # The bounds in service hold friction, tool, relaxation and temperature.
        bands = ((state, service_preload(inputs, state).service) for state in STATES)
        preload = {name: (float(band.least), float(band.highest)) for name, band in bands}
    return JointModel(
        joint=joint,
        quantities=quantities,
        reach={
            "original": _end(joint.screw_reach, joint.part_thickness),
            "repaired": _end(joint.screw_reach, thread_end(joint)),
        },
        preload={state: ends for state, ends in preload.items() if not any(map(math.isnan, ends))},
        load_factor=case.load_factor * case.fitting_factor,
        load_share=1.0 if inputs is None else inputs.loads.shares[0],
    )


def _diameters(joint: Joint, state: str) -> dict[str, distributions.Quantity]:
    """Outside and hole's pitch diameter of a state, within their limits of size."""
    if joint.tolerance_position == "measured":
        at = sizes(joint, state)
        return {"outside_diameter": at.crest, "hole_pitch_diameter": at.hole_pitch}
    thread = joint.thread
    if state == "original":
        screw = threads.external_limits(thread, joint.screw_class)
        outside = screw.major_min, screw.major_max
        hole = threads.internal_limits(thread, joint.hole_class)
    else:
        insert = inserts.insert_outside(thread, joint.screw_class)
        outside = insert.minimum, insert.maximum
        hole = inserts.insert_hole(thread, joint.insert_hole_class)
    return {
        "outside_diameter": distributions.tolerance(*outside),
        "hole_pitch_diameter": distributions.tolerance(hole.pitch_min, hole.pitch_max),
    }


def _coil(case: cases.Case, joint: Joint) -> dict[str, distributions.Quantity]:
    """Fitted length and set-down of the insert, between the limits of their rules."""
    shortest, longest = (
        max(float(length), 0.0)
        for length in inserts.fitted_length(joint.thread, joint.insert_length)
    )
    rule = inserts.set_down(case.set_down_rule, joint.thread)
    # What the countersink takes of the coil is taken as if the coil always began at the top.
    sink = joint.countersink_depth
    lost = max(sink - rule.least, 0.0)
    begins = max(rule.least, sink), max(rule.most, sink)
    # The set-down scatters only where it matters: where screw or part could end inside the coil.
    ends_inside = _end(joint.screw_reach, thread_end(joint)) < longest - lost + begins[1]
    return {
        "full_thread": distributions.uniform(max(shortest - lost, 0.0), max(longest - lost, 0.0)),
        "set_down": distributions.uniform(*begins) if ends_inside else begins[1],
    }


def _end(*ends: float | None) -> float:
    """Depth at which the engaged thread ends, mm: the nearest of those that are known."""
    return min((end for end in ends if end is not None), default=math.inf)


def _references(case: cases.Case, joint: Joint, parent: ParentScatter) -> tuple[Reference, ...]:
    behind = {
        "mil-hdbk-17-1f": ("A", "B"),
        "common-practice": ("S", "minimum"),
        "en-1990": ("characteristic",),
    }
    used = [
        *cited("sampling", "rare_events", "drivers"),
        *(r for r in cited("population") if parent.basis in behind.get(r.source, (parent.basis,))),
        parent.reference,
        tables.constant("insert_fitted_shortening_min").reference,
        tables.constant("insert_fitted_shortening_max").reference,
        inserts.set_down(case.set_down_rule, joint.thread).reference,
    ]
    if (inputs := cases.tightening(case)) is not None:
        used += inputs.references
    return tuple(dict.fromkeys(used))
