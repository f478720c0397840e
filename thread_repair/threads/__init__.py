"""What are the limits of size of this thread.

`thread` reads a designation as the trade writes it; `external_limits` and `internal_limits` give
the limits of the screw and of the hole; `stress_area` the tensile stress area; `names` the
threads that are known by name. What a standard does in its own way stands in `iso`, `unified` and
`whitworth`; what all do alike stands here.
"""

import math
from collections.abc import Mapping
from functools import cache

from ..arrays import number_above_zero
from ..errors import InputError
from ..tables import Reference, cited
from . import iso, unified, whitworth
from .designation import known, names, thread
from .profile import (
    BasicDiameters,
    Classes,
    ExternalLimits,
    InternalLimits,
    InternalTolerances,
    System,
    Thread,
    below,
    rounded,
)

__all__ = [
    "BasicDiameters", "Classes", "ExternalLimits", "InternalLimits", "InternalTolerances",
    "Thread", "basic_diameters", "default_classes", "external_limits", "internal_limits",
    "internal_tolerances", "known", "names", "stress_area", "stress_area_references", "system_of",
    "thread",
]  # fmt: skip

#: The systems by the name that a thread carries.
SYSTEMS: Mapping[str, System] = {
    "metric": iso.SYSTEM,
    "unified": unified.SYSTEM,
    "whitworth": whitworth.SYSTEM,
}


def system_of(thread: Thread) -> System:
    """Return the system that a thread belongs to.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    System
    """
    return SYSTEMS[thread.system]


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
    usual = system_of(thread).default_classes
    return Classes(thread.hole_class or usual.hole, thread.screw_class or usual.screw)


def basic_diameters(thread: Thread) -> BasicDiameters:
    """Return the basic major, pitch and minor diameters as the standard prints them, mm.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    BasicDiameters

    Source: ISO 724, ASME B1.1, BS 84. Known from: the references of the result say so for each.
    """
    system = system_of(thread)
    size = system.size(thread)
    return BasicDiameters(
        major=system.millimetres(rounded(size.major, system.places)),
        pitch=system.millimetres(below(size, system.pitch_depth, system.places)),
        minor=system.millimetres(below(size, system.minor_depth, system.places)),
        references=thread.references,
    )


@cache
def external_limits(thread: Thread, screw_class: str) -> ExternalLimits:
    """Return the limits of size of the screw, mm.

    Parameters
    ----------
    thread : Thread
    screw_class : "6g", "4g6g"; "2A"; "medium" (see `System.screw_classes`)

    Returns
    -------
    ExternalLimits

    Raises
    ------
    UnknownNameError
        If the system has no such class.
    ValidityError
        If the standard gives no tolerance for the thread in this class.

    Source: ISO 965-1, ASME B1.1, BS 84. Known from: the references of the result say so for each.

    Examples
    --------
    >>> from thread_repair import threads
    >>> threads.external_limits(threads.thread("M8"), "6g").major_min
    7.76
    """
    system = system_of(thread)
    name = system.canonical_class(screw_class, internal=False)
    size, of = system.size(thread), system.tolerances(thread, name, False, None)
    major = rounded(size.major, system.places) - of.allowance
    pitch = below(size, system.pitch_depth, system.places) - of.allowance
    pitch_min = rounded(pitch - of.pitch, system.places)
    minor_max, minor_min = system.root(size._replace(major=major), pitch, pitch_min, of)
    return ExternalLimits(
        screw_class=name,
        major_min=system.millimetres(major - of.crest),
        major_max=system.millimetres(major),
        pitch_min=system.millimetres(pitch_min),
        pitch_max=system.millimetres(pitch),
        minor_max=system.millimetres(minor_max),
        minor_min=system.millimetres(minor_min),
        references=(*thread.references, *system.references, *of.references),
    )


