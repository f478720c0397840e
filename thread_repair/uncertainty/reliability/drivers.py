"""What drives the strength, what a step of each input costs, and what length a chance needs."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special, stats

from ...arrays import FloatArray, number_above_zero, read_only
from ...errors import InputError, ValidityError, check_known
from ...strength.strip import STATES
from ..intervals import mean_interval
from .model import (
    JointModel,
    SampledLoads,
    Variable,
    complete,
    engagement,
    length_that_holds,
    loads,
    random_variables,
    screw_load,
    variables,
)
from .sampling import NETS, normal_values, points, seeds

#: What the scatter of is shared out, by name.
OUTPUTS: Mapping[str, Callable[[SampledLoads], FloatArray]] = {
    "repaired strip load": lambda found: found.strip["repaired"],
    "repaired over original": lambda found: found.strip["repaired"] / found.strip["original"],
}


#: Independent nets, from whose scatter the intervals of the shares follow.
_NETS = 8


def drivers(
    model: JointModel, *, seed: int | np.random.Generator, n: int = 2**11
) -> Mapping[str, Mapping[str, NDArray[Any]]]:
    """Return how the scatter of the loads is shared out among the inputs.

    Parameters
    ----------
    model : JointModel
    seed : int or numpy.random.Generator
    n : points a net, a power of two; the loads are computed n (inputs + 2) times a net

    Returns
    -------
    mapping of str to mapping of str to ndarray
        By output, columns with the greatest share first: `input`, its name; `first`, the share of
        the variance that it explains alone; `total`, that with all its interactions, between the
        ends `total_low` and `total_high` of its confidence interval.

    Notes
    -----
    The intervals are taken over independent nets, which unlike a bootstrap of one net repeat with
    the seed. Source: Computer Physics Communications 181 (2010) 259, table 2. Known from: memory.
    """
    inputs = random_variables(model)

    def outputs(x: FloatArray) -> FloatArray:
        found = loads(model, {v.name: column for v, column in zip(inputs, x, strict=True)})
        return np.stack([np.broadcast_to(each(found), x.shape[1:]) for each in OUTPUTS.values()])

    nets = [
        stats.sobol_indices(func=outputs, n=n, dists=[v.quantity for v in inputs], rng=child)
        for child in seeds(seed, _NETS)[1]
    ]
    first, _, _ = mean_interval([net.first_order for net in nets])
    total, low, high = mean_interval([net.total_order for net in nets])
    names, found = np.array([v.name for v in inputs]), {}
    shares = {"first": first, "total": total, "total_low": low, "total_high": high}
    for row, output in enumerate(OUTPUTS):
        order = np.argsort(-total[row], kind="stable")
        columns = {name: read_only(share[row][order]) for name, share in shares.items()}
        found[output] = {"input": read_only(names[order]), **columns}
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class SwingStep:
    """What one step of an input does, the others at their means.

    Attributes
    ----------
    input : the input with its unit and the step taken
    percent : change of the strip load by state for one step up, %
    """

    input: Variable
    percent: Mapping[str, float]


def one_at_a_time(model: JointModel) -> tuple[SwingStep, ...]:
    """Change of the strip loads for one step of each input, in the units of the trade.

    Parameters
    ----------
    model : JointModel

    Returns
    -------
    tuple of SwingStep
        Inputs that move a strip load, first that which moves one most from its 5 % to its 95 %
        point. The steps (0.1 mm of a diameter, 1 mm of length, 10 MPa of shear strength) are for
        reading, not limits.
    """
    found: list[tuple[float, SwingStep]] = []
    for each in variables(model):
        quantity, mean = each.quantity, each.mean
        low = high = mean
        if not isinstance(quantity, (int, float)):
            low, high = quantity.ppf(np.array([0.05, 0.95]))
        strip = loads(model, {each.name: np.array([mean, mean + each.step, low, high])}).strip
        change = {s: 100 * (np.broadcast_to(strip[s], 4) / strip[s].flat[0] - 1) for s in STATES}
        percent = {state: float(moved[1]) for state, moved in change.items()}
        if any(abs(moved) >= 1e-9 for moved in percent.values()):
            swing = max(abs(float(moved[3] - moved[2])) for moved in change.values())
            found.append((swing, SwingStep(input=each, percent=percent)))
    return tuple(step for _, step in sorted(found, key=lambda pair: -pair[0]))


# ---- how long must the thread be

#: Points of each net.
POINTS = 2**11


@dataclass(frozen=True, slots=True, kw_only=True)
class RequiredEngagement:
    """Mean engagement that keeps the chance of stripping first at the target, mm.

    `length` with its interval from `low` to `high`, all NaN where no length does, since the boss
    wall gives way; `reserve` is the present mean engagement less `length`.
    """

    state: str
    probability: float
    length: float
    low: float
    high: float
    present: float

    @property
    def reserve(self) -> float:
        """Engagement to spare, mm; negative when the thread is too short."""
        return self.present - self.length


def required_engagement(
    model: JointModel, state: str, *, probability: float, seed: int | np.random.Generator
) -> RequiredEngagement:
    """Mean engagement at which a state strips first with no more than a target probability.

    Parameters
    ----------
    model : JointModel
    state : "original" or "repaired"
    probability : target chance that the thread strips first, from 1e-9 to below 0.5
    seed : int or numpy.random.Generator

    Returns
    -------
    RequiredEngagement
        The scatter of the length about its mean is kept.

    Raises
    ------
    InputError
        If the probability does not lie between 1e-9 and 0.5, or there is no such state.

    Notes
    -----
    The load never falls with the engagement, so that every sampled joint needs the least length
    that holds its screw, less its own deviation of length. The required mean is the upper
    quantile of that length, sampled about the design point of the same thread in a thick wall.
    """
    thick = replace(model, joint=replace(model.joint, boss_diameter=None))
    check_known("state", state, STATES)
    number_above_zero(probability=probability)
    if not 1e-9 <= probability < 0.5:
        raise InputError(f"probability must lie between 1e-9 and 0.5, got {probability:g}")
    inputs = random_variables(model)
    present = float(engagement(model, state, complete(model, {})))

    def needed(z: FloatArray, of: JointModel = model) -> FloatArray:
        at = complete(of, normal_values(inputs, z))
        length = length_that_holds(of, state, at, screw_load(of, at))
        return np.broadcast_to(length - (engagement(of, state, at) - present), (z.shape[0],))

    nearest = _point_of_length(
        lambda z: needed(z, thick), len(inputs), float(special.ndtri(1 - probability))
    )
    nets = [points(nearest.size, POINTS, seed=child) for child in seeds(seed, NETS)[1]]
    z = special.ndtri(np.concatenate(nets)) + nearest
    # Density at the origin over that about the point.
    weight = np.exp(nearest @ nearest / 2 - z @ nearest)
    lengths = [
        _upper_quantile(values, of / POINTS, probability)
        for values, of in zip(needed(z).reshape(NETS, -1), weight.reshape(NETS, -1), strict=True)
    ]
    mean = low = high = math.nan
    if np.isfinite(lengths).all():
        mean, low, high = map(float, mean_interval(lengths))
    return RequiredEngagement(
        state=state, probability=probability, length=mean, low=low, high=high, present=present
    )


def _point_of_length(
    needed: Callable[[FloatArray], FloatArray], inputs: int, beta: float
) -> FloatArray:
    """Return the point at distance `beta` from the origin that needs the greatest length."""
    scale = float(needed(np.zeros((1, inputs)))[0])

    def length(z: FloatArray) -> float:
        return -float(needed(z[None, :])[0]) / scale

    def slope(z: FloatArray, step: float = 1e-4) -> FloatArray:
        steps = step * np.eye(z.size)
        both = needed(np.concatenate([z + steps, z - steps])) / scale
        return -(both[: z.size] - both[z.size :]) / (2 * step)

    # Over the whole distance: about the middle another thread may govern, that no input moves.
    start = -slope(np.zeros(inputs), beta)
    if not np.any(np.abs(start) > 1e-9):  # beyond rounding
        return np.zeros(inputs)
    result = optimize.minimize(
        length,
        start * (beta / np.linalg.norm(start)),
        jac=slope,
        method="SLSQP",
        constraints={
            "type": "ineq",
            "fun": lambda z: (beta**2 - float(z @ z)) / 2,
            "jac": lambda z: -z,
        },
        options={"maxiter": 200, "ftol": 1e-9},
    )
    return np.asarray(result.x)


def _upper_quantile(values: FloatArray, weight: FloatArray, probability: float) -> float:
    order = np.argsort(values)[::-1]
    above = np.cumsum(weight[order])
    index = int(np.searchsorted(above, probability))
    if index >= above.size:
        raise ValidityError("too few points reach the target probability; raise n")
    return float(values[order[index]])
