"""ISO metric threads: the series of ISO 261 and the tolerances of ISO 965-1.

Sizes are handled in whole micrometres: the standard rounds the basic sizes to 0.001 mm first and
then adds deviations and tolerances, which are whole micrometres.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import cache
from types import MappingProxyType
from typing import NamedTuple

from .. import tables
from ..errors import InputError, UnknownNameError, ValidityError, nearest
from ..sources import Reference
from .profile import Classes, ExternalLimits, InternalLimits, InternalTolerances, Thread

#: Diameters below the pitch diameter and above it, as multiples of the pitch: ISO 68-1, ISO 724.
PITCH_DEPTH = 0.649519
MINOR_DEPTH = 1.082532
#: Flat-root minor diameter and rounded-root minor diameter below the pitch diameter of the screw.
FLAT_ROOT_DEPTH = 0.433013
ROUND_ROOT_DEPTH = 0.616025
#: Least root radius of the screw over the pitch.
ROOT_RADIUS = 0.125

#: Classes in common use; `external_limits` and `internal_limits` take every other combination of
#: grade and position that ISO 965-1 tables.
HOLE_CLASSES = (
    "4H", "5H", "6H", "7H", "8H", "4H5H", "5H6H", "5G", "6G", "7G", "6AZ", "6AX",
)  # fmt: skip
SCREW_CLASSES = (
    "3h4h", "4h", "5h4h", "5h6h", "6h", "7h6h", "4g6g", "5g6g", "6g", "7g6g", "8g", "9g8g",
    "6f", "6e", "6az",
)  # fmt: skip
DEFAULT_CLASSES = Classes("6H", "6g")

#: A designation states diameter and pitch; the profile makes the other basic sizes of them.
_BASIC = Reference(
    source="machinerys-handbook-27",
    clause="p. 1785, Table 3, ISO M profile",
    how_known="read",
    what="basic sizes of metric threads from diameter and pitch",
)
_PROFILE = Reference(
    source="machinerys-handbook-27",
    clause="p. 1794, formulas for limiting dimensions",
    how_known="read",
    what="limits of size of metric threads from basic size, deviation and tolerance",
)
_DEVIATIONS_ZERO = Reference(
    source="machinerys-handbook-27",
    clause="p. 1794, positions H and h",
    how_known="read",
    what="fundamental deviation of positions H and h",
)
#: Hot-dip positions: constant and factor of the pitch, micrometres.
_HOT_DIP = {"AZ": (300, 20), "AX": (-20, 220), "az": (-300, -20)}
_HOT_DIP_PITCHES = (1.5, 6.0)
_HOT_DIP_REFERENCES = {
    "AZ": Reference(
        source="iso-965-5", clause="scope, fundamental deviation AZ", how_known="read",
        what="fundamental deviation of holes for hot-dip coated screws",
    ),
    "AX": Reference(
        source="iso-965-5", clause="scope, fundamental deviation AX", how_known="read",
        what="fundamental deviation of holes for hot-dip coated screws",
    ),
    "az": Reference(
        source="iso-965-4", clause="limits of size 6az, from which the deviation is inferred",
        how_known="derived", what="fundamental deviation of hot-dip coated screws",
    ),
}  # fmt: skip

_CLASS = re.compile(r"(\d)(az|ax|[efgh])(?:(\d)(az|ax|[efgh]))?\Z", re.IGNORECASE)


class Tolerance(NamedTuple):
    """A deviation or tolerance in whole micrometres, and where it stands."""

    micrometres: int
    reference: Reference


class _Grades(NamedTuple):
    pitch: int
    crest: int
    position: str
    name: str


# ---------------------------------------------------------------------------------- the series


@cache
def known() -> tuple[Thread, ...]:
    """Return the threads of ISO 261 from M1.6 to M68, coarse before fine at each diameter."""
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


def selected() -> frozenset[str]:
    """Return the designations that ISO 262 selects from ISO 261 for screws and nuts."""
    return frozenset(
        f"M{row['diameter_mm']}x{row['pitch_mm']}"
        for row in tables.rows("iso_261.csv")
        if row["in_iso_262"] == "yes"
    )


def find(major: float, pitch: float | None = None) -> Thread:
    """Return the metric thread of a diameter and pitch; without a pitch, the coarse one.

    Parameters
    ----------
    major, pitch : mm

    Raises
    ------
    UnknownNameError
        If ISO 261 has no coarse thread of this diameter, or neither ISO 261 nor the tolerance
        tables of ISO 965-1 cover the pair; the nearest threads are named.
    """
    if pitch is None:
        if major in _coarse():
            return _coarse()[major]
        raise _no_thread(f"M{major:g}", "ISO 261 has no coarse thread of this diameter", major)
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
    row = _pitch_rows("internal", major)
    if pitch not in row or not 1.0 <= major <= 300.0:
        return False
    tabled = [p for p, cell in row.items() if cell[0] == "table"]
    return row[pitch][0] == "table" or pitch < min(tabled)


def _no_thread(text: str, why: str, major: float, pitch: float | None = None) -> UnknownNameError:
    aim = pitch if pitch is not None else 0.1 * major
    offered = sorted(known(), key=lambda t: (abs(t.major - major), abs(t.pitch - aim)))[:3]
    names = " or ".join(thread.designation for thread in offered)
    return UnknownNameError(f"no metric thread {text}: {why}; did you mean {names}?")


# ---------------------------------------------------------------------------------- the tables


@cache
def _pitch_table() -> Mapping[str, tuple[tuple[float, float, Mapping[float, object]], ...]]:
    """By side: the diameter ranges, each with its pitches, each with kind and grades."""
    found: dict[str, dict[tuple[float, float], dict[float, tuple[str, dict[int, Tolerance]]]]] = {}
    for row in tables.rows("iso_965_pitch_diameter.csv"):
        limits = (float(row["over_mm"]), float(row["up_to_mm"]))
        cells = found.setdefault(row["side"], {}).setdefault(limits, {})
        _, grades = cells.setdefault(float(row["pitch_mm"]), (row["kind"], {}))
        _fill(grades, row, range(3, 10), f"tolerance of the {row['side']} pitch diameter")
    return MappingProxyType(
        {side: tuple((*limits, cells) for limits, cells in ranges.items())
         for side, ranges in found.items()}
    )  # fmt: skip


def _fill(grades: dict[int, Tolerance], row: tables.Row, wanted: Iterable[int], what: str) -> None:
    reference = tables.reference(row, what)
    for grade in wanted:
        text = row[f"grade_{grade}_um"]
        if text:
            grades[grade] = Tolerance(int(text), reference)


def _pitch_rows(side: str, diameter: float) -> Mapping[float, tuple[str, Mapping[int, Tolerance]]]:
    for over, up_to, cells in _pitch_table()[side]:
        if over < diameter <= up_to:
            return cells  # type: ignore[return-value]
    return {}


@cache
def _crest_table() -> Mapping[tuple[str, float], Mapping[int, Tolerance]]:
    found: dict[tuple[str, float], dict[int, Tolerance]] = {}
    for row in tables.rows("iso_965_crest.csv"):
        which = "internal minor" if row["side"] == "internal" else "external major"
        _fill(found.setdefault((row["side"], float(row["pitch_mm"])), {}), row, range(4, 9),
              f"tolerance of the {which} diameter")  # fmt: skip
    return MappingProxyType(found)


@cache
def _deviation_table() -> Mapping[tuple[str, float], Tolerance]:
    return MappingProxyType(
        {
            (row["position"], float(row["pitch_mm"])): Tolerance(
                int(row["deviation_um"]),
                tables.reference(row, f"fundamental deviation of position {row['position']}"),
            )
            for row in tables.rows("iso_965_deviations.csv")
        }
    )


def pitch_tolerance(side: str, grade: int, diameter: float, pitch: float) -> Tolerance:
    """Return the tolerance of the pitch diameter, `TD2` or `Td2`, as ISO 965-1 tables it.

    Parameters
    ----------
    side : "internal" or "external"
    grade : 4 to 8 internal, 3 to 9 external
    diameter, pitch : mm

    Raises
    ------
    ValidityError
        If the tables have no value for the range of diameters, the pitch and the grade.

    Source: ISO 965-1 Tables 5 and 6. Known from: the row's own mark.

    Examples
    --------
    >>> pitch_tolerance("internal", 6, 8, 1.25).micrometres
    160
    """
    row = _pitch_rows(side, diameter)
    if pitch not in row:
        raise ValidityError(
            f"ISO 965-1 has no {side} pitch diameter tolerance for pitch {pitch:g} mm at diameter "
            f"{diameter:g} mm; pitches there: {_list(row)}"
        )
    return _graded(row[pitch][1], grade, f"{side} pitch diameter at {diameter:g} x {pitch:g} mm")


def minor_tolerance(grade: int, pitch: float) -> Tolerance:
    """Return the tolerance of the minor diameter of the hole, `TD1` (ISO 965-1 Table 3)."""
    return _crest("internal", grade, pitch)


def major_tolerance(grade: int, pitch: float) -> Tolerance:
    """Return the tolerance of the major diameter of the screw, `Td` (ISO 965-1 Table 4)."""
    return _crest("external", grade, pitch)


def _crest(side: str, grade: int, pitch: float) -> Tolerance:
    which = "hole minor" if side == "internal" else "screw major"
    row = _crest_table().get((side, pitch))
    if row is None:
        pitches = [p for s, p in _crest_table() if s == side]
        raise ValidityError(
            f"ISO 965-1 has no {which} diameter tolerance for pitch {pitch:g} mm; "
            f"pitches: {_list(pitches)}"
        )
    return _graded(row, grade, f"{which} diameter at pitch {pitch:g} mm")


def _graded(row: Mapping[int, Tolerance], grade: int, what: str) -> Tolerance:
    if grade not in row:
        raise ValidityError(
            f"ISO 965-1 has no grade {grade} tolerance of the {what}; grades: {_list(row)}"
        )
    return row[grade]


def deviation(position: str, pitch: float) -> Tolerance:
    """Return the fundamental deviation of a position: `EI` (H G AZ AX) or `es` (h g f e az).

    Raises
    ------
    ValidityError
        If the standards give no deviation of this position for the pitch.

    Source: ISO 965-1 Table 1; hot-dip positions ISO 965-4 and ISO 965-5.

    Examples
    --------
    >>> deviation("g", 1.25).micrometres
    -28
    """
    if position in ("H", "h"):
        return Tolerance(0, _DEVIATIONS_ZERO)
    if position in _HOT_DIP:
        least, most = _HOT_DIP_PITCHES
        if not least <= pitch <= most:
            raise ValidityError(
                f"position {position} is for pitches from {least:g} to {most:g} mm (M10 to M64), "
                f"got {pitch:g} mm"
            )
        constant, factor = _HOT_DIP[position]
        return Tolerance(round(constant + factor * pitch), _HOT_DIP_REFERENCES[position])
    try:
        return _deviation_table()[position, pitch]
    except KeyError:
        pitches = [p for name, p in _deviation_table() if name == position]
        raise ValidityError(
            f"ISO 965-1 has no deviation of position {position} for pitch {pitch:g} mm; "
            f"pitches: {_list(pitches)}"
        ) from None


def _list(numbers: Iterable[float]) -> str:
    return ", ".join(f"{number:g}" for number in sorted(numbers)) or "none"


# --------------------------------------------------------------------------------- the classes


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
        if as_written and fitted in positions and other in (None, position):
            crest = crest or pitch
            short = f"{pitch}{fitted}"
            name = short if crest == pitch else f"{short}{crest}{fitted}"
            return _Grades(int(pitch), int(crest), fitted, name)
    close = nearest(text, allowed) or allowed[:3]
    raise UnknownNameError(
        f"unknown {kind} class {text!r} of metric threads; did you mean {' or '.join(close)}?"
    )


def canonical_class(text: str, *, internal: bool) -> str:
    """Return a class as the standard writes it, or refuse it with the nearest ones."""
    return _grades(text, internal=internal).name


def is_hole_class(text: str) -> bool:
    """Whether a class is that of a hole: capital letters, as in 6H."""
    return any(letter.isupper() for letter in text)


# ---------------------------------------------------------------------------------- the limits


def _micrometres(size: float) -> int:
    return round(size * 1000)


@cache
def external_limits(thread: Thread, screw_class: str) -> ExternalLimits:
    """Return the limits of size of a metric screw.

    The minor diameter maximum is the flat-root one, which the GO gauge checks; the minimum is that
    of a root rounded with the least radius, 0.125 P.

    Source: ISO 965-1; formulas as in Machinery's Handbook, 27th ed., p. 1794. Known from: read.

    Examples
    --------
    >>> limits = external_limits(find(8, 1.25), "6g")
    >>> limits.major_max, limits.major_min, limits.pitch_max, limits.pitch_min
    (7.972, 7.76, 7.16, 7.042)
    """
    grades = _grades(screw_class, internal=False)
    p = thread.pitch
    es = deviation(grades.position, p)
    Td2 = pitch_tolerance("external", grades.pitch, thread.major, p)
    Td = major_tolerance(grades.crest, p)
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
        root_radius_min=ROOT_RADIUS * p,
        references=(*thread.references, _PROFILE, es.reference, Td2.reference, Td.reference),
    )


def internal_tolerances(
    thread: Thread, hole_class: str, *, at_diameter: float | None = None
) -> InternalTolerances:
    """Return the tolerances of a tapped hole, at the thread's own or at another diameter."""
    grades = _grades(hole_class, internal=True)
    diameter = thread.major if at_diameter is None else at_diameter
    EI = deviation(grades.position, thread.pitch)
    TD2 = pitch_tolerance("internal", grades.pitch, diameter, thread.pitch)
    TD1 = minor_tolerance(grades.crest, thread.pitch)
    return InternalTolerances(
        hole_class=grades.name,
        pitch=TD2.micrometres / 1000,
        minor=TD1.micrometres / 1000,
        allowance=EI.micrometres / 1000,
        diameter=diameter,
        references=(EI.reference, TD2.reference, TD1.reference),
    )


