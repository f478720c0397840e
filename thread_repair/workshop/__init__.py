"""How is the hole drilled, tapped, gauged, filled and inspected.

`sheet` turns a joint into a finished workshop sheet; the modules answer one question each.
"""

from .records import HAZARDS, WorkOrder
from .worksheet import WorkshopSheet, sheet

__all__ = ["HAZARDS", "WorkOrder", "WorkshopSheet", "sheet"]
