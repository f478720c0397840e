"""The series of Unified threads: which sizes and pitches there are, and how they are found."""

from __future__ import annotations

from decimal import Decimal
from functools import cache

from ..errors import UnknownNameError
from ..tables import cited
from .inch import Listed, fraction, fraction_text, listed, millimetres
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
    exact = value in close
    return (value,) if exact or not close else tuple(sorted(close))


def _special(majors: tuple[Decimal, ...], threads_per_inch: Decimal) -> Thread | None:
    """Return a special thread (UNS) where the standard's formulas reach."""
    for major in majors:
        if (
            _LEAST_MAJOR <= major <= _GREATEST_MAJOR
            and threads_per_inch in _THREADS_PER_INCH
            and 1 / threads_per_inch <= _COARSEST * major
            and (major, threads_per_inch) not in {each[1:3] for each in _listed()}
        ):
            numbers = (each.size for each in _listed() if each.major == major < Decimal("0.25"))
            size = next(numbers, "") or fraction_text(major)
            return _thread(size, major, f"{threads_per_inch.normalize():f}", "UNS")
    return None
