"""How long must the thread be for it to strip first no more often than a target."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from scipy import optimize, special

from ...arrays import FloatArray, number_above_zero
from ...errors import InputError, ValidityError, check_known
from ...strength.strip import STATES
from ..intervals import mean_interval
from .model import JointModel, complete, engagement, length_that_holds, random_variables, screw_load
from .sampling import NETS, normal_values, points, seeds

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
