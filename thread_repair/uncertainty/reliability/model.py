"""What is random in a joint, and what load strips each state of it.

The strip load is the verdict's own: `strength.modes.capacities` of the joint's inputs, the sampled
sizes and strengths in their places.
"""

import dataclasses
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from itertools import count
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from ... import files
from ...arrays import FloatArray
from ...errors import InputError, ValidityError, check_known
from ...joint import Joint, mode_inputs, stress_area
from ...strength.modes import capacities
from ...strength.strip import STATES
from .distributions import Quantity

Values: TypeAlias = "Mapping[str, FloatArray]"

_INPUTS = files.data("chance_inputs.toml")
#: Inputs by name, with dimension and step: first those that both states share, then the own ones
#: of each, named "state.input".
INPUTS: Mapping[str, tuple[str, float]] = {
    **_INPUTS["shared"],
    **{f"{state}.{name}": of for state in STATES for name, of in _INPUTS["of_state"].items()},
}

#: Lengths searched in a boss, in major diameters, and steps of the search: a micrometre or so.
_LONGEST, _STEPS = 10.0, 2**16
#: After as many guesses that failed a wall governs, and halving takes less.
_GUESSES = 5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointModel:
    """A joint, and what scatters in it.

    Attributes
    ----------
    joint : Joint
        Every size and strength that `quantities` does not name stays as the verdict has it.
    quantities : numbers or distributions by name of `INPUTS`
        parent_shear_strength, MPa: the parent's tensile and flow stress scatter with it, as one
        lot; screw_tensile_strength, MPa; load, N, on the joint's screw, without which there is no
        margin; preload_place: where the preload lies between its bounds, 0 to 1, the same in both
        states. Of each state: outside_diameter, mm, of the screw or the fitted insert;
        hole_pitch_diameter, mm, of the hole tapped; full_thread, mm: of an insert its fitted
        length; set_down, mm, of its first thread below the surface, which costs only what the
        screw then lacks.
    reach : mm by state
        Depth at which the engaged thread ends.
    preload : N by state, least and greatest in service, where it is known
    load_factor : factor on the load that the margin asks for; 1 for the chance under real loads
    load_share : share of the load that the screw of a preloaded joint feels
    """

    joint: Joint
    quantities: Mapping[str, Quantity]
    reach: Mapping[str, float] = field(default_factory=dict)
    preload: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    load_factor: float = 1.0
    load_share: float = 1.0

    def __post_init__(self) -> None:
        for name in self.quantities:
            check_known("input", name, INPUTS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Variable:
    """One input of the model: its name, dimension, step (see `INPUTS`), and what it is."""

    name: str
    dimension: str
    step: float
    quantity: Quantity

    @property
    def mean(self) -> float:
        """Mean of the input, or its one value."""
        quantity = self.quantity
        return quantity if isinstance(quantity, (int, float)) else float(quantity.mean())


def variables(model: JointModel) -> tuple[Variable, ...]:
    """Every input that the model names, the shared first.

    Parameters
    ----------
    model : JointModel

    Returns
    -------
    tuple of Variable
    """
    return tuple(
        Variable(name=name, dimension=dimension, step=step, quantity=model.quantities[name])
        for name, (dimension, step) in INPUTS.items()
        if name in model.quantities
    )


def random_variables(model: JointModel) -> tuple[Variable, ...]:
    """Return the inputs that scatter, in the order of the columns of the random points.

    Parameters
    ----------
    model : JointModel

    Returns
    -------
    tuple of Variable

    Raises
    ------
    InputError
        If no input scatters.
    """
    found = tuple(v for v in variables(model) if not isinstance(v.quantity, (int, float)))
    if not found:
        raise InputError("no input of the joint scatters: give at least one a distribution")
    return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SampledLoads:
    """Loads of every sampled joint, N: what strips each state, breaks the screw, is asked for.

    `strip` counts a boss wall that gives way. `demand` is None without a load; `tightened` is the
    demand of each state with its preload, where that is known.
    """

    strip: Mapping[str, FloatArray]
    screw: FloatArray
    demand: FloatArray | None
    tightened: Mapping[str, FloatArray]


def loads(model: JointModel, values: Values) -> SampledLoads:
    """Strip loads of both states, screw tension and demand.

    Parameters
    ----------
    model : JointModel
    values : arrays by input name (see `INPUTS`), broadcast against each other
        An input that is left out stays at its mean.

    Returns
    -------
    SampledLoads

    Raises
    ------
    InputError, GeometryError
        If a sampled size is impossible: threads apart.
    ValidityError
        If a factor is NaN, outside the range of its source, in any sampled joint.

    Notes
    -----
    The demand is load_factor times the load; with a preload, that share of it which the screw feels
    is added to the preload.
    """
    at = complete(model, values)
    demand = np.asarray(model.load_factor * at["load"]) if "load" in at else None
    felt = 0.0 if demand is None else model.load_share * demand
    return SampledLoads(
        strip={
            state: strip_load(model, state, at, engagement(model, state, at)) for state in STATES
        },
        screw=screw_load(model, at),
        demand=demand,
        tightened={
            state: low + (high - low) * at["preload_place"] + felt
            for state, (low, high) in model.preload.items()
        },
    )


def complete(model: JointModel, values: Values) -> Values:
    """Return the values with every other input of the model at its mean.

    Parameters
    ----------
    model : JointModel
    values : arrays by input name

    Returns
    -------
    mapping of every name to float or ndarray
    """
    # The mean of a distribution costs more than a thousand of its values.
    return {v.name: values[v.name] if v.name in values else np.asarray(v.mean)
            for v in variables(model)}  # fmt: skip


def screw_load(model: JointModel, at: Values) -> FloatArray:
    """Load that breaks the screw.

    Parameters
    ----------
    model : JointModel
    at : every input, as `complete` gives it

    Returns
    -------
    ndarray, N
    """
    return np.asarray(at["screw_tensile_strength"] * stress_area(model.joint))


def engagement(model: JointModel, state: str, at: Values) -> FloatArray:
    """Engaged length of a state: what the screw reaches of the full thread.

    Parameters
    ----------
    model : JointModel
    state : "original" or "repaired"
    at : every input, as `complete` gives it

    Returns
    -------
    ndarray, mm
    """
    reached = model.reach.get(state, math.inf) - at.get(f"{state}.set_down", np.float64(0.0))
    return np.asarray(np.maximum(np.minimum(at[f"{state}.full_thread"], reached), 0.0))


def strip_load(model: JointModel, state: str, at: Values, engaged: ArrayLike) -> FloatArray:
    """Load that pulls the screw out over an engaged length, in each sampled joint.

    Parameters
    ----------
    model : JointModel
    state : "original" or "repaired"
    at : every input, as `complete` gives it
    engaged : array_like, mm
        Length of full thread, broadcast with the inputs.

    Returns
    -------
    ndarray, N
        A boss wall that gives way counted.

    Raises
    ------
    GeometryError, ValidityError
        As `loads`.
    """
    # Taken first: the wall factor then follows the lengths alone, for the whole lot.
    hole = mode_inputs(model.joint, state, engaged)
    shear, tensile = at["parent_shear_strength"], at["screw_tensile_strength"]
    lot = shear / hole.parent_shear
    hole = dataclasses.replace(
        hole,
        external_major=at.get(f"{state}.outside_diameter", hole.external_major),
        internal_pitch_diameter=at.get(
            f"{state}.hole_pitch_diameter", hole.internal_pitch_diameter
        ),
        parent_shear=shear,
        parent_tensile=lot * hole.parent_tensile,
        screw_tensile_min=tensile,
        screw_shear=tensile * model.joint.screw.shear_over_tensile,
        flow_stress=lot * hole.needed("flow_stress", "to scatter"),
    )
    found = capacities(hole)
    # NaN compares as false: unchecked, it would count as a joint that holds.
    if np.any(missing := np.isnan(found.pull_out)):
        raise ValidityError.of("sampled_without_value", state=state, percent=100 * np.mean(missing))
    return np.asarray(found.pull_out)


def length_that_holds(model: JointModel, state: str, at: Values, load: FloatArray) -> FloatArray:
    """Least engaged length at which a state holds a load in each sampled joint, mm.

    Infinite where no length does, since the boss wall gives way.

    Parameters
    ----------
    model : JointModel
    state : "original" or "repaired"
    at : every input, as `complete` gives it
    load : ndarray, N

    Returns
    -------
    ndarray, mm
    """
    if model.joint.boss_diameter is None:  # every strip load is proportional to the length
        return np.asarray(load / strip_load(model, state, at, 1.0))

    step = _LONGEST * model.joint.thread.major / _STEPS
    low, high = np.zeros(load.shape), np.full(load.shape, float(_STEPS))
    tried = high
    for rounds in count():
        held = strip_load(model, state, at, step * tried)
        short = held < load
        low, high = np.where(short, tried, low), np.where(short, high, tried)
        if np.all(high - low <= 1):
            break
        # Where no wall governs the load is nearly in proportion to the length.
        guess = (low + high) // 2 if rounds > _GUESSES else np.ceil(tried * load / held)
        tried = np.where(high - low > 1, np.clip(guess, low + 1, high - 1), high)
    return np.where(low == _STEPS, np.inf, step * high)


def _holds(found: SampledLoads, state: str, demand: FloatArray | None) -> FloatArray:
    """What thread and screw carry beyond a demand."""
    assert demand is not None  # `events` leaves it out
    return np.asarray(np.minimum(found.strip[state], found.screw) - demand)


#: What may go wrong, by name: below zero where it has happened. The name of an event says what
#: happens, not what is hoped for.
EVENTS: Mapping[str, Callable[[SampledLoads], FloatArray]] = {
    "original_fails_under_preload": lambda f: _holds(f, "original", f.tightened["original"]),
    "repaired_fails_under_preload": lambda f: _holds(f, "repaired", f.tightened["repaired"]),
    "original_margin_negative": lambda f: _holds(f, "original", f.demand),
    "repaired_margin_negative": lambda f: _holds(f, "repaired", f.demand),
    "original_strips_before_screw_breaks": lambda f: f.strip["original"] - f.screw,
    "repaired_strips_before_screw_breaks": lambda f: f.strip["repaired"] - f.screw,
    "repaired_weaker_than_original": lambda f: f.strip["repaired"] - f.strip["original"],
}


def events(model: JointModel) -> tuple[str, ...]:
    """Return the names of the events that the model can answer.

    Parameters
    ----------
    model : JointModel

    Returns
    -------
    tuple of str
    """
    return tuple(
        name
        for name in EVENTS
        if not (name.endswith("margin_negative") and "load" not in model.quantities)
        and not (name.endswith("under_preload") and name.split("_")[0] not in model.preload)
    )
