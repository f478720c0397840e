"""The series of Unified threads: which sizes and pitches there are, and how they are found."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from functools import cache
from types import MappingProxyType

from .. import tables
from ..errors import UnknownNameError
from ..tables import cited
from .inch import fraction, fraction_text, millimetres
from .profile import Thread

SERIES = ("UNC", "UNF", "UNEF", "UN", "UNS")

#: Threads per inch that special threads (UNS) may have.
_THREADS_PER_INCH = tuple(
    Decimal(count)
    for count in (
        80, 72, 64, 56, 48, 44, 40, 36, 32, 28, 27, 24, 20, 18, 16, 14, 13, 12, 11, 10, 9, 8, 7, 6,
        5, "4.5", 4,
    )
)  # fmt: skip
_LEAST_MAJOR, _GREATEST_MAJOR = Decimal("0.06"), Decimal(6)
#: Coarsest pitch over diameter of a special thread; the coarsest standard one (6-32) has 0.23.
_COARSEST = Decimal("0.25")

_BASIC = cited("unified_series-basic")[0]


@cache
def known() -> tuple[Thread, ...]:
    """Return the named series from No. 0 to 6 in, and the usual special threads (UNS).

    Returns
    -------
    tuple of Thread
    """
    return tuple(
        _thread(row["size"], Decimal(row["major_in"]), row["threads_per_inch"], row["series"])
        for row in tables.rows("unified_series.csv")
    )


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


@cache
def _by_size() -> Mapping[tuple[Decimal, Decimal], Thread]:
    return MappingProxyType(
        {
            (Decimal(row["major_in"]), Decimal(row["threads_per_inch"])): thread
            for row, thread in zip(tables.rows("unified_series.csv"), known(), strict=True)
        }
    )


@cache
def _named_sizes() -> Mapping[str, tuple[Decimal, ...]]:
    """By size as written, the diameters it may mean: "1" is No. 1 and 1 in."""
    found: dict[str, dict[Decimal, None]] = {}
    for row in tables.rows("unified_series.csv"):
        found.setdefault(row["size"], {})[Decimal(row["major_in"])] = None
    return MappingProxyType({size: tuple(majors) for size, majors in found.items()})


@cache
def _sizes() -> frozenset[Decimal]:
    return frozenset(major for major, _ in _by_size())


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
    if threads_per_inch:
        there = (_by_size().get((major, threads_per_inch)) for major in majors)
        found = [thread for thread in there if thread and series in (None, thread.series)]
    else:
        # Only these three have one pitch a size.
        found = [
            thread
            for (major, _), thread in _by_size().items()
            if major in majors and series == thread.series and series in SERIES[:3]
        ]
    if len(found) == 1:
        return found[0]
    written = f"{size}{f'-{threads_per_inch}' if threads_per_inch else ''} {series or ''}".strip()
    if not found and series == "UNS" and threads_per_inch:
        special = _special(majors, threads_per_inch)
        if special:
            return special
    raise _no_thread(written, majors, threads_per_inch, series, found)


def _majors(size: str, *, numbered: bool, inches: bool) -> tuple[Decimal, ...]:
    named = _named_sizes().get(size.replace("-", " "), ())
    if "." not in size and named:
        if numbered:
            return tuple(major for major in named if major < Decimal("0.25"))
        return tuple(major for major in named if major >= Decimal("0.25") or not inches)
    if numbered:
        return ()
    value = fraction(size)
    # Decimal inches are written to three or four places: .312 is 5/16 (0.3125).
    slack = Decimal("0.0005") if "." in size else Decimal(0)
    close = {major for major in _sizes() if abs(major - value) <= slack}
    exact = value in close
    return (value,) if exact or not close else tuple(sorted(close))


def _special(majors: tuple[Decimal, ...], threads_per_inch: Decimal) -> Thread | None:
    """Return a special thread (UNS) where the standard's formulas reach."""
    for major in majors:
        if (
            _LEAST_MAJOR <= major <= _GREATEST_MAJOR
            and threads_per_inch in _THREADS_PER_INCH
            and 1 / threads_per_inch <= _COARSEST * major
            and (major, threads_per_inch) not in _by_size()
        ):
            number = [
                size
                for size, named in _named_sizes().items()
                if major in named and major < Decimal("0.25")
            ]
            size = number[0] if number else fraction_text(major)
            return _thread(size, major, f"{threads_per_inch.normalize():f}", "UNS")
    return None


def _no_thread(
    written: str,
    majors: tuple[Decimal, ...],
    threads_per_inch: Decimal | None,
    series: str | None,
    found: list[Thread],
) -> UnknownNameError:
    def distance(item: tuple[tuple[Decimal, Decimal], Thread]) -> tuple[float, ...]:
        (major, count), thread = item
        apart = min((abs(major - wanted) for wanted in majors), default=Decimal(0))
        pitch_off = abs(count - threads_per_inch) if threads_per_inch else Decimal(0)
        fits = (thread.series == series) + (count == threads_per_inch)
        return float(apart), -fits, float(pitch_off), SERIES.index(thread.series)

    offered = found or [thread for _, thread in sorted(_by_size().items(), key=distance)[:3]]
    names = " or ".join(thread.designation for thread in offered[:3])
    fault = "means more than one" if found else "is no"
    return UnknownNameError(f"{written!r} {fault} Unified thread; did you mean {names}?")
