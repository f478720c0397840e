"""What drives the strength: shares of the scatter, and what one step of each input costs."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import TypeAlias

import numpy as np

from ..arrays import FloatArray
from ..errors import InputError
from ..sources import Reference
from .distributions import Distribution
from .model import STATES, JointModel, Loads, Variable, loads, random_variables, variables
from .sampling import Probability, Simulation, replicate_interval, seeds
from .sobol import points

REFERENCES = (
    Reference(
        source="saltelli-2010",
        clause="table 2",
        how_known="memory",
        what="estimators of the first-order and total indices of variance",
    ),
)

#: What the scatter of is shared out, by name.
OUTPUTS: Mapping[str, Callable[[Loads], FloatArray]] = MappingProxyType(
    {
        "original strip load": lambda found: found.strip["original"],
        "repaired strip load": lambda found: found.strip["repaired"],
        "repaired over original": lambda found: found.strip["repaired"] / found.strip["original"],
        "original strip load over screw tension": lambda f: f.strip["original"] / f.screw,
        "repaired strip load over screw tension": lambda f: f.strip["repaired"] / f.screw,
    }
)

#: Function of sampled inputs, shape (n, inputs), giving shape (n,) or (outputs, n).
Function: TypeAlias = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Indices:
    """Shares of the variance of each output, arrays of shape (outputs, inputs).

    `first` is the share an input explains alone, `total` the share with all its interactions, each
    with the ends of its confidence interval.
    """

    first: FloatArray
    first_low: FloatArray
    first_high: FloatArray
    total: FloatArray
    total_low: FloatArray
    total_high: FloatArray
    confidence: float
    seed: int


def sobol_indices(
    function: Function,
    distributions: Sequence[Distribution],
    *,
    seed: int | np.random.Generator,
    n: int = 2**12,
    replicates: int = 8,
    confidence: float = 0.95,
) -> Indices:
    """Sobol indices of a function of independent inputs.

    Parameters
    ----------
    function : of inputs of shape (n, inputs), giving shape (n,) or (outputs, n)
    distributions : of the inputs
    seed : int or numpy.random.Generator
    n : points a net, a power of two; the function is evaluated n (inputs + 2) times a net
    replicates, confidence : independent nets, from whose scatter the intervals follow

    Returns
    -------
    Indices

    Notes
    -----
    The estimators are those of `scipy.stats.sobol_indices`, tested against it; the intervals are
    taken over independent nets, which unlike a bootstrap of one net repeats with the seed.
    Source: Computer Physics Communications 181 (2010) 259, table 2. Known from: memory.
    """
    count = len(distributions)
    if count < 1:
        raise InputError("Sobol indices need at least one input that scatters")
    root, children = seeds(seed, replicates)
    found = [_indices(function, distributions, n, child) for child in children]
    first = replicate_interval([f for f, _ in found], confidence=confidence)
    total = replicate_interval([t for _, t in found], confidence=confidence)
    return Indices(
        first=first[0],
        first_low=first[1],
        first_high=first[2],
        total=total[0],
        total_low=total[1],
        total_high=total[2],
        confidence=confidence,
        seed=root,
    )


def _indices(
    function: Function, distributions: Sequence[Distribution], n: int, seed: int
) -> tuple[FloatArray, FloatArray]:
    count = len(distributions)
    u = np.concatenate(list(points(2 * count, n, seed=seed)))
    x = np.stack([distributions[j % count].from_uniform(u[:, j]) for j in range(2 * count)], axis=1)
    a, b = x[:, :count], x[:, count:]
    crossed = []
    for j in range(count):
        mixed = a.copy()
        mixed[:, j] = b[:, j]
        crossed.append(np.atleast_2d(function(mixed)))
    return saltelli(np.atleast_2d(function(a)), np.atleast_2d(function(b)), np.stack(crossed))


def saltelli(f_a: FloatArray, f_b: FloatArray, f_ab: FloatArray) -> tuple[FloatArray, FloatArray]:
    """First-order and total indices, shape (outputs, inputs), from the function's values.

    Parameters
    ----------
    f_a, f_b : ndarray, shape (outputs, n)
        At two independent samples.
    f_ab : ndarray, shape (inputs, outputs, n)
        At the first sample with one input taken from the second.
    """
    centre = np.concatenate([f_a, f_b], axis=1).mean(axis=1, keepdims=True)
    f_a, f_b, f_ab = f_a - centre, f_b - centre, f_ab - centre
    variance = np.concatenate([f_a, f_b], axis=1).var(axis=1)
    first = np.mean(f_b * (f_ab - f_a), axis=-1) / variance
    total = np.mean((f_a - f_ab) ** 2, axis=-1) / 2 / variance
    return first.T, total.T


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drivers:
    """Shares of the scatter of every output, by input."""

    inputs: tuple[Variable, ...]
    outputs: tuple[str, ...]
    indices: Indices
    references: tuple[Reference, ...] = REFERENCES

    def ranked(self, output: str) -> tuple[tuple[Variable, float], ...]:
        """Return the inputs with their total share of one output, greatest first."""
        total = self.indices.total[self.outputs.index(output)]
        return tuple((self.inputs[j], float(total[j])) for j in np.argsort(-total, kind="stable"))

    def columns(self, output: str) -> dict[str, object]:
        """Tidy columns of one output, sorted for a chart: greatest total share first."""
        row = self.outputs.index(output)
        order = np.argsort(-self.indices.total[row], kind="stable")
        found: dict[str, object] = {
            "input": np.array([self.inputs[j].name for j in order]),
            "label": np.array([self.inputs[j].label for j in order]),
        }
        for name in ("first", "first_low", "first_high", "total", "total_low", "total_high"):
            found[name] = getattr(self.indices, name)[row][order]
        return found


def drivers(
    model: JointModel,
    *,
    seed: int | np.random.Generator,
    n: int = 2**11,
    replicates: int = 8,
    confidence: float = 0.95,
) -> Drivers:
    """Return how the scatter of the loads is shared out among the inputs.

    Parameters
    ----------
    model : JointModel
    seed : int or numpy.random.Generator
    n, replicates, confidence : see `sobol_indices`

    Returns
    -------
    Drivers
    """
    inputs = random_variables(model)

    def outputs(x: FloatArray) -> FloatArray:
        found = loads(model, {v.name: x[:, j] for j, v in enumerate(inputs)})
        rows = [np.broadcast_to(output(found), (x.shape[0],)) for output in OUTPUTS.values()]
        return np.stack(rows)

    scattering = [v.quantity for v in inputs if not isinstance(v.quantity, (int, float))]
    return Drivers(
        inputs=inputs,
        outputs=tuple(OUTPUTS),
        indices=sobol_indices(
            outputs, scattering, seed=seed, n=n, replicates=replicates, confidence=confidence
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """What one step of an input does, the others at their means.

    Attributes
    ----------
    input : the input with its unit and the step taken
    percent : change of the strip load by state for one step up, %
    low, high : 5 % and 95 % point of the input; equal when it does not scatter
    swing : change of the strip load by state from `low` to `high`, %
    """

    input: Variable
    percent: Mapping[str, float]
    low: float
    high: float
    swing: Mapping[str, float]

    def sentence(self, state: str) -> str:
        """Say what the step costs or gives: "0.1 mm more ... costs 3.1 %"."""
        unit = f" {self.input.unit}" if self.input.unit else ""
        change = self.percent[state]
        if abs(change) < 0.05:
            return f"{self.input.step:g}{unit} more {self.input.label} changes nothing"
        verb = "costs" if change < 0 else "gives"
        return f"{self.input.step:g}{unit} more {self.input.label} {verb} {abs(change):.1f} %"


def one_at_a_time(model: JointModel) -> tuple[Step, ...]:
    """Change of the strip loads for one step of each input, in the units of the trade.

    Parameters
    ----------
    model : JointModel

    Returns
    -------
    tuple of Step
        Inputs that move a strip load, the greatest swing of either state first. The steps (0.1 mm
        of a diameter, 1 mm of length, 10 MPa of shear strength) are for reading, not limits.
    """
    centre = loads(model, {})
    found = []
    for variable in variables(model):
        percent = _changes(model, variable, variable.mean + variable.step, centre)
        quantity = variable.quantity
        low = high = variable.mean
        if not isinstance(quantity, (int, float)):
            low, high = (float(x) for x in quantity.from_uniform(np.array([0.05, 0.95])))
        at_low = _changes(model, variable, low, centre)
        at_high = _changes(model, variable, high, centre)
        swing = {state: at_high[state] - at_low[state] for state in STATES}
        if any(abs(change) > 1e-9 for change in percent.values()):
            found.append(
                Step(
                    input=variable,
                    percent=MappingProxyType(percent),
                    low=low,
                    high=high,
                    swing=MappingProxyType(swing),
                )
            )
    return tuple(sorted(found, key=lambda s: -max(abs(x) for x in s.swing.values())))


def _changes(
    model: JointModel, variable: Variable, value: float, centre: Loads
) -> dict[str, float]:
    moved = loads(model, {variable.name: np.asarray(value)})
    return {state: float(100 * (moved.strip[state] / centre.strip[state] - 1)) for state in STATES}


def step_columns(steps: Sequence[Step]) -> dict[str, object]:
    """Return the one-at-a-time table as tidy columns, one row an input and state."""
    rows = [(step, state) for step in steps for state in STATES]
    return {
        "input": np.array([step.input.name for step, _ in rows]),
        "label": np.array([step.input.label for step, _ in rows]),
        "unit": np.array([step.input.unit for step, _ in rows]),
        "step": np.array([step.input.step for step, _ in rows]),
        "low": np.array([step.low for step, _ in rows]),
        "high": np.array([step.high for step, _ in rows]),
        "state": np.array([state for _, state in rows]),
        "percent_per_step": np.array([step.percent[state] for step, state in rows]),
        "percent_low_to_high": np.array([step.swing[state] for step, state in rows]),
    }


def uncertainty_sentences(
    simulation: Simulation,
    shares: Drivers,
    *,
    under_preload: Mapping[str, Probability] | None = None,
) -> tuple[str, ...]:
    """Say how sure the comparison is, what the load does first, and what the doubt rests on.

    `under_preload`, by state, stands in the place of the load alone where it is known.
    """
    better = simulation.repaired_at_least_original
    found = [
        f"In {simulation.n:,} sampled joints the repaired thread strips at no less than the "
        f"original one with probability {better}; seed {simulation.seed}.",
        "The probability that the thread strips before the screw breaks is "
        f"{_both(_by_state(simulation, 'strips_before_screw_breaks'))}.",
    ]
    what = "The probability that the thread strips or the screw breaks under"
    if under_preload:
        found.insert(0, f"{what} preload and factored design load is {_both(under_preload)}.")
    elif simulation.demand is not None:
        load = _both(_by_state(simulation, "margin_negative"))
        found.insert(0, f"{what} the factored design load is {load}.")
    ranked = shares.ranked("repaired strip load")[:2]
    causes = " and ".join(f"the {v.label} ({100 * share:.0f} %)" for v, share in ranked)
    return (*found, f"The scatter of the repaired strip load comes mainly from {causes}.")


def _by_state(simulation: Simulation, event: str) -> Mapping[str, Probability]:
    return {state: simulation.probabilities[f"{state}_{event}"] for state in STATES}


def _both(probabilities: Mapping[str, Probability]) -> str:
    words = {state: str(each) for state, each in probabilities.items()}
    if len(words) > 1 and len(set(words.values())) == 1:
        return f"{words[STATES[0]]} in both states"
    return " and ".join(f"{each} ({state})" for state, each in words.items())