@cache
def internal_limits(thread: Thread, hole_class: str) -> InternalLimits:
    """Return the limits of size of a metric tapped hole.

    Source: ISO 965-1; formulas as in Machinery's Handbook, 27th ed., p. 1794. Known from: read.

    Examples
    --------
    >>> limits = internal_limits(find(8, 1.25), "6H")
    >>> limits.minor_min, limits.minor_max, limits.pitch_min, limits.pitch_max
    (6.647, 6.912, 7.188, 7.348)
    """
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


# -------------------------------------------------------------------------- length of engagement

#: Classes that ISO 965-1 recommends by quality and length group, hole then screw.
_RECOMMENDED = {
    ("fine", "S"): Classes("4H", "3h4h"),
    ("fine", "N"): Classes("5H", "4h"),
    ("fine", "L"): Classes("6H", "5h4h"),
    ("medium", "S"): Classes("5H", "5g6g"),
    ("medium", "N"): Classes("6H", "6g"),
    ("medium", "L"): Classes("7H", "7g6g"),
    ("coarse", "N"): Classes("7H", "8g"),
    ("coarse", "L"): Classes("8H", "9g8g"),
}


@cache
def _engagement_table() -> Mapping[float, tuple[tuple[float, float, float, float], ...]]:
    found: dict[float, list[tuple[float, float, float, float]]] = {}
    for row in tables.rows("iso_965_engagement.csv"):
        found.setdefault(float(row["pitch_mm"]), []).append(
            (float(row["over_mm"]), float(row["up_to_mm"]),
             float(row["normal_over_mm"]), float(row["normal_up_to_mm"]))
        )  # fmt: skip
    return MappingProxyType({pitch: tuple(ranges) for pitch, ranges in found.items()})


