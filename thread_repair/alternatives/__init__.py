"""Which other repairs were considered, and why not: the criteria of the conclusion for each."""

from .judge import alternatives, named, recommended, summary
from .records import ASSESSMENTS, Alternative, Recommendation
from .trials import bush_inputs, next_larger

__all__ = [
    "ASSESSMENTS", "Alternative", "Recommendation", "alternatives", "bush_inputs", "named",
    "next_larger", "recommended", "summary",
]  # fmt: skip
