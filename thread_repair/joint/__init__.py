"""Evaluate the states of one joint: modes, governing mode, ratio, engagement budget."""

from .evaluate import evaluate, strip_inputs
from .records import Evaluation, Joint, StateResult, Sweep

__all__ = ["Evaluation", "Joint", "StateResult", "Sweep", "evaluate", "strip_inputs"]
