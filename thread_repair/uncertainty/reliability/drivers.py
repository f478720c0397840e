"""What drives the strength: shares of the scatter, and what one step of each input costs."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from ...arrays import FloatArray, read_only
from ...strength.strip import STATES
from ..intervals import mean_interval
from .model import JointModel, SampledLoads, Variable, loads, random_variables, variables
from .sampling import seeds

#: What the scatter of is shared out, by name.
OUTPUTS: Mapping[str, Callable[[SampledLoads], FloatArray]] = {
    "repaired strip load": lambda found: found.strip["repaired"],
    "repaired over original": lambda found: found.strip["repaired"] / found.strip["original"],
}


#: Independent nets, from whose scatter the intervals follow.
NETS = 8


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
        for child in seeds(seed, NETS)[1]
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
