"""How likely is it: quasi-random samples of both states, and how sure the answer is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike
from scipy import special, stats

from ...arrays import FloatArray, fraction, read_only
from ...errors import InputError
from ...strength.strip import STATES
from .model import EVENTS, JointModel, events, loads, random_variables


@dataclass(frozen=True, slots=True, kw_only=True)
class Probability:
    """A probability with its confidence interval and the way both were found.

    `method` is "nets" (Student's interval over scrambled Sobol nets), "exact" (limits of Clopper
    and Pearson, for few events) or "subset" (subset simulation, by `rare_events`).
    """

    estimate: float
    low: float
    high: float
    confidence: float
    n: int
    method: str

    def complement(self) -> Probability:
        """Return the probability that the event does not happen."""
        return replace(self, estimate=1 - self.estimate, low=1 - self.high, high=1 - self.low)


#: Points are evaluated this many at a time, and the loads of so many joints at least are kept for
#: quantiles and figures: both bound the memory.
BLOCK, KEPT = 2**16, 2**20
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

    Raises
    ------
    InputError
        If the number of points is not a power of two.
    """
    if n < 1 or n & (n - 1):
        raise InputError(f"the number of Sobol points must be a power of two, got {n}")
    # Half a step keeps the points off 0, where a normal quantile is infinite.
    net = stats.qmc.Sobol(dimension, bits=BITS, rng=seed).random(n)
    return np.asarray(net + 2.0 ** -(BITS + 1))


def seeds(seed: int | np.random.Generator, count: int) -> tuple[int, tuple[int, ...]]:
    """Return the seed to print and the seeds of independent replicates that follow from it.

    Parameters
    ----------
    seed : int | np.random.Generator
    count : int

    Returns
    -------
    tuple[int, tuple[int, ...]]

    Raises
    ------
    InputError
        If the seed is negative.
    """
    root = int(seed.integers(2**31)) if isinstance(seed, np.random.Generator) else int(seed)
    if root < 0:
        raise InputError(f"seed must be zero or more, got {root}")
    children = np.random.SeedSequence(root).generate_state(count, np.uint64)
    return root, tuple(int(child) for child in children)


def replicate_interval(
    estimates: ArrayLike, *, confidence: float = 0.95
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Mean of independent replicates and its Student interval.

    Parameters
    ----------
    estimates : array_like, shape (replicates, ...)
    confidence : of the two-sided interval

    Returns
    -------
    mean, low, high : arrays of the trailing shape

    Raises
    ------
    InputError
        If there are fewer than two replicates.
    """
    values = np.asarray(estimates, dtype=np.float64)
    count = values.shape[0]
    fraction(confidence=confidence)
    if count < 2:
        raise InputError(f"an interval needs two replicates or more, got {count}")
    mean = values.mean(axis=0)
    half = special.stdtrit(count - 1, (1 + confidence) / 2) * (
        values.std(axis=0, ddof=1) / np.sqrt(count)
    )
    return np.asarray(mean), np.asarray(mean - half), np.asarray(mean + half)


def probability(hits: Sequence[int], n: int, *, confidence: float = 0.95) -> Probability:
    """Probability from the hits in every one of several independent nets of `n` points.

    Ten hits and ten misses a net or more: Student interval over the nets, which sees how much
    better than random points the nets are. Fewer: the hits of a net are too few to be anywhere
    near normal, and the exact limits for independent points stand; nets scatter less than
    independent points, so that these limits are on the safe side.

    Parameters
    ----------
    hits : sequence of int
    n : int
    confidence : float, 0 to 1, optional

    Returns
    -------
    Probability
    """
    counts = np.asarray(hits)
    total, trials = int(counts.sum()), n * counts.size
    if min(total, trials - total) >= 10 * counts.size:
        mean, low, high = (float(x) for x in replicate_interval(counts / n, confidence=confidence))
        method = "nets"
    else:
        mean = total / trials
        exact = stats.binomtest(total, trials).proportion_ci(confidence, method="exact")
        low, high = float(exact.low), float(exact.high)
        method = "exact"
    return Probability(
        estimate=mean,
        low=max(low, 0.0),
        high=min(high, 1.0),
        confidence=confidence,
        n=trials,
        method=method,
    )


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
    confidence: float
    probabilities: Mapping[str, Probability]
    strip: Mapping[str, FloatArray]
    screw: FloatArray
    demand: FloatArray | None

    def quantiles(self) -> dict[str, object]:
        """Quantiles of the loads as tidy columns: `quantity`, `fraction`, `load_N`."""
        levels = np.array([0.01, 0.05, 0.5, 0.95, 0.99])
        columns = {f"{state} strip load": self.strip[state] for state in STATES}
        columns["screw tension"] = self.screw
        if self.demand is not None:
            columns["demand"] = self.demand
        return {
            "quantity": np.repeat(list(columns), levels.size),
            "fraction": np.tile(levels, len(columns)),
            "load_N": np.concatenate([np.quantile(x, levels) for x in columns.values()]),
        }


def simulate(
    model: JointModel,
    *,
    seed: int | np.random.Generator,
    n: int = 2**18,
    replicates: int = 16,
    confidence: float = 0.95,
) -> Simulation:
    """Sample the joint in both states.

    Parameters
    ----------
    model : JointModel
    seed : int or numpy.random.Generator
        Of the scrambling; an int drawn from a Generator is kept in the result.
    n : least number of joints; rounded up so that every net holds a power of two.
    replicates : independent nets, from whose scatter the intervals follow
    confidence : of the two-sided intervals

    Returns
    -------
    Simulation

    Raises
    ------
    InputError
        If there is no joint, or fewer than two replicates.

    Notes
    -----
    Scrambled Sobol nets, several times independently: every net is unbiased, and the means of the
    nets are independent, so that a Student interval over them holds whatever the integrand.
    Source: Annals of Statistics 25 (1997) 1541. Known from: memory.
    """
    inputs = random_variables(model)
    if replicates < 2:
        raise InputError(f"replicates must be 2 or more to give an interval, got {replicates}")
    if n < 1:
        raise InputError(f"n must be 1 or more, got {n}")
    size = 1 << max(int(np.ceil(np.log2(n / replicates))), 0)
    root, children = seeds(seed, replicates)
    asked = events(model)
    hits = {name: np.zeros(replicates, dtype=np.int64) for name in asked}
    kept: dict[str, list[FloatArray]] = {}
    blocks = max(size // BLOCK, 1)
    for index, child in enumerate(children):
        for block in np.array_split(points(len(inputs), size, seed=child), blocks):
            columns = zip(inputs, block.T, strict=True)
            found = loads(model, {v.name: v.quantity.ppf(u) for v, u in columns})  # type: ignore[union-attr]
            for name in asked:
                hits[name][index] += np.sum(np.broadcast_to(EVENTS[name](found) < 0, len(block)))
            if len(block) * len(kept.get("screw", ())) >= KEPT:
                continue
            demand = {} if found.demand is None else {"demand": found.demand}
            for name, load in {**found.strip, "screw": found.screw, **demand}.items():
                kept.setdefault(name, []).append(np.broadcast_to(load, len(block)))
    sample = {name: read_only(np.concatenate(parts)) for name, parts in kept.items()}
    return Simulation(
        seed=root,
        n=size * replicates,
        confidence=confidence,
        probabilities=MappingProxyType(
            {name: probability(list(hits[name]), size, confidence=confidence) for name in asked}
        ),
        strip=MappingProxyType({state: sample[state] for state in STATES}),
        screw=sample["screw"],
        demand=sample.get("demand"),
    )
