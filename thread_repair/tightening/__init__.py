"""What torque and preload, with friction band, prevailing torque and temperature.

One path: a line of friction (`tighten`) gives the preload, `service_preload` follows it into
service, `load_cases` makes the demands of it, and `preloads` draws margins and the permissible
torque from them. `published_range` and `prevailing_torque` give the tables.
"""

from .demands import limit_load_cases, load_cases
from .permissible import CAUTION, STATED_TORQUE, Preloads, StatePreload, preloads
from .published import (
    INCH_POUND_NM,
    PublishedRange,
    prevailing_torque,
    prevailing_torques,
    published_range,
    published_ranges,
)
from .records import Friction, Loads, ScrewShape, Tightening
from .service import in_service, service_preload, thermal_preload
from .state import FrictionLine, tighten
from .torque_preload import (
    Band,
    equivalent_stress,
    nut_factor,
    preload,
    strip_torque,
    torque,
    torque_coefficient,
    yield_preload,
)

__all__ = [
    "CAUTION", "INCH_POUND_NM", "STATED_TORQUE", "Band", "Friction", "FrictionLine",
    "Loads", "Preloads", "PublishedRange", "ScrewShape", "StatePreload", "Tightening",
    "equivalent_stress", "in_service", "limit_load_cases", "load_cases", "nut_factor", "preload",
    "preloads", "prevailing_torque", "prevailing_torques", "published_range", "published_ranges",
    "service_preload", "strip_torque", "thermal_preload", "tighten", "torque",
    "torque_coefficient", "yield_preload",
]  # fmt: skip
