"""Loads and lengths of a test record, as text with a unit, to N and mm.

`units` reads them; the reader asks for each different text once. Unlike a case file, a record
refuses bare numbers: whether 25300 is N or lbf decides everything and nobody can tell afterwards.
"""

from __future__ import annotations

import re
from functools import lru_cache

from ... import units
from ...errors import InputError
from ...threads import thread

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_PLAIN = re.compile(rf"({_NUMBER})\s*([A-Za-z]*)")
_THOUSANDS = re.compile(r"[+-]?\d{1,3}(,\d{3})+(\.\d+)?\s*[A-Za-z]*")


def force(text: str, *, unit: str = "") -> float:
    """Load in N from "25.3 kN".

    Parameters
    ----------
    text : number and unit
    unit : stands for the unit where the text has none, from the column's header

    Returns
    -------
    float, N

    Raises
    ------
    InputError
        Saying what is wrong with the text.

    Examples
    --------
    >>> force("25.3 kN"), round(force("5000 lbf"), 3)
    (25300.0, 22241.108)
    """
    return _quantity(text, "force", unit, None)


def length(text: str, *, diameter: float, unit: str = "") -> float:
    """Length in mm from "12 mm", "0.5 in" or "1.5 D".

    Parameters
    ----------
    text : number and unit
    diameter : nominal diameter of the thread, mm: the unit "D"
    unit : stands for the unit where the text has none, from the column's header

    Returns
    -------
    float, mm

    Raises
    ------
    InputError

    Examples
    --------
    >>> length("1.5 D", diameter=8), length("0.5 in", diameter=8)
    (12.0, 12.7)
    """
    return _quantity(text, "length", unit, diameter)


@lru_cache(maxsize=256)
def size(text: str) -> tuple[str, float]:
    """Return the canonical designation of a size and its nominal diameter, mm.

    Parameters
    ----------
    text : str

    Returns
    -------
    (str, float), mm

    Examples
    --------
    >>> size("M8 x 1.25")
    ('M8x1.25', 8.0)
    """
    found = thread(text)
    return found.designation, found.major


def plain_number(text: str) -> float | None:
    """Return a number without unit, or None where the text is none.

    Parameters
    ----------
    text : str

    Returns
    -------
    float or None
    """
    match = _PLAIN.fullmatch(text.strip())
    return float(match[1]) if match and not match[2] else None


def header_unit(header: str) -> tuple[str, str]:
    """Split "Peak load [kN]" into the name "peak_load" and its unit, which may be empty.

    Parameters
    ----------
    header : str

    Returns
    -------
    tuple of str
    """
    match = re.fullmatch(r"\s*(.*?)\s*(?:[\[(]\s*([A-Za-z]+)\s*[\])])?\s*", header)
    if match is None:  # a line break inside the cell
        return header, ""
    return re.sub(r"[\s-]+", "_", match[1]).casefold(), match[2] or ""


@lru_cache(maxsize=256)
def unit_value(unit: str, dimension: str) -> float:
    """Return what one of the unit is worth in N or mm.

    Parameters
    ----------
    unit, dimension : str

    Returns
    -------
    float

    Raises
    ------
    InputError
        If it is no unit of the dimension.
    """
    return units.parse(f"1 {unit}", dimension)


def _quantity(text: str, dimension: str, unit: str, diameter: float | None) -> float:
    shown = text.strip()
    match = _PLAIN.fullmatch(shown)
    if match is None and _THOUSANDS.fullmatch(shown):
        raise InputError(
            f"{shown!r} has a comma that may part thousands or decimals; write no thousands mark "
            "and a decimal point"
        )
    whole = shown
    if match is not None:
        if not (match[2] or unit):
            raise InputError(f"{shown!r} has no unit; write for example {_EXAMPLE[dimension]!r}")
        if match[2] and unit and match[2] != unit:
            raise InputError(f"{shown!r} contradicts the unit {unit!r} of the column's header")
        whole = shown if match[2] else f"{shown} {unit}"
    endless = match is not None and float(match[1]) == float("inf")
    number = 0.0 if endless else units.parse(whole, dimension, diameter=diameter)
    if not number > 0:
        raise InputError(f"{shown!r} must be above zero")
    return number


_EXAMPLE = {"force": "25.3 kN", "length": "12 mm"}
