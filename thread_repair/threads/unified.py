"""The tolerances and limits of Unified inch threads, ASME B1.1.

Limits are computed in inches with the standard's rounding and converted to mm exactly. The
formulas are recalled; they reproduce the limits read in Table 2 of the standard but for the last
digit of some sizes, which `data/printed/asme_b1_1.csv` lists.
"""

from __future__ import annotations

import math
from decimal import Decimal

from ..errors import InputError, UnknownNameError, nearest
from ..sources import Reference
from ..tables import cited, rows
from .inch import InchSize, inch_size, millimetres, rounded
from .inch import printed as printed
from .profile import (
    BasicDiameters,
    Classes,
    ExternalLimits,
    InternalLimits,
    InternalTolerances,
    Thread,
)

#: Diameters below the major diameter as multiples of the pitch (3H/4, 5H/4, 11H/8).
PITCH_DEPTH = Decimal("0.64951905")
MINOR_DEPTH = Decimal("1.08253175")
ROUNDED_MINOR_DEPTH = Decimal("1.19078493")
#: Least root radius of the rounded root (UNR) over the pitch, H/8.
ROOT_RADIUS = Decimal("0.10825318")

HOLE_CLASSES: tuple[str, ...] = ("1B", "2B", "3B")
SCREW_CLASSES: tuple[str, ...] = ("1A", "2A", "3A")
DEFAULT_CLASSES = Classes("2B", "2A")
STRESS_AREA_METHOD = "asme_b1_1"

#: Pitch diameter tolerance of a class over that of class 2A.
_CLASS_FACTORS = {"1A": 1.5, "2A": 1.0, "3A": 0.75, "1B": 1.95, "2B": 1.3, "3B": 0.975}
_TOLERANCE = cited("unified-tolerance")[0]
_MINOR_TOLERANCE = cited("unified-minor-tolerance")[0]
_STRESS_AREA = cited("unified-stress-area")[0]
_STRESS_AREA_HIGH = cited("unified-stress-area-high")[0]


def canonical_class(text: str, *, internal: bool) -> str:
    """Return a class as the standard writes it, or refuse it with the nearest ones.

    Parameters
    ----------
    text : str
    internal : bool

    Returns
    -------
    str

    Raises
    ------
    UnknownNameError
        If the standard has no such class.
    """
    allowed = HOLE_CLASSES if internal else SCREW_CLASSES
    name = text.strip().upper()
    if name in allowed:
        return name
    kind = "hole" if internal else "screw"
    close = nearest(name, allowed) or allowed
    raise UnknownNameError(
        f"unknown {kind} class {text!r} of Unified threads; did you mean {' or '.join(close)}?"
    )


def engagement_length(thread: Thread) -> float:
    """Return the length of engagement that the series' tolerances assume, mm.

    The diameter for UNC, UNF, 4-UN, 6-UN and 8-UN; nine pitches for the rest.

    Source: ASME B1.1, pitch diameter tolerances. Known from: derived (of the two rules only this
    reproduces the limits read: 2 1/2-8 UN has 0.0082 in by the one and 0.0074 in by the other).

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    float, mm

    Examples
    --------
    >>> from thread_repair.threads import thread
    >>> engagement_length(thread("1/2-13 UNC")), round(engagement_length(thread("1/2-27")), 3)
    (12.7, 8.467)
    """
    by_diameter = thread.series in ("UNC", "UNF") or (
        thread.series == "UN" and round(25.4 / thread.pitch) in (4, 6, 8)
    )
    return thread.major if by_diameter else 9 * thread.pitch


def _pitch_tolerance_2a(size: InchSize, thread: Thread, engagement: float | None,
                        at_diameter: float | None) -> float:  # fmt: skip
    """Class 2A tolerance of the pitch diameter, inches, unrounded."""
    if engagement is not None and not engagement > 0:
        raise InputError(f"length of engagement must be above zero, got {engagement:g} mm")
    length = (engagement_length(thread) if engagement is None else engagement) / 25.4
    diameter = float(size.major) if at_diameter is None else at_diameter / 25.4
    pitch = float(size.pitch)
    return (
        0.0015 * math.cbrt(diameter) + 0.0015 * math.sqrt(length) + 0.015 * math.pow(pitch, 2 / 3)
    )


def _minor_tolerance(size: InchSize, hole_class: str, at_diameter: float | None) -> Decimal:
    """Tolerance of the minor diameter of the hole, inches, four places."""
    p = float(size.pitch)
    d = float(size.major) if at_diameter is None else at_diameter / 25.4
    small = 0.05 * p ** (2 / 3) + 0.03 * p / d - 0.002
    if hole_class == "3B":
        fine = size.threads_per_inch >= 13
        least = 0.23 * p - 1.5 * p**2 if fine else 0.12 * p
    else:
        least = 0.25 * p - 0.4 * p**2
        if d >= 0.25:
            return rounded(least, 4)
    return rounded(min(max(small, least), 0.394 * p), 4)


