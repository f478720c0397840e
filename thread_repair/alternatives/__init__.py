"""Which other repairs were considered, and why not: the same evaluation for every option."""

from .judge import alternatives, summary
from .records import VERDICTS, Alternative, Circumstances, Disposition, dispositions
from .trials import bush_inputs, next_larger

__all__ = [
    "VERDICTS",
    "Alternative",
    "Circumstances",
    "Disposition",
    "alternatives",
    "bush_inputs",
    "dispositions",
    "next_larger",
    "summary",
]
