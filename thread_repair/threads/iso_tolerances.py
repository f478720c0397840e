"""The tolerances of ISO 965-1: pitch and crest diameters, deviations, lengths of engagement.

The tables are data. A cell seen in print is marked `read`. The others were computed by the
standard's formulas, which are recalled: grade 6 of the pitch diameter of the screw
90 P^0.4 d^0.1 with d the geometric mean of the range, of the hole 1.32 times it, of the screw's
major diameter 180 P^(2/3) - 3.15 P^(-1/2), of the hole's minor diameter 433 P - 190 P^1.22 up to
0.8 mm and 230 P^0.7 above (micrometres), then the grade factors, each step rounded to the R40
preferred numbers. They agree with every cell seen but some that the standard moved for smooth
progression, and these are recalled or inferred from printed limits.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from functools import cache
from typing import Any, NamedTuple, TypeVar

from .. import tables
from ..errors import ValidityError
from ..tables import Reference, cited
from .profile import Thread

T = TypeVar("T")

#: Hot-dip positions: constant and factor of the pitch, micrometres.
_HOT_DIP = {"AZ": (300, 20), "AX": (-20, 220), "az": (-300, -20)}
_HOT_DIP_PITCHES = (1.5, 6.0)


class Tolerance(NamedTuple):
    """A deviation or tolerance in whole micrometres, and where it stands."""

    micrometres: int
    reference: Reference

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
    for row in tables.rows(table):
        if row["side"] == side and (diameter is None or _holds(row, diameter)):
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
        for row in tables.rows("iso_965_pitch_diameter.csv")
        if row["side"] == "internal" and _holds(row, diameter)
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
        return Tolerance(0, cited("iso_tolerances-deviations-zero")[0])
    if position in _HOT_DIP:
        least, most = _HOT_DIP_PITCHES
        if not least <= pitch <= most:
            raise ValidityError(
                f"position {position} is for pitches from {least:g} to {most:g} mm (M10 to M64), "
                f"got {pitch:g} mm"
            )
        constant, factor = _HOT_DIP[position]
        (reference,) = cited(f"iso_tolerances-hot-dip-{position}")
        return Tolerance(round(constant + factor * pitch), reference)
    rows = tables.rows("iso_965_deviations.csv")
    tabled = {float(row["pitch_mm"]): row for row in rows if row["position"] == position}
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