def _major_tolerance(size: InchSize, screw_class: str) -> Decimal:
    factor = 0.09 if screw_class == "1A" else 0.06
    return rounded(factor * float(size.pitch) ** (2 / 3), 4)


def pitch_tolerance(
    thread: Thread, name: str, *, engagement: float | None = None, at_diameter: float | None = None
) -> float:
    """Return the tolerance of the pitch diameter of a class, mm.

    Source: ASME B1.1, T(2A) = 0.0015 D^(1/3) + 0.0015 LE^(1/2) + 0.015 P^(2/3). Known from:
    memory, agrees with the limits read.

    Parameters
    ----------
    thread : Thread
    name : str
        Class, 1A to 3B.
    engagement : length of engagement, mm, where not the one the series assumes
    at_diameter : diameter to take the tolerance at, mm, where not the thread's own; the length
        of engagement stays that of the thread

    Returns
    -------
    float, mm

    Examples
    --------
    >>> from thread_repair.threads import thread
    >>> round(pitch_tolerance(thread("1/2-28 UNEF"), "2A") / 25.4, 6)
    0.003668
    """
    internal = name.strip().upper() in HOLE_CLASSES
    base = _pitch_tolerance_2a(inch_size(thread), thread, engagement, at_diameter)
    factor = _CLASS_FACTORS[canonical_class(name, internal=internal)]
    return millimetres(rounded(factor * base, 6))


def major_tolerance(thread: Thread, screw_class: str) -> float:
    """Return the tolerance of the major diameter of the screw, mm: 0.06 P^(2/3), 1A 0.09.

    Parameters
    ----------
    thread : Thread
    screw_class : str
        Such as "6g", "2A" or "medium".

    Returns
    -------
    float, mm
    """
    name = canonical_class(screw_class, internal=False)
    return millimetres(_major_tolerance(inch_size(thread), name))


def minor_tolerance(thread: Thread, hole_class: str, *, at_diameter: float | None = None) -> float:
    """Return the tolerance of the minor diameter of the hole, mm.

    Source: ASME B1.1. 1B and 2B from 1/4 in: 0.25 P - 0.4 P^2 (read in the worked calculation of
    Machinery's Handbook, 31st ed.); no pitch is coarser than 4 threads per inch. Below 1/4 in
    0.05 P^(2/3) + 0.03 P/D - 0.002, not below that. 3B: the same expression, not below
    0.23 P - 1.5 P^2 (13 threads per inch and finer) or 0.12 P. None above 0.394 P.

    Parameters
    ----------
    thread : Thread
    hole_class : str
        Such as "6H", "2B" or "medium".
    at_diameter : float, mm, optional

    Returns
    -------
    float, mm
    """
    name = canonical_class(hole_class, internal=True)
    return millimetres(_minor_tolerance(inch_size(thread), name, at_diameter))


def basic_diameters(thread: Thread) -> BasicDiameters:
    """Return the basic sizes to 0.0001 in, converted to mm.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    BasicDiameters
    """
    size = inch_size(thread)
    return BasicDiameters(
        major=millimetres(size.major),
        pitch=millimetres(_below(size, PITCH_DEPTH)),
        minor=millimetres(_below(size, MINOR_DEPTH)),
        references=thread.references,
    )


def _below(size: InchSize, depth: Decimal) -> Decimal:
    """Diameter a multiple of the pitch below the major, inches: product to six, size to four."""
    return rounded(size.major - rounded(depth * size.pitch, 6), 4)


def _allowance(size: InchSize, tolerance_2a: float) -> Decimal:
    """Allowance of classes 1A and 2A: 0.3 of the 2A tolerance, or what the tables print instead."""
    for row in rows("unified_allowances.csv"):
        same = Decimal(row["diameter"]) == size.major
        if same and Decimal(row["threads_per_inch"]) == size.threads_per_inch:
            return Decimal(row["allowance"])
    return rounded(0.3 * tolerance_2a, 4)


def external_limits(
    thread: Thread, screw_class: str, *, engagement: float | None = None
) -> ExternalLimits:
    """Return the limits of size of a Unified screw, mm.

    The minor diameter maximum is that of the rounded root (UNR), which the tables print; the
    minimum follows from the least root radius, H/8.

    Parameters
    ----------
    thread : Thread
    screw_class : str
        Such as "6g", "2A" or "medium".
    engagement : float, mm, optional

    Returns
    -------
    ExternalLimits

    Examples
    --------
    >>> from thread_repair.threads import thread
    >>> screw = external_limits(thread("1/4-20 UNC"), "2A")
    >>> [round(x / 25.4, 4) for x in (screw.major_max, screw.major_min)]
    [0.2489, 0.2408]
    """
    name = canonical_class(screw_class, internal=False)
    size = inch_size(thread)
    tolerance_2a = _pitch_tolerance_2a(size, thread, engagement, None)
    allowance = Decimal(0) if name == "3A" else _allowance(size, tolerance_2a)
    major = size.major - allowance
    pitch = _below(size, PITCH_DEPTH) - allowance
    pitch_min = rounded(pitch - rounded(_CLASS_FACTORS[name] * tolerance_2a, 6), 4)
    minor = _below(size._replace(major=major), ROUNDED_MINOR_DEPTH)
    # The lowest point of a root of radius R lies H/2 - R below the pitch line.
    to_root = PITCH_DEPTH / Decimal("0.75") - 2 * ROOT_RADIUS
    return ExternalLimits(
        screw_class=name,
        major_min=millimetres(major - _major_tolerance(size, name)),
        major_max=millimetres(major),
        pitch_min=millimetres(pitch_min),
        pitch_max=millimetres(pitch),
        minor_max=millimetres(minor),
        minor_min=millimetres(rounded(pitch_min - to_root * size.pitch, 4)),
        references=(*thread.references, _TOLERANCE),
    )


