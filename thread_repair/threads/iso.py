"""ISO metric threads: the series of ISO 261 and the tolerances of ISO 965-1.

The standard rounds the basic sizes to 0.001 mm first and then adds deviations and tolerances, which
are whole micrometres.

The tables of tolerances are data. A cell seen in print is marked `read`. The others were computed
by the standard's formulas, which are recalled: grade 6 of the pitch diameter of the screw
90 P^0.4 d^0.1 with d the geometric mean of the range, of the hole 1.32 times it, of the screw's
major diameter 180 P^(2/3) - 3.15 P^(-1/2), of the hole's minor diameter 433 P - 190 P^1.22 up to
0.8 mm and 230 P^0.7 above (micrometres), then the grade factors, each step rounded to the R40
preferred numbers. They agree with every cell seen but some that the standard moved for smooth
progression, and these are recalled or inferred from printed limits.
"""

import re
from collections.abc import Mapping
from decimal import Decimal
from functools import cache
from typing import Any, NamedTuple, TypeVar

from .. import tables
from ..errors import UnknownNameError, ValidityError
from .profile import BasicSize, System, Thread, Tolerances, rounded

#: Flat-root minor diameter and rounded-root minor diameter below the pitch diameter of the screw:
#: ISO 68-1, ISO 724.
FLAT_ROOT_DEPTH = Decimal("0.433013")
ROUND_ROOT_DEPTH = Decimal("0.616025")

#: A designation states diameter and pitch; the profile makes the other basic sizes of them.
_BASIC = tables.cited("iso-basic")
_COARSE = "ISO metric coarse"
#: Grades of the pitch and of the crest diameter and positions, by whether the thread is internal.
_PITCH_GRADES = {True: "45678", False: "3456789"}
_CREST_GRADES = {True: "45678", False: "468"}
_POSITIONS = {True: ("H", "G", "AZ", "AX"), False: ("h", "g", "f", "e", "az")}
_CLASS = re.compile(r"(\d)(az|ax|[efgh])(?:(\d)(az|ax|[efgh]))?\Z", re.IGNORECASE)


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
    for thread in known():
        wanted = thread.series == _COARSE if pitch is None else thread.pitch == pitch
        if thread.major == major and wanted:
            return thread
    if pitch is not None and _covered(major, pitch):
        return _thread(major, pitch, "ISO metric, outside ISO 261")

    def distance(thread: Thread) -> tuple[float, float]:
        off = -thread.pitch if pitch is None else abs(thread.pitch - pitch)
        return abs(thread.major - major), off

    if pitch is None:
        text, why = f"M{major:g}", "ISO 261 has no coarse thread of this diameter from M1.6 to M68"
    else:
        text = f"M{major:g}x{pitch:g}"
        why = "ISO 965-1 gives no tolerance for this pitch and diameter"
    names = " or ".join(each.designation for each in sorted(known(), key=distance)[:3])
    raise UnknownNameError(f"no metric thread {text}: {why}; did you mean {names}?")


def _thread(major: float, pitch: float, series: str) -> Thread:
    return Thread(
        designation=f"M{major:g}x{pitch:g}",
        series=series,
        system="metric",
        major=major,
        pitch=pitch,
        flank_angle=60.0,
        references=_BASIC,
    )


def _covered(major: float, pitch: float) -> bool:
    """Whether the tables have the pair, or the formula serves it as a still finer pitch."""
    kinds = pitch_kinds(major)
    tabled = [p for p, kind in kinds.items() if kind == "table"]
    return 1.0 <= major <= 300.0 and (pitch in tabled or (pitch in kinds and pitch < min(tabled)))


def _class_name(text: str, internal: bool) -> str:
    """Read a class: "6H", "5H6H", "4g6g" (pitch diameter first, then crest)."""
    match = _CLASS.match(text)
    if not match:
        return ""
    pitch, position, crest, other = match.groups()
    fitted = position.upper() if internal else position.lower()
    as_written = position == fitted or len(position) == 2
    crest = crest or pitch
    tabled = pitch in _PITCH_GRADES[internal] and crest in _CREST_GRADES[internal]
    if not (as_written and tabled and fitted in _POSITIONS[internal] and other in (None, position)):
        return ""
    return f"{pitch}{fitted}" + (f"{crest}{fitted}" if crest != pitch else "")


