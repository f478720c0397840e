"""What is the chance of an event too rare to be seen in plain samples, down to 1e-6 and less.

The inputs are expressed by independent standard normal values z. The event's most likely point,
the design point, is the one nearest to the origin; points are then sampled about it and weighted
back. Subset simulation, which knows of no design point, is the second opinion.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TypeAlias

import numpy as np
from scipy import special

from ..arrays import FloatArray
from ..sources import Reference
from .model import JointModel, Loads, Variable, event, loads, random_variables
from .sampling import Probability, replicate_interval, seeds
from .sobol import points

#: Function of standard normal values, shape (n, inputs), giving shape (n, modes); the event has
#: happened where any mode is below zero.
NormalSpace: TypeAlias = Callable[[FloatArray], FloatArray]

REFERENCES = (
    Reference(
        source="hasofer-lind-1974",
        clause="-",
        how_known="memory",
        what="reliability index: distance of the limit state from the origin",
    ),
    Reference(
        source="au-beck-2001",
        clause="-",
        how_known="memory",
        what="subset simulation of small probabilities",
    ),
)

#: Farther out than this a probability (1e-15) means nothing for a thread.
_FARTHEST = 8.0
_LEVELS = 10  # tenths of the population, so 1e-10: fewer than lie outside the sphere


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RareEvent:
    """Chance of a rare event.

    Attributes
    ----------
    event, seed
    probability : by importance sampling about the design points
    check : by subset simulation
    reliability_index : distance of the nearest design point from the origin, infinite when there
        is none within 8 standard deviations
    design_point : the most likely inputs of the event, by input name
    """

    event: str
    seed: int
    probability: Probability
    check: Probability
    reliability_index: float
    design_point: Mapping[str, float]
    references: tuple[Reference, ...] = REFERENCES

    @property
    def agrees(self) -> bool:
        """Whether the intervals of the two methods overlap."""
        return self.probability.low <= self.check.high and self.check.low <= self.probability.high


def rare_event(
    model: JointModel, name: str, *, seed: int | np.random.Generator, confidence: float = 0.95
) -> RareEvent:
    """Chance of an event of the joint, however rare, with its most likely cause.

    Parameters
    ----------
    model : JointModel
    name : one of `model.EVENTS`
    seed : int or numpy.random.Generator
    confidence : of the two-sided intervals

    Returns
    -------
    RareEvent
    """
    inputs = random_variables(model)
    states = event(model, name)

    def modes(z: FloatArray) -> FloatArray:
        found = normal_loads(model, inputs, z)
        columns = [np.broadcast_to(state(found), (z.shape[0],)) for state in states]
        return np.stack(columns, axis=1)

    root, (one, two) = seeds(seed, 2)
    nearest = design_points(modes, len(inputs))
    estimate = importance_sampling(modes, nearest, seed=one, confidence=confidence)
    check = subset_simulation(modes, len(inputs), seed=two, confidence=confidence)
    index, cause = np.inf, {}
    if len(nearest):
        index = float(np.linalg.norm(nearest[0]))
        cause = {v.name: float(_at(v, nearest[0][j])) for j, v in enumerate(inputs)}
    return RareEvent(
        event=name,
        seed=root,
        probability=estimate,
        check=check,
        reliability_index=index,
        design_point=MappingProxyType(cause),
    )


def design_points(modes: NormalSpace, inputs: int) -> FloatArray:
    """Points of the limit states nearest to the origin, nearest first.

    Parameters
    ----------
    modes : function of standard normal values, shape (n, inputs), giving shape (n, modes)
    inputs : number of standard normal values

    Returns
    -------
    ndarray, shape (points, inputs)
        Empty when no mode reaches zero within 8 standard deviations; the origin alone when the
        event has happened there already, for then it is not rare.
    """
    origin = modes(np.zeros((1, inputs)))[0]
    if np.any(origin < 0):
        return np.zeros((1, inputs))
    found: list[FloatArray] = []
    # Fixed starts: the result must not depend on the seed.
    starts = np.random.default_rng(0).standard_normal((3, inputs))
    starts /= np.linalg.norm(starts, axis=1, keepdims=True)
    for mode, scale in enumerate(origin):
        for attempt, start in enumerate((np.zeros(inputs), *starts)):
            point = _nearest(modes, mode, max(float(scale), 1e-9), start)
            if point is None and attempt == 1 and not found:
                break  # two searches in vain: the other starts only cost time
            if point is not None and all(np.linalg.norm(point - old) > 0.1 for old in found):
                found.append(point)
    found.sort(key=lambda z: float(z @ z))
    return np.array(found) if found else np.empty((0, inputs))


def _nearest(modes: NormalSpace, mode: int, scale: float, start: FloatArray) -> FloatArray | None:
    def distance(z: FloatArray) -> float:
        return float(z @ z) / 2

    def limit(z: FloatArray) -> float:
        return float(modes(z[None, :])[0, mode]) / scale

    def slope(z: FloatArray) -> FloatArray:
        step = 1e-4 * np.eye(z.size)
        both = modes(np.concatenate([z + step, z - step]))[:, mode] / scale
        return (both[: z.size] - both[z.size :]) / 2e-4

    from scipy import optimize  # on use: it takes longer to import than a simulation

    result = optimize.minimize(
        distance,
        start,
        jac=lambda z: z,
        method="SLSQP",
        bounds=[(-_FARTHEST, _FARTHEST)] * start.size,
        constraints={"type": "eq", "fun": limit, "jac": slope},
        options={"maxiter": 40, "ftol": 1e-9},
    )
    reached = abs(limit(result.x)) < 1e-4 and np.linalg.norm(result.x) < _FARTHEST
    return np.asarray(result.x) if reached else None


def importance_sampling(
    modes: NormalSpace,
    nearest: FloatArray,
    *,
    seed: int,
    n: int = 2**11,
    replicates: int = 16,
    confidence: float = 0.95,
) -> Probability:
    """Probability of a rare event by sampling about its design points.

    Parameters
    ----------
    modes : see `design_points`
    nearest : ndarray, shape (points, inputs)
        The design points (`design_points`).
    seed, confidence
    n, replicates : points a net and a design point, a power of two; independent nets

    Returns
    -------
    Probability
        The interval is Student's over the nets. Without design points: zero, with the share of
        the population outside 8 standard deviations as upper limit.

    Notes
    -----
    Points are standard normal about each design point, weighted by the density at the origin over
    the mean of the densities about all of them, so that two modes which overlap count once.
    """
    if not len(nearest):
        # All that could fail lies outside the sphere that was searched.
        outside = float(special.chdtrc(nearest.shape[1], _FARTHEST**2))
        return Probability(
            estimate=0.0,
            low=0.0,
            high=outside,
            confidence=confidence,
            n=0,
            method="search: no combination of inputs within 8 standard deviations gives the event",
        )
    _, children = seeds(seed, replicates)
    estimates = []
    for child in children:
        z, weight = weighted_points(nearest, n, child)
        estimates.append(float(np.sum(weight[np.any(modes(z) < 0, axis=1)])) / len(z))
    mean, low, high = (float(x) for x in replicate_interval(estimates, confidence=confidence))
    return Probability(
        estimate=mean,
        low=max(low, 0.0),
        high=min(high, 1.0),
        confidence=confidence,
        n=n * replicates * len(nearest),
        method=f"importance sampling about {len(nearest)} design point(s), {replicates} nets",
    )


def weighted_points(nearest: FloatArray, n: int, seed: int) -> tuple[FloatArray, FloatArray]:
    """Return `n` points about each design point, and their weights."""
    inputs = nearest.shape[1]
    parts = []
    for index, point in enumerate(nearest):
        u = np.concatenate(list(points(inputs, n, seed=seed + index)))
        parts.append(special.ndtri(u) + point)
    z = np.concatenate(parts)
    # log of the density about a point over that at the origin
    ratios = z @ nearest.T - np.sum(nearest**2, axis=1) / 2
    return z, np.exp(-special.logsumexp(ratios, axis=1) + np.log(len(nearest)))


def subset_simulation(
    modes: NormalSpace,
    inputs: int,
    *,
    seed: int,
    per_level: int = 1000,
    runs: int = 16,
    confidence: float = 0.95,
) -> Probability:
    """Probability of a rare event as a product of ten-fold steps.

    Parameters
    ----------
    modes, inputs : see `design_points`
    seed, confidence
    per_level : joints at every level; a tenth of them starts the next level
    runs : independent repetitions, from whose scatter the interval follows

    Returns
    -------
    Probability

    Notes
    -----
    Each level keeps the worst tenth and grows chains from it that stay below the level's
    threshold: z' = 0.8 z + 0.6 x with a fresh standard normal x. Source: Probabilistic Engineering
    Mechanics 16 (2001) 263, with this proposal in place of the component-wise one. Known from:
    memory.
    """
    _, children = seeds(seed, runs)
    estimates = [
        _subset_run(modes, inputs, per_level, np.random.default_rng(child)) for child in children
    ]
    mean, low, high = (float(x) for x in replicate_interval(estimates, confidence=confidence))
    return Probability(
        estimate=mean,
        low=max(low, 0.0),
        high=min(high, 1.0) if mean > 0 else 0.1**_LEVELS,
        confidence=confidence,
        n=per_level * runs,
        method=f"subset simulation, {runs} runs of {per_level} joints a level",
    )


def _subset_run(
    modes: NormalSpace, inputs: int, per_level: int, generator: np.random.Generator
) -> float:
    kept = per_level // 10
    z = generator.standard_normal((per_level, inputs))
    worst = np.min(modes(z), axis=1)
    for level in range(_LEVELS):
        order = np.argsort(worst)[:kept]
        threshold = worst[order[-1]]
        if threshold < 0:
            return float(0.1**level * np.mean(worst < 0))
        heads, values = z[order], worst[order]
        chains, levels = [heads], [values]
        for _ in range(per_level // kept - 1):
            trial = 0.8 * heads + 0.6 * generator.standard_normal(heads.shape)
            value = np.min(modes(trial), axis=1)
            better = value <= threshold
            heads = np.where(better[:, None], trial, heads)
            values = np.where(better, value, values)
            chains.append(heads)
            levels.append(values)
        z, worst = np.concatenate(chains), np.concatenate(levels)
    return 0.0


def _at(variable: Variable, z: FloatArray | float) -> FloatArray:
    assert not isinstance(variable.quantity, (int, float))
    return variable.quantity.from_normal(z)


def normal_loads(model: JointModel, inputs: tuple[Variable, ...], z: FloatArray) -> Loads:
    """Return the loads at standard normal values, shape (n, inputs)."""
    return loads(model, {v.name: _at(v, z[:, j]) for j, v in enumerate(inputs)})
