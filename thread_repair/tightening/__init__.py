"""What torque and preload, with friction band, prevailing torque and temperature.

`tighten` answers for one state of a joint; `preload_window`, `thermal_preload` and
`tightening_margins` follow the preload into service; `published_range` and `prevailing_torque`
give the tables. `CAUTION` goes with every torque that is printed.
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
    THERMAL_REFERENCE,
    WINDOW_REFERENCE,
    TighteningMargins,
    in_service,
    preload_window,
    scattered,
    thermal_preload,
    tightening_margins,
)
from .state import StateTightening, tighten
from .torque_preload import (
    REFERENCES,
    Band,
    nut_factor,
    preload,
    preload_band,
    strip_torque,
    torque,
    torque_coefficient,
    torque_for_highest_preload,
    torque_for_least_preload,
    yield_preload,
)

__all__ = [
    "CAUTION",
    "INCH_POUND_NM",
    "MARGIN_REFERENCES",
    "QUANTITIES",
    "REFERENCES",
    "THERMAL_REFERENCE",
    "WINDOW_REFERENCE",
    "Band",
    "PrevailingTorque",
    "PublishedRange",
    "StateTightening",
    "TighteningMargins",
    "in_service",
    "nut_factor",
    "preload",
    "preload_band",
    "preload_window",
    "prevailing_torque",
    "prevailing_torques",
    "published_range",
    "published_ranges",
    "scattered",
    "strip_torque",
    "thermal_preload",
    "tighten",
    "tightening_margins",
    "torque",
    "torque_coefficient",
    "torque_for_highest_preload",
    "torque_for_least_preload",
    "yield_preload",
]
