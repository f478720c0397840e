"""The case, studied: every quantity once; criteria and conclusion."""

from .conclusion import CONCLUSIONS, Conclusion, conclusion
from .criteria import Criterion, criteria
from .record import Study, study

__all__ = ["CONCLUSIONS", "Conclusion", "Criterion", "Study", "conclusion", "criteria", "study"]
