"""ASME B18.29.2M: the standard's table of insert lengths, as a check that hides a factor.

The table names a length in diameters for a parent shear strength and a screw class; it says
nothing of the strip load. What it asks beyond our own need is the factor hidden in it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ...arrays import FloatArray, Floats, plain, positive
from ...errors import check_known
from ...tables import Reference, columns, constant, reference, rows

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

    table_diameters: Floats
    needed_diameters: Floats
    hidden_factor: Floats
    screw_tensile_max: float
    tabulated_shear: Floats
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
    return float(_columns(screw_class, "screw_tensile_max_MPa")[0][0])


def _columns(screw_class: str, *heads: str) -> tuple[FloatArray, ...]:
    check_known("screw class", screw_class, screw_classes())
    return columns(TABLE, *heads, screw_class=screw_class)


def _row(parent_shear: ArrayLike, screw_class: str) -> tuple[Floats, Floats]:
    """Parent shear strength and length of the row that is used; NaN where there is none."""
    shear, lengths = _columns(screw_class, "parent_shear_MPa", "length_diameters")
    (tau,) = positive(parent_shear=parent_shear)
    row = np.where(np.isnan(tau), 0, np.searchsorted(shear, tau, side="right"))
    return plain(np.append(np.nan, shear)[row]), plain(np.append(np.nan, lengths)[row])


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

    Source: ASME B18.29.2M, Tables 7 and 8. Known from: read, as reproduced.

    Examples
    --------
    >>> print(table_diameters(186, "8.8"), table_diameters(60, "8.8"))
    2.0 nan
    """
    return _row(parent_shear, screw_class)[1]


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
    d, P, needed = positive(major_basic=major_basic, pitch=pitch, needed_length=needed_length)
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
