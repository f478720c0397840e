"""How likely is it: quasi-random samples of both states, and how sure the answer is."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from ..arrays import FloatArray
from ..errors import InputError
from ..sources import Reference
from .distributions import check_fraction
from .model import STATES, JointModel, Loads, Variable, events, loads, random_variables
from .model import event as limit_states_of
from .sobol import points

REFERENCES = (
    Reference(
        source="owen-1997",
        clause="sections 3 and 4",
        how_known="memory",
        what="randomised nets: independent replicates give an unbiased estimate of the error",
    ),
    Reference(
        source="joe-kuo-2008",
        clause="direction numbers D(6)",
        how_known="read",
        what="Sobol points",
    ),
    Reference(
        source="clopper-pearson-1934",
        clause="-",
        how_known="memory",
        what="confidence limits of a proportion when events are few",
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Probability:
    """A probability with its confidence interval and the way both were found."""

    estimate: float
    low: float
    high: float
    confidence: float
    n: int
    method: str

    def complement(self) -> Probability:
        """Return the probability that the event does not happen."""
        return Probability(
            estimate=1 - self.estimate,
            low=1 - self.high,
            high=1 - self.low,
            confidence=self.confidence,
            n=self.n,
            method=self.method,
        )

    def __str__(self) -> str:
        if self.estimate == 0:
            return f"below {self.high:.2g} ({100 * self.confidence:.0f} % limit)"
        if self.estimate == 1:
            return f"above {_near_one(self.low)} ({100 * self.confidence:.0f} % limit)"
        values = (_near_one(p) for p in (self.estimate, self.low, self.high))
        return "{} ({:.0f} % interval {} to {})".format(
            next(values), 100 * self.confidence, *values
        )


def _near_one(p: float) -> str:
    """Three digits of p, or of its distance from 1 where that is what matters."""
    if not 0.99 < p < 1:
        return f"{p:.3g}"
    return f"{p:.{2 - math.floor(math.log10(1 - p))}f}"


def seeds(seed: int | np.random.Generator, count: int) -> tuple[int, tuple[int, ...]]:
    """Return the seed to print and the seeds of independent replicates that follow from it."""
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
    """
    values = np.asarray(estimates, dtype=np.float64)
    count = values.shape[0]
    check_fraction(confidence=confidence)
    if count < 2:
        raise InputError(f"an interval needs two replicates or more, got {count}")
    mean = values.mean(axis=0)
    half = special.stdtrit(count - 1, (1 + confidence) / 2) * (
        values.std(axis=0, ddof=1) / np.sqrt(count)
    )
    return np.asarray(mean), np.asarray(mean - half), np.asarray(mean + half)


def clopper_pearson(hits: int, n: int, *, confidence: float = 0.95) -> tuple[float, float]:
    """Exact confidence limits of a proportion of independent trials.

    Source: Clopper and Pearson, Biometrika 26 (1934). Known from: memory.

    Examples
    --------
    No event in 300 trials: the "rule of three" of one side, 3/300, is 1 - 0.05**(1/300).

    >>> low, high = clopper_pearson(0, 300, confidence=0.90)
    >>> print(f"{low:.4f} {high:.5f}")
    0.0000 0.00994
    """
    check_fraction(confidence=confidence)
    if not 0 <= hits <= n or n < 1:
        raise InputError(f"hits must lie between 0 and the number of trials {n}, got {hits}")
    tail = (1 - confidence) / 2
    low = 0.0 if hits == 0 else float(special.betaincinv(hits, n - hits + 1, tail))
    high = 1.0 if hits == n else float(special.betaincinv(hits + 1, n - hits, 1 - tail))
    return low, high


