"""Inch sizes: read as fractions, rounded as the standards do, converted to mm without rounding."""

from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import NamedTuple

from .. import tables
from ..errors import InputError
from .profile import BasicSize, Thread, rounded

MM_PER_INCH = Decimal("25.4")


class Listed(NamedTuple):
    """A thread of a table of series: its size as written, its major diameter in inches."""

    size: str
    major: Decimal
    threads_per_inch: Decimal
    thread: Thread


def listed(table: str, make: Callable[[tables.Row], Thread]) -> tuple[Listed, ...]:
    """Return the threads of a table of series.

    Parameters
    ----------
    table : str
    make : callable
        The thread of a row.

    Returns
    -------
    tuple of Listed
    """
    return tuple(
        Listed(row["size"], Decimal(row["major_in"]), Decimal(row["threads_per_inch"]), make(row))
        for row in tables.rows(table)
    )


def millimetres(inches: Decimal) -> float:
    """Convert exactly.

    Parameters
    ----------
    inches : Decimal

    Returns
    -------
    float, mm
    """
    return float(inches * MM_PER_INCH)


def inch_size(thread: Thread) -> BasicSize:
    """Return the sizes of an inch thread in inches: the pitch to eight places.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    BasicSize

    Examples
    --------
    >>> from thread_repair.threads import thread
    >>> inch_size(thread("5/16-18 UNC")).pitch
    Decimal('0.05555556')
    """
    # Six places undo the noise of the conversion; a sixty-fourth then rounds up from its half.
    major = Decimal(repr(round(thread.major / 25.4, 6)))
    count = Decimal(repr(round(25.4 / thread.pitch, 4)))
    return BasicSize(
        major.quantize(Decimal("0.0001"), rounding=ROUND_HALF_UP), rounded(1 / count, 8)
    )


def fraction(text: str) -> Decimal:
    """Read "1 1/4", "1-1/4", "1/4", "1" or ".250" as inches.

    Parameters
    ----------
    text : str

    Returns
    -------
    Decimal

    Raises
    ------
    InputError
        If the denominator is zero.

    Examples
    --------
    >>> fraction("1-1/4")
    Decimal('1.25')
    """
    try:
        value = sum((Fraction(part) for part in text.replace("-", " ").split()), Fraction(0))
    except ZeroDivisionError:
        raise InputError(f"{text!r} is no size: the denominator is zero") from None
    return Decimal(value.numerator) / Decimal(value.denominator)


def fraction_text(inches: Decimal) -> str:
    """Write a size as the trade does: "1 1/4" for sixty-fourths, else decimal inches.

    Parameters
    ----------
    inches : Decimal

    Returns
    -------
    str

    Examples
    --------
    >>> fraction_text(Decimal("1.25")), fraction_text(Decimal("0.235"))
    ('1 1/4', '0.235')
    """
    sixty_fourths = inches * 64
    if sixty_fourths != sixty_fourths.to_integral_value():
        return f"{inches.normalize():f}"
    whole, part = divmod(Fraction(int(sixty_fourths), 64), 1)
    return " ".join(str(item) for item in (whole, part) if item)
