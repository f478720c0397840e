"""Evaluate the states of one joint: modes, governing mode, ratio, engagement budget."""

from .evaluate import Strengths, evaluate, screw_tension_max, sweep
from .records import Evaluation, Joint, StateResult
from .sizes import mode_inputs, screw_stress_area, stress_area

__all__ = [
    "Evaluation", "Joint", "StateResult", "Strengths", "evaluate", "mode_inputs",
    "screw_stress_area", "screw_tension_max", "stress_area", "sweep",
]  # fmt: skip
