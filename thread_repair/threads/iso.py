"""ISO metric threads: the series of ISO 261 and the tolerances of ISO 965-1.

The standard rounds the basic sizes to 0.001 mm first and then adds deviations and tolerances, which
are whole micrometres.
"""

from __future__ import annotations

import re
from decimal import Decimal
from functools import cache

from .. import tables
from ..errors import UnknownNameError
from ..tables import cited
from . import iso_tolerances
from .profile import BasicSize, Classes, System, Thread, Tolerances, rounded

#: Flat-root minor diameter and rounded-root minor diameter below the pitch diameter of the screw:
#: ISO 68-1, ISO 724.
FLAT_ROOT_DEPTH = Decimal("0.433013")
ROUND_ROOT_DEPTH = Decimal("0.616025")

#: A designation states diameter and pitch; the profile makes the other basic sizes of them.
_BASIC = cited("iso-basic")
_COARSE = "ISO metric coarse"
#: In common use; `_class_name` takes every other grade and position that ISO 965-1 tables.
_HOLE_CLASSES = (
    "4H", "5H", "6H", "7H", "8H", "4H5H", "5H6H", "5G", "6G", "7G", "6AZ", "6AX",
)  # fmt: skip
_SCREW_CLASSES = (
    "3h4h", "4h", "5h4h", "5h6h", "6h", "7h6h", "4g6g", "5g6g", "6g", "7g6g", "8g", "9g8g",
    "6f", "6e", "6az",
)  # fmt: skip
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
    kinds = iso_tolerances.pitch_kinds(major)
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


def _tolerances(thread: Thread, name: str, internal: bool, at_diameter: float | None) -> Tolerances:
    """Source: ISO 965-1; formulas as in Machinery's Handbook, 27th ed., p. 1794: read."""
    side = "internal" if internal else "external"
    diameter = thread.major if at_diameter is None else at_diameter
    _, grade, position, *crest_too = re.split(r"(\d)", name)
    shift = iso_tolerances.deviation(position, thread.pitch)
    pitch = iso_tolerances.pitch_tolerance(side, int(grade), diameter, thread.pitch)
    crest = iso_tolerances.crest_tolerance(
        side, int(crest_too[0] if crest_too else grade), thread.pitch
    )
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


#: The depth of the stress area is 13H/12.
SYSTEM = System(
    label="metric",
    unit=Decimal(1),
    places=3,
    pitch_depth=Decimal("0.649519"),
    minor_depth=Decimal("1.082532"),
    hole_classes=_HOLE_CLASSES,
    screw_classes=_SCREW_CLASSES,
    default_classes=Classes("6H", "6g"),
    stress_area_method="iso_898_1",
    stress_depth=0.938194,
    stress_area_reference=cited("iso-stress-area")[0],
    references=cited("iso-profile"),
    size=lambda thread: BasicSize(Decimal(repr(thread.major)), Decimal(repr(thread.pitch))),
    class_name=_class_name,
    tolerances=_tolerances,
    root=_root,
    minor_places=lambda major, name: (3, 3),
)
