"""How is the load shared along the threads, and does the parent stretch enough to share it.

`share` answers for one state of a joint; the parts below it stand alone: the compliance of a
thread, the discrete solver, its closed forms, and the length beyond which nothing is gained.
"""

from .chain import BOUNDARIES
from .compliance import ThreadCompliance, line_compliance, thread_compliance
from .distribution import (
    REFERENCES,
    Sharing,
    SlipCurve,
    ToothLaw,
    elastic_sharing,
    load_slip_curve,
)
from .limits import (
    UsefulLength,
    ductility_demand,
    end_intensity,
    first_yield_ratio,
    remaining_load,
    useful_length,
)
from .statements import Statement, published_statements
from .states import STATES, StateSharing, share, tooth_law

__all__ = [
    "BOUNDARIES",
    "REFERENCES",
    "STATES",
    "Sharing",
    "SlipCurve",
    "StateSharing",
    "Statement",
    "ThreadCompliance",
    "ToothLaw",
    "UsefulLength",
    "ductility_demand",
    "elastic_sharing",
    "end_intensity",
    "first_yield_ratio",
    "line_compliance",
    "load_slip_curve",
    "published_statements",
    "remaining_load",
    "share",
    "thread_compliance",
    "tooth_law",
    "useful_length",
]
