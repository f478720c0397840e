"""What is the chance that it strips before the screw breaks, and what drives it.

A `JointModel` holds numbers and distributions; `simulate`, `rare_event`, `required_engagement`,
`drivers` and `one_at_a_time` each answer one question about it.
"""

from __future__ import annotations

from .distributions import (
    Beta,
    Distribution,
    Lognormal,
    Normal,
    Triangular,
    TruncatedNormal,
    Uniform,
    Weibull,
)
from .drivers import (
    Drivers,
    Step,
    drivers,
    one_at_a_time,
    sobol_indices,
    step_columns,
    uncertainty_sentences,
)
from .engagement import RequiredEngagement, required_engagement
from .inputs import strength, tolerance
from .model import (
    EVENTS,
    JointModel,
    Loads,
    StateModel,
    Variable,
    loads,
    random_variables,
    variables,
)
from .rare_events import RareEvent, rare_event
from .sampling import Probability, Simulation, simulate

__all__ = [
    "EVENTS",
    "Beta",
    "Distribution",
    "Drivers",
    "JointModel",
    "Loads",
    "Lognormal",
    "Normal",
    "Probability",
    "RareEvent",
    "RequiredEngagement",
    "Simulation",
    "StateModel",
    "Step",
    "Triangular",
    "TruncatedNormal",
    "Uniform",
    "Variable",
    "Weibull",
    "drivers",
    "loads",
    "one_at_a_time",
    "random_variables",
    "rare_event",
    "required_engagement",
    "simulate",
    "sobol_indices",
    "step_columns",
    "strength",
    "tolerance",
    "uncertainty_sentences",
    "variables",
]
