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

from collections.abc import Iterable, Mapping
from functools import cache
from types import MappingProxyType
from typing import NamedTuple

from .. import tables
from ..errors import ValidityError
from ..sources import Reference
from ..tables import cited
from .profile import Thread

_DEVIATIONS_ZERO = cited("iso_tolerances-deviations-zero")[0]
#: Hot-dip positions: constant and factor of the pitch, micrometres.
_HOT_DIP = {"AZ": (300, 20), "AX": (-20, 220), "az": (-300, -20)}
_HOT_DIP_PITCHES = (1.5, 6.0)
_HOT_DIP_REFERENCES = {
    "AZ": cited("iso_tolerances-hot-dip-AZ")[0],
    "AX": cited("iso_tolerances-hot-dip-AX")[0],
    "az": cited("iso_tolerances-hot-dip-az")[0],
}  # fmt: skip


class Tolerance(NamedTuple):
    """A deviation or tolerance in whole micrometres, and where it stands."""

    micrometres: int
    reference: Reference


class _Cell(NamedTuple):
    kind: str
    grades: dict[int, Tolerance]


class _Range(NamedTuple):
    over: float
    up_to: float
    cells: Mapping[float, _Cell]


@cache
def _pitch_table() -> Mapping[str, tuple[_Range, ...]]:
    found: dict[str, dict[tuple[float, float], dict[float, _Cell]]] = {}
    for row in tables.rows("iso_965_pitch_diameter.csv"):
        limits = (float(row["over_mm"]), float(row["up_to_mm"]))
        cells = found.setdefault(row["side"], {}).setdefault(limits, {})
        cell = cells.setdefault(float(row["pitch_mm"]), _Cell(row["kind"], {}))
        what = f"tolerance of the {row['side']} pitch diameter"
        _fill(cell.grades, row, range(3, 10), what)
    return MappingProxyType(
        {side: tuple(_Range(*limits, cells) for limits, cells in ranges.items())
         for side, ranges in found.items()}
    )  # fmt: skip


def _fill(grades: dict[int, Tolerance], row: tables.Row, wanted: Iterable[int], what: str) -> None:
    reference = tables.reference(row, what)
    for grade in wanted:
        text = row[f"grade_{grade}_um"]
        if text:
            grades[grade] = Tolerance(int(text), reference)


def _cells(side: str, diameter: float) -> Mapping[float, _Cell]:
    for over, up_to, cells in _pitch_table()[side]:
        if over < diameter <= up_to:
            return cells
    return {}


def pitch_kinds(diameter: float) -> Mapping[float, str]:
    """Return the pitches with a tolerance at a diameter: "table", or "formula" beyond the table.

    Parameters
    ----------
    diameter : float, mm

    Returns
    -------
    mapping of float to str
    """
    return {pitch: cell.kind for pitch, cell in _cells("internal", diameter).items()}


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
    row = _cells(side, diameter)
    if pitch not in row:
        raise ValidityError(
            f"ISO 965-1 has no {side} pitch diameter tolerance for pitch {pitch:g} mm at diameter "
            f"{diameter:g} mm; pitches there: {_list(row)}"
        )
    return _graded(
        row[pitch].grades, grade, f"{side} pitch diameter at {diameter:g} x {pitch:g} mm"
    )


def minor_tolerance(grade: int, pitch: float) -> Tolerance:
    """Return the tolerance of the minor diameter of the hole, `TD1` (ISO 965-1 Table 3).

    Parameters
    ----------
    grade : int
    pitch : float, mm

    Returns
    -------
    Tolerance
    """
    return _crest("internal", grade, pitch)


def major_tolerance(grade: int, pitch: float) -> Tolerance:
    """Return the tolerance of the major diameter of the screw, `Td` (ISO 965-1 Table 4).

    Parameters
    ----------
    grade : int
    pitch : float, mm

    Returns
    -------
    Tolerance
    """
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
    for over, up_to, least, most in _engagement_table().get(thread.pitch, ()):
        if over < thread.major <= up_to:
            return least, most
    raise ValidityError(f"ISO 965-1 has no length of engagement groups for {thread.designation}")
