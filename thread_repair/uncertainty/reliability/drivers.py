"""What drives the strength: shares of the scatter, and what one step of each input costs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from ...arrays import FloatArray
from ...strength.strip import STATES
from .model import JointModel, SampledLoads, Variable, loads, random_variables, variables
from .sampling import replicate_interval, seeds

#: What the scatter of is shared out, by name.
OUTPUTS: Mapping[str, Callable[[SampledLoads], FloatArray]] = MappingProxyType(
    {
        "original strip load": lambda found: found.strip["original"],
        "repaired strip load": lambda found: found.strip["repaired"],
        "repaired over original": lambda found: found.strip["repaired"] / found.strip["original"],
        "original strip load over screw tension": lambda f: f.strip["original"] / f.screw,
        "repaired strip load over screw tension": lambda f: f.strip["repaired"] / f.screw,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drivers:
    """Shares of the variance of every output, arrays of shape (outputs, inputs).

    `first` is the share an input explains alone, `total` the share with all its interactions, with
    the ends of its confidence interval.
    """

    inputs: tuple[Variable, ...]
    outputs: tuple[str, ...]
    first: FloatArray
    total: FloatArray
    total_low: FloatArray
    total_high: FloatArray
    confidence: float
    seed: int

    def ranked(self, output: str) -> tuple[tuple[Variable, float], ...]:
        """Return the inputs with their total share of one output, greatest first."""
        total = self.total[self.outputs.index(output)]
        return tuple((self.inputs[j], float(total[j])) for j in np.argsort(-total, kind="stable"))

    def columns(self, output: str) -> dict[str, NDArray[Any]]:
        """Tidy columns of one output, sorted for a chart: greatest total share first."""
        row = self.outputs.index(output)
        order = np.argsort(-self.total[row], kind="stable")
        found: dict[str, NDArray[Any]] = {"input": np.array([self.inputs[j].name for j in order])}
        for name in ("first", "total", "total_low", "total_high"):
            found[name] = getattr(self, name)[row][order]
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
    n : points a net, a power of two; the loads are computed n (inputs + 2) times a net
    replicates, confidence : independent nets, from whose scatter the intervals follow

    Returns
    -------
    Drivers

    Notes
    -----
    The intervals are taken over independent nets, which unlike a bootstrap of one net repeat with
    the seed. Source: Computer Physics Communications 181 (2010) 259, table 2. Known from: memory.
    """
    inputs = random_variables(model)

    def outputs(x: FloatArray) -> FloatArray:
        found = loads(model, {v.name: column for v, column in zip(inputs, x, strict=True)})
        rows = [np.broadcast_to(output(found), x.shape[1:]) for output in OUTPUTS.values()]
        return np.stack(rows)

    root, children = seeds(seed, replicates)
    nets = [
        stats.sobol_indices(func=outputs, n=n, dists=[v.quantity for v in inputs], rng=child)
        for child in children
    ]
    first, _, _ = replicate_interval([net.first_order for net in nets], confidence=confidence)
    total = replicate_interval([net.total_order for net in nets], confidence=confidence)
    return Drivers(
        inputs=inputs,
        outputs=tuple(OUTPUTS),
        first=first,
        total=total[0],
        total_low=total[1],
        total_high=total[2],
        confidence=confidence,
        seed=root,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class SwingStep:
    """What one step of an input does, the others at their means.

    Attributes
    ----------
    input : the input with its unit and the step taken
    percent : change of the strip load by state for one step up, %
    swing : change of the strip load by state from the 5 % to the 95 % point of the input, %
    """

    input: Variable
    percent: Mapping[str, float]
    swing: Mapping[str, float]


def one_at_a_time(model: JointModel) -> tuple[SwingStep, ...]:
    """Change of the strip loads for one step of each input, in the units of the trade.

    Parameters
    ----------
    model : JointModel

    Returns
    -------
    tuple of SwingStep
        Inputs that move a strip load, the greatest swing of either state first. The steps (0.1 mm
        of a diameter, 1 mm of length, 10 MPa of shear strength) are for reading, not limits.
    """
    centre = loads(model, {})
    found = []
    for variable in variables(model):
        percent = _changes(model, variable, variable.mean + variable.step, centre)
        if all(abs(change) < 1e-9 for change in percent.values()):
            continue
        quantity = variable.quantity
        low = high = variable.mean
        if not isinstance(quantity, (int, float)):
            low, high = (float(x) for x in quantity.ppf(np.array([0.05, 0.95])))
        at_low = _changes(model, variable, low, centre)
        at_high = _changes(model, variable, high, centre)
        swing = {state: at_high[state] - at_low[state] for state in STATES}
        found.append(
            SwingStep(
                input=variable, percent=MappingProxyType(percent), swing=MappingProxyType(swing)
            )
        )
    return tuple(sorted(found, key=lambda s: -max(abs(x) for x in s.swing.values())))


def _changes(
    model: JointModel, variable: Variable, value: float, centre: SampledLoads
) -> dict[str, float]:
    moved = loads(model, {variable.name: np.asarray(value)})
    return {state: float(100 * (moved.strip[state] / centre.strip[state] - 1)) for state in STATES}
