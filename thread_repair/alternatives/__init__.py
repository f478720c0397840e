"""Which other repairs were considered, and why not: the criteria of the conclusion for each."""

from .judge import alternatives, named, recommended, summary
from .records import ASSESSMENTS, Alternative, Disposition, Recommendation, dispositions
from .trials import bush_inputs, next_larger

__all__ = [
    "ASSESSMENTS", "Alternative", "Disposition", "Recommendation", "alternatives", "bush_inputs",
    "dispositions", "named", "next_larger", "recommended", "summary",
]  # fmt: skip
