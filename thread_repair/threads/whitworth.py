"""British Standard Whitworth and Fine threads: the series and the tolerances of BS 84.

No table of BS 84 limits could be read, so every tolerance here is from memory and so marked, as are
the threads per inch of each size; the form, and what follows from it for a pitch, was read. Limits
are computed in inches by formula at every size, each tolerance rounded to 0.0001 in, and converted
to mm exactly.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from decimal import Decimal
from functools import cache
from types import MappingProxyType

from .. import tables
from ..errors import InputError, UnknownNameError, nearest
from ..sources import Reference
from ..tables import cited
from .inch import InchSize, fraction, inch_size, millimetres, rounded
from .inch import printed as printed
from .profile import (
    BasicDiameters,
    Classes,
    ExternalLimits,
    InternalLimits,
    InternalTolerances,
    Thread,
)

#: Thread depth and root radius over the pitch (55 degree form).
THREAD_DEPTH = Decimal("0.640327")
ROOT_RADIUS = Decimal("0.137329")

HOLE_CLASSES: tuple[str, ...] = ("close", "medium", "normal")
SCREW_CLASSES: tuple[str, ...] = ("close", "medium", "free")
DEFAULT_CLASSES = Classes("medium", "medium")
STRESS_AREA_METHOD = "bs_84"
SERIES = ("BSW", "BSF")

#: Effective diameter tolerance of a class over that of the medium class.
_CLASS_FACTORS = {"close": 2 / 3, "medium": 1.0, "free": 1.5, "normal": 1.5}
#: The hole class that goes with a free screw has a name of its own.
_OTHER_NAMES = {True: {"free": "normal"}, False: {"normal": "free"}}
_ALLOWANCE_UP_TO = Decimal("0.75")

_BASIC = cited("whitworth-basic")[0]
_TOLERANCE = cited("whitworth-tolerance")[0]
_STRESS_AREA = cited("whitworth-stress-area")[0]


@cache
def known() -> tuple[Thread, ...]:
    """Return the BSW threads from 1/8 to 6 in, then the BSF threads from 3/16 to 4 1/4 in.

    Returns
    -------
    tuple of Thread
    """
    return tuple(
        Thread(
            designation=f"{row['size']} {row['series']}",
            series=row["series"],
            system="whitworth",
            major=millimetres(Decimal(row["major_in"])),
            pitch=25.4 / float(row["threads_per_inch"]),
            flank_angle=55.0,
            references=(_BASIC, tables.reference(row, "threads per inch of a Whitworth size")),
        )
        for row in tables.rows("whitworth_series.csv")
    )


@cache
def _by_size() -> Mapping[tuple[str, Decimal], tuple[Decimal, Thread]]:
    return MappingProxyType(
        {
            (row["series"], Decimal(row["major_in"])): (Decimal(row["threads_per_inch"]), thread)
            for row, thread in zip(tables.rows("whitworth_series.csv"), known(), strict=True)
        }
    )


def find(size: str, threads_per_inch: Decimal | None, series: str) -> Thread:
    """Return the Whitworth thread of a size and series.

    Parameters
    ----------
    size : "1/4", "1 1/4", ".250"
    threads_per_inch : checked against the series where it is given
    series : "BSW" or "BSF"

    Returns
    -------
    Thread

    Raises
    ------
    UnknownNameError
        Naming the nearest threads.

    Examples
    --------
    >>> find("3/8", None, "BSF").designation
    '3/8 BSF'
    """
    major = fraction(size)
    count, thread = _by_size().get((series, major), (None, None))
    if thread and threads_per_inch in (None, count):
        return thread

    def distance(item: tuple[tuple[str, Decimal], tuple[Decimal, Thread]]) -> tuple[float, ...]:
        (name, diameter), (per_inch, _) = item
        pitch_off = abs(per_inch - threads_per_inch) if threads_per_inch else Decimal(0)
        return float(abs(diameter - major)), float(pitch_off), name != series

    offered = sorted(_by_size().items(), key=distance)[:2]
    names = " or ".join(
        f"{match.designation} ({per_inch} threads per inch)" for _, (per_inch, match) in offered
    )
    written = f"{size}{f'-{threads_per_inch}' if threads_per_inch else ''} {series}"
    raise UnknownNameError(f"{written!r} is no Whitworth thread; did you mean {names}?")


def canonical_class(text: str, *, internal: bool) -> str:
    """Return a class as the standard writes it; a free screw's hole class is "normal".

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
    name = text.strip().lower()
    name = _OTHER_NAMES[internal].get(name, name)
    if name in allowed:
        return name
    kind = "hole" if internal else "screw"
    close = nearest(name, allowed) or allowed
    raise UnknownNameError(
        f"unknown {kind} class {text!r} of Whitworth threads; did you mean {' or '.join(close)}?"
    )


