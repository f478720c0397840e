"""Loads and lengths of a test record, as text with a unit, to N and mm.

The one place of this package that knows other units.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache

from ..errors import InputError, unknown

#: N in one unit of force; the pound-force is exact: 0.45359237 kg times 9.80665 m/s2.
FORCE_UNITS = {"N": 1.0, "kN": 1e3, "lbf": 4.4482216152605}
#: mm in one unit of length; the inch is exact. "D" is the nominal diameter of the size.
LENGTH_UNITS = {"mm": 1.0, "in": 25.4}
DIAMETERS = "D"

_QUANTITY = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([A-Za-z]*)")
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+\s*[A-Za-z]*")


def force(text: str, *, unit: str = "") -> float:
    """Load in N from "25.3 kN".

    Parameters
    ----------
    text : number and unit
    unit : stands for the unit where the text has none, from the column's header

    Raises
    ------
    InputError, UnknownNameError
        Saying what is wrong with the text.

    Examples
    --------
    >>> force("25.3 kN"), round(force("5000 lbf"), 3)
    (25300.0, 22241.108)
    """
    number, given = _split(text, unit, FORCE_UNITS)
    if given in LENGTH_UNITS or given == DIAMETERS:
        raise InputError(f"{text.strip()!r} is a length; expected a load in {_names(FORCE_UNITS)}")
    if given not in FORCE_UNITS:
        raise unknown("unit of load", given, FORCE_UNITS)
    return _above_zero(number, text) * FORCE_UNITS[given]


def length(text: str, *, size: str, unit: str = "") -> float:
    """Length in mm from "12 mm", "0.5 in" or "1.5 D".

    Parameters
    ----------
    text : number and unit
    size : thread size, whose nominal diameter is the unit "D"
    unit : stands for the unit where the text has none, from the column's header

    Raises
    ------
    InputError, UnknownNameError

    Examples
    --------
    >>> length("1.5 D", size="M8x1.25"), length("0.5 in", size="1/4-20 UNC")
    (12.0, 12.7)
    """
    number, given = _split(text, unit, (*LENGTH_UNITS, DIAMETERS))
    if given in FORCE_UNITS:
        raise InputError(
            f"{text.strip()!r} is a load; expected a length in {_names((*LENGTH_UNITS, DIAMETERS))}"
        )
    if given == DIAMETERS:
        return _above_zero(number, text) * nominal_diameter(size)
    if given not in LENGTH_UNITS:
        raise unknown("unit of length", given, (*LENGTH_UNITS, DIAMETERS))
    return _above_zero(number, text) * LENGTH_UNITS[given]


@lru_cache(maxsize=256)
def nominal_diameter(size: str) -> float:
    """Nominal diameter of a thread size, mm: "M8x1.25", "1/4-20 UNC", "#10-32", "3/8 BSF".

    Numbered sizes: 0.060 in plus 0.013 in a number (ASME B1.1, known from memory).

    Examples
    --------
    >>> nominal_diameter("M8"), nominal_diameter("3/8 BSF"), round(nominal_diameter("#10-32"), 3)
    (8.0, 9.525, 4.826)
    """
    text = size.strip()
    if match := re.match(r"[Mm](\d+(?:\.\d+)?)(?![\d.])", text):
        return float(match[1])
    if match := re.match(r"(?:(\d+)[ -])?(\d+)/(\d+)(?!\d)", text):
        if int(match[3]):
            return 25.4 * (int(match[1] or 0) + int(match[2]) / int(match[3]))
    elif match := re.match(r"(?:#|[Nn]o\.? ?)(\d+)(?!\d)", text):
        return 25.4 * (0.060 + 0.013 * int(match[1]))
    raise InputError(f"size {size!r} gives no nominal diameter; expected like 'M8' or '1/4-20 UNC'")


def plain_number(text: str) -> float | None:
    """Return a number without unit, or None where the text is none."""
    match = _QUANTITY.fullmatch(text.strip())
    return float(match[1]) if match and not match[2] else None


def header_unit(header: str) -> tuple[str, str]:
    """Split "peak_load [kN]" into the name and its unit, which may be empty."""
    match = re.fullmatch(r"\s*(.*?)\s*(?:[\[(]\s*([A-Za-z]+)\s*[\])])?\s*", header)
    assert match is not None  # every text matches
    return re.sub(r"[\s-]+", "_", match[1]).casefold(), match[2] or ""


def _split(text: str, unit: str, units: Iterable[str]) -> tuple[float, str]:
    match = _QUANTITY.fullmatch(text.strip())
    if match is None:
        if _DECIMAL_COMMA.fullmatch(text.strip()):
            raise InputError(
                f"{text.strip()!r} has a comma; write a decimal point, and no thousands mark"
            )
        raise InputError(f"{text.strip()!r} is not a number with a unit ({_names(units)})")
    given = match[2] or unit
    if not given:
        raise InputError(f"{text.strip()!r} has no unit; expected one of {_names(units)}")
    if match[2] and unit and match[2] != unit:
        raise InputError(f"{text.strip()!r} contradicts the unit {unit!r} of the column's header")
    return float(match[1]), given


def _above_zero(number: float, text: str) -> float:
    if not 0 < number < float("inf"):
        raise InputError(f"{text.strip()!r} must be above zero")
    return number


def _names(units: Iterable[str]) -> str:
    return ", ".join(units)
