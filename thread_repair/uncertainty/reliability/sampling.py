"""How likely is it: sampled, or walked to where it is too rare to be seen; and how sure that is.

Samples are quasi-random points of both states. For rare events the inputs are expressed by
independent standard normal values z: subset simulation walks to the event in ten-fold steps; it
needs to know of no design point, and so can miss none.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy import stats

from ...arrays import FloatArray, read_only
from ...errors import InputError, shown
from ...strength.strip import STATES
from ..intervals import CONFIDENCE, mean_interval
from .distributions import at_normal
from .model import EVENTS, JointModel, Values, Variable, events, loads, random_variables

#: Independent nets of a sample, from whose scatter its intervals follow.
NETS = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Probability:
    """A probability with its confidence interval and the way both were found.

    `method` is "nets" (Student's interval over scrambled Sobol nets), "exact" (limits of Clopper
    and Pearson, for few events) or "subset" (subset simulation, by `rare_events`).
    """

    estimate: float
    low: float
    high: float
    method: str

    def complement(self) -> Probability:
        """Return the probability that the event does not happen."""
        return replace(self, estimate=1 - self.estimate, low=1 - self.high, high=1 - self.low)


#: Points are evaluated this many at a time, and the loads of so many joints at least are kept for
#: quantiles and figures: both bound the memory.
BLOCK, KEPT = 2**14, 2**20
#: The points lie on multiples of 2^-BITS.
BITS = 32


def points(dimension: int, n: int, *, seed: int) -> FloatArray:
    """Return one scrambled Sobol net of `n` points, a power of two.

    Parameters
    ----------
    dimension, n : int
    seed : int

    Returns
    -------
    ndarray, shape (n, dimension), every value strictly between 0 and 1
    """
    # Half a step keeps the points off 0, where a normal quantile is infinite.
    net = stats.qmc.Sobol(dimension, bits=BITS, rng=seed).random(n)
    return np.asarray(net + 2.0 ** -(BITS + 1))


def seeds(seed: int | np.random.Generator, count: int) -> tuple[int, tuple[int, ...]]:
    """Return the seed to print and the seeds of independent replicates that follow from it.

    Parameters
    ----------
    seed : int or numpy.random.Generator
    count : int

    Returns
    -------
    tuple of int and tuple of int

    Raises
    ------
    InputError
        If the seed is negative.
    """
    root = int(seed.integers(2**31)) if isinstance(seed, np.random.Generator) else seed
    if not isinstance(root, (int, np.integer)) or root < 0:
        raise InputError(f"seed must be a whole number, zero or more, got {shown(root)}")
    children = np.random.SeedSequence(root).generate_state(count, np.uint64)
    return root, tuple(int(child) for child in children)


def probability(hits: Sequence[int], n: int) -> Probability:
    """Probability from the hits in every one of several independent nets of `n` points.

    Ten hits and ten misses a net or more: Student interval over the nets, which sees how much
    better than random points the nets are. Fewer: the hits of a net are too few to be anywhere
    near normal, and the exact limits for independent points stand; nets scatter less than
    independent points, so that these limits are on the safe side.

    Parameters
    ----------
    hits : sequence of int
    n : int

    Returns
    -------
    Probability
    """
    counts = np.asarray(hits)
    total, trials = int(counts.sum()), n * counts.size
    if min(total, trials - total) >= 10 * counts.size:
        mean, low, high = (float(x) for x in mean_interval(counts / n))
        method = "nets"
    else:
        exact = stats.binomtest(total, trials).proportion_ci(CONFIDENCE, method="exact")
        mean, low, high = total / trials, float(exact.low), float(exact.high)
        method = "exact"
    return Probability(estimate=mean, low=max(low, 0.0), high=min(high, 1.0), method=method)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Simulation:
    """Outcome of sampling both states.

    Attributes
    ----------
    seed : prints in the report; the same seed gives the same numbers
    n : points in all
    probabilities : by event name (see `model.EVENTS`)
    strip : strip load of the joints by state, N
    screw : load that breaks the screw in the same joints, N
    demand : N, or None
    """

    seed: int
    n: int
    probabilities: Mapping[str, Probability]
    strip: Mapping[str, FloatArray]
    screw: FloatArray
    demand: FloatArray | None
    confidence: float = CONFIDENCE

    def quantiles(self) -> list[dict[str, Any]]:
        """Quantiles of the loads as rows: `quantity`, `fraction`, `load_N`."""
        levels = [0.01, 0.05, 0.5, 0.95, 0.99]
        columns = {f"{state} strip load": self.strip[state] for state in STATES}
        columns["screw tension"] = self.screw
        if self.demand is not None:
            columns["demand"] = self.demand
        return [
            {"quantity": name, "fraction": level, "load_N": float(at)}
            for name, x in columns.items()
            for level, at in zip(levels, np.quantile(x, levels), strict=True)
        ]


def simulate(model: JointModel, *, seed: int | np.random.Generator, n: int = 2**18) -> Simulation:
    """Sample the joint in both states.

    Parameters
    ----------
    model : JointModel
    seed : int or numpy.random.Generator
        Of the scrambling; an int drawn from a Generator is kept in the result.
    n : least number of joints; rounded up so that every net holds a power of two.

    Returns
    -------
    Simulation

    Raises
    ------
    InputError
        If there is no joint, or the seed is negative.

    Notes
    -----
    Scrambled Sobol nets, several times independently: every net is unbiased, and the means of the
    nets are independent, so that a Student interval over them holds whatever the integrand.
    Source: Annals of Statistics 25 (1997) 1541. Known from: memory.
    """
    inputs = random_variables(model)
    if n < 1:
        raise InputError(f"n must be 1 or more, got {n}")
    size = 1 << max(int(np.ceil(np.log2(n / NETS))), 0)
    root, children = seeds(seed, NETS)
    asked = events(model)
    hits = {name: np.zeros(NETS, dtype=np.int64) for name in asked}
    kept: dict[str, list[FloatArray]] = {}
    blocks, together = max(size // BLOCK, 1), max(BLOCK // size, 1)
    for first in range(0, NETS, together):
        of = slice(first, first + together)
        nets = np.stack([points(len(inputs), size, seed=child) for child in children[of]])
        for part in np.array_split(nets, blocks, axis=1):
            block = part.reshape(-1, len(inputs))
            columns = zip(inputs, block.T, strict=True)
            found = loads(model, {v.name: v.quantity.ppf(u) for v, u in columns})  # type: ignore[union-attr]
            for name in asked:
                happened = np.broadcast_to(EVENTS[name](found) < 0, len(block))
                hits[name][of] += happened.reshape(len(part), -1).sum(axis=1)
            if len(block) * len(kept.get("screw", ())) >= KEPT:
                continue
            demand = {} if found.demand is None else {"demand": found.demand}
            for name, load in {**found.strip, "screw": found.screw, **demand}.items():
                kept.setdefault(name, []).append(np.broadcast_to(load, len(block)))
    sample = {name: read_only(np.concatenate(parts)) for name, parts in kept.items()}
    return Simulation(
        seed=root,
        n=size * NETS,
        probabilities={name: probability(list(hits[name]), size) for name in asked},
        strip={state: sample[state] for state in STATES},
        screw=sample["screw"],
        demand=sample.get("demand"),
    )


# ---- rare events

#: Steps: a probability below the tenth part so often is not followed further.
LEVELS = 7
#: Joints at every level, a tenth of which starts the next one; independent repetitions, from whose
#: scatter the interval follows.
PER_LEVEL, RUNS = 1000, 8


def rare_events(model: JointModel, names: Sequence[str], *, seed: int) -> Mapping[str, Probability]:
    """Probability of events of the joint, however rare.

    Parameters
    ----------
    model : JointModel
    names : of `model.events`
    seed : int

    Returns
    -------
    mapping of name to Probability
    """
    inputs = random_variables(model)

    def worst(z: FloatArray) -> FloatArray:
        found = loads(model, normal_values(inputs, z.reshape(-1, len(inputs))))
        shape = z.shape[:-1]
        each = [np.broadcast_to(EVENTS[name](found), math.prod(shape)) for name in names]
        return np.stack([row.reshape(shape)[place] for place, row in enumerate(each)])

    estimates = subset_simulation(worst, len(inputs), seed=seed, events=len(names))
    return dict(zip(names, estimates, strict=True))


def subset_simulation(
    worst: Callable[[FloatArray], FloatArray], inputs: int, *, seed: int, events: int = 1
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
    kept = PER_LEVEL // 10

    def at(z: FloatArray) -> FloatArray:
        return worst(z.reshape(events, -1, inputs)).reshape(z.shape[:-1])

    first = generator.standard_normal((RUNS, PER_LEVEL, inputs))
    z = np.broadcast_to(first, (events, *first.shape))
    now = at(z)
    estimates, running = np.zeros((events, RUNS)), np.ones((events, RUNS), dtype=bool)
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
        for _ in range(PER_LEVEL // kept - 1):
            trial = 0.8 * heads + 0.6 * generator.standard_normal((RUNS, kept, inputs))
            value = at(trial)
            better = value <= threshold
            heads = np.where(better[..., None], trial, heads)
            values = np.where(better, value, values)
            chains.append(heads)
            levels.append(values)
        z, now = np.concatenate(chains, axis=-2), np.concatenate(levels, axis=-1)
    found = []
    for each in estimates:
        mean, low, high = (float(x) for x in mean_interval(each))
        high = min(high, 1.0) if mean > 0 else 0.1**LEVELS
        found.append(Probability(estimate=mean, low=max(low, 0.0), high=high, method="subset"))
    return tuple(found)


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
