"""What are the limits of size of this thread.

`thread` reads a designation as the trade writes it; `external_limits` and `internal_limits` give
the limits of the screw and of the hole; `stress_area` the tensile stress area; `names` the
threads that are known by name.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from ..errors import InputError
from ..sources import Reference
from . import iso, unified, unified_series, whitworth
from .designation import thread
from .profile import (
    BasicDiameters,
    Classes,
    ExternalLimits,
    InternalLimits,
    InternalTolerances,
    Thread,
    ThreadSystem,
)

__all__ = [
    "BasicDiameters", "Classes", "ExternalLimits", "InternalLimits", "InternalTolerances",
    "Thread", "basic_diameters", "default_classes", "external_limits", "hole_classes",
    "internal_limits", "internal_tolerances", "known", "names", "screw_classes", "stress_area",
    "stress_area_references", "system_of", "thread",
]  # fmt: skip

#: The systems by the name that a thread carries.
SYSTEMS: Mapping[str, ThreadSystem] = MappingProxyType(
    {"metric": iso, "unified": unified, "whitworth": whitworth}
)


def system_of(thread: Thread) -> ThreadSystem:
    """Return the system that a thread belongs to.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    ThreadSystem
    """
    return SYSTEMS[thread.system]


def known() -> tuple[Thread, ...]:
    """Return every thread that is known by name: metric, Unified, Whitworth.

    Others are valid too: metric pitches within the tolerance tables of ISO 965-1, Unified special
    threads (UNS) of any diameter to 6 in.

    Returns
    -------
    tuple of Thread
    """
    return (*iso.known(), *unified_series.known(), *whitworth.known())


def names() -> tuple[str, ...]:
    """Return the canonical designations of the known threads, to be typed first in a case.

    Returns
    -------
    tuple of str
    """
    return tuple(known_thread.designation for known_thread in known())


def hole_classes(thread: Thread) -> tuple[str, ...]:
    """Return the usual classes of a hole, closest first.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    tuple of str
    """
    return system_of(thread).HOLE_CLASSES


def screw_classes(thread: Thread) -> tuple[str, ...]:
    """Return the usual classes of a screw.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    tuple of str
    """
    return system_of(thread).SCREW_CLASSES


def default_classes(thread: Thread) -> Classes:
    """Return the classes of the designation, or the usual ones where it has none.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    Classes

    Examples
    --------
    >>> from thread_repair import threads
    >>> threads.default_classes(threads.thread("1/4-20 UNC-3B"))
    Classes(hole='3B', screw='2A')
    """
    usual = system_of(thread).DEFAULT_CLASSES
    return Classes(thread.hole_class or usual.hole, thread.screw_class or usual.screw)


def basic_diameters(thread: Thread) -> BasicDiameters:
    """Return the basic major, pitch and minor diameters as the standard prints them, mm.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    BasicDiameters
    """
    return system_of(thread).basic_diameters(thread)


@cache
def external_limits(
    thread: Thread, screw_class: str, *, engagement: float | None = None
) -> ExternalLimits:
    """Return the limits of size of the screw, mm.

    Parameters
    ----------
    thread : Thread
    screw_class : "6g", "4g6g"; "2A"; "medium" (see `screw_classes`)
    engagement : length of engagement, mm, where an inch thread's is not the one its standard
        assumes for the series

    Returns
    -------
    ExternalLimits

    Raises
    ------
    UnknownNameError
        If the system has no such class.
    ValidityError
        If the standard gives no tolerance for the thread in this class.
    InputError
        If an engagement is given for a metric thread: ISO 965-1 varies the class by length of
        engagement, not the tolerance (`iso_tolerances.normal_engagement`).

    Examples
    --------
    >>> from thread_repair import threads
    >>> threads.external_limits(threads.thread("M8"), "6g").major_min
    7.76
    """
    return system_of(thread).external_limits(thread, screw_class, engagement=engagement)


@cache
def internal_limits(
    thread: Thread, hole_class: str, *, engagement: float | None = None
) -> InternalLimits:
    """Return the limits of size of the tapped hole, mm.

    Parameters
    ----------
    thread : Thread
    hole_class : "6H", "5H6H"; "2B"; "medium" (see `hole_classes`)
    engagement : as of `external_limits`, mm

    Returns
    -------
    InternalLimits

    Raises
    ------
    UnknownNameError, ValidityError, InputError
        As `external_limits`.

    Examples
    --------
    >>> from thread_repair import threads
    >>> threads.internal_limits(threads.thread("M8"), "6H").pitch_max
    7.348
    """
    return system_of(thread).internal_limits(thread, hole_class, engagement=engagement)


def internal_tolerances(
    thread: Thread, hole_class: str, *, at_diameter: float | None = None
) -> InternalTolerances:
    """Return the tolerances of a hole class, mm, for a hole enlarged from the thread's own.

    Parameters
    ----------
    thread : Thread
    hole_class : "6H", "5H6H"; "2B"; "medium" (see `hole_classes`)
    at_diameter : diameter to take the tolerances at, mm; by default the thread's own. It shows
        what taking them at the enlarged diameter would change.

    Returns
    -------
    InternalTolerances

    Raises
    ------
    ValidityError
        If the standard has no tolerance for the pitch at that diameter.
    InputError
        If the diameter is not above zero.

    Examples
    --------
    >>> from thread_repair import threads
    >>> m10 = threads.thread("M10")
    >>> threads.internal_tolerances(m10, "6H").pitch
    0.18
    >>> threads.internal_tolerances(m10, "6H", at_diameter=11.949).pitch
    0.19
    """
    if at_diameter is not None and not at_diameter > 0:
        raise InputError(f"at_diameter must be above zero, got {at_diameter:g} mm")
    return system_of(thread).internal_tolerances(thread, hole_class, at_diameter=at_diameter)


def stress_area(
    thread: Thread, *, high_strength: bool = False, screw_class: str | None = None
) -> float:
    """Return the tensile stress area of the screw, mm2.

    Parameters
    ----------
    thread : Thread
    high_strength : the ASME B1.1 variant for Unified screws above 100 ksi, on the least pitch
        diameter of the screw class
    screw_class : for that variant; by default the designation's, else 2A

    Returns
    -------
    float, mm2

    Raises
    ------
    InputError
        If the high-strength variant is asked of another system.

    Examples
    --------
    >>> from thread_repair import threads
    >>> round(threads.stress_area(threads.thread("M8")), 1)
    36.6
    """
    return system_of(thread).stress_area(
        thread,
        high_strength=high_strength,
        screw_class=screw_class or default_classes(thread).screw,
    )


def stress_area_references(thread: Thread, *, high_strength: bool = False) -> tuple[Reference, ...]:
    """Return where the stress area comes from.

    Parameters
    ----------
    thread : Thread
    high_strength : bool, optional

    Returns
    -------
    tuple of Reference
    """
    return (system_of(thread).stress_area_reference(high_strength=high_strength),)
