"""How is the hole drilled, tapped, gauged, filled and inspected.

`sheet` turns a joint into a finished workshop sheet; the modules answer one question each.
"""

from .cautions import cautions
from .choice import finish_choice, galvanic, wire_choice
from .fitting import shim_stack
from .hole import parent_groups, tap_route
from .inspection import PrevailingTorque
from .spoiled import spoiled
from .worksheet import WorkshopSheet, sheet

__all__ = [
    "PrevailingTorque", "WorkshopSheet", "cautions", "finish_choice", "galvanic",
    "parent_groups", "sheet", "shim_stack", "spoiled", "tap_route", "wire_choice",
]  # fmt: skip