def internal_tolerances(
    thread: Thread,
    hole_class: str,
    *,
    at_diameter: float | None = None,
    engagement: float | None = None,
) -> InternalTolerances:
    """Return the tolerances of a tapped hole, at the thread's own or at another diameter, mm.

    Parameters
    ----------
    thread : Thread
    hole_class : str
        Such as "6H", "2B" or "medium".
    at_diameter, engagement : float, mm, optional

    Returns
    -------
    InternalTolerances
    """
    name = canonical_class(hole_class, internal=True)
    return InternalTolerances(
        hole_class=name,
        pitch=pitch_tolerance(thread, name, engagement=engagement, at_diameter=at_diameter),
        minor=minor_tolerance(thread, name, at_diameter=at_diameter),
        allowance=0.0,
        diameter=thread.major if at_diameter is None else at_diameter,
        references=(_TOLERANCE, _MINOR_TOLERANCE),
    )


def internal_limits(
    thread: Thread, hole_class: str, *, engagement: float | None = None
) -> InternalLimits:
    """Return the limits of size of a Unified tapped hole, mm.

    From No. 6 up the tables print the minor diameters of 1B and 2B, and the least one of 3B, to
    three places of an inch.

    Parameters
    ----------
    thread : Thread
    hole_class : str
        Such as "6H", "2B" or "medium".
    engagement : float, mm, optional

    Returns
    -------
    InternalLimits

    Examples
    --------
    >>> from thread_repair.threads import thread
    >>> hole = internal_limits(thread("1/4-20 UNC"), "2B")
    >>> [round(x / 25.4, 4) for x in (hole.minor_min, hole.minor_max, hole.pitch_max)]
    [0.196, 0.207, 0.2224]
    """
    name = canonical_class(hole_class, internal=True)
    size = inch_size(thread)
    tolerance = _CLASS_FACTORS[name] * _pitch_tolerance_2a(size, thread, engagement, None)
    pitch = _below(size, PITCH_DEPTH)
    minor = _below(size, MINOR_DEPTH)
    minor_max = minor + _minor_tolerance(size, name, None)
    if size.major >= Decimal("0.138"):
        minor = rounded(minor, 3)
        minor_max = minor_max if name == "3B" else rounded(minor_max, 3)
    return InternalLimits(
        hole_class=name,
        minor_min=millimetres(minor),
        minor_max=millimetres(minor_max),
        pitch_min=millimetres(pitch),
        pitch_max=millimetres(rounded(pitch + rounded(tolerance, 6), 4)),
        major_min=millimetres(size.major),
        references=(*thread.references, _TOLERANCE, _MINOR_TOLERANCE),
    )


def stress_area(thread: Thread, *, high_strength: bool = False, screw_class: str = "2A") -> float:
    """Return the tensile stress area of the screw, mm2.

    Source: ASME B1.1 Appendix B, pi/4 (D - 0.9743/n)^2. Known from: memory, agrees with the
    printed areas; high-strength variant: memory.

    Parameters
    ----------
    thread : Thread
    high_strength : the variant for screws above 100 ksi, which goes by the least pitch diameter
        of the class: pi (d2min/2 - 3H/16)^2, with 3H/16 = 0.16238 P
    screw_class : only for the high-strength variant

    Returns
    -------
    float, mm2

    Examples
    --------
    >>> from thread_repair.threads import thread
    >>> round(stress_area(thread("1/4-20 UNC")) / 25.4**2, 4)
    0.0318
    """
    if not high_strength:
        return math.pi / 4 * (thread.major - 0.9743 * thread.pitch) ** 2
    least = external_limits(thread, screw_class).pitch_min
    return math.pi * (least / 2 - 0.16238 * thread.pitch) ** 2


def stress_area_reference(*, high_strength: bool = False) -> Reference:
    """Return where the stress area comes from.

    Parameters
    ----------
    high_strength : bool, optional

    Returns
    -------
    Reference
    """
    return _STRESS_AREA_HIGH if high_strength else _STRESS_AREA
