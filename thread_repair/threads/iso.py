"""ISO metric threads: the series of ISO 261 and the tolerances of ISO 965-1.

Sizes are handled in whole micrometres: the standard rounds the basic sizes to 0.001 mm first and
then adds deviations and tolerances, which are whole micrometres.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import NamedTuple

from .. import tables
from ..errors import InputError, UnknownNameError, nearest
from ..sources import Reference
from ..tables import cited
from . import iso_tolerances
from .profile import (
    BasicDiameters,
    Classes,
    ExternalLimits,
    InternalLimits,
    InternalTolerances,
    Thread,
)

#: Diameters below the pitch diameter and above it, as multiples of the pitch: ISO 68-1, ISO 724.
PITCH_DEPTH = 0.649519
MINOR_DEPTH = 1.082532
#: Flat-root minor diameter and rounded-root minor diameter below the pitch diameter of the screw.
FLAT_ROOT_DEPTH = 0.433013
ROUND_ROOT_DEPTH = 0.616025
#: Least root radius of the screw over the pitch.
ROOT_RADIUS = 0.125

#: Diameter of the stress area below the major diameter, 13H/12.
STRESS_DEPTH = 0.938194

#: Classes in common use; `external_limits` and `internal_limits` take every other combination of
#: grade and position that ISO 965-1 tables.
HOLE_CLASSES: tuple[str, ...] = (
    "4H", "5H", "6H", "7H", "8H", "4H5H", "5H6H", "5G", "6G", "7G", "6AZ", "6AX",
)  # fmt: skip
SCREW_CLASSES: tuple[str, ...] = (
    "3h4h", "4h", "5h4h", "5h6h", "6h", "7h6h", "4g6g", "5g6g", "6g", "7g6g", "8g", "9g8g",
    "6f", "6e", "6az",
)  # fmt: skip
DEFAULT_CLASSES = Classes("6H", "6g")
STRESS_AREA_METHOD = "iso_898_1"

#: A designation states diameter and pitch; the profile makes the other basic sizes of them.
_BASIC = cited("iso-basic")[0]
_PROFILE = cited("iso-profile")[0]
_STRESS_AREA = cited("iso-stress-area")[0]

#: Grades of the pitch and of the crest diameter, by whether the thread is internal.
_PITCH_GRADES = {True: "45678", False: "3456789"}
_CREST_GRADES = {True: "45678", False: "468"}
_CLASS = re.compile(r"(\d)(az|ax|[efgh])(?:(\d)(az|ax|[efgh]))?\Z", re.IGNORECASE)


class _Grades(NamedTuple):
    pitch: int
    crest: int
    position: str
    name: str


@cache
def known() -> tuple[Thread, ...]:
    """Return the threads of ISO 261 from M1.6 to M68, coarse before fine at each diameter.

    Returns
    -------
    tuple of Thread
    """
    return tuple(
        _thread(float(row["diameter_mm"]), float(row["pitch_mm"]), f"ISO metric {row['series']}")
        for row in tables.rows("iso_261.csv")
    )  # fmt: skip


@cache
def _by_size() -> Mapping[tuple[float, float], Thread]:
    return MappingProxyType({(thread.major, thread.pitch): thread for thread in known()})


@cache
def _coarse() -> Mapping[float, Thread]:
    return MappingProxyType(
        {thread.major: thread for thread in known() if thread.series == "ISO metric coarse"}
    )


def find(major: float, pitch: float | None = None) -> Thread:
    """Return the metric thread of a diameter and pitch; without a pitch, the coarse one.

    Parameters
    ----------
    major, pitch : mm

    Returns
    -------
    Thread

    Raises
    ------
    UnknownNameError
        If ISO 261 has no coarse thread of this diameter, or neither ISO 261 nor the tolerance
        tables of ISO 965-1 cover the pair; the nearest threads are named.
    """
    if pitch is None:
        if major in _coarse():
            return _coarse()[major]
        raise _no_thread(
            f"M{major:g}", "ISO 261 has no coarse thread of this diameter from M1.6 to M68", major
        )
    thread = _by_size().get((major, pitch))
    if thread:
        return thread
    if _covered(major, pitch):
        return _thread(major, pitch, "ISO metric, outside ISO 261")
    raise _no_thread(
        f"M{major:g}x{pitch:g}", "ISO 965-1 gives no tolerance for this pitch and diameter",
        major, pitch,
    )  # fmt: skip


def _thread(major: float, pitch: float, series: str) -> Thread:
    return Thread(
        designation=f"M{major:g}x{pitch:g}", series=series, system="metric", major=major,
        pitch=pitch, flank_angle=60.0, references=(_BASIC,),
    )  # fmt: skip


def _covered(major: float, pitch: float) -> bool:
    """Whether the tables have the pair, or the formula serves it as a still finer pitch."""
    kinds = iso_tolerances.pitch_kinds(major)
    tabled = [p for p, kind in kinds.items() if kind == "table"]
    return 1.0 <= major <= 300.0 and (pitch in tabled or (pitch in kinds and pitch < min(tabled)))


def _no_thread(text: str, why: str, major: float, pitch: float | None = None) -> UnknownNameError:
    def distance(thread: Thread) -> tuple[float, float]:
        off = -thread.pitch if pitch is None else abs(thread.pitch - pitch)
        return abs(thread.major - major), off

    offered = sorted(known(), key=distance)[:3]
    names = " or ".join(thread.designation for thread in offered)
    return UnknownNameError(f"no metric thread {text}: {why}; did you mean {names}?")


def _grades(text: str, *, internal: bool) -> _Grades:
    """Read a class: "6H", "5H6H", "4g6g" (pitch diameter first, then crest)."""
    allowed = HOLE_CLASSES if internal else SCREW_CLASSES
    kind = "hole" if internal else "screw"
    match = _CLASS.match(text.strip())
    if match:
        pitch, position, crest, other = match.groups()
        fitted = position.upper() if internal else position.lower()
        positions = ("H", "G", "AZ", "AX") if internal else ("h", "g", "f", "e", "az")
        as_written = position == fitted or len(position) == 2
        crest = crest or pitch
        tabled = pitch in _PITCH_GRADES[internal] and crest in _CREST_GRADES[internal]
        if as_written and tabled and fitted in positions and other in (None, position):
            short = f"{pitch}{fitted}"
            name = short if crest == pitch else f"{short}{crest}{fitted}"
            return _Grades(int(pitch), int(crest), fitted, name)
    close = nearest(text, allowed) or allowed[:3]
    raise UnknownNameError(
        f"unknown {kind} class {text!r} of metric threads; did you mean {' or '.join(close)}?"
    )


def canonical_class(text: str, *, internal: bool) -> str:
    """Return a class as the standard writes it, or refuse it with the nearest ones.

    Parameters
    ----------
    text : str
    internal : bool

    Returns
    -------
    str
    """
    return _grades(text, internal=internal).name


def is_hole_class(text: str) -> bool:
    """Whether a class is that of a hole: capital letters, as in 6H.

    Parameters
    ----------
    text : str

    Returns
    -------
    bool
    """
    return any(letter.isupper() for letter in text)


def _micrometres(size: float) -> int:
    return round(size * 1000)


def printed(size: float) -> float:
    """Round a size to the micrometre, mm.

    Parameters
    ----------
    size : float, mm

    Returns
    -------
    float, mm
    """
    return round(size, 3)


def basic_diameters(thread: Thread) -> BasicDiameters:
    """Return the basic sizes of a metric thread as ISO 724 prints them, to 0.001 mm.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    BasicDiameters
    """
    return BasicDiameters(
        major=_micrometres(thread.major) / 1000,
        pitch=_micrometres(thread.major - PITCH_DEPTH * thread.pitch) / 1000,
        minor=_micrometres(thread.major - MINOR_DEPTH * thread.pitch) / 1000,
        references=thread.references,
    )


def _refuse_engagement(thread: Thread, engagement: float | None) -> None:
    if engagement is not None:
        raise InputError(
            f"engagement does not change the tolerances of {thread.designation}: choose another "
            "class for another length group"
        )


def external_limits(
    thread: Thread, screw_class: str, *, engagement: float | None = None
) -> ExternalLimits:
    """Return the limits of size of a metric screw.

    The minor diameter maximum is the flat-root one, which the GO gauge checks; the minimum is that
    of a root rounded with the least radius, 0.125 P.

    Source: ISO 965-1; formulas as in Machinery's Handbook, 27th ed., p. 1794. Known from: read.

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
    >>> limits = external_limits(find(8, 1.25), "6g")
    >>> limits.major_max, limits.major_min, limits.pitch_max, limits.pitch_min
    (7.972, 7.76, 7.16, 7.042)
    """
    _refuse_engagement(thread, engagement)
    grades = _grades(screw_class, internal=False)
    p = thread.pitch
    es = iso_tolerances.deviation(grades.position, p)
    Td2 = iso_tolerances.pitch_tolerance("external", grades.pitch, thread.major, p)
    Td = iso_tolerances.major_tolerance(grades.crest, p)
    d = _micrometres(thread.major) + es.micrometres
    d2 = _micrometres(thread.major - PITCH_DEPTH * p) + es.micrometres
    d2_min = d2 - Td2.micrometres
    return ExternalLimits(
        screw_class=grades.name,
        major_min=(d - Td.micrometres) / 1000,
        major_max=d / 1000,
        pitch_min=d2_min / 1000,
        pitch_max=d2 / 1000,
        minor_max=_micrometres(d2 / 1000 - FLAT_ROOT_DEPTH * p) / 1000,
        minor_min=_micrometres(d2_min / 1000 - ROUND_ROOT_DEPTH * p) / 1000,
        references=(*thread.references, _PROFILE, es.reference, Td2.reference, Td.reference),
    )


def internal_tolerances(
    thread: Thread, hole_class: str, *, at_diameter: float | None = None
) -> InternalTolerances:
    """Return the tolerances of a tapped hole, at the thread's own or at another diameter.

    Parameters
    ----------
    thread : Thread
    hole_class : str
        Such as "6H", "2B" or "medium".
    at_diameter : float, mm, optional

    Returns
    -------
    InternalTolerances
    """
    grades = _grades(hole_class, internal=True)
    diameter = thread.major if at_diameter is None else at_diameter
    EI = iso_tolerances.deviation(grades.position, thread.pitch)
    TD2 = iso_tolerances.pitch_tolerance("internal", grades.pitch, diameter, thread.pitch)
    TD1 = iso_tolerances.minor_tolerance(grades.crest, thread.pitch)
    return InternalTolerances(
        hole_class=grades.name,
        pitch=TD2.micrometres / 1000,
        minor=TD1.micrometres / 1000,
        allowance=EI.micrometres / 1000,
        diameter=diameter,
        references=(EI.reference, TD2.reference, TD1.reference),
    )


def internal_limits(
    thread: Thread, hole_class: str, *, engagement: float | None = None
) -> InternalLimits:
    """Return the limits of size of a metric tapped hole.

    Source: ISO 965-1; formulas as in Machinery's Handbook, 27th ed., p. 1794. Known from: read.

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
    >>> limits = internal_limits(find(8, 1.25), "6H")
    >>> limits.minor_min, limits.minor_max, limits.pitch_min, limits.pitch_max
    (6.647, 6.912, 7.188, 7.348)
    """
    _refuse_engagement(thread, engagement)
    tolerances = internal_tolerances(thread, hole_class)
    D = thread.major + tolerances.allowance
    D1 = _micrometres(thread.major - MINOR_DEPTH * thread.pitch + tolerances.allowance)
    D2 = _micrometres(thread.major - PITCH_DEPTH * thread.pitch + tolerances.allowance)
    return InternalLimits(
        hole_class=tolerances.hole_class,
        minor_min=D1 / 1000,
        minor_max=(D1 + _micrometres(tolerances.minor)) / 1000,
        pitch_min=D2 / 1000,
        pitch_max=(D2 + _micrometres(tolerances.pitch)) / 1000,
        major_min=_micrometres(D) / 1000,
        references=(*thread.references, _PROFILE, *tolerances.references),
    )


def stress_area(thread: Thread, *, high_strength: bool = False, screw_class: str = "") -> float:
    """Return the nominal stress area of the screw, mm2: pi/4 (d - 0.938194 P)^2.

    It is the same for every class of screw; a variant for strong screws exists in inches only.

    Source: ISO 898-1, on the mean of the basic pitch diameter and the minor diameter of the root
    at H/6. Known from: formula memory, agrees with the printed areas.

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
    >>> round(stress_area(find(8, 1.25)), 1)
    36.6
    """
    if high_strength:
        raise InputError(
            f"the high-strength stress area is of Unified threads only, got {thread.designation}"
        )
    return math.pi / 4 * (thread.major - STRESS_DEPTH * thread.pitch) ** 2


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
