"""What are the limits of size of this thread.

`thread` reads a designation as the trade writes it; `external_limits` and `internal_limits` give
the limits of the screw and of the hole; `stress_area` the tensile stress area; `names` the
threads that are known by name.
"""

from __future__ import annotations

import math

from . import iso
from .designation import thread
from .profile import Classes, ExternalLimits, InternalLimits, InternalTolerances, Thread

__all__ = [
    "Classes", "ExternalLimits", "InternalLimits", "InternalTolerances", "Thread",
    "default_classes", "external_limits", "internal_limits", "internal_tolerances",
    "known", "names", "stress_area", "thread",
]  # fmt: skip


def known() -> tuple[Thread, ...]:
    """Return every thread that is known by name."""
    return iso.known()


def names() -> tuple[str, ...]:
    """Return the canonical designations of the known threads."""
    return tuple(thread.designation for thread in known())


def default_classes(thread: Thread) -> Classes:
    """Return the classes of the designation, or the usual ones where it has none."""
    usual = iso.DEFAULT_CLASSES
    return Classes(thread.hole_class or usual.hole, thread.screw_class or usual.screw)


def external_limits(thread: Thread, screw_class: str) -> ExternalLimits:
    """Return the limits of size of the screw."""
    return iso.external_limits(thread, screw_class)


def internal_limits(thread: Thread, hole_class: str) -> InternalLimits:
    """Return the limits of size of the tapped hole."""
    return iso.internal_limits(thread, hole_class)


def internal_tolerances(
    thread: Thread, hole_class: str, *, at_diameter: float | None = None
) -> InternalTolerances:
    """Return the tolerances of a hole class, at the nominal or at another diameter, mm."""
    return iso.internal_tolerances(thread, hole_class, at_diameter=at_diameter)


def stress_area(thread: Thread, *, high_strength: bool = False) -> float:
    """Return the tensile stress area, mm2."""
    return math.pi / 4 * (thread.major - 0.938194 * thread.pitch) ** 2