def _effective_tolerance(
    size: InchSize, engagement: float | None, at_diameter: float | None
) -> float:
    """Medium tolerance of the effective diameter, inches, unrounded."""
    if engagement is not None and not engagement > 0:
        raise InputError(f"length of engagement must be above zero, got {engagement:g} mm")
    diameter = float(size.major) if at_diameter is None else at_diameter / 25.4
    # The standard's tables assume some length; the diameter is the usual one for such threads.
    length = float(size.major) if engagement is None else engagement / 25.4
    by_pitch = 0.005 * math.sqrt(size.pitch)
    return 0.002 * math.cbrt(diameter) + 0.003 * math.sqrt(length) + by_pitch


def pitch_tolerance(
    thread: Thread, name: str, *, engagement: float | None = None, at_diameter: float | None = None
) -> float:
    """Return the tolerance of the effective diameter of a class, mm.

    Source: BS 84, T = 0.002 D^(1/3) + 0.003 L^(1/2) + 0.005 p^(1/2) inches for the medium class,
    2T/3 close, 3T/2 free screws and normal holes; L is taken as D. Known from: memory.

    Parameters
    ----------
    thread : Thread
    name : str
    engagement, at_diameter : float, mm, optional

    Returns
    -------
    float, mm
    """
    base = _effective_tolerance(inch_size(thread), engagement, at_diameter)
    known_name = name if name in _CLASS_FACTORS else canonical_class(name, internal=False)
    return millimetres(rounded(_CLASS_FACTORS[known_name] * base, 4))


def major_tolerance(thread: Thread, screw_class: str, *, engagement: float | None = None) -> float:
    """Return the tolerance of the major diameter of the screw, mm: effective + 0.01 p^(1/2) in.

    Source: BS 84. Known from: memory.

    Parameters
    ----------
    thread : Thread
    screw_class : str
        Such as "6g", "2A" or "medium".
    engagement : float, mm, optional

    Returns
    -------
    float, mm
    """
    name = canonical_class(screw_class, internal=False)
    size = inch_size(thread)
    effective = _CLASS_FACTORS[name] * _effective_tolerance(size, engagement, None)
    return millimetres(rounded(effective + 0.01 * math.sqrt(size.pitch), 4))


def minor_tolerance(thread: Thread) -> float:
    """Return the tolerance of the minor diameter of the hole, mm, the same for every class.

    Source: BS 84, 0.2 p + 0.004 in (26 threads per inch and finer), + 0.005 (24 and 22), + 0.007
    (20 and coarser). Known from: memory.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    float, mm
    """
    return millimetres(_minor_tolerance(inch_size(thread)))


def _minor_tolerance(size: InchSize) -> Decimal:
    count = size.threads_per_inch
    extra = "0.004" if count >= 26 else "0.005" if count >= 22 else "0.007"
    return rounded(Decimal("0.2") * size.pitch + Decimal(extra), 4)


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
        pitch=millimetres(_below(size, 1)),
        minor=millimetres(_below(size, 2)),
        references=thread.references,
    )


def _below(size: InchSize, depths: int) -> Decimal:
    return rounded(size.major - depths * THREAD_DEPTH * size.pitch, 4)


