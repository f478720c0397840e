"""The equations of a study: each as signs and with the numbers that the study has.

The forms stand in `data/equations.toml`; here stands which of them a study uses and where each
number comes from. The number that an equation ends with is the study's own, never worked out anew,
so that it cannot differ from what the tables print.
"""

from __future__ import annotations

from .notation import Equation, Line, Symbol, Values, equations, symbol, symbols
from .numbers import values
from .of_loads import friction_lines, margin, tightening
from .of_strength import method_label, methods, mode_label, strength

__all__ = [
    "Equation", "Line", "Symbol", "Values", "equations", "friction_lines", "margin",
    "method_label", "methods", "mode_label", "strength", "symbol", "symbols", "tightening",
    "values",
]  # fmt: skip