@cache
def internal_limits(thread: Thread, hole_class: str) -> InternalLimits:
    """Return the limits of size of the tapped hole, mm.

    Parameters
    ----------
    thread : Thread
    hole_class : "6H", "5H6H"; "2B"; "medium" (see `System.hole_classes`)

    Returns
    -------
    InternalLimits

    Raises
    ------
    UnknownNameError, ValidityError
        As `external_limits`.

    Source: ISO 965-1, ASME B1.1, BS 84. Known from: the references of the result say so for each.

    Examples
    --------
    >>> from thread_repair import threads
    >>> threads.internal_limits(threads.thread("M8"), "6H").pitch_max
    7.348
    """
    system = system_of(thread)
    name = system.canonical_class(hole_class, internal=True)
    size, of = system.size(thread), system.tolerances(thread, name, True, None)
    pitch = below(size, system.pitch_depth, system.places) + of.allowance
    minor = below(size, system.minor_depth, system.places) + of.allowance
    places_min, places_max = system.minor_places(size.major, name)
    return InternalLimits(
        hole_class=name,
        minor_min=system.millimetres(rounded(minor, places_min)),
        minor_max=system.millimetres(rounded(minor + of.crest, places_max)),
        pitch_min=system.millimetres(pitch),
        pitch_max=system.millimetres(rounded(pitch + of.pitch, system.places)),
        major_min=system.millimetres(rounded(size.major + of.allowance, system.places)),
        references=(*thread.references, *system.references, *of.references),
    )


def internal_tolerances(
    thread: Thread, hole_class: str, *, at_diameter: float | None = None
) -> InternalTolerances:
    """Return the tolerances of a hole class, mm, for a hole enlarged from the thread's own.

    Parameters
    ----------
    thread : Thread
    hole_class : "6H", "5H6H"; "2B"; "medium" (see `System.hole_classes`)
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

    Source: ISO 965-1, ASME B1.1, BS 84. Known from: the references of the result say so for each.

    Examples
    --------
    >>> from thread_repair import threads
    >>> m10 = threads.thread("M10")
    >>> threads.internal_tolerances(m10, "6H").pitch
    0.18
    >>> threads.internal_tolerances(m10, "6H", at_diameter=11.949).pitch
    0.19
    """
    if at_diameter is not None:
        number_above_zero(at_diameter=at_diameter)
    system = system_of(thread)
    name = system.canonical_class(hole_class, internal=True)
    found = system.tolerances(thread, name, True, at_diameter)
    return InternalTolerances(
        pitch=system.millimetres(found.pitch),
        minor=system.millimetres(found.crest),
        allowance=system.millimetres(found.allowance),
        references=found.references,
    )


def stress_area(
    thread: Thread, *, high_strength: bool = False, screw_class: str | None = None
) -> float:
    """Return the tensile stress area of the screw, mm2.

    Parameters
    ----------
    thread : Thread
    high_strength : the ASME B1.1 variant for Unified screws above 180 ksi, on the least pitch
        diameter of the screw class
    screw_class : for that variant; by default the designation's, else 2A

    Returns
    -------
    float, mm2

    Raises
    ------
    InputError
        If the high-strength variant is asked of another system.

    Source: ISO 898-1, pi/4 (d - 0.938194 P)^2: formula memory, agrees with the printed areas.
    ASME B1.1 Appendix B, pi/4 (D - 0.9743/n)^2: memory, agrees with the printed areas; for strong
    screws pi (d2min/2 - 3H/16)^2 with 3H/16 = 0.16238 P: memory. BS 84 gives none: as ISO 898-1,
    on the mean of effective and minor diameter, D - 1.5 x 0.640327 p: derived.

    Examples
    --------
    >>> from thread_repair import threads
    >>> round(threads.stress_area(threads.thread("M8")), 1)
    36.6
    """
    if not high_strength:
        return math.pi / 4 * (thread.major - system_of(thread).stress_depth * thread.pitch) ** 2
    if thread.system != "unified":
        raise InputError.of("high_strength_unified_only", thread=thread)
    least = external_limits(thread, screw_class or default_classes(thread).screw).pitch_min
    return math.pi * (least / 2 - unified.HIGH_STRENGTH_DEPTH * thread.pitch) ** 2


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
    if high_strength:
        return cited("unified-stress-area-high")
    return (system_of(thread).stress_area_reference,)
