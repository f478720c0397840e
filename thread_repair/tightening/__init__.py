"""What torque and preload, with friction band, prevailing torque and temperature.

One path: a line of friction (`tighten`) gives the preload, `service_preload` follows it into
service, `load_cases` makes the demands of it, and `preloads` draws margins and the permissible
torque from them. `published_range` and `prevailing_torque` give the tables.
"""

from .permissible import CAUTION, STATED_TORQUE, Preloads, StatePreload, load_cases, preloads
from .published import SMALL, PublishedRange, prevailing_torque, published_range, published_ranges
from .records import Friction, Loads, Tightening
from .service import in_service, service_preload, thermal_preload, tighten
from .torque_preload import Band, ScrewShape, nut_factor, preload, screw_shape, torque

__all__ = [
    "CAUTION", "SMALL", "STATED_TORQUE", "Band", "Friction", "Loads", "Preloads", "PublishedRange",
    "ScrewShape", "StatePreload", "Tightening", "in_service", "load_cases", "nut_factor", "preload",
    "preloads", "prevailing_torque", "published_range", "published_ranges", "screw_shape",
    "service_preload", "thermal_preload", "tighten", "torque",
]  # fmt: skip
