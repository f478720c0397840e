"""How is the hole drilled, tapped, gauged, filled and inspected.

`sheet` turns plain values into a finished workshop sheet; the modules answer one question each.
"""

from .cautions import cautions
from .choice import finish_choice, galvanic, kind_choice, length_choice, wire_choice
from .fitting import fitting_routes, shim_stack
from .hole import parent_groups, tap_route
from .inspection import PrevailingTorque
from .spoiled import spoiled
from .worksheet import WorkshopSheet, sheet

__all__ = [
    "PrevailingTorque", "WorkshopSheet", "cautions", "finish_choice", "fitting_routes",
    "galvanic", "kind_choice", "length_choice", "parent_groups", "sheet", "shim_stack", "spoiled",
    "tap_route", "wire_choice",
]  # fmt: skip
