"""ASME B18.29.2M: the standard's table of insert lengths, as a check that hides a factor.

The table names a length in diameters for a parent shear strength and a screw class; it says
nothing of the strip load. What it asks beyond our own need is the factor hidden in it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from numpy.typing import ArrayLike

from ...arrays import Floats, not_negative, positive
from ...errors import unknown
from ...sources import Reference
from ...tables import Row, constant, reference, rows

ID = "asme_b18_29_2m"
TABLE = "insert_length_selection.csv"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LengthCheck:
    """The standard's table beside a calculation.

    Attributes
    ----------
    table_diameters : nominal insert length the table asks for, in diameters; NaN for none
    needed_diameters : engaged length the calculation needs, in diameters
    hidden_factor : usable over needed length: that of the table less the shortening of a fitted
        insert
    screw_tensile_max : MPa
        Greatest tensile strength the table takes for the screw class.
    tabulated_shear : MPa
        Parent shear strength of the row used: the next lower one.
    reference : place of the table
    """

    table_diameters: float
    needed_diameters: Floats
    hidden_factor: Floats
    screw_tensile_max: float
    tabulated_shear: float
    reference: Reference


def screw_classes() -> tuple[str, ...]:
    """Return the screw classes the table knows.

    Returns
    -------
    tuple of str
    """
    return tuple(dict.fromkeys(row["screw_class"] for row in rows(TABLE)))


def screw_tensile_max(screw_class: str) -> float:
    """Greatest tensile strength the table takes for a screw class, MPa.

    Parameters
    ----------
    screw_class : str
        One of `screw_classes()`.

    Returns
    -------
    float, MPa

    Source: ASME B18.29.2M, Tables 7 and 8. Known from: read, as reproduced.
    """
    return float(_rows(screw_class)[0]["screw_tensile_max_MPa"])


def _rows(screw_class: str) -> list[Row]:
    if screw_class not in screw_classes():
        raise unknown("screw class", screw_class, screw_classes())
    return [row for row in rows(TABLE) if row["screw_class"] == screw_class]


def _row(parent_shear: float, screw_class: str) -> tuple[float, float]:
    """Parent shear strength and length of the row that is used; NaN where there is none."""
    (tau,) = positive(parent_shear=parent_shear)
    weaker = [row for row in _rows(screw_class) if float(row["parent_shear_MPa"]) <= tau]
    if not weaker:
        return math.nan, math.nan
    return float(weaker[-1]["parent_shear_MPa"]), float(weaker[-1]["length_diameters"] or "nan")


def table_diameters(parent_shear: float, screw_class: str) -> float:
    """Nominal insert length the standard's table asks for, in diameters.

    Parameters
    ----------
    parent_shear : float, MPa
        Between two tabulated values the lower is used, as the standard says.
    screw_class : str
        One of `screw_classes()`.

    Returns
    -------
    float
        NaN below the least tabulated strength and where the table has a dash.

    Source: ASME B18.29.2M, Tables 7 and 8. Known from: read, as reproduced.

    Examples
    --------
    >>> print(table_diameters(186, "8.8"), table_diameters(60, "8.8"))
    2.0 nan
    """
    return _row(parent_shear, screw_class)[1]


def length_check(
    parent_shear: float,
    screw_class: str,
    *,
    needed_length: ArrayLike,
    major_basic: ArrayLike,
    pitch: ArrayLike,
) -> LengthCheck:
    """Compare a computed length with the standard's table.

    Parameters
    ----------
    parent_shear : float, MPa
    screw_class : str
        One of `screw_classes()`.
    needed_length : array_like, mm
        Engaged length the calculation needs for the load
        `screw_tensile_max(screw_class) * stress_area`.
    major_basic, pitch : array_like, mm
        Of the screw's thread.

    Returns
    -------
    LengthCheck
    """
    d, P = positive(major_basic=major_basic, pitch=pitch)
    (needed,) = not_negative(needed_length=needed_length)
    shear, diameters = _row(parent_shear, screw_class)
    usable = diameters * d - constant("insert_fitted_shortening_max").value * P
    return LengthCheck(
        table_diameters=diameters,
        needed_diameters=(needed / d)[()],
        hidden_factor=(usable / needed)[()],
        screw_tensile_max=screw_tensile_max(screw_class),
        tabulated_shear=shear,
        reference=reference(rows(TABLE)[0], "insert length by parent shear and screw class"),
    )
