"""Inch sizes: read as fractions, rounded as the standards do, converted to mm without rounding."""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import NamedTuple

from ..errors import InputError
from .profile import Thread

MM_PER_INCH = Decimal("25.4")


class InchSize(NamedTuple):
    """Basic major diameter to four places and pitch to eight, inches, as limits start from them."""

    major: Decimal
    pitch: Decimal
    threads_per_inch: Decimal


def rounded(value: Decimal | float, places: int) -> Decimal:
    """Round half to even, as ASME B1.30 rounds.

    Parameters
    ----------
    value : Decimal | float
    places : int

    Returns
    -------
    Decimal
    """
    return Decimal(value).quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_EVEN)


def millimetres(inches: Decimal) -> float:
    """Convert exactly; a limit printed in inches is not rounded a second time.

    Parameters
    ----------
    inches : Decimal

    Returns
    -------
    float, mm
    """
    return float(inches * MM_PER_INCH)


def printed(size: float) -> float:
    """Round a size to the ten-thousandth of an inch, mm.

    Parameters
    ----------
    size : float, mm

    Returns
    -------
    float, mm
    """
    return round(round(size / 25.4, 4) * 25.4, 6)


def inch_size(thread: Thread) -> InchSize:
    """Return the sizes of an inch thread in inches.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    InchSize

    Examples
    --------
    >>> from thread_repair.threads import thread
    >>> inch_size(thread("5/16-18 UNC")).pitch
    Decimal('0.05555556')
    """
    # Six places undo the noise of the conversion; a sixty-fourth then rounds up from its half.
    major = Decimal(repr(round(thread.major / 25.4, 6)))
    count = Decimal(repr(round(25.4 / thread.pitch, 4)))
    return InchSize(
        major.quantize(Decimal("0.0001"), rounding=ROUND_HALF_UP), rounded(1 / count, 8), count
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
