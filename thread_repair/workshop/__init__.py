"""How is the hole drilled, tapped, gauged, filled and inspected.

`sheet` turns a joint into a finished workshop sheet; the modules answer one question each.
"""

from .choice import wire_choice
from .worksheet import WorkshopSheet, sheet

__all__ = ["WorkshopSheet", "sheet", "wire_choice"]
