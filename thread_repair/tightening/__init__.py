"""What torque and preload, with friction band, prevailing torque and temperature.

`tighten` answers for one state of a joint; `in_service` and `thermal_preload` follow the preload
into service; `published_range` and `prevailing_torque` give the tables. `CAUTION` goes with every
torque that is printed, `STATED_TORQUE` says what it means.
"""

from .published import (
    INCH_POUND_NM,
    QUANTITIES,
    PrevailingTorque,
    PublishedRange,
    prevailing_torque,
    prevailing_torques,
    published_range,
    published_ranges,
)
from .service import (
    CAUTION,
    MARGIN_REFERENCES,
    STATED_TORQUE,
    STATED_TORQUE_REFERENCE,
    THERMAL_REFERENCE,
    WINDOW_REFERENCE,
    in_service,
    thermal_preload,
)
from .state import FrictionLine, StateTightening, tighten
from .torque_preload import (
    REFERENCES,
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
    "CAUTION",
    "INCH_POUND_NM",
    "MARGIN_REFERENCES",
    "QUANTITIES",
    "REFERENCES",
    "STATED_TORQUE",
    "STATED_TORQUE_REFERENCE",
    "THERMAL_REFERENCE",
    "WINDOW_REFERENCE",
    "Band",
    "FrictionLine",
    "PrevailingTorque",
    "PublishedRange",
    "StateTightening",
    "equivalent_stress",
    "in_service",
    "nut_factor",
    "preload",
    "prevailing_torque",
    "prevailing_torques",
    "published_range",
    "published_ranges",
    "strip_torque",
    "thermal_preload",
    "tighten",
    "torque",
    "torque_coefficient",
    "yield_preload",
]