def external_limits(
    thread: Thread, screw_class: str, *, engagement: float | None = None
) -> ExternalLimits:
    """Return the limits of size of a Whitworth screw, mm.

    Medium and free screws up to 3/4 in lie 0.3 T below the basic sizes.

    Source: BS 84. Known from: basic sizes read, tolerances and allowance memory.

    Parameters
    ----------
    thread : Thread
    screw_class : str
        Such as "6g", "2A" or "medium".
    engagement : float, mm, optional

    Returns
    -------
    ExternalLimits
    """
    name = canonical_class(screw_class, internal=False)
    size = inch_size(thread)
    medium = _effective_tolerance(size, engagement, None)
    factor = _CLASS_FACTORS[name]
    root_pitch = math.sqrt(size.pitch)
    has_allowance = name != "close" and size.major <= _ALLOWANCE_UP_TO
    allowance = rounded(0.3 * medium, 4) if has_allowance else Decimal(0)
    major = size.major - allowance
    pitch = _below(size, 1) - allowance
    minor = _below(size, 2) - allowance
    minor_extra = 0.013 if name == "close" else 0.02
    return ExternalLimits(
        screw_class=name,
        major_min=millimetres(major - rounded(factor * medium + 0.01 * root_pitch, 4)),
        major_max=millimetres(major),
        pitch_min=millimetres(pitch - rounded(factor * medium, 4)),
        pitch_max=millimetres(pitch),
        minor_max=millimetres(minor),
        minor_min=millimetres(minor - rounded(factor * medium + minor_extra * root_pitch, 4)),
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
        minor=minor_tolerance(thread),
        allowance=0.0,
        diameter=thread.major if at_diameter is None else at_diameter,
        references=(_TOLERANCE,),
    )


def internal_limits(
    thread: Thread, hole_class: str, *, engagement: float | None = None
) -> InternalLimits:
    """Return the limits of size of a Whitworth tapped hole, mm.

    Source: BS 84. Known from: basic sizes read, tolerances memory.

    Parameters
    ----------
    thread : Thread
    hole_class : str
        Such as "6H", "2B" or "medium".
    engagement : float, mm, optional

    Returns
    -------
    InternalLimits
    """
    name = canonical_class(hole_class, internal=True)
    size = inch_size(thread)
    effective = _CLASS_FACTORS[name] * _effective_tolerance(size, engagement, None)
    pitch = _below(size, 1)
    minor = _below(size, 2)
    return InternalLimits(
        hole_class=name,
        minor_min=millimetres(minor),
        minor_max=millimetres(minor + _minor_tolerance(size)),
        pitch_min=millimetres(pitch),
        pitch_max=millimetres(pitch + rounded(effective, 4)),
        major_min=millimetres(size.major),
        references=(*thread.references, _TOLERANCE),
    )


def stress_area(thread: Thread, *, high_strength: bool = False, screw_class: str = "") -> float:
    """Return the tensile stress area of the screw, mm2, of every class.

    BS 84 gives none. Taken, as ISO 898-1 does for metric screws, on the mean of effective and
    minor diameter, with the basic sizes: D - 1.5 x 0.640327 p.

    Parameters
    ----------
    thread : Thread
    high_strength : bool, optional
    screw_class : str, optional
        Such as "6g", "2A" or "medium".

    Returns
    -------
    float, mm2

    Raises
    ------
    InputError
        If the high-strength area is asked for: it is of Unified threads only.

    Examples
    --------
    >>> round(stress_area(find("1/2", None, "BSW")) / 25.4**2, 4)
    0.1385
    """
    if high_strength:
        raise InputError(
            f"the high-strength stress area is of Unified threads only, got {thread.designation}"
        )
    mean = thread.major - 1.5 * float(THREAD_DEPTH) * thread.pitch
    return math.pi / 4 * mean**2


def stress_area_reference(*, high_strength: bool = False) -> Reference:
    """Return where the stress area comes from.

    Parameters
    ----------
    high_strength : bool, optional

    Returns
    -------
    Reference
    """
    return _STRESS_AREA
