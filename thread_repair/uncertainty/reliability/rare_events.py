"""What is the probability of an event too rare to be seen in plain samples.

The inputs are expressed by independent standard normal values z. Subset simulation walks to the
event in ten-fold steps; it needs to know of no design point, and so can miss none.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np

from ...arrays import FloatArray
from .distributions import at_normal
from .model import JointModel, Values, Variable, event, loads, random_variables
from .sampling import Probability, replicate_interval

#: Steps: a probability below the tenth part so often is not followed further.
LEVELS = 7


def rare_events(
    model: JointModel, names: Sequence[str], *, seed: int, confidence: float = 0.95
) -> Mapping[str, Probability]:
    """Probability of events of the joint, however rare.

    Parameters
    ----------
    model : JointModel
    names : of `model.EVENTS`
    seed : int
    confidence : of the two-sided intervals

    Returns
    -------
    mapping of name to Probability
    """
    inputs, happened = random_variables(model), [event(model, name) for name in names]

    def worst(z: FloatArray) -> FloatArray:
        found = loads(model, normal_values(inputs, z.reshape(-1, len(inputs))))
        shape = z.shape[:-1]
        return np.stack(
            [
                np.broadcast_to(each(found), (math.prod(shape),)).reshape(shape)[place]
                for place, each in enumerate(happened)
            ]
        )

    estimates = subset_simulation(
        worst, len(inputs), seed=seed, events=len(names), confidence=confidence
    )
    return dict(zip(names, estimates, strict=True))


def subset_simulation(
    worst: Callable[[FloatArray], FloatArray],
    inputs: int,
    *,
    seed: int,
    events: int = 1,
    per_level: int = 1000,
    runs: int = 8,
    confidence: float = 0.95,
) -> tuple[Probability, ...]:
    """Probabilities of rare events as products of ten-fold steps.

    Parameters
    ----------
    worst : function of standard normal values, shape (events, n, inputs), giving shape (events, n);
        an event has happened where its row is below zero
    inputs : number of standard normal values
    seed : int
    events : how many are walked to in step, each with the same draws: one evaluation of the joint
        serves all
    confidence : float, 0 to 1
    per_level : joints at every level; a tenth of them starts the next level
    runs : independent repetitions, from whose scatter the interval follows

    Returns
    -------
    tuple of Probability, one an event

    Notes
    -----
    Each level keeps the worst tenth and grows chains from it that stay below the level's
    threshold: z' = 0.8 z + 0.6 x with a fresh standard normal x. Source: Probabilistic Engineering
    Mechanics 16 (2001) 263, with this proposal in place of the component-wise one. Known from:
    memory.
    """
    generator = np.random.default_rng(seed)
    kept = per_level // 10

    def at(z: FloatArray) -> FloatArray:
        return worst(z.reshape(events, -1, inputs)).reshape(z.shape[:-1])

    first = generator.standard_normal((runs, per_level, inputs))
    z = np.broadcast_to(first, (events, *first.shape))
    now = at(z)
    estimates, running = np.zeros((events, runs)), np.ones((events, runs), dtype=bool)
    for level in range(LEVELS):
        order = np.argsort(now, axis=-1)[..., :kept]
        heads = np.take_along_axis(z, order[..., None], axis=-2)
        values = np.take_along_axis(now, order, axis=-1)
        threshold = values[..., -1:]
        done = running & (threshold[..., 0] < 0)
        estimates[done] = 0.1**level * np.mean(now[done] < 0, axis=-1)
        running &= ~done
        if not running.any():
            break
        chains, levels = [heads], [values]
        for _ in range(per_level // kept - 1):
            trial = 0.8 * heads + 0.6 * generator.standard_normal((runs, kept, inputs))
            value = at(trial)
            better = value <= threshold
            heads = np.where(better[..., None], trial, heads)
            values = np.where(better, value, values)
            chains.append(heads)
            levels.append(values)
        z, now = np.concatenate(chains, axis=-2), np.concatenate(levels, axis=-1)
    return tuple(_estimate(each, runs * per_level, confidence=confidence) for each in estimates)


def _estimate(estimates: FloatArray, n: int, *, confidence: float) -> Probability:
    mean, low, high = (float(x) for x in replicate_interval(estimates, confidence=confidence))
    return Probability(
        estimate=mean,
        low=max(low, 0.0),
        high=min(high, 1.0) if mean > 0 else 0.1**LEVELS,
        confidence=confidence,
        n=n,
        method="subset",
    )


def normal_values(inputs: tuple[Variable, ...], z: FloatArray) -> Values:
    """Return the inputs by name at standard normal values.

    Parameters
    ----------
    inputs : tuple of Variable
    z : ndarray, shape (n, inputs)

    Returns
    -------
    mapping of name to ndarray of shape (n,)
    """
    return {v.name: at_normal(v.quantity, z[:, j]) for j, v in enumerate(inputs)}  # type: ignore[arg-type]