# ---- tolerances

T = TypeVar("T")

#: Hot-dip positions: constant and factor of the pitch, micrometres.
_HOT_DIP = {"AZ": (300, 20), "AX": (-20, 220), "az": (-300, -20)}
_HOT_DIP_PITCHES = (1.5, 6.0)


class Tolerance(NamedTuple):
    """A deviation or tolerance in whole micrometres, and where it stands."""

    micrometres: int
    reference: tables.Reference

    @property
    def millimetres(self) -> Decimal:
        """The same, mm."""
        return Decimal(self.micrometres) / 1000


def _holds(row: tables.Row, diameter: float) -> bool:
    """Whether the range of a row holds a diameter."""
    return float(row["over_mm"]) < diameter <= float(row["up_to_mm"])


@cache
def _grades(
    table: str, side: str, of: str, diameter: float | None = None
) -> Mapping[float, dict[int, Tolerance]]:
    """Tolerances of a table by pitch and grade."""
    found: dict[float, dict[int, Tolerance]] = {}
    for row in tables.rows(table, side=side):
        if diameter is None or _holds(row, diameter):
            reference = tables.reference(row, f"tolerance of the {of} diameter")
            found.setdefault(float(row["pitch_mm"]), {}).update(
                (int(column.split("_")[1]), Tolerance(int(text), reference))
                for column, text in row.items()
                if column.startswith("grade_") and text
            )
    return found


@cache
def pitch_kinds(diameter: float) -> Mapping[float, str]:
    """Return the pitches with a tolerance at a diameter: "table", or "formula" beyond the table.

    Parameters
    ----------
    diameter : float, mm

    Returns
    -------
    mapping of float to str
    """
    return {
        float(row["pitch_mm"]): row["kind"]
        for row in tables.rows("iso_965_pitch_diameter.csv", side="internal")
        if _holds(row, diameter)
    }


def _found(among: Mapping[Any, T], key: float, missing: str, listed: str) -> T:
    if key not in among:
        known = ", ".join(f"{each:g}" for each in sorted(among)) or "none"
        raise ValidityError(f"ISO 965-1 has no {missing}; {listed}: {known}")
    return among[key]


def pitch_tolerance(side: str, grade: int, diameter: float, pitch: float) -> Tolerance:
    """Return the tolerance of the pitch diameter, `TD2` or `Td2`, as ISO 965-1 tables it.

    Parameters
    ----------
    side : "internal" or "external"
    grade : 4 to 8 internal, 3 to 9 external
    diameter, pitch : mm

    Returns
    -------
    Tolerance

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
    rows = _grades("iso_965_pitch_diameter.csv", side, f"{side} pitch", diameter)
    at = f"{side} pitch diameter tolerance for pitch {pitch:g} mm at diameter {diameter:g} mm"
    of = f"{side} pitch diameter at {diameter:g} x {pitch:g} mm"
    return _graded(_found(rows, pitch, at, "pitches there"), grade, of)


def crest_tolerance(side: str, grade: int, pitch: float) -> Tolerance:
    """Return the tolerance of the hole's minor or the screw's major diameter, `TD1` or `Td`.

    Parameters
    ----------
    side : "internal" or "external"
    grade : int
    pitch : float, mm

    Returns
    -------
    Tolerance

    Raises
    ------
    ValidityError
        If the tables have no value for the pitch and the grade.

    Source: ISO 965-1 Tables 3 and 4. Known from: the row's own mark.

    Examples
    --------
    >>> crest_tolerance("external", 6, 1.25).micrometres
    212
    """
    which = "hole minor" if side == "internal" else "screw major"
    member = "internal minor" if side == "internal" else "external major"
    rows = _grades("iso_965_crest.csv", side, member)
    missing = f"{which} diameter tolerance for pitch {pitch:g} mm"
    row = _found(rows, pitch, missing, "pitches")
    return _graded(row, grade, f"{which} diameter at pitch {pitch:g} mm")


def _graded(row: Mapping[int, Tolerance], grade: int, what: str) -> Tolerance:
    return _found(row, grade, f"grade {grade} tolerance of the {what}", "grades")


def deviation(position: str, pitch: float) -> Tolerance:
    """Return the fundamental deviation of a position: `EI` (H G AZ AX) or `es` (h g f e az).

    Parameters
    ----------
    position : str
    pitch : float, mm

    Returns
    -------
    Tolerance

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
        return Tolerance(0, tables.cited("iso_tolerances-deviations-zero")[0])
    if position in _HOT_DIP:
        least, most = _HOT_DIP_PITCHES
        if not least <= pitch <= most:
            raise ValidityError.of(
                "position_for_pitches", position=position, least=least, most=most, pitch=pitch
            )
        constant, factor = _HOT_DIP[position]
        (reference,) = tables.cited(f"iso_tolerances-hot-dip-{position}")
        return Tolerance(round(constant + factor * pitch), reference)
    rows = tables.rows("iso_965_deviations.csv", position=position)
    tabled = {float(row["pitch_mm"]): row for row in rows}
    missing = f"deviation of position {position} for pitch {pitch:g} mm"
    row = _found(tabled, pitch, missing, "pitches")
    what = f"fundamental deviation of position {position}"
    return Tolerance(int(row["deviation_um"]), tables.reference(row, what))


