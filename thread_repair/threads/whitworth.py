"""British Standard Whitworth and Fine threads: the series and the tolerances of BS 84.

No table of BS 84 limits could be read, so every tolerance here is from memory and so marked, as are
the threads per inch of each size; the form, and what follows from it for a pitch, was read. Limits
are computed in inches by formula at every size, each tolerance rounded to 0.0001 in, and converted
to mm exactly.
"""

import math
from decimal import Decimal
from functools import cache

from .. import tables
from ..errors import UnknownNameError
from .inch import Listed, fraction, inch_size, listed, millimetres
from .profile import BasicSize, System, Thread, Tolerances, below, rounded

#: Root radius over the pitch (55 degree form).
ROOT_RADIUS = Decimal("0.137329")

SERIES = ("BSW", "BSF")

#: Effective diameter tolerance of a class over that of the medium class.
_CLASS_FACTORS = {"close": 2 / 3, "medium": 1.0, "free": 1.5, "normal": 1.5}
_ALLOWANCE_UP_TO = Decimal("0.75")

_BASIC = tables.cited("whitworth-basic")[0]


def _thread(row: tables.Row) -> Thread:
    return Thread(
        designation=f"{row['size']} {row['series']}",
        series=row["series"],
        system="whitworth",
        major=millimetres(Decimal(row["major_in"])),
        pitch=25.4 / float(row["threads_per_inch"]),
        flank_angle=55.0,
        references=(_BASIC, tables.reference(row, "threads per inch of a Whitworth size")),
    )


@cache
def _listed() -> tuple[Listed, ...]:
    return listed("whitworth_series.csv", _thread)


def known() -> tuple[Thread, ...]:
    """Return the BSW threads from 1/8 to 6 in, then the BSF threads from 3/16 to 4 1/4 in.

    Returns
    -------
    tuple of Thread
    """
    return tuple(each.thread for each in _listed())


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
    for each in _listed():
        same = (each.thread.series, each.major) == (series, major)
        if same and threads_per_inch in (None, each.threads_per_inch):
            return each.thread

    def distance(each: Listed) -> tuple[Decimal, Decimal, bool]:
        pitch_off = abs(each.threads_per_inch - (threads_per_inch or each.threads_per_inch))
        return abs(each.major - major), pitch_off, each.thread.series != series

    names = " or ".join(
        f"{each.thread.designation} ({each.threads_per_inch} threads per inch)"
        for each in sorted(_listed(), key=distance)[:2]
    )
    written = f"{size}{f'-{threads_per_inch}' if threads_per_inch else ''} {series}"
    raise UnknownNameError(f"{written!r} is no Whitworth thread; did you mean {names}?")


def _class_name(text: str, internal: bool) -> str:
    name, classes = text.lower(), SYSTEM.classes(internal)
    # The hole class that goes with a free screw has its own name.
    if name in ("free", "normal"):
        return classes[2]
    return name if name in classes else ""


def _tolerances(thread: Thread, name: str, internal: bool, at_diameter: float | None) -> Tolerances:
    """T = 0.002 D^(1/3) + 0.003 L^(1/2) + 0.005 p^(1/2) for the medium class.

    2T/3 close, 3T/2 free and normal; of the screw's major diameter T + 0.01 p^(1/2), of its minor
    diameter T + 0.02 or, close, 0.013 p^(1/2). Medium and free screws up to 3/4 in lie 0.3 T below
    the basic sizes.

    Source: BS 84; L is taken as D. Known from: memory.
    """
    size = inch_size(thread)
    root_pitch = math.sqrt(size.pitch)
    diameter = float(size.major) if at_diameter is None else at_diameter / 25.4
    # The standard's tables assume some length; the diameter is the usual one for such threads.
    of_length = math.sqrt(float(size.major))
    medium = 0.002 * math.cbrt(diameter) + 0.003 * of_length + 0.005 * root_pitch
    of_class = _CLASS_FACTORS[name] * medium
    references = tables.cited("whitworth-tolerance")
    if internal:
        return Tolerances(rounded(of_class, 4), _minor_tolerance(size), Decimal(0), references)
    has_allowance = name != "close" and size.major <= _ALLOWANCE_UP_TO
    return Tolerances(
        pitch=rounded(of_class, 4),
        crest=rounded(of_class + 0.01 * root_pitch, 4),
        allowance=rounded(0.3 * medium, 4) if has_allowance else Decimal(0),
        references=references,
        root=rounded(of_class + (0.013 if name == "close" else 0.02) * root_pitch, 4),
    )


def _minor_tolerance(size: BasicSize) -> Decimal:
    """Tolerance of the minor diameter of the hole, the same for every class.

    Source: BS 84, 0.2 p + 0.004 in (26 threads per inch and finer), + 0.005 (24 and 22), + 0.007
    (20 and coarser). Known from: memory.
    """
    count = round(1 / size.pitch, 4)
    extra = "0.004" if count >= 26 else "0.005" if count >= 22 else "0.007"
    return rounded(Decimal("0.2") * size.pitch + Decimal(extra), 4)


def _root(
    size: BasicSize, pitch_max: Decimal, pitch_min: Decimal, tolerances: Tolerances
) -> tuple[Decimal, Decimal]:
    minor = below(size, SYSTEM.minor_depth, 4)
    return minor, minor - tolerances.root


SYSTEM = System.of(
    "whitworth",
    size=inch_size,
    class_name=_class_name,
    tolerances=_tolerances,
    root=_root,
    minor_places=lambda major, name: (4, 4),
)
