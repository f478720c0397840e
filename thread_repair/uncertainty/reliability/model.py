"""What is random in a joint, and what load strips each state of it.

The strip load is the primary formula of the evaluation: parent shear strength times the shear
area of the internal thread times the factor for thread bending, in a boss over the length that
counts there, and never more than the boss wall carries.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TypeAlias

import numpy as np

from ...arrays import FloatArray
from ...errors import InputError, ValidityError, unknown
from ...strength.areas import strip_area_internal
from ...threads.profile import TAN_30
from .distributions import Quantity

STATES = ("original", "repaired")

Values: TypeAlias = "Mapping[str, FloatArray]"
#: A factor on the strip load: a number, or a function of the sampled inputs of the state
#: (`pitch`, `outside_diameter`, `hole_pitch_diameter`, `parent_shear_strength`,
#: `screw_tensile_strength`, `stress_area`). The engaged length is not among them: what depends on
#: it is the boss's alone (`Boss`), so that the required engagement can be looked up.
Factor: TypeAlias = "float | Callable[[Values], FloatArray]"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Boss:
    """What a boss leaves of one state, by engaged length; arrays of one length that never fall.

    Attributes
    ----------
    lengths : mm
        Engaged lengths, from zero to the greatest for which anything more is claimed.
    effective : mm
        Length of thread in a thick wall that carries as much.
    wall : N/MPa
        Load of the boss wall over the parent's shear strength: both scatter with the same lot.
    """

    lengths: FloatArray
    effective: FloatArray
    wall: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class StateModel:
    """One state of the hole. Every `Quantity` is a number or a distribution.

    Attributes
    ----------
    outside_diameter : mm
        Major diameter of the screw, or the outside diameter of the fitted insert.
    hole_pitch_diameter : mm
        Pitch diameter of the hole that is tapped in this state.
    full_thread : mm
        Length of full thread before the set-down: for an insert its fitted length.
    set_down : mm
        Distance of the first thread below the surface, taken off the full thread.
    reach : mm, optional
        Length of the screw's thread below the surface. With it the set-down costs only what the
        screw then lacks: engaged is the lesser of the full thread and reach less set-down.
    bending : factor C3, a number or a function of the sampled inputs.
    model_error : tested over predicted strip load of the method, 1 when unknown.
    limit : N/mm, number or function of the sampled inputs
        Load per engaged length at which the screw's thread strips in a thick wall.
    inner_limit : N/mm
        Load per engaged length at which the insert's inner thread strips, whatever the wall.
    boss : the boss round the hole; None in a thick wall
    preload : N, least and greatest in service; None where it is not known
    """

    outside_diameter: Quantity
    hole_pitch_diameter: Quantity
    full_thread: Quantity
    set_down: Quantity = 0.0
    bending: Factor = 1.0
    model_error: Quantity = 1.0
    reach: float | None = None
    limit: Factor = math.inf
    inner_limit: float = math.inf
    boss: Boss | None = None
    preload: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class JointModel:
    """Both states of one joint; what stands here is shared by them: parent, screw, load.

    Attributes
    ----------
    pitch : mm
    original, repaired : the two states
    parent_shear_strength : MPa
        Ultimate shear strength of the tapped material.
    screw_tensile_strength : MPa
    stress_area : mm2
        Tensile stress area of the screw.
    load : N, optional
        External load on the joint's screw. Without it there is no margin.
    load_factor : factor on the load that the margin asks for; 1 for the chance under real loads.
    load_share : share of the load that the screw of a preloaded joint feels.
    preload_place : where the preload lies between its bounds, 0 to 1, the same in both states.
    tan_half_angle : tangent of half the flank angle.
    """

    pitch: float
    original: StateModel
    repaired: StateModel
    parent_shear_strength: Quantity
    screw_tensile_strength: Quantity
    stress_area: Quantity
    load: Quantity | None = None
    load_factor: float = 1.0
    load_share: float = 1.0
    preload_place: Quantity = 0.5
    tan_half_angle: float = TAN_30

    def __post_init__(self) -> None:
        for name, value in (("pitch", self.pitch), ("load_factor", self.load_factor)):
            if not value > 0:
                raise InputError(f"{name} must be above zero, got {value:g}")

    def state(self, name: str) -> StateModel:
        """Return one of the two states by its name."""
        if name not in STATES:
            raise unknown("state", name, STATES)
        return self.original if name == "original" else self.repaired


@dataclass(frozen=True, slots=True, kw_only=True)
class Variable:
    """One input of the model: its name, dimension of `units`, and what it is.

    `step` is the change a workshop or a designer would think of, for the one-at-a-time table.
    """

    name: str
    dimension: str
    step: float
    quantity: Quantity

    @property
    def random(self) -> bool:
        """Whether the input scatters."""
        return not isinstance(self.quantity, (int, float))

    @property
    def mean(self) -> float:
        """Mean of the input, or its one value."""
        quantity = self.quantity
        return quantity if isinstance(quantity, (int, float)) else float(quantity.mean())


_SHARED = {
    "parent_shear_strength": ("stress", 10.0),
    "screw_tensile_strength": ("stress", 50.0),
    "stress_area": ("area", 1.0),
    "load": ("force", 1000.0),
    "preload_place": ("number", 0.1),
}
_OF_STATE = {
    "outside_diameter": ("length", 0.1),
    "hole_pitch_diameter": ("length", 0.1),
    "full_thread": ("length", 1.0),
    "set_down": ("length", 0.5),
    "model_error": ("number", 0.05),
}


def variables(model: JointModel) -> tuple[Variable, ...]:
    """Every known input of the model, the shared first; a state's are named "state.input".

    Parameters
    ----------
    model : JointModel

    Returns
    -------
    tuple of Variable
    """
    found = {name: (getattr(model, name), *kind) for name, kind in _SHARED.items()}
    for state in STATES:
        for name, kind in _OF_STATE.items():
            found[f"{state}.{name}"] = (getattr(model.state(state), name), *kind)
    return tuple(
        Variable(name=name, dimension=dimension, step=step, quantity=quantity)
        for name, (quantity, dimension, step) in found.items()
        if quantity is not None
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
    found = tuple(v for v in variables(model) if v.random)
    if not found:
        raise InputError("no input of the joint scatters: give at least one a distribution")
    return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SampledLoads:
    """Loads of every sampled joint, N: what strips each state, breaks the screw, is asked for.

    `strip` counts a boss wall that gives way; `per_length` is the strip load of parent's and
    screw's thread for one mm in a thick wall, `engagement` the engaged length, mm; `shear` the
    parent's shear strength, MPa. `demand` is None without a load; `tightened` is the demand of each
    state with its preload, where that is known.
    """

    strip: Mapping[str, FloatArray]
    per_length: Mapping[str, FloatArray]
    engagement: Mapping[str, FloatArray]
    shear: FloatArray
    screw: FloatArray
    demand: FloatArray | None
    tightened: Mapping[str, FloatArray]


def loads(model: JointModel, values: Values) -> SampledLoads:
    """Strip loads of both states, screw tension and demand.

    Parameters
    ----------
    model : JointModel
    values : arrays by input name (see `variables`), broadcast against each other
        An input that is left out stays at its mean.

    Returns
    -------
    SampledLoads

    Raises
    ------
    InputError, GeometryError
        If a sampled size is impossible: a set-down longer than the thread, threads apart.
    ValidityError
        If a factor is NaN, outside the range of its source, in any sampled joint.

    Notes
    -----
    area = pi d_e (L / P) [P/2 + (d_e - D2) tan(alpha)] with the outside diameter d_e of the screw
    or the fitted insert and the pitch diameter D2 of the hole tapped (`strip_area_internal`),
    strip load = tau area C3, not more than what another thread or the boss wall carries; screw
    tension = Rm As.
    The demand is load_factor times the load; with a preload, that share of it which the screw feels
    is added to the preload.
    """
    # The mean of a distribution costs more than a thousand of its values.
    at = {v.name: values[v.name] if v.name in values else np.asarray(v.mean)
          for v in variables(model)}  # fmt: skip
    demand = None if model.load is None else np.asarray(model.load_factor * at["load"])
    tau, screw_strength = at["parent_shear_strength"], at["screw_tensile_strength"]
    screw = np.asarray(screw_strength * at["stress_area"])
    felt = 0.0 if demand is None else demand
    strip, per_length, engagement = {}, {}, {}
    for name in STATES:
        state = model.state(name)
        own = {key: at[f"{name}.{key}"] for key in _OF_STATE}
        area = strip_area_internal(
            1.0,
            model.pitch,
            own["outside_diameter"],
            own["hole_pitch_diameter"],
            tan_half_angle=model.tan_half_angle,
        )
        inputs = MappingProxyType(
            {
                "pitch": np.asarray(model.pitch),
                "outside_diameter": own["outside_diameter"],
                "hole_pitch_diameter": own["hole_pitch_diameter"],
                "parent_shear_strength": tau,
                "screw_tensile_strength": screw_strength,
                "stress_area": at["stress_area"],
            }
        )
        parent = tau * area * _value(state.bending, inputs) * own["model_error"]
        limit = _value(state.limit, inputs)
        per_length[name] = np.asarray(parent if limit is math.inf else np.minimum(parent, limit))
        engagement[name] = _engaged(state, own)
        if np.any(engagement[name] < 0):
            raise InputError(
                f"{name}: the set-down exceeds the length of full thread in some sampled joints; "
                "narrow the distribution of set_down or full_thread, or raise reach"
            )
        strip[name] = _pull_out(state, per_length[name], tau, engagement[name])
        # NaN compares as false: unchecked, it would count as a joint that holds.
        if np.any(np.isnan(strip[name])):
            raise ValidityError(
                f"{name}: bending or boss has no value for "
                f"{100 * np.mean(np.isnan(strip[name])):.2f} % of the sampled joints; its source "
                "does not cover those sizes"
            )
    return SampledLoads(
        strip=strip,
        per_length=per_length,
        engagement=engagement,
        shear=np.asarray(tau),
        screw=screw,
        demand=demand,
        tightened={
            name: low + (high - low) * at["preload_place"] + model.load_share * felt
            for name in STATES
            if (preload := model.state(name).preload) is not None
            for low, high in (preload,)
        },
    )


def _pull_out(
    state: StateModel, per_length: FloatArray, shear: FloatArray, engagement: FloatArray
) -> FloatArray:
    """Load at which a thread strips or the boss wall gives way."""
    inside = state.inner_limit * engagement
    if (boss := state.boss) is None:
        return np.asarray(np.minimum(per_length * engagement, inside))
    effective = np.interp(engagement, boss.lengths, boss.effective)
    wall = shear * np.interp(engagement, boss.lengths, boss.wall)
    return np.asarray(np.minimum(np.minimum(per_length * effective, inside), wall))


def length_that_holds(
    state: StateModel, found: SampledLoads, name: str, load: FloatArray
) -> FloatArray:
    """Least engaged length at which a state holds a load in each sampled joint, mm.

    Infinite where no length does, since the boss wall gives way.

    Parameters
    ----------
    state : StateModel
    found : SampledLoads
    name : str
    load : ndarray, N

    Returns
    -------
    ndarray, mm
    """
    needed = load / found.per_length[name]
    if (boss := state.boss) is not None:
        wall = np.interp(load / found.shear, boss.wall, boss.lengths, right=np.inf)
        needed = np.maximum(np.interp(needed, boss.effective, boss.lengths, right=np.inf), wall)
    return np.asarray(np.maximum(needed, load / state.inner_limit))


def _engaged(state: StateModel, own: Values) -> FloatArray:
    if state.reach is None:
        return np.asarray(own["full_thread"] - own["set_down"])
    return np.asarray(np.minimum(own["full_thread"], state.reach - own["set_down"]))


def _value(factor: Factor, inputs: Values) -> float | FloatArray:
    return factor(inputs) if callable(factor) else factor


def _holds(found: SampledLoads, state: str, demand: FloatArray | None) -> FloatArray:
    """What thread and screw carry beyond a demand."""
    assert demand is not None  # `events` leaves it out
    return np.asarray(np.minimum(found.strip[state], found.screw) - demand)


#: What may go wrong, by name: below zero where it has happened. The name of an event says what
#: happens, not what is hoped for.
EVENTS: Mapping[str, Callable[[SampledLoads], FloatArray]] = MappingProxyType(
    {
        "original_fails_under_preload": lambda f: _holds(f, "original", f.tightened["original"]),
        "repaired_fails_under_preload": lambda f: _holds(f, "repaired", f.tightened["repaired"]),
        "original_margin_negative": lambda f: _holds(f, "original", f.demand),
        "repaired_margin_negative": lambda f: _holds(f, "repaired", f.demand),
        "original_strips_before_screw_breaks": lambda f: f.strip["original"] - f.screw,
        "repaired_strips_before_screw_breaks": lambda f: f.strip["repaired"] - f.screw,
        "repaired_weaker_than_original": lambda f: f.strip["repaired"] - f.strip["original"],
    }
)


def event(model: JointModel, name: str) -> Callable[[SampledLoads], FloatArray]:
    """Return an event as a function of the loads.

    Parameters
    ----------
    model : JointModel
    name : str

    Returns
    -------
    Callable[[SampledLoads], FloatArray]

    Raises
    ------
    InputError
        Unknown event, or one that needs a load or preload the model does not give.
    """
    if name not in EVENTS:
        raise unknown("event", name, EVENTS)
    if name not in events(model):
        raise InputError(f"{name} needs a load or preload: the joint model gives none")
    return EVENTS[name]


def events(model: JointModel) -> tuple[str, ...]:
    """Return the names of the events that the model can answer.

    Parameters
    ----------
    model : JointModel

    Returns
    -------
    tuple of str
    """
    preloaded = {state for state in STATES if model.state(state).preload is not None}
    return tuple(
        name
        for name in EVENTS
        if not (name.endswith("margin_negative") and model.load is None)
        and not (name.endswith("under_preload") and name.split("_")[0] not in preloaded)
    )
