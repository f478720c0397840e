"""What is the probability that it strips before the screw fails, and what drives it.

A `JointModel` holds numbers and distributions; `simulate`, `rare_event`, `required_engagement`,
`drivers` and `one_at_a_time` each answer one question about it. Importing it imports
`scipy.stats`, which takes longer than a joint to evaluate: import it on use.
"""

from __future__ import annotations

from .distributions import Distribution, strength, tolerance, uniform
from .drivers import Drivers, SwingStep, drivers, one_at_a_time
from .engagement import RequiredEngagement, required_engagement
from .model import (
    EVENTS,
    Boss,
    JointModel,
    SampledLoads,
    StateModel,
    Variable,
    loads,
    random_variables,
    variables,
)
from .rare_events import rare_event
from .sampling import Probability, Simulation, simulate

__all__ = [
    "EVENTS",
    "Boss",
    "Distribution",
    "Drivers",
    "JointModel",
    "Probability",
    "RequiredEngagement",
    "SampledLoads",
    "Simulation",
    "StateModel",
    "SwingStep",
    "Variable",
    "drivers",
    "loads",
    "one_at_a_time",
    "random_variables",
    "rare_event",
    "required_engagement",
    "simulate",
    "strength",
    "tolerance",
    "uniform",
    "variables",
]
