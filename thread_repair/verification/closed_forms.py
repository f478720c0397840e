"""Sampled probabilities against closed forms.

Strength and load that are lognormal, with sizes that do not scatter, give every probability by one
normal distribution. The seeds are fixed; a 95 % interval misses one time in twenty, and these do
not.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
from scipy import stats

from .. import case as cases
from ..joint import stress_area
from ..strength.strip import STATES
from ..tables import cited
from ..uncertainty.reliability.distributions import Quantity
from ..uncertainty.reliability.engagement import required_engagement
from ..uncertainty.reliability.model import JointModel, complete, strip_load
from ..uncertainty.reliability.sampling import Probability, rare_events, simulate, subset_simulation
from .checks import Found, Held, hold

EVENT = "original_strips_before_screw_breaks"
#: Relative scatter of the parent's and the screw's strength.
PARENT, SCREW = 0.05, 0.04
LENGTH = 10.0


def lognormal_joint(target: float) -> JointModel:
    """Return a joint that strips before its screw breaks with the probability `target`.

    The parent is so much weaker than the screw that no thread bends: its factor stays 1.
    """
    length = {f"{state}.full_thread": LENGTH for state in STATES}
    middle = {"parent_shear_strength": 200.0, "screw_tensile_strength": 900.0} | length
    base = JointModel(joint=cases.joint_of(engagement=LENGTH), quantities=middle)
    strips = float(strip_load(base, "original", complete(base, {}), LENGTH))
    breaks = strips * math.exp(stats.norm.ppf(target) * math.hypot(PARENT, SCREW))
    scatter: dict[str, Quantity] = {
        "parent_shear_strength": stats.lognorm(PARENT, scale=200),
        "screw_tensile_strength": stats.lognorm(SCREW, scale=breaks / stress_area(base.joint)),
    }
    return replace(base, quantities=middle | scatter)


(_CLOSED,) = cited("closed-form")


def closed_forms() -> Iterator[Held]:
    """Hold each estimate: the exact value lies within its 95 % interval."""
    for target in (0.5, 0.1, 0.01):
        name = f"sampling, {target:g} that it strips first"
        yield hold("chance", name, _CLOSED, _ends, _sampled, target)
    for target in (1e-2, 1e-4, 1e-6):
        name = f"rare events, {target:g} that it strips first"
        yield hold("chance", name, _CLOSED, _ends, _rare, target)
    both = float(1 - stats.norm.cdf(3) * stats.norm.cdf(3.2))
    yield hold("chance", "rare events, two modes that overlap", _CLOSED, _ends, _two_modes, both)
    for target in (0.1, 1e-3, 1e-6):
        name = f"engagement at which {target:g} strip first, mm"
        yield hold("chance", name, _CLOSED, _length, target)


def _sampled(target: float) -> Probability:
    return simulate(lognormal_joint(target), seed=2, n=2**17).probabilities[EVENT]


def _two_modes(_: float) -> Probability:
    return subset_simulation(lambda z: np.min(np.array([3.0, 3.2]) - z, axis=-1), 2, seed=1)[0]


def _rare(target: float) -> Probability:
    return rare_events(lognormal_joint(target), [EVENT], seed=8)[EVENT]


def _ends(find: Callable[[float], Probability], exact: float) -> Found:
    found = find(exact)
    return found.low, exact, found.high, True


def _length(target: float) -> Found:
    found = required_engagement(lognormal_joint(0.01), "original", probability=target, seed=4)
    moved = float(stats.norm.ppf(0.01) - stats.norm.ppf(target))
    exact = LENGTH * math.exp(moved * math.hypot(PARENT, SCREW))
    # The interval of the sample, and the step of the search.
    return 0.998 * found.low, exact, 1.002 * found.high, True