def normal_engagement(thread: Thread) -> tuple[float, float]:
    """Return the bounds of the normal length of engagement (group N), mm: over, up to and with.

    Raises
    ------
    ValidityError
        If ISO 965-1 tables no lengths for the thread.

    Source: ISO 965-1 Table 2. Known from: memory, five rows read in a list of ISO 965-4 limits.

    Examples
    --------
    >>> normal_engagement(find(10, 1.5))
    (5.0, 15.0)
    """
    for over, up_to, least, most in _engagement_table().get(thread.pitch, ()):
        if over < thread.major <= up_to:
            return least, most
    raise ValidityError(f"ISO 965-1 has no length of engagement groups for {thread.designation}")


def engagement_group(thread: Thread, length: float) -> str:
    """Return the group of a length of engagement, mm: "S", "N" or "L".

    Raises
    ------
    InputError
        If the length is not above zero.
    ValidityError
        If ISO 965-1 tables no lengths for the thread.

    Source: ISO 965-1 Table 2. Known from: memory, five rows read.
    """
    if not length > 0:
        raise InputError(f"length of engagement must be above zero, got {length:g} mm")
    least, most = normal_engagement(thread)
    return "S" if length <= least else "N" if length <= most else "L"


def recommended_classes(quality: str, group: str) -> Classes:
    """Return the classes that ISO 965-1 recommends for a quality and a length group.

    Parameters
    ----------
    quality : "fine", "medium" or "coarse"
    group : "S", "N" or "L"

    Source: ISO 965-1, recommended tolerance classes. Known from: memory.

    Examples
    --------
    >>> recommended_classes("medium", "L")
    Classes(hole='7H', screw='7g6g')
    """
    try:
        return _RECOMMENDED[quality, group]
    except KeyError:
        raise InputError(
            f"no recommended classes for quality {quality!r} and length group {group!r}; "
            "expected fine, medium or coarse and S, N or L (coarse has no S)"
        ) from None
