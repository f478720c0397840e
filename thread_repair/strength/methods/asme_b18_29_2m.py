"""ASME B18.29.2M: the standard's table of insert lengths, as a check that hides a factor.

The table names a length in diameters for a parent shear strength and a screw class; it says
nothing of the strip load. What it asks beyond our own need is the factor hidden in it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ...arrays import FloatArray, Floats, not_negative, positive
from ...errors import unknown
from ...sources import Reference
from ...tables import constant, reference, rows

ID = "asme_b18_29_2m"
TABLE = "insert_length_selection.csv"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LengthCheck:
    """The standard's table beside a calculation.

    Attributes
    ----------
    table_diameters : nominal insert length the table asks for, in diameters; NaN for none
    needed_diameters : engaged length the calculation needs, in diameters
    usable_length : mm
        Nominal length of the table less the shortening of a fitted insert.
    hidden_factor : usable over needed length
    screw_tensile_max : MPa
        Greatest tensile strength the table takes for the screw class.
    tabulated_shear : MPa
        Parent shear strength of the row used: the next lower one.
    reference : place of the table
    """

    table_diameters: Floats
    needed_diameters: Floats
    usable_length: Floats
    hidden_factor: Floats
    screw_tensile_max: float
    tabulated_shear: Floats
    reference: Reference


@cache
def _table() -> dict[str, tuple[float, FloatArray, FloatArray]]:
    table: dict[str, tuple[float, list[float], list[float]]] = {}
    for row in rows(TABLE):
        _, shear, lengths = table.setdefault(
            row["screw_class"], (float(row["screw_tensile_max_MPa"]), [], [])
        )
        shear.append(float(row["parent_shear_MPa"]))
        lengths.append(float(row["length_diameters"] or "nan"))
    return {
        name: (tensile, np.array(shear), np.array(lengths))
        for name, (tensile, shear, lengths) in table.items()
    }


def screw_classes() -> tuple[str, ...]:
    """Return the screw classes the table knows.

    Returns
    -------
    tuple of str
    """
    return tuple(_table())


def screw_tensile_max(screw_class: str) -> float:
    """Greatest tensile strength the table takes for a screw class, MPa.

    Parameters
    ----------
    screw_class : str
        Such as "6g", "2A" or "medium".

    Returns
    -------
    float, MPa
    """
    return _column(screw_class)[0]


def _column(screw_class: str) -> tuple[float, FloatArray, FloatArray]:
    table = _table()
    if screw_class not in table:
        raise unknown("screw class", screw_class, table)
    return table[screw_class]


def table_diameters(parent_shear: ArrayLike, screw_class: str) -> Floats:
    """Nominal insert length the standard's table asks for, in diameters.

    Parameters
    ----------
    parent_shear : array_like, MPa
        Between two tabulated values the lower is used, as the standard says.
    screw_class : str
        One of `screw_classes()`.

    Returns
    -------
    float or ndarray
        NaN below the least tabulated strength and where the table has a dash.

    Examples
    --------
    >>> print(table_diameters(186, "8.8"), table_diameters(60, "8.8"))
    2.0 nan
    """
    lengths = np.append(_column(screw_class)[2], np.nan)
    return lengths[_row(parent_shear, screw_class)][()]


def _row(parent_shear: ArrayLike, screw_class: str) -> NDArray[np.intp]:
    """Row of the table, -1 for none."""
    (tau,) = positive(parent_shear=parent_shear)
    shear = _column(screw_class)[1]
    row = np.searchsorted(shear, tau, side="right") - 1
    return np.where(np.isnan(tau), -1, row)


def length_check(
    parent_shear: ArrayLike,
    screw_class: str,
    *,
    needed_length: ArrayLike,
    major_basic: ArrayLike,
    pitch: ArrayLike,
) -> LengthCheck:
    """Compare a computed length with the standard's table.

    Parameters
    ----------
    parent_shear : array_like, MPa
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
    tensile, shear, _ = _column(screw_class)
    diameters = table_diameters(parent_shear, screw_class)
    usable = diameters * d - constant("insert_fitted_shortening_max").value * P
    return LengthCheck(
        table_diameters=diameters,
        needed_diameters=(needed / d)[()],
        usable_length=usable[()],
        hidden_factor=(usable / needed)[()],
        screw_tensile_max=tensile,
        tabulated_shear=np.append(shear, np.nan)[_row(parent_shear, screw_class)][()],
        reference=reference(rows(TABLE)[0], "insert length by parent shear and screw class"),
    )