def normal_engagement(thread: Thread) -> tuple[float, float]:
    """Return the bounds of the normal length of engagement (group N), mm: over, up to and with.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    tuple of float, mm

    Raises
    ------
    ValidityError
        If ISO 965-1 tables no lengths for the thread.

    Source: ISO 965-1 Table 2. Known from: memory, five rows read in a list of ISO 965-4 limits.

    Examples
    --------
    >>> from thread_repair.threads import thread
    >>> normal_engagement(thread("M10"))
    (5.0, 15.0)
    """
    for row in tables.rows("iso_965_engagement.csv"):
        if _holds(row, thread.major) and float(row["pitch_mm"]) == thread.pitch:
            return float(row["normal_over_mm"]), float(row["normal_up_to_mm"])
    raise ValidityError(f"ISO 965-1 has no length of engagement groups for {thread.designation}")


def _tolerances(thread: Thread, name: str, internal: bool, at_diameter: float | None) -> Tolerances:
    """Source: ISO 965-1; formulas as in Machinery's Handbook, 27th ed., p. 1794: read."""
    side = "internal" if internal else "external"
    diameter = thread.major if at_diameter is None else at_diameter
    _, grade, position, *crest_too = re.split(r"(\d)", name)
    shift = deviation(position, thread.pitch)
    pitch = pitch_tolerance(side, int(grade), diameter, thread.pitch)
    crest = crest_tolerance(side, int(crest_too[0] if crest_too else grade), thread.pitch)
    return Tolerances(
        pitch=pitch.millimetres,
        crest=crest.millimetres,
        allowance=abs(shift.millimetres),
        references=(shift.reference, pitch.reference, crest.reference),
    )


def _root(
    size: BasicSize, pitch_max: Decimal, pitch_min: Decimal, tolerances: Tolerances
) -> tuple[Decimal, Decimal]:
    """The flat-root diameter, which the GO gauge checks; that of the least root radius, P/8."""
    return (
        rounded(pitch_max - FLAT_ROOT_DEPTH * size.pitch, 3),
        rounded(pitch_min - ROUND_ROOT_DEPTH * size.pitch, 3),
    )


#: Beside the classes in common use `_class_name` takes every grade and position that ISO 965-1
#: tables.
SYSTEM = System.of(
    "metric",
    references=tables.cited("iso-profile"),
    size=lambda thread: BasicSize(Decimal(repr(thread.major)), Decimal(repr(thread.pitch))),
    class_name=_class_name,
    tolerances=_tolerances,
    root=_root,
    minor_places=lambda major, name: (3, 3),
)
