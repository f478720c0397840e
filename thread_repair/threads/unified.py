"""Unified inch threads: their series, and the tolerances and limits of ASME B1.1.

Limits are computed in inches with the standard's rounding and converted to mm exactly. The
formulas are recalled; they reproduce the limits read in Table 2 of the standard but for the last
digit of some sizes, which `data/printed/asme_b1_1.csv` lists.
"""

import math
from decimal import Decimal
from functools import cache

from .. import files
from ..errors import UnknownNameError
from ..tables import cited, rows
from .inch import Listed, fraction, fraction_text, inch_size, listed, millimetres
from .profile import BasicSize, System, Thread, Tolerances, below, rounded

SERIES = ("UNC", "UNF", "UNEF", "UN", "UNS")

_BASIC = cited("unified_series-basic")[0]


@cache
def _listed() -> tuple[Listed, ...]:
    return listed(
        "unified_series.csv",
        lambda row: _thread(
            row["size"], Decimal(row["major_in"]), row["threads_per_inch"], row["series"]
        ),
    )


def known() -> tuple[Thread, ...]:
    """Return the named series from No. 0 to 6 in, and the usual special threads (UNS).

    Returns
    -------
    tuple of Thread
    """
    return tuple(each.thread for each in _listed())


def _thread(size: str, major: Decimal, threads_per_inch: str, series: str) -> Thread:
    return Thread(
        designation=f"{size}-{threads_per_inch} {series}",
        series=series,
        system="unified",
        major=millimetres(major),
        pitch=25.4 / float(threads_per_inch),
        flank_angle=60.0,
        references=(_BASIC,),
    )


def find(
    size: str,
    threads_per_inch: Decimal | None,
    series: str | None,
    *,
    numbered: bool = False,
    inches: bool = False,
) -> Thread:
    """Return the Unified thread of a size, a number of threads per inch and a series.

    Parameters
    ----------
    size : "10", "1/4", "1 1/4", ".250"
    threads_per_inch, series : either may be None where the other makes the thread unique
    numbered, inches : whether the size was marked as a number (#10) or as inches (1")

    Returns
    -------
    Thread

    Raises
    ------
    UnknownNameError
        Naming the nearest threads.

    Examples
    --------
    >>> find(".250", Decimal(28), None).designation
    '1/4-28 UNF'
    """
    majors = _majors(size, numbered=numbered, inches=inches)
    # Only the first three have one pitch a size.
    found = [
        each.thread
        for each in _listed()
        if each.major in majors
        and series in (None, each.thread.series)
        and (
            each.threads_per_inch == threads_per_inch if threads_per_inch else series in SERIES[:3]
        )
    ]
    if len(found) == 1:
        return found[0]
    written = f"{size}{f'-{threads_per_inch}' if threads_per_inch else ''} {series or ''}".strip()
    if not found and series == "UNS" and threads_per_inch:
        special = _special(majors, threads_per_inch)
        if special:
            return special

    def distance(each: Listed) -> tuple[Decimal, int, Decimal, int]:
        apart = min((abs(each.major - wanted) for wanted in majors), default=Decimal(0))
        count = threads_per_inch or each.threads_per_inch
        fits = (each.thread.series == series) + (each.threads_per_inch == threads_per_inch)
        off = abs(each.threads_per_inch - count)
        return apart, -fits, off, SERIES.index(each.thread.series)

    offered = found or [each.thread for each in sorted(_listed(), key=distance)]
    names = " or ".join(thread.designation for thread in offered[:3])
    fault = "means more than one" if found else "is no"
    raise UnknownNameError(f"{written!r} {fault} Unified thread; did you mean {names}?")


def _majors(size: str, *, numbered: bool, inches: bool) -> tuple[Decimal, ...]:
    as_written = size.replace("-", " ")  # "1" is No. 1 and 1 in
    named = tuple(dict.fromkeys(each.major for each in _listed() if each.size == as_written))
    if "." not in size and named:
        if numbered:
            return tuple(major for major in named if major < Decimal("0.25"))
        return tuple(major for major in named if major >= Decimal("0.25") or not inches)
    if numbered:
        return ()
    value = fraction(size)
    # Decimal inches are written to three or four places: .312 is 5/16 (0.3125).
    slack = Decimal("0.0005") if "." in size else Decimal(0)
    close = {each.major for each in _listed() if abs(each.major - value) <= slack}
    return (value,) if value in close or not close else tuple(sorted(close))


def _special(majors: tuple[Decimal, ...], threads_per_inch: Decimal) -> Thread | None:
    """Return a special thread (UNS) where the standard's formulas reach."""
    told = files.data("thread_systems.toml")["unified_special"]
    least, most = map(Decimal, told["major"])
    for major in majors:
        if (
            least <= major <= most
            and threads_per_inch in map(Decimal, told["threads_per_inch"])
            and 1 / threads_per_inch <= Decimal(told["coarsest"]) * major
            and (major, threads_per_inch) not in {each[1:3] for each in _listed()}
        ):
            numbers = (each.size for each in _listed() if each.major == major < Decimal("0.25"))
            size = next(numbers, "") or fraction_text(major)
            return _thread(size, major, f"{threads_per_inch.normalize():f}", "UNS")
    return None