def probability(hits: Sequence[int], n: int, *, confidence: float = 0.95) -> Probability:
    """Probability from the hits in every one of several independent nets of `n` points.

    Ten hits and ten misses a net or more: Student interval over the nets, which sees how much
    better than random points the nets are. Fewer: the hits of a net are too few to be anywhere
    near normal, and the exact limits for independent points stand; nets scatter less than
    independent points, so that these limits are on the safe side.
    """
    counts = np.asarray(hits)
    total, trials = int(counts.sum()), n * counts.size
    if min(total, trials - total) >= 10 * counts.size:
        mean, low, high = (float(x) for x in replicate_interval(counts / n, confidence=confidence))
        method = f"Student interval over {counts.size} scrambled Sobol nets"
    else:
        mean = total / trials
        low, high = clopper_pearson(total, trials, confidence=confidence)
        method = "exact limits (Clopper-Pearson), few events"
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
    n, replicates : points in all, independent nets
    probabilities : by event name (see `model.EVENTS`)
    strip : strip load of a sample of the joints by state, N
    screw : load that breaks the screw in the same joints, N
    demand : N, or None
    """

    seed: int
    n: int
    replicates: int
    confidence: float
    probabilities: Mapping[str, Probability]
    strip: Mapping[str, FloatArray]
    screw: FloatArray
    demand: FloatArray | None
    references: tuple[Reference, ...] = REFERENCES

    @property
    def repaired_at_least_original(self) -> Probability:
        """Chance that the repaired hole of a joint is at least as strong as its original one."""
        return self.probabilities["repaired_weaker_than_original"].complement()

    def pull_out(self, state: str) -> FloatArray:
        """Pull-out strength of the sample, N: the thread strips or the screw breaks."""
        return np.minimum(self.strip[state], self.screw)

    def quantiles(self, fractions: ArrayLike = (0.01, 0.05, 0.5, 0.95, 0.99)) -> dict[str, object]:
        """Quantiles of the loads as tidy columns: `quantity`, `fraction`, `load_N`."""
        levels = np.atleast_1d(np.asarray(fractions, dtype=np.float64))
        return _tidy(self._columns(), levels)

    def cumulative(self, count: int = 200) -> dict[str, object]:
        """Cumulative distribution of the loads as tidy columns, for a figure."""
        levels = (np.arange(count) + 0.5) / count
        return _tidy(self._columns(), levels)

    def _columns(self) -> dict[str, FloatArray]:
        columns = {f"{state} strip load": self.strip[state] for state in STATES}
        columns["screw tension"] = self.screw
        if self.demand is not None:
            columns["demand"] = self.demand
        return columns


def simulate(
    model: JointModel,
    *,
    seed: int | np.random.Generator,
    n: int = 2**18,
    replicates: int = 16,
    confidence: float = 0.95,
    keep: int = 2**18,
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
    keep : number of joints whose loads are kept for quantiles and figures. The probabilities
        count all of them, block by block, so that memory does not grow with `n`.

    Returns
    -------
    Simulation

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
    store = _Store(model, min(keep, size * replicates))
    for index, child in enumerate(children):
        for block in points(len(inputs), size, seed=child):
            found = loads(model, {v.name: _sampled(v, block[:, j]) for j, v in enumerate(inputs)})
            for name in asked:
                hits[name][index] += np.count_nonzero(happens(model, name, found, len(block)))
            store.add(found, len(block))
    return Simulation(
        seed=root,
        n=size * replicates,
        replicates=replicates,
        confidence=confidence,
        probabilities=MappingProxyType(
            {name: probability(list(hits[name]), size, confidence=confidence) for name in asked}
        ),
        strip=MappingProxyType({state: store.array(state) for state in STATES}),
        screw=store.array("screw"),
        demand=store.array("demand") if model.load is not None else None,
    )


def happens(model: JointModel, name: str, found: Loads, count: int) -> FloatArray:
    """Whether an event happens in each sampled joint, shape (count,)."""
    states = [np.asarray(state(found)) < 0 for state in limit_states_of(model, name)]
    return np.broadcast_to(np.logical_or.reduce(states), (count,))


def _sampled(variable: Variable, column: FloatArray) -> FloatArray:
    assert not isinstance(variable.quantity, (int, float))
    return variable.quantity.from_uniform(np.ascontiguousarray(column))


class _Store:
    """The first loads of a run, in arrays of fixed size."""

    def __init__(self, model: JointModel, size: int) -> None:
        names = [*STATES, "screw"] + (["demand"] if model.load is not None else [])
        self._arrays = {name: np.empty(size) for name in names}
        self._size, self._filled = size, 0

    def add(self, found: Loads, count: int) -> None:
        part = slice(self._filled, min(self._filled + count, self._size))
        taken = part.stop - part.start
        if taken <= 0:
            return
        for name, array in self._arrays.items():
            values = found.strip[name] if name in STATES else getattr(found, name)
            array[part] = np.broadcast_to(values, (count,))[:taken]
        self._filled = part.stop

    def array(self, name: str) -> FloatArray:
        self._arrays[name].flags.writeable = False
        return self._arrays[name]


def _tidy(columns: Mapping[str, FloatArray], levels: FloatArray) -> dict[str, object]:
    return {
        "quantity": np.repeat(list(columns), levels.size),
        "fraction": np.tile(levels, len(columns)),
        "load_N": np.concatenate([np.quantile(values, levels) for values in columns.values()]),
    }