# ---- tolerances

#: Diameter below the major diameter as a multiple of the pitch (11H/8) of the rounded root (UNR).
ROUNDED_MINOR_DEPTH = Decimal("1.19078493")
#: Pitch diameter of the screw to the lowest point of a root of the least radius R = H/8, over the
#: pitch: H - 2 R, on diameter.
ROOT_DEPTH = Decimal("0.64951905") / Decimal("0.75") - 2 * Decimal("0.10825318")
#: Depth of the stress area of strong screws below half the least pitch diameter, 3H/16.
HIGH_STRENGTH_DEPTH = 0.16238

#: Pitch diameter tolerance of a class over that of class 2A.
_CLASS_FACTORS = {"1A": 1.5, "2A": 1.0, "3A": 0.75, "1B": 1.95, "2B": 1.3, "3B": 0.975}


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


def _tolerances(thread: Thread, name: str, internal: bool, at_diameter: float | None) -> Tolerances:
    """T(2A) = 0.0015 D^(1/3) + 0.0015 LE^(1/2) + 0.015 P^(2/3); of the major diameter 0.06 P^(2/3).

    Source: ASME B1.1. Known from: memory, agrees with the limits read. The length of engagement of
    an enlarged hole stays that of the thread.
    """
    size = inch_size(thread)
    pitch = float(size.pitch)
    diameter = float(size.major) if at_diameter is None else at_diameter / 25.4
    length = engagement_length(thread) / 25.4
    of_2a = (
        0.0015 * math.cbrt(diameter) + 0.0015 * math.sqrt(length) + 0.015 * math.pow(pitch, 2 / 3)
    )
    of_pitch = rounded(_CLASS_FACTORS[name] * of_2a, 6)
    if internal:
        minor = _minor_tolerance(pitch, diameter, name)
        both = cited("unified-tolerance", "unified-minor-tolerance")
        return Tolerances(of_pitch, minor, Decimal(0), both)
    major = rounded((0.09 if name == "1A" else 0.06) * pitch ** (2 / 3), 4)
    allowance = Decimal(0) if name == "3A" else _allowance(size, of_2a)
    return Tolerances(of_pitch, major, allowance, cited("unified-tolerance"))


def _minor_tolerance(p: float, d: float, hole_class: str) -> Decimal:
    """Tolerance of the minor diameter of the hole, four places.

    Source: ASME B1.1. 1B and 2B from 1/4 in: 0.25 P - 0.4 P^2 (read in the worked calculation of
    Machinery's Handbook, 31st ed.); no pitch is coarser than 4 threads per inch. Below 1/4 in
    0.05 P^(2/3) + 0.03 P/D - 0.002, not below that. 3B: the same expression, not below
    0.23 P - 1.5 P^2 (13 threads per inch and finer) or 0.12 P. None above 0.394 P.
    """
    small = 0.05 * p ** (2 / 3) + 0.03 * p / d - 0.002
    if hole_class == "3B":
        least = 0.23 * p - 1.5 * p**2 if round(1 / p, 4) >= 13 else 0.12 * p
    else:
        least = 0.25 * p - 0.4 * p**2
        if d >= 0.25:
            return rounded(least, 4)
    return rounded(min(max(small, least), 0.394 * p), 4)


def _allowance(size: BasicSize, tolerance_2a: float) -> Decimal:
    """Allowance of classes 1A and 2A: 0.3 of the 2A tolerance, or what the tables print instead."""
    for row in rows("unified_allowances.csv"):
        same = Decimal(row["diameter"]) == size.major
        if same and rounded(1 / Decimal(row["threads_per_inch"]), 8) == size.pitch:
            return Decimal(row["allowance"])
    return rounded(0.3 * tolerance_2a, 4)


def _root(
    size: BasicSize, pitch_max: Decimal, pitch_min: Decimal, tolerances: Tolerances
) -> tuple[Decimal, Decimal]:
    """The rounded root (UNR), which the tables print; that of the least root radius."""
    return (below(size, ROUNDED_MINOR_DEPTH, 4), rounded(pitch_min - ROOT_DEPTH * size.pitch, 4))


def _minor_places(major: Decimal, name: str) -> tuple[int, int]:
    """From No. 6 up the tables print all but the greatest minor diameter of 3B to three places."""
    large = major >= Decimal("0.138")
    return 3 if large else 4, 3 if large and name != "3B" else 4


def _class_name(text: str, internal: bool) -> str:
    return text.upper() if text.upper() in SYSTEM.classes(internal) else ""


SYSTEM = System.of(
    "unified",
    size=inch_size,
    class_name=_class_name,
    tolerances=_tolerances,
    root=_root,
    minor_places=_minor_places,
)
